"""The panels that are fed.

A blank cover has no board: it draws nothing, and nothing passes it, not even data.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from fab.errors import Fault, InputError
from fab.layout.groups import connected
from fab.layout.model import Layout
from fab.params.job import PowerParams
from fab.params.panel import PanelParams
from fab.power.model import EdgeRoom, Load


@dataclass(frozen=True)
class Fed:
    """A wall without its blank covers. The same layout where there are none."""

    layout: Layout
    loads: tuple[Load, ...]
    rooms: tuple[EdgeRoom, ...]
    joints: tuple[int, ...]  # of each joint left, its index in the whole layout
    blank: tuple[str, ...]


def fed_part(
    layout: Layout,
    loads: Sequence[Load],
    power: PowerParams,
    designs: Mapping[str, PanelParams],
    rooms: Sequence[EdgeRoom],
) -> Fed:
    """The wall without its blank covers. Raises InputError when a blank cover is to get an inlet.

    Edges beside a blank cover stay shut: no cable leaves there. Panels that hang together only by
    blank covers are groups of their own.
    """
    blank = {panel.name for panel in layout.panels if designs[panel.design].board.none}
    if not blank:
        return Fed(layout, tuple(loads), tuple(rooms), tuple(range(len(layout.joints))), ())
    faults = [
        Fault(
            f"power.inlet[{k}]",
            f"panel {name} is a blank cover: it has no board to feed",
            "Give another panel.",
        )
        for k, name in enumerate(power.inlet)
        if name in blank
    ]
    if faults:
        raise InputError(faults)
    panels = tuple(panel for panel in layout.panels if panel.name not in blank)
    kept = tuple(k for k, joint in enumerate(layout.joints) if not {joint.a, joint.b} & blank)
    joints = tuple(layout.joints[k] for k in kept)
    part = Layout(
        panels,
        joints,
        tuple(edge for edge in layout.open_edges if edge.panel not in blank),
        connected([panel.name for panel in panels], [(joint.a, joint.b) for joint in joints]),
    )
    return Fed(
        part,
        tuple(load for load in loads if load.panel not in blank),
        tuple(room for room in rooms if room.panel not in blank),
        kept,
        tuple(panel.name for panel in layout.panels if panel.name in blank),
    )
