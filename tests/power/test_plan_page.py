"""The power plan is the wall at one scale: every mark lies where its thing lies, as it faces."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache, cached_property
from itertools import pairwise
from typing import Any

import numpy as np
import pytest
from shapely import LineString, Polygon

from fab.layout.model import Layout
from fab.outlines.contour import Arc, Contour, Point
from fab.outlines.figures import text_width_mm
from fab.outlines.inks import BLACK, BLUE, VERMILION, WHITE
from fab.outlines.page import Fill, Group, Item, Page, Stroke, Text
from fab.power.cables import CableRun, cable_runs
from fab.power.links import Links, Pole, every_header
from fab.power.model import Wired
from fab.power.plan_page import CIVIDIS, colour, plan_page
from fab.power.wire import wire

from .walls import NINE, asking, design, loads, wall

SOCKETS = ((900.0, -700.0), (-900.0, 250.0))


def corners(contour: Contour) -> list[Point]:
    return [segment.start for segment in contour.segments]


def middle_of(points: list[Point]) -> Point:
    box = Polygon(points)
    return box.centroid.x, box.centroid.y


def flat(items: Any, dx: float = 0.0, dy: float = 0.0) -> Iterator[Item]:
    """Items without groups; those of the legend are moved and are left out."""
    for item in items:
        if isinstance(item, Group):
            if item.shift == (0.0, 0.0):
                yield from flat(item.items)
        else:
            yield item


@dataclass(frozen=True)
class Plan:
    """A wall, its plan, and the map from the wall to the page that two panels' centres tell."""

    layout: Layout
    wired: Wired
    runs: tuple[CableRun, ...]
    page: Page

    @property
    def groups(self) -> list[Group]:
        return [item for item in self.page.items if isinstance(item, Group)]

    def of(self, start: str) -> list[Group]:
        return [group for group in self.groups if group.title.startswith(start)]

    def panel(self, name: str) -> Group:
        (found,) = (group for group in self.groups if group.id == f"power-{name}")
        return found

    @cached_property
    def map(self) -> tuple[float, Point]:
        """Scale and shift: least squares over all corners of all panels, no turn, no mirror."""
        rows, right = [], []
        for panel in self.layout.panels:
            shape = next(i for i in self.panel(panel.name).items if isinstance(i, Fill))
            for (x, y), (px, py) in zip(panel.corners, corners(shape.contours[0]), strict=True):
                rows += [(x, 1.0, 0.0), (y, 0.0, 1.0)]
                right += [px, py]
        found = np.linalg.lstsq(np.array(rows), np.array(right), rcond=None)[0]
        assert np.abs(np.array(rows) @ found - right).max() < 1e-9
        return float(found[0]), (float(found[1]), float(found[2]))

    def at(self, point: Point) -> Point:
        scale, (dx, dy) = self.map
        return point[0] * scale + dx, point[1] * scale + dy


def planned(cells: Any = NINE, sides: int = 6, high: float = 250.0, **power: Any) -> Plan:
    """A wall in several zones whose first panel no header joins."""
    panel, asked = design(sides), asking(**{"supply_a": 1.5, **power})
    layout = wall(cells, panel)
    mates = every_header(layout).mates
    plugged = frozenset(k for k, joint in enumerate(layout.joints) if joint.a == "A")
    links = Links(
        {k: mate for k, mate in mates.items() if k not in plugged},
        plugged,
        {("panel", "panel"): Pole(0.05, 2.0)},
    )
    wired = wire(layout, loads(layout), asked, {"panel": panel}, links=links)
    runs = cable_runs(layout, wired, asked, {"panel": panel})
    return Plan(layout, wired, runs, plan_page(layout, wired, runs, most_height_mm=high))


WALLS: dict[str, dict[str, Any]] = {
    "sockets": {"socket": SOCKETS},
    "a cable to the side": {},
    "triangles": {"cells": tuple((x, y) for x in range(5) for y in range(2)), "sides": 3},
    "a tower": {"cells": tuple((0, k) for k in range(9)), "sides": 4},
    "a low page": {"high": 110.0},
}


@cache
def plan_of(name: str) -> Plan:
    return planned(**WALLS[name])


@pytest.fixture(params=WALLS)
def plan(request: pytest.FixtureRequest) -> Plan:
    return plan_of(request.param)


