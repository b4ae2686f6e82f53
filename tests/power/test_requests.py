"""What can't be is refused, with where, why, and what would work; what would work does."""

from __future__ import annotations

import re
from typing import Any

import pytest

from fab.errors import InputError
from fab.params.job import PowerParams
from fab.params.panel import HeaderParams, InletParams
from fab.power.wire import wire

from .walls import FLOWER, NINE, asking, design, loads, random_cells, wall

DESIGNS = {"panel": design()}


def refused(
    match: str, power: PowerParams, cells: Any = NINE, panel: Any = None, **params: Any
) -> str:
    made = panel or design()
    layout = wall(cells, made, **params)
    with pytest.raises(InputError, match=match) as caught:
        wire(layout, loads(layout, 37, made), power, {"panel": made})
    return str(caught.value)


def works(power: PowerParams, cells: Any = NINE, panel: Any = None, **params: Any) -> None:
    made = panel or design()
    layout = wall(cells, made, **params)
    wire(layout, loads(layout, 37, made), power, {"panel": made})


def test_an_inlet_on_a_panel_that_is_not_there_names_the_nearest() -> None:
    said = refused(r'power.inlet\[1\]: unknown panel "AB"\.', asking(inlet=("C", "AB")))
    name = re.search(r'Did you mean "(\w+)"', said).group(1)
    assert name in ("A", "B")
    works(asking(inlet=("C", name)))


def test_all_faults_are_told_at_once() -> None:
    said = refused("unknown panel", asking(inlet=("Q", "A", "A"), inlets=2))
    assert "named twice" in said
    assert "power.inlets is 2, but power.inlet names 3" in said


def test_an_inlet_without_an_open_edge() -> None:
    layout = wall(FLOWER)
    centre = next(p.name for p in layout.panels if p.lattice == (0, 0))
    said = refused(f"panel {centre} has no open edge", asking(inlet=(centre,)), FLOWER)
    works(asking(inlet=(re.search(r'Panel "(\w+)" is the nearest', said).group(1),)), FLOWER)


def test_more_inlets_than_places() -> None:
    said = refused("room for an inlet: 6; inlets wanted: 8", asking(inlets=8), FLOWER)
    assert "6 or fewer work" in said
    works(asking(inlets=6), FLOWER)


def test_groups_that_stand_apart() -> None:
    apart = [(0, 0), (1, 0), (5, 0), (6, 0)]
    refused(
        "Separate groups of panels: 2; inlets wanted: 1", asking(inlets=1), apart, groups="separate"
    )
    works(asking(inlets=2), apart, groups="separate")
    said = refused("no inlet for the panels C, D", asking(inlet=("A",)), apart, groups="separate")
    assert 'for example "C"' in said
    works(asking(inlet=("A", "C")), apart, groups="separate")


def test_many_panels_without_an_inlet_are_cut_short_in_the_message() -> None:
    apart = [*((k, 0) for k in range(7)), *((k, 5) for k in range(6))]
    said = refused("no inlet for", asking(inlet=("A",)), apart, groups="separate")
    assert "the panels G, H, I, J, K, L ..., which" in said
    said = refused("no inlet for", asking(inlet=("G",)), apart, groups="separate")
    assert "the panels A, B, C, D, E, F, which" in said
    said = refused("unknown panel", asking(inlet=("Quince",)), apart, groups="separate")
    assert "Panels: A, B, C, D, E, F, G, H ...." in said
    said = refused("unknown panel", asking(inlet=("Quince",)), apart[:7])
    assert "Panels: A, B, C, D, E, F, G." in said


def test_pins_without_resistance() -> None:
    said = refused(
        r"panel.header.pin_ohm",
        asking(),
        panel=design(header=HeaderParams(pins=5, ground_pins=2, pin_ohm=0.0)),
    )
    assert "0.02 is usual" in said
    works(asking(), [(0, 0)], panel=design(header=HeaderParams(pins=5, ground_pins=2, pin_ohm=0.0)))


def test_a_wall_without_room_for_any_cable_is_wired_with_the_most_there_is() -> None:
    """No edge has 5 m of room in a narrow yard: the check says so, nothing crashes."""
    panel = design(inlet=InletParams(room=500.0))
    ring = [
        (a, b) for a in range(-3, 4) for b in range(-3, 4) if max(abs(a), abs(b), abs(a + b)) == 3
    ]
    layout = wall([*ring, (0, 0)], panel, groups="separate")
    wired = wire(layout, loads(layout, 10, panel), asking(), {"panel": panel})
    centre = next(p.name for p in layout.panels if p.lattice == (0, 0))
    zone = wired.zone_of[centre]
    assert not zone.inlet.usable
    assert zone.inlet.room.enclosed


def test_a_large_random_wall_is_never_refused_for_its_shape() -> None:
    works(asking(), random_cells(120, 9))
