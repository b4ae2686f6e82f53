"""Checks of supply cables: room at the inlet, kind of supply, length, and sockets of the wall."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence

from fab.checks.model import Verdict, at_least, at_most, judge
from fab.layout.groups import connected
from fab.layout.model import Layout
from fab.params.job import PowerParams
from fab.params.panel import PanelParams
from fab.power.cables import CableRun
from fab.power.corridor import is_usable
from fab.power.fed_wall import FedWall
from fab.units import fixed


def inlet_room(wall: FedWall) -> Verdict:
    """The inlet with the least room outside, for plug and bend of the cable."""
    wired, layout, power = wall.wired, wall.layout, wall.power

    def free(index: int) -> float:
        room = wired.zones[index].inlet.room
        return 0.0 if room.enclosed else room.free_mm

    def need(index: int) -> float:
        return wall.design(wired.zones[index].inlet_panel).inlet.room

    worst = min(range(len(wired.zones)), key=lambda k: (round(free(k) - need(k), 6), k))
    zone = wired.zones[worst]
    says = f"The cable of panel {zone.inlet_panel} leaves at edge {zone.inlet_edge}."
    if zone.inlet.room.enclosed:
        says = (
            f"Edge {zone.inlet_edge} of panel {zone.inlet_panel} opens into a hole between panels:"
            " no cable reaches it."
        )
    able = sorted(
        {room.panel for room in wall.rooms if is_usable(room, wall.design(room.panel).inlet)}
    )
    remedy = ""
    fitted = [layout.joints[k] for k in wired.table.joined]
    groups = connected(list(wired.volts), [(joint.a, joint.b) for joint in fitted])
    group = next(group for group in groups if zone.inlet_panel in group)
    spare = [name for name in able if name in group and name not in power.inlet]
    if zone.inlet_panel in power.inlet and spare:
        here = layout.by_name[zone.inlet_panel]
        away = {
            name: math.dist((here.x, here.y), (layout.by_name[name].x, layout.by_name[name].y))
            for name in spare
        }
        other = min(spare, key=lambda name: (round(away[name], 6), name))
        names = ", ".join(
            f'"{other if name == zone.inlet_panel else name}"' for name in power.inlet
        )
        remedy = f"Set power.inlet = [{names}]."
    elif not zone.inlet.room.enclosed and free(worst) > 1:
        room = math.floor(free(worst))
        remedy = (
            f"Set panel.inlet.room = {room} if the plug and the bend of your cable are that short,"
            " or leave out a panel there."
        )
    elif zone.inlet.room.enclosed:
        remedy = "Leave a gap between the panels through which the cable can reach that panel."
    return judge(
        "power.inlet-room",
        f"inlet of {zone.inlet_panel}",
        at_least(free(worst), need(worst), tolerance=1e-3),
        says,
        remedy=remedy,
        source="inlet.room",
    )


def supply_kind(power: PowerParams, designs: Mapping[str, PanelParams]) -> Iterator[Verdict]:
    """The most that a USB Type-C supply gives without negotiation."""
    if not any(design.inlet.kind == "usb-c" for design in designs.values()):
        return
    source = (
        "IEC 63002 4.4 and 4.5 as quoted by its preview: 5 V, 0.5, 0.9, 1.5 or 3 A; more only by"
        " negotiation"
    )
    for subject, key, have, most, unit in (
        ("supply", "power.supply_a", power.supply_a, 3.0, "A"),
        ("supply volts", "power.supply_v", power.supply_v, 5.0, "V"),
    ):
        yield judge(
            "power.supply-class",
            subject,
            at_most(have, most, unit),
            f"A USB Type-C supply gives {fixed(most)} {unit} at most, unless the inlet negotiates"
            " for more.",
            source=source,
            remedy=(
                f'Set {key} = {fixed(most)}, or panel.inlet.kind = "round" for a supply with other'
                " values."
            ),
            otherwise="warn",
        )


def cable_reach(power: PowerParams, runs: Sequence[CableRun]) -> Iterator[Verdict]:
    """The longest cable to a socket, where the job names sockets."""
    if not power.socket or not runs:
        return
    far = max(
        runs, key=lambda run: (math.inf if run.length_mm is None else run.length_mm, -run.zone)
    )
    length = math.inf if far.length_mm is None else far.length_mm
    says = (
        "Length of the longest cable, along the wall and round the panels. Tables and shelves on"
        " its path are not counted."
    )
    if far.length_mm is None:
        says = f"No path along the wall leads from panel {far.panel} to a mains socket."
    longer = (
        "" if far.length_mm is None else f"Set power.cable_mm = {math.ceil(length / 100) * 100}."
    )
    yield judge(
        "power.cable",
        f"cable of zone {far.zone}",
        at_most(min(length, 1e9), power.cable_mm),
        says,
        remedy=longer or "Move the inlet (power.inlet).",
        source="power.cable_mm",
        otherwise="warn",
    )


def sockets_clear(power: PowerParams, layout: Layout) -> Iterator[Verdict]:
    """Sockets of the wall that a panel would cover."""
    for number, (x, y) in enumerate(power.socket, 1):
        deepest, over = -math.inf, ""
        for panel in layout.panels:
            turns = [math.radians(panel.normal_deg(edge)) for edge in range(panel.cell.sides)]
            reach = max((x - panel.x) * math.cos(a) + (y - panel.y) * math.sin(a) for a in turns)
            if panel.cell.apothem - reach > deepest:
                deepest, over = panel.cell.apothem - reach, panel.name
        yield judge(
            "power.socket",
            f"socket {number}",
            at_most(deepest, 0.0),
            f"Depth of mains socket {number} under panel {over}; negative: beside it. Never drill"
            " above, below or beside a socket without a detector.",
            remedy=(
                f"Move the wall, or leave panel {over} out: no plug fits behind it, and sockets"
                " must stay in reach."
            ),
            source="power.socket",
            otherwise="warn",
        )
