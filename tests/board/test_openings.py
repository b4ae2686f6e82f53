"""Openings and additions: where they come out in the solid, and what they must keep clear of."""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from typing import Any

import pytest

from fab.checks import fit, leak
from fab.checks.openings import opening_checks
from fab.checks.plan import plan_checks
from fab.layout.kinds import base_uses
from fab.layout.model import BaseKind, Cell, Layout, OpenEdge, PlacedPanel
from fab.parts.assembly import printed
from fab.parts.base import base
from fab.parts.features import features
from fab.parts.given import alike_in_every_turn
from fab.parts.plan import Plan
from fab.parts.shell import shell
from fab.solids.kernel import box, overlap_mm3, volume

PLAIN = BaseKind("plain", "panel", False, None, "")
CABLE = '[[panel.opening]]\nkind = "rect"\nsize = [14, 8]\nat = [10, -20]\n'


def failed(plan: Any, kinds: Any = ()) -> Any:
    return {v.id: v for v in opening_checks("panel", plan, kinds) if v.verdict == "fail"}


def solid_at(solid: Any, x: Any, y: Any, z: Any, half: Any = 0.2) -> Any:
    """Share of a small cube that a solid fills."""
    cube = box(x - half, x + half, y - half, y + half, z - half, z + half)
    return overlap_mm3(solid, cube) / (2 * half) ** 3


# -- where they come out
# -------------------------------------------------------------------------------------------


@pytest.mark.kernel
def test_an_opening_takes_its_own_volume_out_of_the_floor(design: Callable[..., Plan]) -> None:
    bare, cut = design(), design(CABLE)
    opened = base(cut, PLAIN)
    taken = volume(base(bare, PLAIN)) - volume(opened)
    assert taken == pytest.approx(14 * 8 * bare.floor.top_z, rel=1e-6)
    assert solid_at(opened, 10, -20, 1.5) == 0


@pytest.mark.slow
@pytest.mark.kernel
def test_an_opening_keeps_its_place_in_the_panel_when_the_base_is_mounted_round(
    design: Callable[..., Plan],
) -> None:
    """A base mounted two edges round has the opening turned back by two edges: in the panel it is
    where it was.
    """
    plan = design(CABLE)
    turned = base(plan, BaseKind("turned-2", "panel", False, None, "", 2))
    angle = -2 * math.pi * 2 / 6
    x, y = 10 * math.cos(angle) + 20 * math.sin(angle), 10 * math.sin(angle) - 20 * math.cos(angle)
    assert solid_at(turned, x, y, 1.5) == 0
    assert solid_at(turned, 10, -20, 1.5) == pytest.approx(1)


@pytest.mark.kernel
def test_boss_rib_and_letters_stand_where_they_should(design: Callable[..., Plan]) -> None:
    plan = design(
        '[[panel.addition]]\nkind = "boss"\nat = [20, 18]\nheight = 6\nd = 8\nhole = 2.5\n'
        '[[panel.addition]]\nkind = "rib"\nat = [-10, -30]\nto = [10, -30]\nheight = 4\nwidth = 2\n'
        '[[panel.addition]]\nkind = "text"\nletters = "I"\nat = [-20, 0]\nsize = 8\n'
    )
    solid, top = base(plan, PLAIN), plan.floor.top_z
    assert solid_at(solid, 20 + 3, 18, top + 5.5) == pytest.approx(1)
    assert solid_at(solid, 20, 18, top + 3) == 0  # the pilot hole
    assert solid_at(solid, 0, -30, top + 3.5) == pytest.approx(1)
    assert solid_at(solid, 0, -30, top + 4.5) == 0
    assert solid_at(solid, -20, 0, top + 0.2) == pytest.approx(1)


@pytest.mark.slow
@pytest.mark.kernel
def test_letters_on_the_shell_read_from_outside(design: Callable[..., Plan]) -> None:
    """An L on edge 0, seen from +X with z up: its foot is long to the right, which is +y."""
    plan = design(
        '[[panel.addition]]\nkind = "text"\npart = "shell"\nedge = 0\nletters = "L"\nat = [0,'
        " 26]\nsize = 8\ndepth = 0.6\n"
    )
    solid, outer = shell(plan), plan.rings.body_apothem
    shape = [contour.box for contour in features(plan)[0].shapes]
    y0, y1 = min(b[0] for b in shape), max(b[2] for b in shape)
    assert solid_at(solid, outer + 0.3, y0 + 0.45, 29, 0.1) == pytest.approx(
        1, abs=1e-3
    )  # the stem, at the left
    assert solid_at(solid, outer + 0.3, y1 - 0.6, 26 - 4, 0.1) == pytest.approx(
        1, abs=1e-3
    )  # the foot, to the right
    assert solid_at(solid, outer + 0.3, y1 - 0.6, 29, 0.1) == 0


