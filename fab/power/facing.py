"""The edge of its panel that an inlet faces: turned where a jumper or a keyhole wants the same
floor. Which zones there are, and what flows, stays as it is.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

from fab.layout.model import Layout, PlacedPanel
from fab.parts.plan import Plan
from fab.power.corridor import is_usable
from fab.power.model import EdgeRoom, Wired


def able_edges(
    wired: Wired, layout: Layout, plans: Mapping[str, Plan], rooms: Iterable[EdgeRoom]
) -> dict[str, list[int]]:
    """Return each panel with an inlet and the edges that its cable may leave by: room outside, and
    no jumper.
    """
    taken, inlets = wired.table.jumper_edges, wired.inlets
    found: dict[str, list[int]] = {name: [] for name in inlets}
    for room in rooms:
        if room.panel in inlets and room.edge not in taken.get(room.panel, ()):
            design = plans[layout.by_name[room.panel].design].params
            if is_usable(room, design.inlet):
                found[room.panel].append(room.edge)
    return found


def steps_between(panel: PlacedPanel, one: int, two: int) -> int:
    """Return how many edges apart two edges of a panel are, the shorter way round."""
    apart = (one - two) % panel.cell.sides
    return min(apart, panel.cell.sides - apart)


def off_jumpers(
    wired: Wired, layout: Layout, plans: Mapping[str, Plan], rooms: Sequence[EdgeRoom]
) -> Wired:
    """Return the wiring with the inlets of bases on feet turned away from edges with a jumper.

    The turn of an inlet behind the base costs nothing: the edge only says which way its base is
    mounted.
    """
    taken, edges = wired.table.jumper_edges, {}
    for name, free in able_edges(wired, layout, plans, rooms).items():
        panel, edge = layout.by_name[name], wired.inlets[name]
        if plans[panel.design].inlet.behind and edge in taken.get(name, ()) and free:
            edges[name] = min(free, key=lambda e: (steps_between(panel, e, edge), e))
    return facing(wired, rooms, edges)


def facing(wired: Wired, rooms: Iterable[EdgeRoom], edges: Mapping[str, int]) -> Wired:
    """Return the wiring with inlets at other edges: panel to edge; the others stay."""
    if not edges:
        return wired
    at = {(room.panel, room.edge): room for room in rooms}
    zones = []
    for zone in wired.zones:
        edge = edges.get(zone.inlet_panel, zone.inlet_edge)
        if edge != zone.inlet_edge:
            room = at[zone.inlet_panel, edge]
            inlet = replace(zone.inlet, edge=edge, room=room, usable=True)
            zone = replace(zone, inlet_edge=edge, inlet=inlet)  # noqa: PLW2901
        zones.append(zone)
    return replace(wired, zones=tuple(zones))
