"""Changes that give panels without one a keyhole to hang by: a shorter travel, no feet, a larger
panel, another turn. Each is tried on the floor of their bases before it is told.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from fab.layout.model import PlacedPanel
from fab.params.panel import PanelParams
from fab.parts.keyhole import entry_diameter, slot_width
from fab.parts.plan import Plan
from fab.parts.planning import planned
from fab.units import fixed
from fab.wall.places import rest_over_centre

LEAST_SLOT_MM = 1.0  # of the slot beyond the entry, as the plan's check wants it
TRAVEL_STEP_MM, TURN_STEP_DEG = 0.5, 15
MOST_LARGER_MM = 60


@dataclass(frozen=True)
class Keyless:
    """Panels of one design that must hang, and how high over its centre a screw must rest, mm."""

    panels: Sequence[PlacedPanel]
    plan: Plan
    least: float
    inlets: Mapping[str, Sequence[int]]  # panel to the edges that its inlet may face
    opened: Mapping[str, Sequence[int]]  # panel to its edges with an opening for a jumper

    def held(self, plan: Plan, turn_deg: float = 0.0) -> bool:
        """True when every panel has a place for its screw with this plan, turned by so much."""
        return all(
            any(
                rest_over_centre(
                    replace(panel, turn_deg=(panel.turn_deg + turn_deg) % 360.0),
                    plan,
                    edge,
                    self.opened.get(panel.name, ()),
                )
                >= self.least
                for edge in self.inlets.get(panel.name, (None,))
            )
            for panel in self.panels
        )


def roomier(keyless: Keyless) -> str:
    """Return the changes that were tried and work, in words; "" where none does."""
    panel = keyless.panels[0]
    key = "panel" if panel.design == "panel" else f"designs.{panel.design}"
    plan = keyless.plan
    asked = plan.asked or plan.params
    told = []
    for name, designs in _kinds(plan, asked):
        found = _first(designs, lambda changed: keyless.held(_planned(plan, changed[1])))
        if found is not None:
            told.append(f"{key}.{name} = {fixed(found[0])}")
    ways = [f"Set {', or '.join(told)}."] if told else []
    if plan.params.hanger.offset is not None:
        free = replace(asked, hanger=replace(asked.hanger, offset=None))
        if keyless.held(_planned(plan, free)):
            ways.insert(0, f"Leave {key}.hanger.offset out.")
    turns = [sign * TURN_STEP_DEG * k for k in range(1, 13) for sign in (1, -1)]
    turn = next((turn for turn in turns if keyless.held(plan, turn)), None)
    if turn is not None:
        ways.append(f"Or turn the layout by {turn} degrees.")
    return " ".join(ways)


def _kinds(
    plan: Plan, asked: PanelParams
) -> Iterator[tuple[str, Iterator[tuple[float, PanelParams]]]]:
    """Keys, each with the values to try, the nearest first, and the designs that have them."""
    hanger = plan.params.hanger
    least = LEAST_SLOT_MM + (entry_diameter(plan) - slot_width(plan)) / 2
    shorter = int((hanger.travel - least) / TRAVEL_STEP_MM)
    travels = [hanger.travel - TRAVEL_STEP_MM * k for k in range(1, shorter + 1)]
    yield (
        "hanger.travel",
        ((mm, replace(asked, hanger=replace(asked.hanger, travel=mm))) for mm in travels),
    )
    if plan.params.base.feet > 0:
        yield "base.feet", iter([(0.0, replace(asked, base=replace(asked.base, feet=0.0)))])
    size = asked.across_flats if asked.across_flats is not None else asked.edge
    if size is not None:
        name = "across_flats" if asked.across_flats is not None else "edge"
        sizes = [float(int(size) + k) for k in range(1, MOST_LARGER_MM)]
        yield name, ((mm, replace(asked, **{name: mm})) for mm in sizes)  # type: ignore[arg-type]


def _first(
    designs: Iterator[tuple[float, PanelParams]], works: Callable[[tuple[float, PanelParams]], bool]
) -> tuple[float, PanelParams] | None:
    return next((one for one in designs if works(one)), None)


def _planned(plan: Plan, asked: PanelParams) -> Plan:
    return planned(asked, plan.printer, plan.stock, plan.filament)