@pytest.mark.slow
@pytest.mark.kernel
def test_sunk_letters_on_the_back_are_mirrored(design: Callable[..., Plan]) -> None:
    """An L read from behind: seen from the front its foot runs to -x."""
    plan = design(
        '[[panel.addition]]\nkind = "text"\nletters = "L"\nat = [0, 0]\nsize = 10\nback ='
        " true\nsunk = true\n"
    )
    solid = base(plan, PLAIN)
    wide = [contour.box for contour in features(plan)[0].shapes]
    x0, x1 = min(b[0] for b in wide), max(b[2] for b in wide)
    assert solid_at(solid, x1 - 0.45, 3, 0.3, 0.1) == 0  # the stem
    assert solid_at(solid, x0 + 0.6, -5, 0.3, 0.1) == 0  # the foot
    assert solid_at(solid, x0 + 0.6, 3, 0.3, 0.1) == pytest.approx(1)


@pytest.mark.slow
@pytest.mark.kernel
def test_an_opening_through_both_walls_is_one_straight_way(design: Callable[..., Plan]) -> None:
    plan = design(
        '[panel.board]\nnone = true\n[[panel.opening]]\npart = "both"\nedge = 1\nkind = "round"\nd'
        " = 4\nat = [0, 9]\n"
    )
    angle = math.pi / 3
    for solid in (base(plan, PLAIN), shell(plan)):
        for u in (plan.rings.base_inner.apothem + 0.6, plan.rings.rebate_apothem + 0.9):
            assert solid_at(solid, u * math.cos(angle), u * math.sin(angle), 9, 0.3) == 0


@pytest.mark.slow
@pytest.mark.kernel
def test_an_addition_on_a_wall_prints_without_support(design: Callable[..., Plan]) -> None:
    from fab.checks.overhang import regions
    from fab.solids.kernel import moved
    from fab.solids.meshing import mesh

    plan = design(
        '[[panel.addition]]\nkind = "boss"\npart = "shell"\nedge = 3\nat = [12, 26]\nd = 6\nheight'
        " = 3\nhole = 0\n"
    )
    net = mesh(moved(shell(plan), 0, 0, -plan.floor.shell_z), "shell")
    over = regions(net, plan.printer.overhang_deg, 0.8, 0.4)
    assert all(math.isfinite(r.reach) and r.reach == 0 for r in over)
    bridges = {round(r.bridge, 1) for r in over}
    assert max(bridges) <= plan.printer.bridge


# -- what they keep clear of
# ---------------------------------------------------------------------------------------

SEEDED = [
    ("openings.clear", "[[panel.opening]]\nd = 6\nat = [44, 25]", r"with a standoff"),
    ("openings.clear", "[[panel.opening]]\nd = 6\nat = [52, 15]", r"with a clip pocket"),
    (
        "openings.clear",
        "[[panel.opening]]\nd = 6\nat = [0, 20]\n[[panel.opening]]\nd = 6\nat = [6.3, 20]",
        r"opening\[1\] at 6.3, 20 mm and opening\[0\]: 0\.3 mm",
    ),
    (
        "openings.inside",
        "[[panel.opening]]\nd = 6\nat = [0, 58]",
        r"with the base wall: \d\.\d+ mm",
    ),
    (
        "openings.clear",
        '[[panel.opening]]\npart = "base"\nedge = 0\nd = 4\nat = [0, 12]',
        "with the header window",
    ),
    (
        "openings.clear",
        '[[panel.opening]]\npart = "shell"\nedge = 0\nd = 4\nat = [8, 9]',
        "the port",
    ),
    (
        "openings.inside",
        '[[panel.opening]]\npart = "shell"\nedge = 0\nd = 4\nat = [26, 20]',
        "the ledge, the corners or the rim",
    ),
    (
        "openings.inside",
        '[[panel.opening]]\npart = "shell"\nedge = 0\nd = 8\nat = [12, 30]',
        "the ledge, the corners or the rim",
    ),
    (
        "openings.height",
        '[[panel.addition]]\nkind = "boss"\nat = [0, 20]\nheight = 12',
        r"to board: -0\.\d+ mm|to board: 0\.\d+ mm",
    ),
    (
        "openings.height",
        (
            '[[panel.addition]]\nkind = "rib"\npart = "shell"\nedge = 2\nat = [14, 14]\nto = [14, '
            "18]\nheight = 3"
        ),
        "board or base wall",
    ),
    (
        "openings.letters-depth",
        (
            '[[panel.addition]]\nkind = "text"\npart = "shell"\nedge = 0\nletters = "A"\nat = [0, '
            "26]\ndepth = 1.5\nsunk = true"
        ),
        ": 0.3 mm",
    ),
    (
        "openings.shape",
        (
            '[[panel.opening]]\nkind = "polygon"\npoints = [[0, 0], [10, 10], [10, 0], [0, 9]]\nat'
            " = [0, 20]"
        ),
        "crosses itself",
    ),
]


