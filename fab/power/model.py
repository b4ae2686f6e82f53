"""The words of power, as frozen values. Amperes, volts, ohms; positions in the wall frame, mm.

load      what one panel draws: its controller always, its LEDs by brightness
zone      the panels that one inlet feeds; supply does not cross from zone to zone, data and ground
          do;
          number 0 holds the blank covers, which nothing feeds
rail      one of the two conductors of the wall: supply and ground (the return path)
wiring    of a joint: what flows in it; what joins it stands in the table of joints
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

from fab.layout.joint_table import JointTable
from fab.power.links import Links


@dataclass(frozen=True)
class HeatCap:
    """The heat that panels may give off: (watts, idle_a, full_a) of each kind of panel."""

    rows: tuple[tuple[float, float, float], ...] = ()

    def brightness(self, supply_v: float) -> float:
        """Brightness at which a first panel is too warm; over 1: never, 0: dark ones are."""
        return min(
            (max(w / supply_v - idle, 0.0) / full for w, idle, full in self.rows), default=math.inf
        )


@dataclass(frozen=True)
class Load:
    """Currents of one panel at the supply's nominal volts."""

    panel: str
    leds: int
    idle_a: float  # controller and dark LEDs
    full_a: float  # all LEDs at full white, without the controller

    def at(self, brightness: float) -> float:
        """Current at a share of full white."""
        return self.idle_a + brightness * self.full_a


@dataclass(frozen=True)
class EdgeRoom:
    """The room outside one open edge, for plug and cable."""

    panel: str
    edge: int
    x: float  # middle of the edge
    y: float
    facing_deg: float
    # how far a strip as wide as the plug runs before it meets another panel; capped, see corridor
    free_mm: float
    enclosed: bool  # opens into a hole of the wall, so no cable gets there along the wall


@dataclass(frozen=True)
class Inlet:
    """The entry of a zone's supply, and where its cable goes."""

    panel: str
    edge: int
    room: EdgeRoom
    usable: bool  # the room outside is enough


@dataclass(frozen=True)
class Zone:
    """The panels that one inlet feeds."""

    index: int  # from 1
    panels: tuple[str, ...]  # in reading order
    inlet_panel: str
    inlet_edge: int
    current_a: float  # through the inlet, at the wall's brightness
    inlet: Inlet


@dataclass(frozen=True)
class JointWiring:
    """Currents through one joint; zero where nothing joins its boards.

    Signed from panel a to panel b of the joint.
    """

    joint: int  # index into the layout's joints
    supply_a: float  # through all its supply pins
    ground_a: float  # through all its ground pins
    pin_a: float  # through the pin, or the pole of a jumper, that carries most
    pin_limit_a: float


@dataclass(frozen=True)
class Wired:
    """The wall with its zones, headers, and what flows."""

    loads: tuple[Load, ...]  # in the layout's order
    zones: tuple[Zone, ...]
    table: JointTable  # what joins each joint, and who mates it
    wiring: tuple[JointWiring, ...]  # in the layout's order of joints
    # fed panel to its supply rail, against the ground of its group's first inlet
    supply_v: Mapping[str, float]
    ground_v: Mapping[str, float]  # panel to its ground rail
    brightness: float  # at which all of this flows
    wished: float | None  # brightness that the job asks for; None: as bright as holds
    aim: float  # brightness that the number of inlets was chosen for
    possible: float  # highest brightness at which every check holds with these zones; 0: none
    # what limits it: "supply", "pins", "volts", "logic", "heat", "full" (nothing below full white)
    possible_by: str
    zone_limit_a: float  # what one inlet may give: supply_a * derate
    least_zones: int  # no split with fewer zones can exist (a proof, not a guess)
    # zones come from the integer programme, proven best; False: from the heuristic, see `gap`
    exact: bool
    collapsed: bool  # no steady state exists: the loads ask more power than the wires can pass
    residual_a: float  # largest fault of Kirchhoff's current law over all nodes
    # "pins", "volts", "logic" or "supply" when more zones were made than the supply alone asks for;
    # else ""
    raised_by: str
    links: Links  # what could join each joint, for those who ask what else would work
    heat: HeatCap
    # joints that the zones would rather have a header in; jumpers stand in for them
    wishes: tuple[int, ...] = ()
    blank: tuple[str, ...] = ()  # blank covers: nothing feeds them

    @cached_property
    def volts(self) -> Mapping[str, float]:
        """Fed panel to the volts between its rails."""
        return {name: volts - self.ground_v[name] for name, volts in self.supply_v.items()}

    @cached_property
    def zone_of(self) -> Mapping[str, Zone]:
        """Every panel to its zone; blank covers to zone 0."""
        nowhere = EdgeRoom("", 0, 0.0, 0.0, 0.0, 0.0, True)
        unfed = Zone(0, self.blank, "", 0, 0.0, Inlet("", 0, nowhere, False))
        return {name: zone for zone in (*self.zones, unfed) for name in zone.panels}

    @property
    def lowest(self) -> tuple[str, float]:
        """The panel with the least volts, and those volts; ("", 0) where nothing is fed."""
        return min(
            self.volts.items(), key=lambda item: (round(item[1], 9), item[0]), default=("", 0.0)
        )

    @property
    def hottest(self) -> JointWiring | None:
        """The joint whose busiest pin is nearest to its rating; None for a wall without any."""
        joined = [self.wiring[k] for k in self.table.joined]
        return max(
            joined, key=lambda w: (round(w.pin_a / w.pin_limit_a, 12), -w.joint), default=None
        )

    @property
    def gap(self) -> int:
        """Zones more than the proven bound; 0 means that fewer are impossible."""
        return len(self.zones) - self.least_zones

    @property
    def inlets(self) -> Mapping[str, int]:
        """Panel with an inlet to the open edge that its cable leaves by."""
        return {zone.inlet_panel: zone.inlet_edge for zone in self.zones}
