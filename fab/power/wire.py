"""Wire a wall: zones, inlets, headers, and what flows then. The one way into this room."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from fab.layout.model import Layout
from fab.params.job import PowerParams
from fab.params.panel import PanelParams
from fab.power import limits as lim
from fab.power.model import EdgeRoom, JointWiring, Load, Wired, Zone
from fab.power.problem import Problem, Try
from fab.power.spare import spare_joints
from fab.power.zones import Parting, part

TRIES = 12  # how often more zones are tried when pins or volts do not hold
ONE_BY_ONE = 64  # panels up to which one zone more is tried at a time


def wire(
    layout: Layout, loads: Sequence[Load], power: PowerParams, designs: Mapping[str, PanelParams],
    rooms: Sequence[EdgeRoom] | None = None,
) -> Wired:  # fmt: skip
    """Zones, inlets, headers and the steady state of a wall at `power.brightness`.

    `designs` by name, as panels of the layout name them; `rooms`: the room outside every open edge (`edge_rooms`),
    worked out when left out. Raises InputError for inlets that can't be, a supply below the controllers' idle current
    and pins without resistance. A wall that can't be fed as brightly as asked is wired all the same: checks say so.
    """
    if all(designs[panel.design].board.none for panel in layout.panels):
        return _nothing_fed(layout, loads, power)
    problem = Problem(layout, loads, power, designs, rooms)
    tried, raised_by = _best(problem)
    zones = _zones(problem, tried)
    zone_of = [0] * len(problem.at)
    for zone in zones:
        for name in zone.panels:
            zone_of[problem.at[name]] = zone.index
    possible, stop = problem.brightest(tried)
    spare = _spare(problem, tried, zone_of)
    state = tried.state
    nothing = [0.0] * len(problem.at)
    supply_v = nothing if state is None else [float(v) for v in state.supply_v]
    ground_v = nothing if state is None else [float(v) for v in state.ground_v]
    return Wired(
        tuple(loads), zones, _wiring(layout, problem, tried, zone_of, spare),
        dict(zip(problem.at, supply_v, strict=True)), dict(zip(problem.at, ground_v, strict=True)),
        power.brightness, possible, stop, problem.limit_a, tried.parting.least, min(tried.parting.most, 1.0),
        tried.parting.exact, state is None, 0.0 if state is None else state.residual_a, raised_by,
        tuple(problem.fed.joints[k] for k in spare), problem.fed.blank,
    )  # fmt: skip


def _nothing_fed(layout: Layout, loads: Sequence[Load], power: PowerParams) -> Wired:
    """A wall of blank covers only."""
    wiring = tuple(JointWiring(k, False, False, 0.0, 0.0, 0.0, math.inf, False) for k in range(len(layout.joints)))
    names = tuple(panel.name for panel in layout.panels)
    return Wired(
        tuple(loads), (), wiring, {}, {}, power.brightness, 1.0, "full", power.supply_a * power.derate, 0, 1.0, True,
        False, 0.0, "", (), names,
    )  # fmt: skip


def _best(problem: Problem) -> tuple[Try, str]:
    """The fewest zones that hold; where pins or volts are the limit, more than the supply alone asks for."""
    power, graph = problem.power, problem.graph
    count = len(power.inlet) or power.inlets
    first = problem.attempt(part(graph, problem.limit_a, power.brightness, count))
    if count or first.good or first.parting.reach < power.brightness - 1e-9:
        return first, ""
    least, able = first.parting.least, sum(graph.usable)
    low, step = len(first.parting.zones), 1
    found: Try | None = None
    for _ in range(TRIES):
        zones = min(low + step, able)
        if zones <= low:
            break
        tried = problem.attempt(_fixed(problem, zones, least))
        if tried.good:
            found = tried
            break
        low, step = zones, 1 if len(graph) <= ONE_BY_ONE else 2 * step
    if found is None:
        return first, ""
    while len(found.parting.zones) - low > 1:
        middle = problem.attempt(_fixed(problem, (low + len(found.parting.zones)) // 2, least))
        if middle.good:
            found = middle
        else:
            low = len(middle.parting.zones)
    return found, max(first.used, key=lambda name: (first.used[name], name))


def _fixed(problem: Problem, zones: int, least: int) -> Parting:
    """A split into more zones than the supply asks for; `least` stays the bound by the supply."""
    found = part(problem.graph, problem.limit_a, problem.power.brightness, zones)
    return Parting(found.zones, found.reach, False, least, found.most)


def _zones(problem: Problem, tried: Try) -> tuple[Zone, ...]:
    """Zones in reading order of their first panel."""
    names = problem.graph.names
    zones = []
    for z, (panels, inlet) in enumerate(zip(tried.parting.zones, tried.inlets, strict=True)):
        asked = math.fsum(problem.load_a[i] for i in panels)
        current = asked if tried.state is None else float(tried.state.inlet_a[z])
        zones.append(Zone(z + 1, tuple(names[i] for i in panels), inlet.panel, inlet.edge, current, inlet))
    return tuple(zones)


def _wiring(
    layout: Layout, problem: Problem, tried: Try, zone_of: Sequence[int], spare: Sequence[int]
) -> tuple[JointWiring, ...]:
    """One per joint of the whole layout."""
    left_out, state = set(spare), tried.state
    rows = [JointWiring(k, False, False, 0.0, 0.0, 0.0, math.inf, False) for k in range(len(layout.joints))]
    for k, (a, b) in enumerate(problem.joints):
        ohms, index = problem.ohms[k], problem.fed.joints[k]
        supply = 0.0 if state is None else float(state.supply_a[k])
        ground = 0.0 if state is None else float(state.ground_a[k])
        pin = max(abs(supply) / ohms.supply_pins, abs(ground) / ohms.ground_pins)
        power = zone_of[a] == zone_of[b]
        rows[index] = JointWiring(index, power, k not in left_out, supply, ground, pin, ohms.pin_limit_a)
    return tuple(rows)


def _spare(problem: Problem, tried: Try, zone_of: Sequence[int]) -> tuple[int, ...]:
    """Joints that may be left out at the wanted brightness; none when the wall does not hold as it is."""
    state = tried.state
    if state is None or not tried.good:
        return ()
    limits = problem.limits
    least = problem.array(problem.least_v)
    wide = lim.Limits(limits.inlet_a, limits.supply_a, limits.ground_a, least + lim.MARGIN_V)
    need = wide if lim.holds(state, wide) else limits

    def still_holds(without: frozenset[int]) -> bool:
        network = problem.network(tried.inlets, zone_of, without)
        return lim.holds(network.solve(problem.load_a, problem.constant_power), need)

    use = [
        max(abs(float(state.supply_a[k])) / limits.supply_a[k], abs(float(state.ground_a[k])) / limits.ground_a[k])
        for k in range(len(problem.joints))
    ]
    return spare_joints(len(problem.at), problem.joints, zone_of, use, still_holds)
