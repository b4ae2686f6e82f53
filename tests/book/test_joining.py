"""Each push's picture against the layout: panels, arrow, headers and clips read from the SVG alone.

Outside check: the SVG is read by the standard library's parser. A push towards h in the front view
is one towards 180 - h on the page, because panels lie face down: x changes its sign, y does not
(reflection in the upright axis, any geometry text).
"""

from __future__ import annotations

import itertools
import math
import random
import re
import xml.etree.ElementTree as ET
from importlib.resources import files
from pathlib import Path

import pytest
from PIL import ImageFont

from fab.book.baseturns import blocks, turn_page
from fab.book.joining import WORDS, push_step, towards
from fab.book.pushpictures import push_page, seen_deg, table_page
from fab.book.shadedart import _apart
from fab.decisions import decide
from fab.design import Design
from fab.files.document import Step
from fab.files.pagesvg import page_svg
from fab.params.read import load
from fab.wall.model import PanelMass

SVG = "{http://www.w3.org/2000/svg}"
SEEDS = [pytest.param(k, marks=[] if k < 2 else [pytest.mark.slow]) for k in range(10)]
NUMBER = re.compile(r"-?\d+(?:\.\d+)?")
HEAD = 'job = "t"\nshop = "metric-bench"\n[panel]\nextends = "hexagon-120"\n[layout]\n'


def wall(folder: Path, cells: list[tuple[int, int]], names: list[str] | None = None) -> Design:
    """A wall of hexagons; weights are made up: no solid is needed."""
    path = folder / "t.toml"
    rows = [
        f'[[layout.panel]]\nname = "{name}"\ncell = [{q}, {r}]\n'
        for (q, r), name in zip(cells, names or [f"P{k}" for k in range(99)], strict=False)
    ]
    path.write_text(HEAD + "".join(rows), encoding="utf-8")
    return decide(
        load(path).job,
        lambda plans, layout: {p.name: PanelMass(300.0, 0.0, 0.0, 15.0) for p in layout.panels},
    )


def grown(seed: int, count: int) -> list[tuple[int, int]]:
    """Cells of a wall in one piece that grew at random places."""
    rnd = random.Random(seed)
    cells = [(0, 0)]
    steps = ((1, 0), (0, 1), (-1, 1), (-1, 0), (0, -1), (1, -1))
    while len(cells) < count:
        q, r = rnd.choice(cells)
        dq, dr = rnd.choice(steps)
        if (q + dq, r + dr) not in cells:
            cells.append((q + dq, r + dr))
    return cells


def groups(svg: bytes, css: str) -> list[ET.Element]:
    return [g for g in ET.fromstring(svg).iter(f"{SVG}g") if g.get("class") == css]


def points(group: ET.Element) -> list[tuple[float, float]]:
    """End points of the straight paths of a group, y up."""
    found = []
    for path in group.iter(f"{SVG}path"):
        numbers = [float(text) for text in NUMBER.findall(path.get("d") or "")]
        found += [(x, -y) for x, y in zip(numbers[::2], numbers[1::2], strict=True)]
    return found


def title(group: ET.Element) -> str:
    return next(group.iter(f"{SVG}title")).text or ""


def middle(group: ET.Element) -> tuple[float, float]:
    """The middle of a panel's six corners."""
    corners = list(dict.fromkeys(points(group)[:6]))
    return (
        sum(x for x, _ in corners) / len(corners),
        sum(y for _, y in corners) / len(corners),
    )


