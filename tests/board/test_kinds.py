"""Panel kinds in one wall: a blank cover, a deeper panel, a corner with a cable exit; edges that do
not match are told.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from fab.checks.edges import edge_checks
from fab.checks.plan import plan_checks
from fab.decisions import decide, lay_out, plans_of
from fab.outputs import board, lists
from fab.outputs.electrics import electrics
from fab.outputs.orders import group_of, priced
from fab.params.read import load
from fab.params.trade import HARDWARE
from fab.prints.mass import PrintUse
from fab.wall.model import PanelMass

WALL = """\
job = "kinds"
shop = "metric-bench"
panel = "hexagon-120"
[designs.cover]
extends = "hexagon-120"
board = {none = true}
[designs.deep]
extends = "hexagon-120"
depth = 44
[designs.exit]
extends = "hexagon-120"
inlet = {kind = "round"}
[layout]
cells = [[0, 0], [1, 0]]
[[layout.panel]]
design = "cover"
cell = [2, 0]
[[layout.panel]]
design = "deep"
cell = [0, -1]
[[layout.panel]]
design = "exit"
name = "exit"
cell = [-1, 1]
[power]
inlet = ["exit"]
"""


@pytest.fixture
def wall(tmp_path: Path) -> Any:
    def _wall(*sets: str) -> Any:
        path = tmp_path / "job.toml"
        path.write_text(WALL)
        return load(path, sets).job

    return _wall


def decided(job: Any) -> Any:
    """All choices, every panel taken to weigh 300 g."""
    return decide(
        job, lambda plans, layout: {p.name: PanelMass(300.0, 0.0, 0.0, 15.0) for p in layout.panels}
    )


def test_a_blank_cover_has_no_load_no_header_and_no_cap(wall: Any) -> None:
    design = decided(wall())
    (blank,) = design.blank
    assert design.layout.by_name[blank].design == "cover"
    load_of = {load.panel: load for load in design.wired.loads}
    assert (load_of[blank].leds, load_of[blank].full_a) == (0, 0.0)
    assert design.counts.headers == len(design.layout.joints) - 1
    assert design.capped[blank] == ()
    neighbour, edge = next(
        (name, own) for own, name, other in design.layout.neighbours[blank] for own in [other]
    )
    assert edge in design.capped[neighbour]  # its window has no header to fill it
    assert design.counts.clips == 2 * len(design.layout.joints)  # it hangs together all the same


def test_every_window_is_closed_once(wall: Any) -> None:
    """Edges of panels with electronics: a header, a cap or an inlet each, never two of them."""
    design = decided(wall())
    windows = sum(p.cell.sides for p in design.layout.panels if p.name not in design.blank)
    assert windows == 2 * design.counts.headers + design.counts.caps + design.counts.inlets


def test_lists_have_no_board_for_a_blank_cover(wall: Any) -> None:
    design = decided(wall())
    names = {line.item for line in electrics(design)}
    assert "circuit board deep" in names
    assert not any("cover" in name for name in names)
    paths = {file.path for file in board.files(design)}
    assert "board/outline-deep.dxf" in paths
    assert not any("cover" in path for path in paths)
    rows = {row["name"]: row for row in lists.addresses(design)}
    (blank,) = design.blank
    assert rows[blank]["leds"] == 0
    assert len(rows) == len(design.layout.panels)


def test_a_cable_is_held_by_a_tie_and_a_receptacle_by_a_screw(wall: Any) -> None:
    """One inlet of a cable, then one of a cable and one of a receptacle, then a receptacle alone;
    the tie's price is that of its name.
    """
    for sets, ties, screws in (
        ((), {"cable tie": 1}, 0),
        (('power.inlet=["exit", "A"]',), {"cable tie exit": 1}, 1),
        (('power.inlet=["A"]',), {}, 1),
    ):
        design = decided(wall(*sets))
        lines = lists.parts(
            design, {spec: PrintUse(0.0, 0.0, 0.0, 0.0) for spec, _ in design.printed}, {}
        )
        assert {line.item: line.count for line in lines if line.part == "tie"} == ties
        assert sum(line.count for line in lines if line.part == "clamp") == screws
        for line in lines:
            if line.part == "tie":
                assert priced(line, {"cable tie": 0.05}).cost == 0.05
                assert group_of(line) == HARDWARE
                # by hand: around a cable of 5 mm and ribs of 3 lines of 0.45 mm, 10.7 x 6 mm, and
                # 40 mm of head and end
                assert "80 mm long or longer" in line.note


def test_the_designs_of_such_a_wall_pass(wall: Any) -> None:
    job = wall()
    plans = plans_of(job)
    for name, plan in plans.items():
        assert not [v for v in plan_checks(name, plan) if v.verdict == "fail"], name
    assert {v.verdict for v in edge_checks(lay_out(job), plans)} == {"pass"}


@pytest.mark.parametrize(
    ("word", "trait", "both"),
    [
        ("designs.deep.gap=0.6", "gap between panels", ("0.6 mm", "0.4 mm")),
        ("designs.deep.header.pins=6", "pins of the header", ("6 pins", "5 pins")),
        ("designs.deep.board.height=16", "height of the header's axis", ("14.75 mm", "13.55 mm")),
        ("designs.cover.clip.width=9", "middle of a clip", ("12.25 mm", "14.8 mm")),
        ("designs.deep.base.floor=3.4", "thickness of the floor", ("3.4 mm", "3 mm")),
    ],
)
def test_edges_that_do_not_match_are_told_with_both_values(
    wall: Any, word: str, trait: str, both: Any
) -> None:
    job = wall(word)
    found = [
        v
        for v in edge_checks(lay_out(job), plans_of(job))
        if v.verdict == "fail" and trait in v.says
    ]
    assert found
    assert all(value in found[0].says for value in both), found[0].says
    assert "The two designs meet between panels" in found[0].says
    assert found[0].remedy.startswith(f"Change designs.{word.split('.')[1]}."), found[
        0
    ].remedy  # the odd one, not the main one
    assert both[1].split()[0] in found[0].remedy


def test_a_blank_cover_need_not_match_the_header(wall: Any) -> None:
    job = wall("designs.cover.header.play=0.6", "designs.cover.inlet.plug_w=12.35")
    found = [v for v in edge_checks(lay_out(job), plans_of(job)) if v.verdict == "fail"]
    assert not any("window" in v.says or "pins" in v.says for v in found)


def test_letters_that_stand_out_at_a_joint_are_told(tmp_path: Path) -> None:
    path = tmp_path / "job.toml"
    path.write_text(
        'job = "t"\nshop = "metric-bench"\n[panel]\nextends ='
        ' "hexagon-120"\n[[panel.addition]]\nkind = "text"\npart = "shell"\nedge = 0\nletters ='
        ' "A"\nat = [0, 26]\n[layout]\ncells = [[0, 0], [1, 0]]\n'
    )
    job = load(path).job
    found = [v for v in edge_checks(lay_out(job), plans_of(job)) if v.id == "openings.joint"]
    assert [v.verdict for v in found] == ["fail"]
    assert "edge 0" in found[0].says
    sunk = load(
        path, ["panel.addition=[{kind='text',part='shell',edge=0,letters='A',at=[0,26],sunk=true}]"]
    ).job
    assert not [v for v in edge_checks(lay_out(sunk), plans_of(sunk)) if v.id == "openings.joint"]


@pytest.mark.slow
@pytest.mark.kernel
def test_a_blank_cover_has_closed_walls(wall: Any) -> None:
    from fab.layout.model import BaseKind
    from fab.parts.base import base
    from fab.parts.shell import shell
    from fab.solids.kernel import box, overlap_mm3

    plan = plans_of(wall())["cover"]
    mid = plan.rings.base_inner.apothem + plan.params.base.wall / 2
    cube = box(
        mid - 0.3, mid + 0.3, -0.3, 0.3, plan.heights.axis_z - 0.3, plan.heights.axis_z + 0.3
    )
    assert overlap_mm3(
        base(plan, BaseKind("plain", "cover", False, None, "")), cube
    ) == pytest.approx(0.6**3, rel=1e-6)
    at = plan.rings.rebate_apothem + plan.params.shell.wall / 2
    cube = box(at - 0.3, at + 0.3, -0.3, 0.3, plan.heights.axis_z - 0.3, plan.heights.axis_z + 0.3)
    assert overlap_mm3(shell(plan), cube) == pytest.approx(0.6**3, rel=1e-6)
