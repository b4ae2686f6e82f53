"""Bases on feet: any panel may have the inlet, its cable finds a way behind them, and the loads
follow.
"""

from __future__ import annotations

import dataclasses
import math
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest

from fab.decisions import decide
from fab.errors import InputError
from fab.outputs.lists import _hardware, fixing, screw_stand
from fab.params.read import load
from fab.power.corridor import edge_rooms, is_usable
from fab.verdicts import electric_verdicts, hang_verdicts
from fab.wall.model import PanelMass
from tests.wall.walls import plan_of, wall

RING = [(0, 0), (1, 0), (0, 1), (-1, 1), (-1, 0), (0, -1), (1, -1)]
JOB = """
job = "block"
[shop]
extends = "metric-bench"
[panel]
extends = "hexagon-120"
[panel.base]
feet = {feet}
[layout]
cells = {cells}
[power]
inlet = [{inlet}]
[hang]
wall = "brick"
"""


def decided(
    tmp_path: Any, feet: Any = 8, cells: Any = RING, inlet: Any = "", more: Any = ""
) -> Any:
    path = tmp_path / "block.toml"
    path.write_text(JOB.format(feet=feet, cells=[list(c) for c in cells], inlet=inlet) + more)
    job = load(path).job
    return decide(
        job, lambda plans, layout: {p.name: PanelMass(250.0, 0.0, 0.0, 15.0) for p in layout.panels}
    )


def test_every_edge_of_every_panel_is_a_way_out_with_feet() -> None:
    layout = wall(6, RING)
    params = plan_of(6).params
    on_feet = dataclasses.replace(params, base=dataclasses.replace(params.base, feet=8.0))
    rooms = edge_rooms(layout, {"panel": on_feet})
    assert len(rooms) == 6 * len(RING)
    assert all(is_usable(room, on_feet.inlet) for room in rooms)
    assert len(edge_rooms(layout, {"panel": params})) == len(layout.open_edges)


def test_the_middle_of_a_block_is_fed_behind_the_bases(tmp_path: Path) -> None:
    design = decided(tmp_path, inlet='"D"')
    assert list(design.wired.inlets) == ["D"]
    assert not [v for v in electric_verdicts(design) if v.verdict == "fail"]
    (run,) = design.runs
    assert run.length_mm is not None
    assert run.length_mm > 60
    assert run.leaves == "behind the panels"
    behind = design.behind
    assert behind is not None
    for (ax, ay), (bx, by) in pairwise(run.way):
        for k in range(101):
            at = (ax + (bx - ax) * k / 100, ay + (by - ay) * k / 100)
            for post, radius in behind.posts:
                assert math.dist(at, post) >= radius + behind.cable_d / 2
    x0, y0, x1, y1 = design.layout.box
    end = run.way[-1]
    assert not (x0 < end[0] < x1 and y0 < end[1] < y1)
    assert len(design.capped["A"]) == 3  # the inlet takes no edge: every open edge has its cap


@pytest.mark.slow
def test_an_inlet_behind_a_base_leaves_edges_with_jumpers_alone(tmp_path: Path) -> None:
    design = decided(tmp_path, inlet='"D"')
    for name, edge in design.wired.inlets.items():
        assert edge not in design.table.jumper_edges.get(name, ())
    every = decided(tmp_path, inlet='"D"', more='[joint]\njumper = "all"\n')
    told = next(v for v in electric_verdicts(every) if v.id == "fit.inlet-jumper")
    assert told.verdict == "fail"  # six jumpers round it leave the inlet no place
    rim = decided(tmp_path, inlet='"A"', more='[joint]\njumper = "all"\n')
    assert next(v for v in electric_verdicts(rim) if v.id == "fit.inlet-jumper").verdict == "pass"


@pytest.mark.slow
def test_feet_make_the_screws_lever_longer(tmp_path: Path) -> None:
    """Pull of a screw = W z / h: 8 mm more under all masses; the lowest foot is higher than the
    lowest corner.
    """
    flat, high = decided(tmp_path, feet=0), decided(tmp_path, feet=8)
    for group in zip(flat.hung.groups, high.hung.groups, strict=True):
        assert group[1].z == pytest.approx(group[0].z + 8.0)
    assert max(h.pull_n for h in high.hung.hangers) > max(h.pull_n for h in flat.hung.hangers)
    bend = [v for v in hang_verdicts(high) if v.id == "hang.screw-bend"]
    worst = max(high.hung.hangers, key=lambda h: max(h.shear_n, h.soft_n))
    force = max(worst.shear_n, worst.soft_n)
    # a round rod of the thread's core, 0.7 x 4 mm: 32 M / (pi d^3), any handbook
    assert bend[0].measured == pytest.approx(
        4.0 * 32 * force * (8.0 + 1.5) / (math.pi * 2.8**3), rel=1e-6
    )
    assert not [v for v in hang_verdicts(flat) if v.id == "hang.screw-bend"]


def test_designs_of_one_wall_stand_equally_high(tmp_path: Path) -> None:
    path = tmp_path / "two.toml"
    path.write_text(
        'job = "two"\nshop = "metric-bench"\n[panel]\nextends ='
        ' "edge90-hexagon"\n[designs.square]\nextends ='
        ' "edge90-square"\n[designs.square.base]\nfeet = 8\n[layout]\n[[layout.panel]]\nname ='
        ' "A"\ncell = [0, 0]\n[[layout.panel]]\nname = "B"\ndesign = "square"\non = "A"\nedge = 0\n'
    )
    with pytest.raises(InputError) as caught:
        load(path)
    (fault,) = caught.value.faults
    assert fault.key == "designs.square.base.feet"
    assert "headers between the two would not meet" in fault.says


def test_a_lift_is_judged_and_can_be_made_safe(tmp_path: Path) -> None:
    by_hand = decided(tmp_path, more='lift = "hands"\n')
    told = [v for v in hang_verdicts(by_hand) if v.id == "hang.lift"]
    assert [v.verdict for v in told] == ["fail"]
    assert 'hang.lift = "board"' in told[0].remedy
    for wish in ("board", "auto"):
        carried = decided(tmp_path, more=f'lift = "{wish}"\n')
        assert {v.verdict for v in hang_verdicts(carried) if v.id == "hang.lift"} == {"pass"}
    alone = decided(tmp_path, cells=[(0, 0), (1, 0)])
    assert not alone.lifting[0].board


def test_the_screws_of_a_wall_on_feet_are_longer_wherever_they_are_listed(tmp_path: Path) -> None:
    """The note of the shop names a screw for a base that lies flat on the wall."""
    design = decided(tmp_path, 8)
    note = design.job.shop.wall["brick"].note
    long = f"{math.ceil(design.job.shop.wall['brick'].depth + screw_stand(design))} mm long"
    told = {line.item: line.note for line in _hardware(design, 2)}
    assert note
    assert note in fixing(design)
    assert all(long in words for words in (fixing(design), told["wall screw"], told["wall plug"]))
    flat = decided(tmp_path, 0)
    assert fixing(flat) == note
    assert "long" not in {line.item: line.note for line in _hardware(flat, 2)}["wall screw"]