@pytest.mark.parametrize("seed", SEEDS)
def test_a_push_shows_its_panels_and_the_arrow_leads_the_mirrored_way(
    tmp_path: Path, seed: int
) -> None:
    design = wall(tmp_path, grown(seed, 4 + seed))
    assert design.order.pushes
    for number, push in enumerate(design.order.pushes, 1):
        svg = page_svg(push_page(design, number, push))
        shown = {title(g): middle(g) for g in groups(svg, "panel")}
        assert sorted(shown) == sorted((*push.moving, *push.onto))
        assert len(groups(svg, "header")) == len(push.joints)
        if push.heading_deg is None:
            continue
        # drawn size from the page itself: two resting panels, or the panel's own corners
        (way,) = groups(svg, "way")
        tail, *rest = points(way)
        tip = max(rest, key=lambda p: math.dist(p, tail))
        angle = math.degrees(math.atan2(tip[1] - tail[1], tip[0] - tail[0]))
        by_name = design.layout.by_name
        joint = design.layout.joints[push.joints[0]]
        # a moves onto b
        a, b = (joint.a, joint.b) if joint.a in push.moving else (joint.b, joint.a)
        right = -(by_name[b].x - by_name[a].x)  # seen from behind
        up = by_name[b].y - by_name[a].y
        wanted = math.degrees(math.atan2(up, right))
        assert math.cos(math.radians(angle - wanted)) > 0.999, (number, angle, wanted)
        # the moving panel stands off: farther from its neighbour than when they touch, same way
        apart = (shown[b][0] - shown[a][0], shown[b][1] - shown[a][1])
        turn = math.degrees(math.atan2(apart[1], apart[0]))
        assert math.cos(math.radians(turn - wanted)) > 0.999
        corner = points(next(g for g in groups(svg, "panel") if title(g) == a))[:2]
        edge = math.dist(*corner)
        assert math.hypot(*apart) > edge * math.sqrt(3) * 1.3


def test_headers_of_all_pushes_are_those_of_the_table_of_joints(tmp_path: Path) -> None:
    design = wall(tmp_path, grown(3, 9))
    drawn = sum(
        len(groups(page_svg(push_page(design, k, push)), "header"))
        for k, push in enumerate(design.order.pushes, 1)
    )
    assert drawn == sum(row.by == "push" for row in design.table.rows)
    clips = sum(
        len(groups(page_svg(push_page(design, k, push)), "clip"))
        for k, push in enumerate(design.order.pushes, 1)
    )
    assert clips == design.counts.clips


def test_the_table_shows_the_wall_mirrored(tmp_path: Path) -> None:
    design = wall(tmp_path, [(0, 0), (1, 0), (0, 1)])
    shown = {title(g): middle(g) for g in groups(page_svg(table_page(design)), "panel")}
    by_name = design.layout.by_name
    for a in shown:
        for b in shown:
            across = by_name[b].x - by_name[a].x
            assert (shown[b][0] - shown[a][0]) * across <= 1e-6
            assert (shown[b][1] - shown[a][1]) * (by_name[b].y - by_name[a].y) >= -1e-6


def test_words_name_the_direction_on_the_page() -> None:
    assert towards(seen_deg(0.0)) == "to the left"
    assert towards(seen_deg(90.0)) == "up"
    assert towards(seen_deg(150.0)) == "to the upper right"
    assert len(set(WORDS)) == 8


def test_names_of_people_who_mean_no_good_stay_text(tmp_path: Path) -> None:
    names = ["<b>&amp;", "x' onload='1"]
    design = wall(tmp_path, [(0, 0), (1, 0)], names)
    (push,) = design.order.pushes
    svg = page_svg(push_page(design, 1, push))
    assert sorted(title(g) for g in groups(svg, "panel")) == sorted(names)
    assert names[0] in push_step(design, 1, push).do
    assert b"<b>" not in svg


def test_words_beside_a_picture_never_meet() -> None:
    levels = _apart([1.0, 1.2, 1.3, 9.0])
    assert all(b - a >= 5.0 - 1e-9 for a, b in itertools.pairwise(levels))


def boxes(svg: bytes) -> list[tuple[str, float, float, float, float]]:
    """Every text with its box, measured with the shipped font by Pillow."""
    font = ImageFont.truetype(str(files("fab.files") / "fonts" / "DejaVuSans.ttf"), 100)
    found = []
    for text in ET.fromstring(svg).iter(f"{SVG}text"):
        size = float(text.get("font-size") or "")
        x, y = float(text.get("x") or ""), float(text.get("y") or "")
        left, top, right, low = (
            value * size / 100 for value in font.getbbox(text.text or "", "ls")
        )
        shift = (right - left) / 2 if text.get("text-anchor") == "middle" else 0.0
        found.append((text.text or "", x - shift, y + top, x - shift + right - left, y + low))
    return found


