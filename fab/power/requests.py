"""The maker's requests to the supply against the wall: all faults, with what would work."""

from __future__ import annotations

import difflib
import math
from collections.abc import Mapping, Sequence

from fab.errors import Fault, InputError
from fab.layout.model import Layout
from fab.params.job import PowerParams
from fab.power.graph import Graph
from fab.power.model import EdgeRoom


def refuse(
    layout: Layout, power: PowerParams, graph: Graph, rooms: Mapping[str, Sequence[EdgeRoom]]
) -> None:
    """Raise InputError with every fault of `power` that no wiring can mend.

    `graph` has as usable the panels that may carry an inlet; `rooms` the open edges of each panel.
    """
    faults = _shut_in(layout, rooms)
    if not faults:
        faults = [*_names(layout, power, rooms), *_count(layout, power, graph)]
    if faults:
        raise InputError(faults)


def _shut_in(layout: Layout, rooms: Mapping[str, Sequence[EdgeRoom]]) -> list[Fault]:
    """Groups with no open edge at all: blank covers stand all round them."""
    faults = []
    for group in layout.groups:
        if not any(rooms.get(name) for name in group):
            listed = ", ".join(group[:6]) + (" ..." if len(group) > 6 else "")
            says = (
                f"the panels {listed} have no open edge: blank covers surround them, and no cable"
                " reaches them"
            )
            faults.append(Fault("layout", says, "Remove one cover, or give it a board."))
    return faults


def _names(
    layout: Layout, power: PowerParams, rooms: Mapping[str, Sequence[EdgeRoom]]
) -> list[Fault]:
    faults = []
    for k, name in enumerate(power.inlet):
        key = f"power.inlet[{k}]"
        if name not in layout.by_name:
            near = difflib.get_close_matches(name, list(layout.by_name), n=1)
            listed = ", ".join(list(layout.by_name)[:8]) + " ..." * (len(layout.by_name) > 8)
            works = f'Did you mean "{near[0]}"?' if near else f"Panels: {listed}."
            faults.append(Fault(key, f'unknown panel "{name}".', works))
        elif name in power.inlet[:k]:
            faults.append(Fault(key, f'"{name}" is named twice', "A panel has one inlet at most."))
        elif not rooms.get(name):
            works = _nearest_open(layout, name, rooms)
            faults.append(
                Fault(key, f"panel {name} has no open edge: its cable cannot leave", works)
            )
    named = [name for name in power.inlet if name in layout.by_name]
    if power.inlet and len(named) == len(power.inlet):
        for group in layout.groups:
            if not set(group) & set(named):
                listed = ", ".join(group[:6]) + (" ..." if len(group) > 6 else "")
                says = f"no inlet for the panels {listed}, which do not touch the others"
                faults.append(
                    Fault("power.inlet", says, f'Add one of them, for example "{group[0]}".')
                )
    return faults


def _nearest_open(layout: Layout, name: str, rooms: Mapping[str, Sequence[EdgeRoom]]) -> str:
    here = layout.by_name[name]
    able = [other for other in layout.panels if rooms.get(other.name)]
    near = min(able, key=lambda p: (round(math.dist((p.x, p.y), (here.x, here.y)), 6), p.name))
    return f'Panel "{near.name}" is the nearest that has one.'


def _count(layout: Layout, power: PowerParams, graph: Graph) -> list[Fault]:
    count = power.inlets
    if count is None:
        return []
    if power.inlet:
        if len(power.inlet) == count:
            return []
        says = f"power.inlets is {count}, but power.inlet names {len(power.inlet)}"
        return [Fault("power.inlets", says, "Leave one of the two keys out.")]
    able = sum(graph.usable)
    if count > able:
        says = (
            f"Panels with an open edge that has room for an inlet: {able}; inlets wanted: {count}"
        )
        return [Fault("power.inlets", says, f"{able} or fewer work.")]
    if count < len(layout.groups):
        says = f"Separate groups of panels: {len(layout.groups)}; inlets wanted: {count}"
        return [Fault("power.inlets", says, f"{len(layout.groups)} or more work.")]
    return []