def test_the_wall_fills_its_part_of_the_page_and_no_more(plan: Plan) -> None:
    """Margins of 6 mm, 34 mm for the legend, 10 mm for the title, 3 mm for an arrow: across or
    upwards nothing is left over.
    """
    points = [p for panel in plan.layout.panels for p in panel.corners]
    points += [p for run in plan.runs for p in run.way]
    xs, ys = zip(*map(plan.at, points), strict=True)
    arrow = 3.0 if any(run.socket is None for run in plan.runs) else 0.0
    wide = max(xs) - min(xs)
    assert (min(xs) + max(xs)) / 2 == pytest.approx(90.0)
    assert min(ys) == pytest.approx(6.0 + 34.0)
    assert plan.page.height == pytest.approx(max(ys) + 10.0 + 6.0)
    most = 110.0 if plan is plan_of("a low page") else 250.0
    full = (wide - (180.0 - 2 * 6.0 - arrow), plan.page.height - (most - arrow))
    assert max(full) == pytest.approx(0.0, abs=1e-9)


def test_a_joint_is_marked_across_its_middle_by_what_passes(plan: Plan) -> None:
    """Black with supply, else white, and then a line along the edge parts the zones; a jumper has a
    plug at each end of its bar.
    """
    of = {(row.joint): row for row in plan.wired.table.rows}
    assert {row.kind for row in of.values()} >= {"header", "jumper"}
    for k in plan.wired.table.joined:
        joint, row = plan.layout.joints[k], of[k]
        (group,) = plan.of(f"{joint.a} to {joint.b}:")
        assert ("jumper" in group.title) is (row.kind == "jumper")
        fills = [item for item in group.items if isinstance(item, Fill)]
        assert {fill.colour for fill in fills} == {BLACK if row.supply else WHITE}
        rims = [item for item in group.items if isinstance(item, Stroke) and item.closed]
        assert {rim.colour for rim in rims} == {WHITE if row.supply else BLACK}
        *plugs, bar = fills
        ring = corners(bar.contours[0])
        assert middle_of(ring) == pytest.approx(plan.at((joint.x, joint.y)))
        (ax, ay), (bx, by), (cx, cy) = ring[:3]
        assert math.dist(ring[0], ring[1]) > 2 * math.dist(ring[1], ring[2]) > 0.5
        normal = math.radians(joint.normal_deg)
        assert (bx - ax) * math.sin(normal) == pytest.approx((by - ay) * math.cos(normal), abs=1e-9)
        assert (bx - ax) * (cx - bx) + (by - ay) * (cy - by) == pytest.approx(0.0, abs=1e-9)
        apothem = plan.layout.by_name[joint.a].cell.apothem * plan.map[0]
        assert math.dist(ring[0], ring[1]) < apothem
        arcs = [plug.contours[0].segments[0] for plug in plugs]
        assert len(arcs) == (2 if row.kind == "jumper" else 0)
        ends = [arc.centre for arc in arcs if isinstance(arc, Arc)]
        dx, dy = ring[3]
        sides = [((ax + dx) / 2, (ay + dy) / 2), ((bx + cx) / 2, (by + cy) / 2)]
        if ends:
            assert np.array(ends) == pytest.approx(np.array(sides))
        lines = [item for item in group.items if isinstance(item, Stroke) and not item.closed]
        assert len(lines) == (0 if row.supply else 1)
        for line in lines:
            panel = plan.layout.by_name[joint.a]
            edge = [
                panel.corners[joint.edge_a],
                panel.corners[(joint.edge_a + 1) % len(panel.corners)],
            ]
            drawn = [line.segments[0].start, line.segments[-1].end]
            assert np.array(drawn) == pytest.approx(np.array([plan.at(p) for p in edge]))