@pytest.mark.parametrize(
    ("check", "rest", "says"), SEEDED, ids=[f"{k}-{row[0]}" for k, row in enumerate(SEEDED)]
)
def test_a_seeded_clash_is_told(
    design: Callable[..., Plan], check: Any, rest: Any, says: str
) -> None:
    found = failed(design(rest))
    assert check in found, sorted(found)
    assert re.search(says, found[check].says), found[check].says


def test_the_amount_of_the_remedy_is_enough(design: Callable[..., Plan]) -> None:
    """Moved by what the remedy says, the opening passes."""
    found = failed(design("[[panel.opening]]\nd = 6\nat = [55, 0]"))["openings.inside"]
    by = float(re.search(r"([\d.]+) mm away from it", found.remedy)[1])
    assert not failed(design(f"[[panel.opening]]\nd = 6\nat = [{55 - by - 0.01}, 0]"))


def test_keyhole_and_inlet_of_a_kind_are_kept_clear_of(design: Callable[..., Plan]) -> None:
    kind = BaseKind("inlet-hanger-A", "panel", True, 90.0, "A")
    plan = design("[[panel.opening]]\nd = 5\nat = [45, 0]\n[[panel.opening]]\nd = 5\nat = [0, 34]")
    told = {v.says for v in opening_checks("panel", plan, [kind]) if v.verdict == "fail"}
    assert any("with the inlet" in says for says in told)
    assert any("keyhole" in says or "head" in says for says in told)


def test_a_crossing_polygon_stops_before_any_solid(design: Callable[..., Plan]) -> None:
    plan = design(
        '[[panel.opening]]\nkind = "polygon"\npoints = [[0, 0], [10, 10], [10, 0], [0, 9]]'
    )
    assert [v.id for v in plan_checks("panel", plan) if v.verdict == "fail"] == ["openings.shape"]


def test_a_shell_that_keeps_its_place_takes_a_screw_in_every_corner(
    design: Callable[..., Plan],
) -> None:
    plan = design('[[panel.opening]]\npart = "shell"\nedge = 0\nd = 4\nat = [12, 22]')
    assert plan.fixings.fixing_corners == (0, 1, 2, 3, 4, 5)
    assert design().fixings.fixing_corners == (0, 2, 4)
    odd = BaseKind("turned-1", "panel", True, None, "", 1)
    three = design(
        '[[panel.opening]]\npart = "shell"\nedge = 0\nd = 4\nat = [12, 22]',
        sets=["panel.shell.screws=3"],
    )
    assert "openings.turned" in failed(three, [odd])
    assert not failed(plan, [odd])


def test_bases_with_openings_are_another_kind_for_every_turn(design: Callable[..., Plan]) -> None:
    cell = Cell(6, 60.0)
    panels = tuple(
        PlacedPanel(name, "panel", cell, 120.0 * k, 0.0, 0.0) for k, name in enumerate("AB")
    )
    layout = Layout(
        panels, (), tuple(OpenEdge(p.name, e) for p in panels for e in range(6)), (("A",), ("B",))
    )
    inlets = {"A": 2, "B": 4}
    assert {u.kind.key for u in base_uses(layout, inlets, {}, alike=["panel"])} == {"inlet"}
    assert not alike_in_every_turn(design(CABLE).params)
    assert [(u.kind.key, u.kind.steps, u.steps) for u in base_uses(layout, inlets, {})] == [
        ("inlet-turned-2", 2, 2),
        ("inlet-turned-4", 4, 4),
    ]


# -- the door
# --------------------------------------------------------------------------------------------------

