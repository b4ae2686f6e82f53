"""Wire a wall: zones, inlets, jumpers, and what flows then. The one way into this room.

Zones lie over the joints whose header some push mates, and over jumpers where those leave boards
apart. Where joints without a header cost a zone, jumpers join them: fewest inlets first, then
fewest jumpers.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from fab.layout.joint_table import JointTable, joint_table
from fab.layout.model import Layout
from fab.params.job import PowerParams
from fab.params.panel import PanelParams
from fab.power.bounds import least_zones
from fab.power.links import Links, every_header, fewest_links
from fab.power.model import EdgeRoom, HeatCap, JointWiring, Load, Wired, Zone
from fab.power.problem import Problem, Try
from fab.power.zones import Parting, part, with_fewest_jumpers

TRIES = 12  # how often more zones are tried when pins, volts or logic do not hold
ONE_BY_ONE = 64  # panels up to which one zone more is tried at a time
# brightness "auto": as few inlets as reach this share of full white, or the heat limit where that
# is less
AIM = 0.3


@dataclass(frozen=True)
class Chosen:
    """Zones with their inlets and jumpers, as chosen for one brightness."""

    problem: Problem
    tried: Try
    jumpers: tuple[int, ...]
    raised_by: str
    least: int  # no split with fewer zones can exist, whatever joins the boards
    wishes: tuple[int, ...]


def wire(
    layout: Layout,
    loads: Sequence[Load],
    power: PowerParams,
    designs: Mapping[str, PanelParams],
    rooms: Sequence[EdgeRoom] | None = None,
    *,
    links: Links | None = None,
    heat: HeatCap | None = None,
) -> Wired:
    """Zones, inlets, jumpers, the table of joints, and the steady state of a wall.

    `designs` by name, as panels of the layout name them; `rooms`: the room outside every open edge
    (`edge_rooms`), worked out when left out; `links`: what can join each joint (left out: a header
    every one); `heat`: what the panels may give off (left out: they are never too warm). Where
    `power.brightness` is left out ("auto"), it is the highest whole per cent at which everything
    holds, with as few inlets as reach `AIM`. Raises InputError for inlets that can't be and pins
    without resistance. A wall that can't be fed as asked is wired all the same: checks say so.
    """
    links, heat = links or every_header(layout), heat or HeatCap()
    aim = aimed(power, heat)
    if all(designs[panel.design].board.none for panel in layout.panels):
        return _nothing_fed(layout, loads, power, links, heat)
    chosen = _chosen(layout, loads, replace(power, brightness=aim), designs, rooms, links)
    problem, tried = chosen.problem, chosen.tried
    possible, stop = problem.brightest(tried, heat)
    level = power.brightness
    if level is None:
        if not power.inlet:  # balanced zones are not always the brightest of their number
            other = problem.attempt(_fixed(problem, len(tried.parting.zones), tried.parting.least))
            found = problem.brightest(other, heat)
            if found[0] > possible + 1e-9:
                tried, (possible, stop) = other, found
        level = max(math.floor(possible * 100 + 1e-9), 1) / 100
        tried = problem.dimmed(tried, level)
    zones = _zones(problem, tried, level)
    zone_of = {name: zone.index for zone in zones for name in zone.panels}
    state = tried.state
    nothing = [0.0] * len(problem.at)
    supply_v = nothing if state is None else [float(v) for v in state.supply_v]
    ground_v = nothing if state is None else [float(v) for v in state.ground_v]
    mates = {} if links.every else links.mates
    table = joint_table(layout, mates, chosen.jumpers, zone_of, problem.fed.blank)
    return Wired(
        loads=tuple(loads),
        zones=zones,
        table=table,
        wiring=_wiring(table, problem, tried),
        supply_v=dict(zip(problem.at, supply_v, strict=True)),
        ground_v=dict(zip(problem.at, ground_v, strict=True)),
        brightness=level,
        wished=power.brightness,
        aim=aim,
        possible=possible,
        possible_by=stop,
        zone_limit_a=problem.limit_a,
        least_zones=chosen.least,
        exact=tried.parting.exact,
        collapsed=state is None,
        residual_a=0.0 if state is None else state.residual_a,
        raised_by=chosen.raised_by,
        links=links,
        heat=heat,
        wishes=chosen.wishes,
        blank=problem.fed.blank,
    )


def aimed(power: PowerParams, heat: HeatCap) -> float:
    """The brightness that the number of inlets is chosen for."""
    if power.brightness is not None:
        return power.brightness
    return max(math.floor(min(AIM, heat.brightness(power.supply_v)) * 100 + 1e-9), 1) / 100


def _nothing_fed(
    layout: Layout, loads: Sequence[Load], power: PowerParams, links: Links, heat: HeatCap
) -> Wired:
    """A wall of blank covers only."""
    names, level = tuple(panel.name for panel in layout.panels), power.brightness or 1.0
    table = joint_table(layout, {}, (), {}, names)
    wiring = tuple(JointWiring(k, 0.0, 0.0, 0.0, math.inf) for k in range(len(layout.joints)))
    return Wired(
        loads=tuple(loads),
        zones=(),
        table=table,
        wiring=wiring,
        supply_v={},
        ground_v={},
        brightness=level,
        wished=power.brightness,
        aim=level,
        possible=1.0,
        possible_by="full",
        zone_limit_a=power.supply_a * power.derate,
        least_zones=0,
        exact=True,
        collapsed=False,
        residual_a=0.0,
        raised_by="",
        links=links,
        heat=heat,
        blank=names,
    )


def _chosen(
    layout: Layout,
    loads: Sequence[Load],
    power: PowerParams,
    designs: Mapping[str, PanelParams],
    rooms: Sequence[EdgeRoom] | None,
    links: Links,
) -> Chosen:
    """The fewest inlets, then the fewest jumpers, that keep every limit at `power.brightness`."""
    at = {panel.name: k for k, panel in enumerate(layout.panels)}
    live = {
        k: (at[joint.a], at[joint.b])
        for k, joint in enumerate(layout.joints)
        if not any(designs[layout.by_name[name].design].board.none for name in (joint.a, joint.b))
    }
    able = sorted(links.jumpable.intersection(live))
    jumpers = able if links.every else fewest_links(len(at), live, links.headers, able)

    def problem_with(some: Sequence[int]) -> Problem:
        return Problem(layout, loads, power, designs, rooms, links, some)

    problem = problem_with(jumpers)
    tried, raised_by = _best(problem)
    least = tried.parting.least
    first = Chosen(problem, tried, tuple(jumpers), raised_by, least, ())
    if len(able) == len(jumpers):
        return first
    wide = problem_with(able)
    bound = least_zones(wide.graph, wide.limit_a, wide.brightness)
    if tried.good and (len(tried.parting.zones) <= bound or power.inlet or power.inlets):
        return replace(first, least=min(bound, least))
    more, raised_by = _best(wide)
    if (more.good, -len(more.parting.zones)) <= (
        tried.good,
        -len(tried.parting.zones),
    ) or not more.good:
        return replace(first, least=min(more.parting.least, least))
    cheap = with_fewest_jumpers(
        wide.graph, problem.graph, wide.limit_a, wide.brightness, more.parting
    )
    for parting in (cheap, more.parting):
        if parting is None:
            continue
        zone_of = [-1 - k for k in range(len(at))]
        for z, zone in enumerate(parting.zones):
            for i in zone:
                zone_of[at[wide.graph.names[i]]] = z
        inside = [k for k, (a, b) in live.items() if zone_of[a] == zone_of[b]]
        some = fewest_links(len(at), live, links.headers, able, zone_of)
        for jumpers in (some, sorted({*some, *set(inside).intersection(able)})):
            problem = problem_with(jumpers)
            tried = problem.attempt(parting)
            if tried.good:
                return Chosen(
                    problem, tried, tuple(jumpers), raised_by, more.parting.least, tuple(inside)
                )
    return Chosen(problem, tried, tuple(jumpers), raised_by, more.parting.least, tuple(inside))


def _best(problem: Problem) -> tuple[Try, str]:
    """The fewest zones that hold; pins, volts or logic may ask for more than the supply."""
    power, graph = problem.power, problem.graph
    count = len(power.inlet) or power.inlets
    first = problem.attempt(part(graph, problem.limit_a, problem.brightness, count))
    if count or first.good or first.parting.reach < problem.brightness - 1e-9:
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
    found = part(problem.graph, problem.limit_a, problem.brightness, zones)
    return Parting(found.zones, found.reach, False, least, found.most)


def _zones(problem: Problem, tried: Try, brightness: float) -> tuple[Zone, ...]:
    """Zones in reading order of their first panel."""
    names = problem.graph.names
    zones = []
    for z, (panels, inlet) in enumerate(zip(tried.parting.zones, tried.inlets, strict=True)):
        asked = math.fsum(problem.loads[i].at(brightness) for i in panels)
        current = asked if tried.state is None else float(tried.state.inlet_a[z])
        zones.append(
            Zone(z + 1, tuple(names[i] for i in panels), inlet.panel, inlet.edge, current, inlet)
        )
    return tuple(zones)


def _wiring(table: JointTable, problem: Problem, tried: Try) -> tuple[JointWiring, ...]:
    """One per joint of the whole layout."""
    rows = [JointWiring(row.joint, 0.0, 0.0, 0.0, math.inf) for row in table.rows]
    for k, index in enumerate(problem.index):
        ohms, state = problem.ohms[k], tried.state
        supply = 0.0 if state is None else float(state.supply_a[k])
        ground = 0.0 if state is None else float(state.ground_a[k])
        pin = max(abs(supply) / ohms.supply_pins, abs(ground) / ohms.ground_pins)
        rows[index] = JointWiring(index, supply, ground, pin, ohms.pin_limit_a)
    return tuple(rows)