def test_an_inlet_is_a_wedge_at_its_edge_that_points_into_its_panel(plan: Plan) -> None:
    groups = plan.of("inlet of zone")
    assert len(groups) == len(plan.wired.zones)
    for zone, group in zip(plan.wired.zones, groups, strict=True):
        panel = plan.layout.by_name[zone.inlet_panel]
        wedge = next(item for item in group.items if isinstance(item, Fill))
        assert wedge.colour == VERMILION
        tip, left, right = corners(wedge.contours[0])
        foot = ((left[0] + right[0]) / 2, (left[1] + right[1]) / 2)
        at, centre = plan.at(panel.edge_middle(zone.inlet_edge)), plan.at((panel.x, panel.y))
        assert math.dist(tip, centre) < math.dist(at, centre) < math.dist(foot, centre)
        axis = LineString([foot, tip])
        assert axis.distance(LineString([at, centre])) < 1e-9
        heading = math.degrees(math.atan2(tip[1] - foot[1], tip[0] - foot[0]))
        turned = (heading - panel.normal_deg(zone.inlet_edge) - 180.0 + 90.0) % 360.0
        assert turned == pytest.approx(90.0, abs=1e-6)
        assert math.dist(tip, left) == pytest.approx(math.dist(tip, right))
        assert 0.5 < math.dist(left, right) < 1.5 * math.dist(tip, foot)


def test_a_cable_is_drawn_as_it_runs_and_ends_in_a_socket_or_an_arrow(plan: Plan) -> None:
    for run in plan.runs:
        (group,) = plan.of(f"cable of zone {run.zone}")
        drawn = next(item for item in group.items if isinstance(item, Stroke))
        ends = [drawn.segments[0].start, *(segment.end for segment in drawn.segments)]
        assert np.array(ends) == pytest.approx(np.array([plan.at(p) for p in run.way]))
        heads = [item for item in group.items if isinstance(item, Fill)]
        assert len(heads) == (run.socket is None)
        for head in heads:
            tip, left, right = corners(head.contours[0])
            (ax, ay), (x, y) = ends[-2:]
            foot = ((left[0] + right[0]) / 2, (left[1] + right[1]) / 2)
            assert foot == pytest.approx((x, y))
            assert math.dist(tip, foot) == pytest.approx(3.0)
            assert (tip[0] - x) * (y - ay) == pytest.approx((tip[1] - y) * (x - ax), abs=1e-9)
            assert (tip[0] - x) * (x - ax) + (tip[1] - y) * (y - ay) > 0
            assert math.dist(left, tip) == pytest.approx(math.dist(right, tip))
            assert 1.0 < math.dist(left, right) < 3.0


def test_a_socket_has_its_number_beside_it_on_the_page() -> None:
    plan = plan_of("sockets")
    told = {run.socket for run in plan.runs}
    words = {i.text: i for i in flat(plan.page.items) if isinstance(i, Text)}
    for number in (1, 2):
        assert (f"socket {number}" in words) is (number in told)
    spots = [
        i.contours[0].segments[0].centre
        for i in flat(plan.page.items)
        if isinstance(i, Fill) and i.colour == BLUE and isinstance(i.contours[0].segments[0], Arc)
    ]
    for number, spot in zip(sorted(n for n in told if n), spots, strict=True):
        assert spot == pytest.approx(plan.at(SOCKETS[number - 1]))
        text = words[f"socket {number}"]
        wide = text_width_mm(text.text, text.size_mm)
        left = text.x - (wide if text.anchor == "end" else 0.0)
        assert left > 0
        assert left + wide < plan.page.width
        assert math.dist((text.x, text.y), spot) < 6
        assert text.y + text.size_mm * 0.8 < spot[1] - 1.6  # under the dot


def test_words_of_a_panel_stand_inside_it_one_under_the_other(plan: Plan) -> None:
    """Each line between the sides of its panel; none on another; the block about the middle."""
    scale, _ = plan.map
    for panel in plan.layout.panels:
        texts = [i for i in plan.panel(panel.name).items if isinstance(i, Text)]
        x, y = plan.at((panel.x, panel.y))
        cell = Polygon([plan.at(p) for p in panel.corners])
        assert texts[0].text == panel.name
        for text in texts:
            half = text_width_mm(text.text, text.size_mm) / 2
            assert text.x == pytest.approx(x)
            assert text.anchor == "middle"
            assert cell.covers(LineString([(x - half, text.y), (x + half, text.y)]))
        assert all(a.y - b.y > 0.72 * b.size_mm for a, b in pairwise(texts))  # capitals' height
        top, foot = texts[0].y + 0.72 * texts[0].size_mm, texts[-1].y
        assert abs((top + foot) / 2 - y) < 0.15 * panel.cell.apothem * scale


