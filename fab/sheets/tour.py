"""A short open tour through stops that may be entered at several points.

Few stops: the shortest there is (`shortest`). More: nearest neighbour, 2-opt, or-opt, then the best
entries for that order by dynamic programming (exact for the order).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from itertools import pairwise
from typing import Any, Protocol

from fab.outlines.contour import Point
from fab.sheets.shortest import MOST_STOPS, Door, shortest

Stop = Sequence[Door]  # the ways one cut can be made


class Tolls(Protocol):
    """An obstacle once it has been visited."""

    toll: float

    def tolls(self, order: Sequence[int]) -> Sequence[Sequence[Sequence[float]]]:
        """For an order of stops: per leg from one to the next, the extra cost of each pair (door
        left, door entered).
        """
        ...

    def over(self) -> Any:
        """For each pair of doors the stops that the way between them runs over, as bits; None: none
        does.
        """
        ...


_NEIGHBOURS = 8
_PASSES = 30


def tour(stops: Sequence[Stop], start: Point, tolls: Tolls | None = None) -> list[tuple[int, int]]:
    """Order of the stops and the door of each, as (stop, door); the way from `start` on is short,
    its end is free.
    """
    if not stops:
        return []
    if len(stops) <= MOST_STOPS:
        return shortest(
            stops, start, tolls.over() if tolls is not None else None, tolls.toll if tolls else 0.0
        )
    spots = [_middle(stop) for stop in stops]
    order = _improved(_nearest(spots, start), spots, start)
    best, doors = _doors(order, stops, start, tolls)
    for _ in range(2):  # the doors shift the stops a little; look again
        at = list(spots)
        for k, door in zip(order, doors, strict=True):
            at[k] = stops[k][door][0]
        again = _improved(list(order), at, start)
        cost, again_doors = _doors(again, stops, start, tolls)
        if cost >= best - 1e-9:
            break
        best, order, doors = cost, again, again_doors
    if tolls is not None:
        back_cost, back_doors = _doors(order[::-1], stops, start, tolls)
        if back_cost < best:
            order, doors = order[::-1], back_doors
    return list(zip(order, doors, strict=True))


def _middle(stop: Stop) -> Point:
    count = len(stop)
    return (math.fsum(d[0][0] for d in stop) / count, math.fsum(d[0][1] for d in stop) / count)


class _Grid:
    """Points in square cells, for questions about neighbours."""

    def __init__(self, spots: Sequence[Point]) -> None:
        xs, ys = [x for x, _ in spots], [y for _, y in spots]
        across = math.sqrt(len(spots))
        self.spots, self.side = (
            spots,
            max(max(max(xs) - min(xs), max(ys) - min(ys)) * 1.5 / across, 1e-3),
        )
        self.reach = math.ceil(across) + 1
        self.cells: dict[tuple[int, int], list[int]] = {}
        for k, spot in enumerate(spots):
            self.cells.setdefault(self._cell(spot), []).append(k)

    def _cell(self, spot: Point) -> tuple[int, int]:
        return (math.floor(spot[0] / self.side), math.floor(spot[1] / self.side))

    def remove(self, k: int) -> None:
        self.cells[self._cell(self.spots[k])].remove(k)

    def near(self, spot: Point, count: int) -> list[int]:
        """The `count` nearest points, nearest first, ties by index."""
        cx, cy = self._cell(spot)
        found: list[tuple[float, int]] = []
        for ring in range(self.reach):
            for dx in range(-ring, ring + 1):
                for dy in range(-ring, ring + 1) if abs(dx) == ring else (-ring, ring):
                    found += [
                        (math.dist(spot, self.spots[k]), k)
                        for k in self.cells.get((cx + dx, cy + dy), ())
                    ]
            found.sort()
            if len(found) >= count and found[count - 1][0] <= ring * self.side:
                return [k for _, k in found[:count]]
        everything = sorted(
            (math.dist(spot, self.spots[k]), k) for cell in self.cells.values() for k in cell
        )
        return [k for _, k in everything[:count]]


def _nearest(spots: Sequence[Point], start: Point) -> list[int]:
    grid, at, order = _Grid(spots), start, []
    for _ in spots:
        near = grid.near(at, 1)[0]
        grid.remove(near)
        order.append(near)
        at = spots[near]
    return order


def _improved(order: list[int], spots: Sequence[Point], start: Point) -> list[int]:
    """2-opt and or-opt over near neighbours until nothing gets shorter."""
    count = len(order)
    if count < 3:
        return order
    grid = _Grid(spots)
    near = [[k for k in grid.near(spot, _NEIGHBOURS + 1) if k != i] for i, spot in enumerate(spots)]
    place = [0] * count
    for at, k in enumerate(order):
        place[k] = at

    def gap(i: int, j: int) -> float:
        """Distance of the stops at places i and j; place -1 is the start, place `count` is
        nowhere.
        """
        if i >= count or j >= count:
            return 0.0
        return math.dist(start if i < 0 else spots[order[i]], spots[order[j]])

    for _ in range(_PASSES):
        better = False
        for k in range(count):
            i = place[k]
            for other in near[k]:
                j = place[other]
                low, high = (i, j) if i < j else (j, i)
                if high - low < 2:
                    continue
                # (a) bring `high` next to `low`: reverse low+1 .. high
                # (b) the same one place lower
                for a, b in ((low, high), (low - 1, high - 1)):
                    if a < -1 or b <= a + 1:
                        continue
                    if gap(a, b) + gap(a + 1, b + 1) < gap(a, a + 1) + gap(b, b + 1) - 1e-9:
                        order[a + 1 : b + 1] = order[a + 1 : b + 1][::-1]
                        for at in range(a + 1, b + 1):
                            place[order[at]] = at
                        better = True
                        break
                if place[k] != i:
                    i = place[k]
        if _moved(order, spots, near, place, gap):
            better = True
        if not better:
            break
    return order


def _moved(
    order: list[int],
    spots: Sequence[Point],
    near: Sequence[Sequence[int]],
    place: list[int],
    gap: Callable[[int, int], float],
) -> bool:
    """Or-opt: runs of one to three stops are moved beside a near neighbour."""
    count, better = len(order), False
    for k in range(count):
        for run in (1, 2, 3):
            i = place[k]
            if i + run > count:
                break
            gain = (
                gap(i - 1, i)
                + gap(i + run - 1, i + run)
                - (gap(i - 1, i + run) if i + run < count else 0.0)
            )
            if gain <= 1e-9:
                continue
            for other in near[k]:
                j = place[other]
                if i <= j < i + run:
                    continue
                cost = gap(j, i) + gap(i + run - 1, j + 1) - gap(j, j + 1)
                if j + 1 == i:
                    continue
                if cost < gain - 1e-9:
                    piece = order[i : i + run]
                    del order[i : i + run]
                    at = order.index(other) + 1
                    order[at:at] = piece
                    for spot, stop in enumerate(order):
                        place[stop] = spot
                    better = True
                    break
    return better


def _doors(
    order: Sequence[int], stops: Sequence[Stop], start: Point, tolls: Tolls | None
) -> tuple[float, list[int]]:
    """The doors that make the way in this order shortest, and its length with all tolls."""
    extra = tolls.tolls(order) if tolls is not None else None
    costs: list[float] = [math.dist(start, door[0]) for door in stops[order[0]]]
    back: list[list[int]] = []
    for leg, (left, k) in enumerate(pairwise(order)):
        ends = [door[1] for door in stops[left]]
        links, following = [], []
        for enter, (begin, _) in enumerate(stops[k]):
            prices = [
                cost + math.dist(end, begin) + (extra[leg][e][enter] if extra is not None else 0.0)
                for e, (cost, end) in enumerate(zip(costs, ends, strict=True))
            ]
            best = min(range(len(prices)), key=prices.__getitem__)
            links.append(best)
            following.append(prices[best])
        back.append(links)
        costs = following
    door = min(range(len(costs)), key=costs.__getitem__)
    total, doors = costs[door], [door]
    for links in reversed(back):
        door = links[door]
        doors.append(door)
    return total, doors[::-1]
