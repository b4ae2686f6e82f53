"""Most copies of one convex piece on a rectangle: rows both ways, every useful turn, and rows of
two ways mixed.
"""

from __future__ import annotations

import math
from bisect import bisect_left
from collections.abc import Iterable
from itertools import takewhile

from fab.outlines.contour import Point
from fab.sheets.convex import Swollen
from fab.sheets.rows import NOTHING, Body, Chain, Packing, Pair, Spot, sheared, stacked, zigzag

_MIX_ROWS = 3  # the rest above a block of rows is tried for up to so many rows of another kind


Kind = Pair | Chain  # one way of making rows
Rect = tuple[float, float, float, float]  # x, y, width, height


class Lattice:
    """The search for one piece; holds what does not depend on the sheet.

    shared: rows whose bodies lie edge on edge, so that one cut serves two; at the least pitch,
    shifted by half or not. `turns_deg` are the turns of the piece that the nest may use. Spots come
    back as boxes' lower left corners.
    """

    def __init__(
        self, shape: Swollen, gap_mm: float, turns_deg: Iterable[float], *, shared: bool = False
    ) -> None:
        self.gap_mm = gap_mm
        self.turns = tuple(turns_deg)
        self._kinds = tuple(
            _kinds(shape, gap_mm, self.turns, turn, shared=shared) for turn in (0.0, 90.0)
        )
        self._memo: dict[tuple[float, float], tuple[int, Packing, bool]] = {}

    def count(self, width: float, height: float) -> int:
        """Copies on a rectangle, rows of one way only."""
        return self._plain(width, height)[0]

    def spots(self, width: float, height: float) -> tuple[Spot, ...]:
        """The best packing of a rectangle, rows of two ways mixed where that holds more."""
        best = self._plain(width, height)[0]
        parts: list[Rect] = [(0.0, 0.0, width, height)]
        for low, high in self._splits(width, height):
            count = self.count(*low[2:]) + self.count(*high[2:])
            if count > best:
                best, parts = count, [low, high]
        found: list[Spot] = []
        for x, y, w, h in parts:
            found += [Spot(s.turn_deg, s.x + x, s.y + y) for s in self.block(w, h)]
        return tuple(found)

    def block(self, width: float, height: float) -> tuple[Spot, ...]:
        """The best packing with rows of one way: along x they climb, along y they march right."""
        _, packing, turned = self._plain(width, height)
        if not turned:
            return packing.spots()
        sizes = {b.turn_deg: b for k in self._kinds[1] for b in (k.a, k.b)}
        return tuple(
            Spot((s.turn_deg - 90.0) % 360.0, s.y, height - s.x - sizes[s.turn_deg].width)
            for s in packing.spots()
        )

    def _plain(self, width: float, height: float) -> tuple[int, Packing, bool]:
        key = (round(width, 7), round(height, 7))
        if key not in self._memo:
            best, turned = _rows(width, height, self._kinds[0]), False
            across = _rows(height, width, self._kinds[1])
            if across.count > best.count:
                best, turned = across, True
            self._memo[key] = (best.count, best, turned)
        return self._memo[key]

    def _splits(self, width: float, height: float) -> Iterable[tuple[Rect, Rect]]:
        for rest in self._few_rows(0):
            below = height - rest - self.gap_mm
            if below > 0:
                yield (0.0, 0.0, width, below), (0.0, height - rest, width, rest)
        for rest in self._few_rows(1):
            beside = width - rest - self.gap_mm
            if beside > 0:
                yield (0.0, 0.0, beside, height), (width - rest, 0.0, rest, height)

    def _few_rows(self, way: int) -> list[float]:
        """Heights of one to three rows of every kind."""
        heights = set()
        for kind in self._kinds[way]:
            rise = (
                kind.rise
                if isinstance(kind, Chain)
                else kind.rise_at(0, kind.least_pitch / 2, kind.least_pitch)
            )
            heights |= {round(kind.a.height + k * rise, 7) for k in range(_MIX_ROWS)}
        return sorted(heights)


def _rows(width: float, height: float, kinds: tuple[Kind, ...]) -> Packing:
    best = NOTHING
    for kind in kinds:
        if isinstance(kind, Chain):
            found = stacked(width, height, kind)
        elif kind.even:
            found = zigzag(width, height, kind)
        else:
            found = sheared(width, height, kind)
        if found.count > best.count:
            best = found
    return best


def _kinds(
    shape: Swollen, gap_mm: float, turns: tuple[float, ...], frame_deg: float, *, shared: bool
) -> tuple[Kind, ...]:
    """Row kinds for rows along x of a frame that is turned by -`frame_deg` against the sheet."""
    bodies: list[Body] = []
    for turn in turns:
        deg = (turn + frame_deg) % 360.0
        body = Body(deg, shape.turned(deg).cornered())
        if not any(_alike(body, other) for other in bodies):
            bodies.append(body)
    exact: list[Kind] = []
    other: list[Kind] = []
    twins: list[Body] = []
    for index, body in enumerate(bodies):
        if body in twins:
            continue  # the sheet turned by half
        pair = Pair(body, body, gap_mm, honeycomb=shared)
        (exact if pair.even else other).append(pair)
        half_turned = Body(0.0, body.shape.opposite().cornered())
        for twin in bodies[index + 1 :]:
            if _alike(half_turned, twin):
                twins.append(twin)
                exact.append(Chain(body, twin, gap_mm))
                mixed = Pair(body, twin, gap_mm, honeycomb=shared)
                if mixed.even:
                    exact.append(mixed)
    return tuple(exact if any(isinstance(kind, Pair) for kind in exact) else exact + other)


def _alike(a: Body, b: Body) -> bool:
    """The same region in space."""
    if abs(a.width - b.width) > 1e-6 or abs(a.height - b.height) > 1e-6:
        return False
    theirs = sorted(b.shape.core)
    return all(_meets(point, theirs) for point in a.shape.core)


def _meets(point: Point, theirs: list[Point]) -> bool:
    """True when one of the points, sorted, lies on this one."""
    near = theirs[bisect_left(theirs, (point[0] - 1e-6,)) :]
    columns = takewhile(lambda other: other[0] < point[0] + 1e-6, near)
    return any(math.dist(point, other) < 1e-6 for other in columns)


def useful_turns(shape: Swollen) -> tuple[float, ...]:
    """Turns that bring an edge of the piece level or upright, each with its half turn, in
    [0, 360).
    """
    core = shape.core
    if len(core) == 1:
        return (0.0,)  # a disk
    found: set[float] = {0.0, 180.0}
    for (ax, ay), (bx, by) in zip(core, (*core[1:], core[0]), strict=True):
        angle = math.degrees(math.atan2(by - ay, bx - ax))
        found |= {_tidy(-angle + quarter) for quarter in (0.0, 90.0, 180.0, 270.0)}
    return tuple(sorted(found)) if len(core) <= 12 else (0.0, 90.0, 180.0, 270.0)


def _tidy(deg: float) -> float:
    return round(deg, 9) % 360.0
