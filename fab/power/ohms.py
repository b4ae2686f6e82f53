"""Resistances of the way that current takes: pins with both contacts, board copper, cable.

        middle of board a          joint            middle of board b
            o---[copper a]---[pins | contacts]---[copper b]---o       supply rail
            o---[copper a]---[pins | contacts]---[copper b]---o       ground rail, the way back

Copper counts `board.power_squares` squares from an edge to the middle, on both rails alike.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass

from fab.errors import Fault, InputError
from fab.layout.model import Layout
from fab.params.designs import table_of
from fab.params.job import PowerParams
from fab.params.panel import PanelParams
from fab.power.links import Links, Pole

# Annealed copper at 20 degC: 1/58 ohm mm2/m = 1.7241e-8 ohm m. Source: IEC 60028. A board at 60
# degC has 16 per cent more (0.00393 per kelvin, same source); against contacts of 20 mohm that is
# small, and it is left out.
COPPER_OHM_M = 1.7241e-8


@dataclass(frozen=True)
class JointOhms:
    """Of one joint, from the middle of one board to the middle of the other."""

    supply_ohm: float
    ground_ohm: float
    supply_pins: int
    ground_pins: int
    pin_limit_a: float


def sheet_ohm(copper_um: float) -> float:
    """Resistance of a square of copper, ohm."""
    return COPPER_OHM_M / (copper_um * 1e-6)


def copper_ohm(design: PanelParams) -> float:
    """One rail of a board, from an edge to its middle."""
    return sheet_ohm(design.board.copper_um) * design.board.power_squares


def joint_ohms(a: PanelParams, b: PanelParams, pole: Pole | None = None) -> JointOhms:
    """A header between two designs: the poorer pin of the two counts. Parallel pins share alike.

    `pole`: of a jumper that stands in for the header, pole by pole.
    """
    pin = max(a.header.pin_ohm, b.header.pin_ohm) if pole is None else pole.ohm
    most_a = min(a.header.pin_a, b.header.pin_a) if pole is None else pole.most_a
    supply = min(a.header.power_pins, b.header.power_pins)
    ground = min(a.header.ground_pins, b.header.ground_pins)
    copper = copper_ohm(a) + copper_ohm(b)
    return JointOhms(pin / supply + copper, pin / ground + copper, supply, ground, most_a)


def inlet_ohm(design: PanelParams, power: PowerParams) -> float:
    """From the supply's terminals to the middle of the inlet's board, both ways together."""
    return power.cable_mm / 1000.0 * power.cable_ohm_per_m + 2 * copper_ohm(design)


def all_joint_ohms(
    layout: Layout, designs: Mapping[str, PanelParams], links: Links, jumpers: Collection[int] = ()
) -> tuple[JointOhms, ...]:
    """One per joint of the layout; `jumpers`: those that are no header, by index.

    Raises InputError for pins without resistance: no contact is that good, and how current shares
    itself round a loop of them has no answer.
    """
    used = {panel.design for panel in layout.panels} if layout.joints else set()
    faults = [
        Fault(
            f"{table_of(name)}.header.pin_ohm",
            "a pin with its contacts cannot have 0 ohm: currents round a ring of panels could not"
            " be calculated.",
            "0.02 is usual for a 2.54 mm header.",
        )
        for name in sorted(used)
        if not designs[name].header.pin_ohm > 0
    ]
    if faults:
        raise InputError(faults)
    known: dict[tuple[str, str, bool], JointOhms] = {}
    found = []
    for k, joint in enumerate(layout.joints):
        a, b = layout.by_name[joint.a].design, layout.by_name[joint.b].design
        kind = (a, b, k in jumpers)
        if kind not in known:
            known[kind] = joint_ohms(
                designs[a], designs[b], links.poles[a, b] if k in jumpers else None
            )
        found.append(known[kind])
    return tuple(found)
