"""The split into zones: exact where the wall is small, else heuristic with a proven bound."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from fab.power import exact
from fab.power.bounds import least_zones, most_brightness
from fab.power.brighter import bright_zones
from fab.power.graph import SLACK_A, Graph, pieces
from fab.power.heuristic import few_zones


@dataclass(frozen=True)
class Parting:
    """A split of the wall: panel numbers of each zone, and how good it is."""

    zones: tuple[tuple[int, ...], ...]
    # brightness at which the first zone meets the limit; negative: too much even when dark
    reach: float
    exact: bool  # fewest zones, or brightest for their number: proven
    least: int  # no split has fewer zones at the wanted brightness
    most: float  # no split into this many zones reaches more


def part(graph: Graph, limit_a: float, brightness: float, count: int | None = None) -> Parting:
    """Connected zones, each with a place for an inlet.

    `count` None: as few as keep every zone within `limit_a` at `brightness`, and among those
    balanced; when no number of zones does, the brightest split with as few as that takes. Else
    `count` zones, as bright as possible.
    """
    least = least_zones(graph, limit_a, brightness)
    most = math.inf if count is None else most_brightness(graph, limit_a, count)
    quick = (
        few_zones(graph, limit_a, brightness)
        if count is None
        else bright_zones(graph, limit_a, brightness, count)
    )
    try:
        chosen = _exact(graph, limit_a, brightness, count, quick)
    except exact.GaveUp:
        chosen = None
    if chosen is not None:
        zones = [column.panels for column in chosen]
        return _parting(graph, limit_a, zones, len(zones) if count is None else least, proven=True)
    if count is None:
        return _parting(graph, limit_a, quick, least, proven=len(quick) == least)
    found = _parting(graph, limit_a, quick, least, proven=False)
    return Parting(found.zones, found.reach, found.reach >= most - 1e-9, least, most)


def with_fewest_jumpers(
    graph: Graph, headers: Graph, limit_a: float, brightness: float, found: Parting
) -> Parting | None:
    """As many zones as `found` within the limit, with fewest jumpers; None on too large walls.

    `graph` has the joints that a header or a jumper can join, `headers` those of the headers alone.
    """
    made = exact.columns(graph, limit_a, brightness, capped=True)
    if made is None:
        return None
    cost = [float(len(pieces(headers, column.panels)) - 1) for column in made]
    try:
        chosen = exact.choose(len(graph), made, cost, count=len(found.zones))
    except exact.GaveUp:
        return None
    if chosen is None:
        return None
    zones = [column.panels for column in chosen]
    return Parting(
        tuple(sorted(zones)),
        min(column.reach for column in chosen),
        found.exact,
        found.least,
        found.most,
    )


def _exact(
    graph: Graph,
    limit_a: float,
    brightness: float,
    count: int | None,
    quick: Sequence[Sequence[int]],
) -> tuple[exact.Column, ...] | None:
    """The best split by integer programme, from the heuristic's on; None: too large a wall."""
    wall = exact.wall_of(graph, limit_a, brightness)
    start = [exact.column_of(graph, zone, limit_a, brightness) for zone in quick]
    if count is None:
        made = exact.columns(graph, limit_a, brightness, capped=True)
        if made is None:
            return None
        within = all(column.load_a <= limit_a + SLACK_A for column in start)
        chosen = exact.fewest(
            made, wall, start if within else None, least_zones(graph, limit_a, brightness)
        )
        if chosen is not None:
            return chosen
        start = []
    made = exact.columns(graph, limit_a, brightness, capped=False)
    if made is None:
        return None
    most = math.inf if count is None else most_brightness(graph, limit_a, count)
    return exact.brightest(made, wall, count, most, start)


def _parting(
    graph: Graph, limit_a: float, zones: Sequence[tuple[int, ...]], least: int, *, proven: bool
) -> Parting:
    reach = min(graph.reach(zone, limit_a) for zone in zones)
    most = reach if proven else most_brightness(graph, limit_a, len(zones))
    return Parting(tuple(sorted(zones)), reach, proven, least, most)