@pytest.mark.parametrize("seed", SEEDS)
def test_no_two_letters_of_a_picture_lie_on_each_other(tmp_path: Path, seed: int) -> None:
    cells = grown(seed + 20, 5 + seed)
    design = wall(tmp_path, cells, [f"lamp {k}" for k in range(99)])
    pages = [push_page(design, k, push) for k, push in enumerate(design.order.pushes, 1)]
    pages += [table_page(design)]
    pages += [turn_page(design, design.layout.by_name[name]) for name in design.wired.inlets]
    for page in pages:
        told = boxes(page_svg(page))
        assert len(told) >= 2
        for (a, ax0, ay0, ax1, ay1), (b, bx0, by0, bx1, by1) in itertools.combinations(told, 2):
            assert ax1 <= bx0 or bx1 <= ax0 or ay1 <= by0 or by1 <= ay0, (page.title, a, b)


def test_a_bases_turn_is_drawn_against_its_mark(tmp_path: Path) -> None:
    """The arrow of the mark faces the panel's turn, the inlet's its own edge, front view."""
    design = wall(tmp_path, grown(7, 7))
    for name, edge in design.wired.inlets.items():
        panel = design.layout.by_name[name]
        svg = page_svg(turn_page(design, panel))
        (mark,), (inlet,) = groups(svg, "mark"), groups(svg, "inlet")
        tail, *rest = points(mark)
        tip = max(rest, key=lambda p: math.dist(p, tail))
        angle = math.degrees(math.atan2(tip[1] - tail[1], tip[0] - tail[0]))
        assert math.cos(math.radians(angle - panel.turn_deg)) > 0.999
        outer = points(inlet)[0]
        far = math.degrees(math.atan2(outer[1] + 28.0, outer[0] - 28.0))
        wanted = panel.turn_deg + 360.0 * edge / panel.cell.sides
        assert math.cos(math.radians(far - wanted)) > 0.99


def test_a_base_to_turn_is_named_as_in_the_lists_and_counted(tmp_path: Path) -> None:
    """Four squares of a second design in a row, an inlet each: the inner two share a base."""
    path = tmp_path / "t.toml"
    square = '[panel]\nextends = "edge90-square"\n[designs.d]\nextends = "edge90-square"\n'
    rows = [f'[[layout.panel]]\nname = "{k}"\ndesign = "d"\ncell = [{k}, 0]\n' for k in range(4)]
    fed = '[power]\ninlet = ["0", "1", "2", "3"]\n'
    path.write_text(f'job = "t"\nshop = "metric-bench"\n{square}[layout]\n{"".join(rows)}{fed}')
    design = decide(
        load(path).job,
        lambda plans, layout: {p.name: PanelMass(300.0, 0.0, 0.0, 15.0) for p in layout.panels},
    )
    assert [block.take for block in blocks(design) if isinstance(block, Step)] == [
        "base-d-inlet-hanger-0-turned-3, made for panel 0 alone, and 1 board.",
        "base-d-inlet-turned-3, one of 2 that are alike, and 1 board.",
        "base-d-inlet-turned-3, one of 2 that are alike, and 1 board.",
    ]


def test_a_push_of_a_cover_speaks_of_no_header(tmp_path: Path) -> None:
    """Two squares and a cover in a row: the cover is joined by clips alone."""
    path = tmp_path / "t.toml"
    designs = '[panel]\nextends = "edge90-square"\n[designs.d]\nextends = "edge90-square"\n'
    rows = "".join(
        f'[[layout.panel]]\nname = "{k}"\ndesign = "{design}"\ncell = [{k}, 0]\n'
        for k, design in enumerate(("panel", "panel", "d"))
    )
    path.write_text(
        f'job = "t"\nshop = "metric-bench"\n{designs}board.none = true\n[layout]\n{rows}'
    )
    design = decide(
        load(path).job,
        lambda plans, layout: {p.name: PanelMass(300.0, 0.0, 0.0, 15.0) for p in layout.panels},
    )
    steps = [push_step(design, k, push) for k, push in enumerate(design.order.pushes, 1)]
    told = {
        step.title.split(": ")[1]: "header" in " ".join(text for _, text in step.texts)
        for step in steps
    }
    assert sorted(told.values()) == [False, True]
    assert "2" in next(title for title, header in told.items() if not header)
