"""Wire a wall: zones, inlets, headers, and what flows then. The one way into this room."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from fab.layout.model import Layout
from fab.params.job import PowerParams
from fab.params.panel import PanelParams
from fab.power import limits as lim
from fab.power.asked import refuse
from fab.power.corridor import edge_rooms, is_usable
from fab.power.graph import Graph, graph_of
from fab.power.inlets import ZoneWires, best_edge, best_inlet, margins, towards
from fab.power.model import EdgeRoom, Inlet, JointWiring, Load, Wired, Zone
from fab.power.network import Circuit, Network, State
from fab.power.ohms import JointOhms, all_joint_ohms, inlet_ohm
from fab.power.spare import spare_joints
from fab.power.zones import Parting, part

TRIES = 12  # how often more zones are tried when pins or volts do not hold


def wire(
    layout: Layout, loads: Sequence[Load], power: PowerParams, designs: Mapping[str, PanelParams],
    rooms: Sequence[EdgeRoom] | None = None,
) -> Wired:  # fmt: skip
    """Zones, inlets, headers and the steady state of a wall at `power.brightness`.

    `designs` by name, as panels of the layout name them; `rooms`: the room outside every open edge, worked out when
    left out. Raises InputError for inlets that can't be, a supply below the controllers' idle current and pins
    without resistance. A wall that can't be fed as brightly as asked is wired all the same: the checks say so.
    """
    return _Wall(layout, loads, power, designs, rooms).wired()


@dataclass(frozen=True)
class _Try:
    """One split, with its inlets and what flows."""

    parting: Parting
    inlets: tuple[Inlet, ...]
    network: Network
    state: State | None
    used: Mapping[str, float]


class _Wall:
    """What stays the same while splits are tried."""

    def __init__(
        self, layout: Layout, loads: Sequence[Load], power: PowerParams, designs: Mapping[str, PanelParams],
        rooms: Sequence[EdgeRoom] | None,
    ) -> None:  # fmt: skip
        self.layout, self.loads, self.power, self.designs = layout, tuple(loads), power, designs
        self.at = {panel.name: k for k, panel in enumerate(layout.panels)}
        self.design = [designs[panel.design] for panel in layout.panels]
        self.joints = [(self.at[joint.a], self.at[joint.b]) for joint in layout.joints]
        self.ohms = all_joint_ohms(layout, designs)
        self.rooms: dict[str, list[EdgeRoom]] = defaultdict(list)
        self.fits: dict[tuple[str, int], bool] = {}
        for room in edge_rooms(layout, designs) if rooms is None else rooms:
            self.rooms[room.panel].append(room)
            self.fits[(room.panel, room.edge)] = is_usable(room, designs[layout.by_name[room.panel].design].inlet)
        able = self._able()
        refuse(layout, loads, power, graph_of(layout, loads, able), self.rooms)
        self.graph: Graph = graph_of(layout, loads, set(power.inlet) or able)
        self.limit_a = power.supply_a * power.derate
        self.least_v = [design.led.least_v for design in self.design]
        self.limits = lim.limits_of(self.limit_a, self.ohms, self.least_v)
        self.constant_power = power.load == "power"
        self.load_a = [load.at(power.brightness) for load in self.loads]

    def _able(self) -> set[str]:
        """Panels that may carry an inlet; in a group where none has room enough, those with any open edge."""
        able: set[str] = set()
        for group in self.layout.groups:
            fitting = {name for name in group if any(self.fits[(r.panel, r.edge)] for r in self.rooms[name])}
            able |= fitting or {name for name in group if self.rooms[name]}
        return able

    def wired(self) -> Wired:
        tried = self._best()
        zones = self._zones(tried)
        zone_of = [0] * len(self.layout.panels)
        for zone in zones:
            for name in zone.panels:
                zone_of[self.at[name]] = zone.index
        idle = self._array([load.idle_a for load in self.loads])
        full = self._array([load.full_a for load in self.loads])
        possible, stop = lim.brightest(tried.network, idle, full, self.limits, self.constant_power)
        spare = self._spare(tried, zone_of)
        state = tried.state
        nothing = [0.0] * len(self.loads)
        supply_v = nothing if state is None else [float(v) for v in state.supply_v]
        ground_v = nothing if state is None else [float(v) for v in state.ground_v]
        names = list(self.at)
        return Wired(
            self.loads, zones, self._wiring(state, zone_of, spare),
            dict(zip(names, supply_v, strict=True)), dict(zip(names, ground_v, strict=True)),
            self.power.brightness, possible, stop, self.limit_a, tried.parting.least, min(tried.parting.most, 1.0),
            tried.parting.exact, state is None, 0.0 if state is None else state.residual_a, spare,
        )  # fmt: skip

    # -- zones ---------------------------------------------------------------------------------------
    def _best(self) -> _Try:
        """The fewest zones that hold; where pins or volts are the limit, more than the supply alone asks for."""
        count = len(self.power.inlet) or self.power.inlets
        first = self._try(part(self.graph, self.limit_a, self.power.brightness, count))
        if count or self._good(first) or first.parting.reach < self.power.brightness - 1e-9:
            return first
        least, able = first.parting.least, sum(self.graph.usable)
        low, tried = len(first.parting.zones), first
        step = 1
        for _ in range(TRIES):
            zones = min(low + step, able)
            if zones <= low:
                return first
            tried = self._try(self._fixed(zones, least))
            if self._good(tried):
                break
            low, step = zones, 1 if len(self.graph) <= 64 else 2 * step
        if not self._good(tried):
            return first
        while len(tried.parting.zones) - low > 1:
            middle = self._try(self._fixed((low + len(tried.parting.zones)) // 2, least))
            if self._good(middle):
                tried = middle
            else:
                low = len(middle.parting.zones)
        return tried

    def _fixed(self, zones: int, least: int) -> Parting:
        found = part(self.graph, self.limit_a, self.power.brightness, zones)
        return Parting(found.zones, found.reach, False, least, found.most)

    def _good(self, tried: _Try) -> bool:
        return all(used <= 1 + 1e-9 for used in tried.used.values())

    def _try(self, parting: Parting) -> _Try:
        inlets = self._inlets(parting.zones)
        zone_of = {i: z for z, zone in enumerate(parting.zones) for i in zone}
        network = self._network(inlets, [zone_of[i] for i in range(len(zone_of))], frozenset())
        state = network.solve(self.load_a, self.constant_power)
        return _Try(parting, inlets, network, state, lim.strain(state, self.limits))

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
            best_edge(self.layout, self.rooms[self.graph.names[i]], self.fits, self.power.socket) for i in able
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

    # -- what flows ------------------------------------------------------------------------------------
    def _network(self, inlets: Sequence[Inlet], zone_of: Sequence[int], without: frozenset[int]) -> Network:
        supply = [
            None if k in without or zone_of[a] != zone_of[b] else self.ohms[k].supply_ohm
            for k, (a, b) in enumerate(self.joints)
        ]
        ground = [None if k in without else self.ohms[k].ground_ohm for k in range(len(self.joints))]
        entries = [(self.at[i.panel], inlet_ohm(self.design[self.at[i.panel]], self.power)) for i in inlets]
        return Network(Circuit(len(self.at), self.joints, supply, ground, entries, self.power.supply_v))

    def _zones(self, tried: _Try) -> tuple[Zone, ...]:
        """Zones in reading order of their first panel."""
        names = self.graph.names
        zones = []
        for z, (panels, inlet) in enumerate(zip(tried.parting.zones, tried.inlets, strict=True)):
            current = math.fsum(self.load_a[i] for i in panels) if tried.state is None else float(tried.state.inlet_a[z])
            zones.append(Zone(z + 1, tuple(names[i] for i in panels), inlet.panel, inlet.edge, current, inlet))
        return tuple(zones)

    def _wiring(self, state: State | None, zone_of: Sequence[int], spare: Sequence[int]) -> tuple[JointWiring, ...]:
        left_out = set(spare)
        rows = []
        for k, (a, b) in enumerate(self.joints):
            ohms = self.ohms[k]
            supply = 0.0 if state is None else float(state.supply_a[k])
            ground = 0.0 if state is None else float(state.ground_a[k])
            pin = max(abs(supply) / ohms.supply_pins, abs(ground) / ohms.ground_pins)
            power = zone_of[a] == zone_of[b]
            rows.append(JointWiring(k, power, k not in left_out, supply, ground, pin, ohms.pin_limit_a))
        return tuple(rows)

    def _spare(self, tried: _Try, zone_of: Sequence[int]) -> tuple[int, ...]:
        """Joints that may be left out at the wanted brightness; none when the wall does not hold as it is."""
        state = tried.state
        if state is None or not self._good(tried):
            return ()
        least = self._array(self.least_v)
        wide = lim.Limits(self.limits.inlet_a, self.limits.supply_a, self.limits.ground_a, least + lim.MARGIN_V)
        need = wide if lim.holds(state, wide) else self.limits

        def still_holds(without: frozenset[int]) -> bool:
            network = self._network(tried.inlets, zone_of, without)
            return lim.holds(network.solve(self.load_a, self.constant_power), need)

        use = [
            max(abs(float(state.supply_a[k])) / self.limits.supply_a[k], abs(float(state.ground_a[k])) / self.limits.ground_a[k])
            for k in range(len(self.joints))
        ]
        return spare_joints(len(self.at), self.joints, zone_of, use, still_holds)

    @staticmethod
    def _array(values: Sequence[float]) -> Any:
        import numpy as np

        return np.asarray(values, dtype=float)


def able_edges(rooms: Sequence[EdgeRoom], layout: Layout, designs: Mapping[str, PanelParams]) -> dict[str, tuple[int, ...]]:
    """Panel to its open edges with room enough for plug and cable; panels without any are left out."""
    found: dict[str, list[int]] = defaultdict(list)
    for room in rooms:
        if is_usable(room, designs[layout.by_name[room.panel].design].inlet):
            found[room.panel].append(room.edge)
    return {name: tuple(edges) for name, edges in found.items()}
