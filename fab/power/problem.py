"""The wiring of one wall as a problem: what is given, and what one split of it into zones gives."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from fab.layout.model import Joint, Layout
from fab.params.job import PowerParams
from fab.params.panel import PanelParams
from fab.power import limits as lim
from fab.power.corridor import edge_rooms, is_usable
from fab.power.fed_panels import fed_part
from fab.power.graph import Graph, graph_of
from fab.power.inlets import ZoneWires, best_edge, best_inlet, margins, towards
from fab.power.links import Links
from fab.power.model import EdgeRoom, HeatCap, Inlet, Load
from fab.power.network import Network, NetworkState, WallCircuit
from fab.power.ohms import all_joint_ohms, inlet_ohm
from fab.power.requests import refuse
from fab.power.zones import Parting


@dataclass(frozen=True)
class Try:
    """One split, with its inlets and what flows at the wanted brightness."""

    parting: Parting
    inlets: tuple[Inlet, ...]
    network: Network
    state: NetworkState | None
    used: Mapping[str, float]  # "supply", "pins", "volts", "logic": 1 is the limit

    @property
    def good(self) -> bool:
        """True when every limit holds, but for rounding."""
        return all(used <= 1 + 1e-9 for used in self.used.values())


def _ends(joint: Joint) -> tuple[tuple[str, int], tuple[str, int]]:
    """Return both panels of a joint with their edges."""
    return (joint.a, joint.edge_a), (joint.b, joint.edge_b)


class Problem:
    """Values that stay the same while splits are tried; InputError: no split can mend it.

    `layout` and all that follows are the fed part of the wall; one panel at least must have a
    board.
    """

    def __init__(
        self,
        layout: Layout,
        loads: Sequence[Load],
        power: PowerParams,
        designs: Mapping[str, PanelParams],
        rooms: Sequence[EdgeRoom] | None,
        links: Links,
        jumpers: Collection[int] = (),
    ) -> None:
        everywhere = edge_rooms(layout, designs) if rooms is None else rooms
        self.fed = fed_part(layout, loads, power, designs, everywhere)
        whole, layout, loads = layout, self.fed.layout, self.fed.loads
        self.layout, self.loads, self.power, self.designs = layout, loads, power, designs
        self.at = {panel.name: k for k, panel in enumerate(layout.panels)}
        self.design = [designs[panel.design] for panel in layout.panels]
        joined = (links.headers | frozenset(jumpers)) if not links.every else frozenset(jumpers)
        self.index = tuple(k for k in self.fed.joints if k in joined)
        self.pairs = {
            k: (self.at[joint.a], self.at[joint.b])
            for k, joint in zip(self.fed.joints, layout.joints, strict=True)
        }
        self.joints = [self.pairs[k] for k in self.index]
        ohms = all_joint_ohms(whole, designs, links, frozenset(jumpers))
        self.ohms = tuple(ohms[k] for k in self.index)
        self.rooms: dict[str, list[EdgeRoom]] = defaultdict(list)
        self.fits: dict[tuple[str, int], bool] = {}
        # behind bases on feet an inlet may leave by a joint's edge, but not where a jumper has its
        # opening
        crossed = {end for k in jumpers for end in _ends(whole.joints[k])}
        for room in self.fed.rooms:
            at, inlet = (room.panel, room.edge), designs[layout.by_name[room.panel].design].inlet
            self.rooms[room.panel].append(room)
            self.fits[at] = at not in crossed and is_usable(room, inlet)
        able = self._able()
        refuse(layout, power, graph_of(layout, loads, able, self.joints), self.rooms)
        self.graph: Graph = graph_of(layout, loads, set(power.inlet) or able, self.joints)
        self.limit_a = round(power.supply_a * power.derate, 9)
        self.least_v = [design.led.least_v for design in self.design]
        own = power.logic_v if power.control == "each" else None
        self.limits = lim.limits_of(self.limit_a, self.ohms, self.least_v, self.joints, own)
        self.constant_power = power.load == "power"
        assert power.brightness is not None  # a wish of "auto" has been given a number by now
        self.brightness = power.brightness
        self.load_a = [load.at(power.brightness) for load in self.loads]

    def _able(self) -> set[str]:
        """Panels that may carry an inlet; in a group without room those with any open edge."""
        able: set[str] = set()
        for group in self.layout.groups:
            fitting = {
                name
                for name in group
                if any(self.fits[(r.panel, r.edge)] for r in self.rooms[name])
            }
            able |= fitting or {name for name in group if self.rooms[name]}
        return able

    def attempt(self, parting: Parting) -> Try:
        """The wall in these zones at the wanted brightness: inlets, network and limits."""
        inlets = self._inlets(parting.zones)
        zone_of = {i: z for z, zone in enumerate(parting.zones) for i in zone}
        network = self.network(inlets, [zone_of[i] for i in range(len(zone_of))])
        state = network.solve(self.load_a, constant_power=self.constant_power)
        return Try(parting, inlets, network, state, lim.strain(state, self.limits))

    def _inlets(self, zones: Sequence[Sequence[int]]) -> tuple[Inlet, ...]:
        zone_of = {i: z for z, zone in enumerate(zones) for i in zone}
        inside: list[list[int]] = [[] for _ in zones]
        for k, (a, b) in enumerate(self.joints):
            if zone_of[a] == zone_of[b]:
                inside[zone_of[a]].append(k)
        return tuple(self._inlet(zone, inside[z]) for z, zone in enumerate(zones))

    def _inlet(self, zone: Sequence[int], joints: Sequence[int]) -> Inlet:
        local = {i: k for k, i in enumerate(zone)}
        able = [i for i in zone if self.graph.usable[i]]
        edges = [
            best_edge(self.layout, self.rooms[self.graph.names[i]], self.fits, self.power.socket)
            for i in able
        ]
        if len(able) == 1:
            return edges[0]
        wires = ZoneWires(
            [(local[self.joints[k][0]], local[self.joints[k][1]]) for k in joints],
            [self.ohms[k].supply_ohm for k in joints],
            [self.ohms[k].ground_ohm for k in joints],
            [self.load_a[i] for i in zone],
            [self.least_v[i] for i in zone],
            [inlet_ohm(self.design[i], self.power) for i in zone],
        )
        left = margins(wires, [local[i] for i in able], self.power.supply_v)
        suits = [towards(self.layout, edge.room, self.power.socket) for edge in edges]
        return best_inlet(edges, left, suits)

    # -- what flows
    # ------------------------------------------------------------------------------------
    def network(self, inlets: Sequence[Inlet], zone_of: Sequence[int]) -> Network:
        """The resistor network of the wall: supply is cut between zones, ground runs through."""
        supply = [
            None if zone_of[a] != zone_of[b] else self.ohms[k].supply_ohm
            for k, (a, b) in enumerate(self.joints)
        ]
        ground = [ohms.ground_ohm for ohms in self.ohms]
        entries = [
            (self.at[i.panel], inlet_ohm(self.design[self.at[i.panel]], self.power)) for i in inlets
        ]
        return Network(
            WallCircuit(len(self.at), self.joints, supply, ground, entries, self.power.supply_v)
        )

    def brightest(self, tried: Try, heat: HeatCap) -> tuple[float, str]:
        """Highest brightness at which this split holds, and what stops it."""
        idle = self.array([load.idle_a for load in self.loads])
        full = self.array([load.full_a for load in self.loads])
        found, stop = lim.brightest(
            tried.network, idle, full, self.limits, constant_power=self.constant_power
        )
        cap = heat.brightness(self.power.supply_v)
        return (cap, "heat") if cap < found else (found, stop)

    def state_at(self, tried: Try, brightness: float) -> NetworkState | None:
        """Currents and volts at another brightness."""
        return tried.network.solve(
            self.array([load.at(brightness) for load in self.loads]),
            constant_power=self.constant_power,
        )

    def dimmed(self, tried: Try, brightness: float) -> Try:
        """The same split and inlets at another brightness."""
        state = self.state_at(tried, brightness)
        return replace(tried, state=state, used=lim.strain(state, self.limits))

    @staticmethod
    def array(values: Sequence[float]) -> Any:
        """The values as a float array."""
        import numpy as np

        return np.asarray(values, dtype=float)