def test_the_scale_of_volts_spans_them_in_tenths(plan: Plan) -> None:
    """Six ticks at even steps under forty strips from dark to light, the first at the greatest
    tenth not over the lowest volts and the last at the least not under the highest.
    """
    volts = list(plan.wired.volts.values())
    ticks = [
        i for i in plan.page.items if isinstance(i, Text) and i.size_mm == 2.8 and "." in i.text
    ]
    ticks = [t for t in ticks if t.text.replace(".", "").isdigit()]
    values = [float(tick.text) for tick in ticks]
    assert len(values) == 6
    assert np.diff(values) == pytest.approx([values[1] - values[0]] * 5, abs=0.0051)
    assert np.diff([t.x for t in ticks]) == pytest.approx([ticks[1].x - ticks[0].x] * 5)
    assert values[0] == pytest.approx(round(values[0], 1))
    assert values[0] <= min(volts) + 1e-6 < values[0] + 0.1 + 1e-6
    assert values[-1] >= max(volts) - 1e-6
    assert values[-1] - max(*volts, values[0] + 0.1) < 0.1 + 1e-6
    strips = [i for i in plan.page.items if isinstance(i, Fill)]
    lefts = [min(x for x, _ in corners(strip.contours[0])) for strip in strips]
    assert lefts == pytest.approx(list(np.linspace(ticks[0].x, ticks[-1].x, 40, endpoint=False)))
    assert {max(x for x, _ in corners(s.contours[0])) for s in strips} == {ticks[-1].x}
    bodies = [corners(s.contours[0]) for s in strips]
    assert len({(min(y for _, y in c), max(y for _, y in c)) for c in bodies}) == 1
    assert min(y for _, y in bodies[0]) > ticks[0].y + 2.0
    assert [s.colour for s in strips] == [colour((k + 0.5) / 40) for k in range(40)]
    for name, volt in plan.wired.volts.items():
        fill = next(i for i in plan.panel(name).items if isinstance(i, Fill))
        assert fill.colour == colour((volt - values[0]) / (values[-1] - values[0]))
    marks = [i for i in plan.page.items if isinstance(i, Stroke)]
    assert [m.segments[0].start[0] for m in marks] == pytest.approx([t.x for t in ticks])
    for mark in marks:
        (x0, y0), (x1, y1) = mark.segments[0].start, mark.segments[-1].end
        assert x0 == x1
        assert ticks[0].y + 2.0 < y1 < y0 == min(y for _, y in bodies[0])


def test_the_legend_stands_beside_the_scale_and_above_its_last_line(plan: Plan) -> None:
    signs = [group for group in plan.groups if group.shift != (0.0, 0.0)]
    words = [
        "header with all pins",
        "header without supply pins: data and ground stay",
        *["jumper: a cable from the back"] * bool(plan.wired.table.jumpers),
        "inlet",
        "cable on the wall",
    ]
    texts = {i.text: i for i in plan.page.items if isinstance(i, Text)}
    right = max(
        x for i in plan.page.items if isinstance(i, Fill) for x, _ in corners(i.contours[0])
    )
    last = next(t for t in texts.values() if t.text.startswith("Thick lines"))
    assert len(signs) == len(words)
    floor = last.y + last.size_mm
    for sign, word in zip(signs, words, strict=True):
        text = texts[word]
        assert text.x > sign.shift[0] + 6.0 > right + 6.0
        assert text.x + text_width_mm(word, text.size_mm) <= plan.page.width
        assert abs(text.y + 0.36 * text.size_mm - sign.shift[1]) < 0.5
        assert text.y - 0.2 * text.size_mm > floor - 3.6
    assert all(a.shift[1] - b.shift[1] >= 4.0 for a, b in pairwise(signs))
    assert plan.page.height - 6.0 > max(text.y for text in texts.values())


def test_colours_between_two_of_the_map_are_mixed_in_their_shares() -> None:
    for k, (low, high) in enumerate(pairwise(CIVIDIS)):
        for part in (0.0, 0.25, 0.5, 0.9):
            found = colour((k + part) / (len(CIVIDIS) - 1))
            for i in (1, 3, 5):
                wanted = int(low[i : i + 2], 16) * (1 - part) + int(high[i : i + 2], 16) * part
                assert abs(int(found[i : i + 2], 16) - wanted) <= 0.5 + 1e-9
    assert (colour(-1.0), colour(2.0)) == (CIVIDIS[0], CIVIDIS[-1])
