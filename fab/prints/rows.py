"""Rows of one convex footprint: plain grids, rows that reach into each other (hexagons), heads and
tails (triangles).

A pattern is worked out once per footprint and gap; how many copies it puts into a rectangle is then
arithmetic.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache

from fab.outlines.contour import Point
from fab.outlines.hull import hull
from fab.prints.model import turned

Spot = tuple[float, float, int]  # least corner of the turned box, turn
Corners = tuple[Point, ...]

LEAST_GAP = 1e-3  # a gap of 0 still keeps objects from sharing a point, mm
_CHORD_RAD = math.pi / 32  # turn of one tangent of a round corner
_EPS = 1e-9


@dataclass(frozen=True)
class Block:
    """Copies of one object in a rectangle of `wide` x `deep` mm, the first `len(spots)` of a
    pattern.
    """

    spots: tuple[Spot, ...]
    wide: float
    deep: float


@lru_cache(maxsize=4096)  # plates of one kind leave the same rooms free
def best_block(corners: Corners, gap: float, wide: float, deep: float, most: int) -> Block | None:
    """The block of up to `most` copies that fits `wide` x `deep` mm: the most copies, then the
    least area.

    `corners`: the convex footprint, its box's least corner at (0, 0). None when not one copy fits.
    """
    best: tuple[tuple[int, float, int], Block] | None = None
    for rank, pattern in enumerate(_patterns(corners, max(gap, LEAST_GAP))):
        block = pattern(wide, deep, most)
        if block is None:
            continue
        score = (-len(block.spots), round(block.wide * block.deep, 6), rank)
        if best is None or score < best[0]:
            best = (score, block)
    return best[1] if best else None


_Pattern = Callable[[float, float, int], Block | None]


@lru_cache(maxsize=256)
def _patterns(corners: Corners, gap: float) -> tuple[_Pattern, ...]:
    found: list[_Pattern] = []
    for turn in (0, 90):
        shape = turned_to_zero(corners, turn)
        found.append(_grid(shape, gap, turn))
        if not _is_box(shape):
            found += [
                _shifted(shape, gap, turn, spread=False),
                _shifted(shape, gap, turn, spread=True),
            ]
            found.append(_head_to_tail(shape, gap, turn))
    return tuple(found)


def _grid(shape: Corners, gap: float, turn: int) -> _Pattern:
    wide, deep = _size(shape)

    def fill(room_w: float, room_d: float, most: int) -> Block | None:
        across, up = _many(room_w - wide, wide + gap), _many(room_d - deep, deep + gap)
        if not across or not up or not most:
            return None
        columns = min(across, most)
        rows = min(up, -(-most // columns))
        spots = [
            (i * (wide + gap), j * (deep + gap), turn) for j in range(rows) for i in range(columns)
        ][:most]
        return _block(spots, shape)

    return fill


def _shifted(shape: Corners, gap: float, turn: int, *, spread: bool) -> _Pattern:
    """Every second row moved by half the pitch, rows as near as they go.

    `spread` widens the pitch to use the room.
    """
    wide, deep = _size(shape)
    pitch = _reach_x(shape, shape, gap)

    def fill(room_w: float, room_d: float, most: int) -> Block | None:
        across = _many(room_w - wide, pitch)
        if not across or room_d < deep - _EPS or not most:
            return None
        step = (room_w - wide) / (across - 0.5) if spread else pitch
        if step < pitch - _EPS:
            return None
        rise = _rise(shape, round(step, 6), gap)
        spots: list[Spot] = []
        row = 0
        while row * rise + deep <= room_d + _EPS and len(spots) < most:
            start = step / 2 if row % 2 else 0.0
            spots += [
                (start + k * step, row * rise, turn)
                for k in range(_many(room_w - wide - start, step))
            ]
            row += 1
        return _block(spots[:most], shape)

    return fill


def _head_to_tail(shape: Corners, gap: float, turn: int) -> _Pattern:
    """Neighbours in a row turned by half a turn against each other."""
    wide, deep = _size(shape)
    other = turned_to_zero(shape, 180)
    there, back = _reach_x(shape, other, gap), _reach_x(other, shape, gap)
    alike = max(_reach_x(shape, shape, gap), _reach_x(other, other, gap))
    # two alike, with one between, must be clear of each other as well
    back = max(back, alike - there)

    def fill(room_w: float, room_d: float, most: int) -> Block | None:
        up = _many(room_d - deep, deep + gap)
        row: list[Spot] = []
        x = 0.0
        while up and x + wide <= room_w + _EPS and len(row) < most:
            row.append((x, 0.0, turn + 180 * (len(row) % 2)))
            x += there if len(row) % 2 else back
        if not row:
            return None
        up = min(up, -(-most // len(row)))
        return _block(
            [(px, k * (deep + gap), way) for k in range(up) for px, _, way in row][:most], shape
        )

    return fill


def _block(spots: list[Spot], shape: Corners) -> Block | None:
    if not spots:
        return None
    wide, deep = _size(shape)
    return Block(
        tuple(spots), max(x for x, _, _ in spots) + wide, max(y for _, y, _ in spots) + deep
    )


def _many(room: float, pitch: float) -> int:
    """Number of copies that stand in a line when the first leaves `room` for the rest."""
    return 0 if room < -_EPS else 1 + math.floor(room / pitch + _EPS)


@lru_cache(maxsize=4096)
def _rise(shape: Corners, step: float, gap: float) -> float:
    """Least height of a row over the last one when it is moved by half a step and rows two apart
    stand alike.
    """
    near = too_near(shape, shape, gap)
    wide = _size(shape)[0]
    one = two = 0.0
    for k in range(math.ceil((wide + gap) / step) + 1):
        one = max(one, _top_at(near, (k + 0.5) * step), _top_at(near, -(k + 0.5) * step))
        two = max(two, _top_at(near, k * step), _top_at(near, -k * step))
    return max(one, two / 2)


def _reach_x(one: Corners, other: Corners, gap: float) -> float:
    """Distance to the right of `one` at which the box of `other` must stand, both on one line, to
    be `gap` clear of it.
    """
    return _top_at(tuple((y, x) for x, y in too_near(one, other, gap)), 0.0)


@lru_cache(maxsize=256)
def too_near(one: Corners, other: Corners, gap: float) -> Corners:
    """Corners of the convex region of shifts at which `other` comes nearer than `gap` to `one`.

    The difference of both shapes, grown by `gap`; its round corners are tangents, so they lie
    outside the true ones.
    """
    shifts = hull((ax - bx, ay - by) for ax, ay in one for bx, by in other)
    count = len(shifts)
    ways = [
        math.atan2(
            shifts[k][0] - shifts[(k + 1) % count][0], shifts[(k + 1) % count][1] - shifts[k][1]
        )
        for k in range(count)
    ]  # of the outer normal of the side that starts at a corner
    grown: list[Point] = []
    for k, (x, y) in enumerate(shifts):
        turn = (ways[k] - ways[k - 1]) % (2 * math.pi)
        steps = max(1, math.ceil(turn / _CHORD_RAD))
        half = turn / (2 * steps)
        for step in range(steps):
            angle = ways[k - 1] + (2 * step + 1) * half
            reach = gap / math.cos(half)
            grown.append((x + reach * math.cos(angle), y + reach * math.sin(angle)))
    return tuple(grown)


def _top_at(corners: Corners, x: float) -> float:
    """The highest y of a convex region at `x`; 0 where it has none."""
    best = 0.0
    for (ax, ay), (bx, by) in zip(corners, (*corners[1:], corners[0]), strict=True):
        if min(ax, bx) - _EPS <= x <= max(ax, bx) + _EPS:
            share = (x - ax) / (bx - ax) if abs(bx - ax) > _EPS else 0.0
            best = max(
                best,
                ay + (by - ay) * min(max(share, 0.0), 1.0),
                by if abs(bx - ax) <= _EPS else 0.0,
            )
    return best


def turned_to_zero(corners: Corners, turn: float) -> Corners:
    """The corners turned, the box's least corner back at (0, 0)."""
    points = [turned(point, turn) for point in corners]
    left, low = min(x for x, _ in points), min(y for _, y in points)
    return tuple((x - left, y - low) for x, y in points)


def _size(corners: Corners) -> Point:
    return (max(x for x, _ in corners), max(y for _, y in corners))


def _is_box(corners: Corners) -> bool:
    wide, deep = _size(corners)
    return abs(area(corners) - wide * deep) < 1e-6


def area(corners: Corners) -> float:
    """Area of a footprint, mm2."""
    ends = zip(corners, (*corners[1:], corners[0]), strict=True)
    return abs(sum(ax * by - bx * ay for (ax, ay), (bx, by) in ends)) / 2