REFUSED = [
    ("[[panel.opening]]\nat = [0, 0]", "a round opening needs a diameter"),
    ('[[panel.opening]]\nkind = "rect"', "a rect opening needs a size"),
    (
        '[[panel.opening]]\nkind = "polygon"\npoints = [[0, 0], [1, 1]]',
        "a polygon needs three corners",
    ),
    ('[[panel.opening]]\npart = "shell"\nd = 3', "through the shell needs an edge"),
    ("[[panel.opening]]\nedge = 6\nd = 3", "a panel with 6 sides has no edge 6"),
    ('[[panel.addition]]\nkind = "text"', "the text has no letters"),
    (
        '[[panel.addition]]\nkind = "text"\nletters = "A"\nback = true',
        "would keep the base off the wall",
    ),
    ('[[panel.addition]]\nkind = "text"\nletters = "A"\nedge = 1', "hides letters"),
    ('[[panel.addition]]\nkind = "rib"', "a rib needs its second end"),
    ('[[panel.addition]]\nkind = "boss"\nd = 4\nhole = 4', "the hole is as wide as the boss"),
    ('[[panel.addition]]\nkind = "boss"\npart = "shell"', "needs an edge"),
]


@pytest.mark.parametrize(("rest", "says"), REFUSED, ids=[says for _, says in REFUSED])
def test_what_can_not_be_is_refused_at_the_door(
    refused: Callable[..., str], rest: Any, says: str
) -> None:
    assert says in refused(rest)


@pytest.mark.slow
@pytest.mark.kernel
def test_no_web_stands_where_a_board_of_ones_own_has_no_hole(design: Callable[..., Plan]) -> None:
    """Corners 0 and 2 of six have a post and its web to the wall; corner 1 is bare, a keyhole may
    go there.
    """
    x, y = design().fixings.board_holes[0]
    rows = "".join(
        f'[[panel.board.part]]\nkind = "hole"\nx = {px}\ny = {py}\nwidth = 3.2\n'
        for px, py in ((x, y), (-x, y), (-x, -y), (x, -y))
    )
    plan = design(rows)
    solid = base(plan, PLAIN)
    # between post and wall
    r = (plan.rings.base_inner.facet + plan.fixings.post_radius + plan.fixings.post_d / 2) / 2 - 0.4
    z = (plan.floor.top_z + plan.heights.board_z) / 2

    def at_corner(k: Any) -> Any:
        angle = math.radians(60.0 * k + 30.0)
        return solid_at(solid, r * math.cos(angle), r * math.sin(angle), z)

    assert at_corner(0) == pytest.approx(1.0)
    assert at_corner(2) == pytest.approx(1.0)
    assert at_corner(1) == 0.0


def test_an_opening_is_told_by_the_name_that_its_maker_gave(design: Callable[..., Plan]) -> None:
    found = failed(design('[[panel.opening]]\nname = "lead of the bell"\nd = 6\nat = [55, 0]'))
    assert 'opening[0] "lead of the bell"' in found["openings.inside"].says


@pytest.mark.kernel
@pytest.mark.slow  # in the default run: gaps and their places in tests/checks/test_leak.py
@pytest.mark.parametrize("steps", [0, 2])
def test_a_pinhole_in_the_shell_lets_light_out_whatever_way_the_base_is_mounted(
    design: Any, steps: Any
) -> None:
    """1 mm over the board: no even spread of rays finds it, aimed ones do; it is told by the
    panel's own edge.
    """
    plan = design(
        '[[panel.opening]]\nname = "pinhole"\npart = "shell"\nedge = 4\nd = 1\nat = [10, 26]'
    )
    kind = BaseKind("plain", "panel", False, None, "", steps)
    (told,) = leak.checks(plan, kind, printed(plan, kind))
    assert told.verdict == "fail"
    assert "through edge 4 at" in told.says
    assert "through edge 2 at" not in told.says
    assert 'opening[0] "pinhole"' in told.remedy


@pytest.mark.kernel
@pytest.mark.slow
def test_raised_letters_keep_the_cap_flush_and_print_without_support(
    design: Callable[..., Plan],
) -> None:
    """With the depth that letters have when none is given."""
    plan = design(
        '[[panel.addition]]\nkind = "text"\npart = "shell"\nedge = 3\nletters = "B7"\nat = [0,'
        ' 26]\n[[panel.art]]\nletters = "B7"\ncapital = 8\non = "shell"\nedge = 4\nat = [0,'
        ' 26]\nwork = "raised"'
    )
    made = printed(plan, PLAIN)
    flush = [v for v in fit.checks(plan, PLAIN, made) if v.id == "fit.cap-flush"]
    assert {v.subject.split()[-1] for v in flush} >= {"3", "4"}
    assert {v.verdict for v in flush} == {"pass"}
    assert plan.params.art[0].depth <= plan.printer.extrusion_width
    assert plan.params.addition[0].depth <= plan.printer.extrusion_width
