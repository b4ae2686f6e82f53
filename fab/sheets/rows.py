"""Row packings of one convex body in a rectangle, found exactly within their family.

Rows run along x, every row has the same pitch p, neighbouring rows are shifted against each other.
A row is either full (n bodies) or short (n - 1 bodies, between those of its neighbours). With T =
room along a row beyond one body and t = T - (n - 1) p = play of a full row:

    full on full     may be shifted by s in [0, t]; the rise is top(s), so all of t is used, up to
                     p / 2: play along the rows makes their rise less, play across them the shift
    full on short    shifted by p / 2, the rise is top(p / 2)

`top` is the upper edge of the forbidden region of two bodies (`convex.forbidden`), a concave
function. For given n and given numbers of both kinds of transition the height is a sum of top(t(p))
and top(p / 2) with t linear in p: concave in p on both sides of the p where t = p / 2. So its least
value lies at one of: the least pitch, that p, the largest pitch, and the pitch from which rows two
apart touch. Trying those for every n is exact; nothing is sampled.

The proof needs mirror symmetry of `top`; for other bodies `sheared` shifts every row by the same
amount instead.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

from fab.sheets.convex import Swollen, Upper, forbidden

_FEWER_ROWS = 3  # alternating rows are tried with up to so many less than would fit
EPS_MM = 1e-7  # room that floats may miss; far below what any machine resolves


@dataclass(frozen=True)
class Spot:
    """One body: turn, and the lower left corner of its box."""

    turn_deg: float
    x: float
    y: float


@dataclass(frozen=True)
class Body:
    """A convex body at one turn, its box begun at (0, 0)."""

    turn_deg: float
    shape: Swollen

    @property
    def width(self) -> float:
        """Width of the box, mm."""
        return self.shape.box[2]

    @property
    def height(self) -> float:
        """Height of the box, mm."""
        return self.shape.box[3]


@dataclass(frozen=True)
class Row:
    """`count` bodies from (x, y) on; with a second body, the two alternate, and `step` and `lift`
    lead from the first to the second.
    """

    x: float
    y: float
    count: int
    pitch: float
    bodies: tuple[Body, ...]
    step: float = 0.0
    lift: float = 0.0

    def spots(self) -> Iterator[Spot]:
        """The bodies of the row, left to right."""
        kinds = len(self.bodies)
        for k in range(self.count):
            body = self.bodies[k % kinds]
            second = k % kinds != 0
            x = self.x + (k // kinds) * self.pitch + (self.step if second else 0.0)
            yield Spot(body.turn_deg, x, self.y + (self.lift if second else 0.0))


@dataclass(frozen=True)
class Packing:
    """Rows that fit a rectangle."""

    count: int
    rows: tuple[Row, ...] = ()

    def spots(self) -> tuple[Spot, ...]:
        """The bodies of all rows, row by row."""
        return tuple(spot for row in self.rows for spot in row.spots())


NOTHING = Packing(0)


class Pair:
    """Distances between two bodies that take turns by rows (often one and the same)."""

    def __init__(self, a: Body, b: Body, gap_mm: float, *, honeycomb: bool = False) -> None:
        self.a, self.b, self.honeycomb = a, b, honeycomb
        self.width, self.height = max(a.width, b.width), max(a.height, b.height)
        same_a = forbidden(a.shape, a.shape, gap_mm)
        same_b = same_a if a is b else forbidden(b.shape, b.shape, gap_mm)
        top_a = Upper(same_a)
        top_b = top_a if a is b else Upper(same_b)
        self.least_pitch = max(same_a.reach(), same_b.reach())
        # rise of rows two apart, one right over the other
        self.stack = max(top_a(0.0), top_b(0.0))
        self.tops = (
            (top_a, top_b)
            if a is b
            else (
                Upper(forbidden(a.shape, b.shape, gap_mm)),
                Upper(forbidden(b.shape, a.shape, gap_mm)),
            )
        )
        self.even = all(
            abs(_finite(top(x)) - _finite(top(-x))) < 1e-6
            for top in self.tops
            for x in (self.least_pitch * k / 16 for k in range(1, 16))
        )

    @cached_property
    def half_stack_shift(self) -> float:
        """The shift from which on a row could come as low as half a stack over the one below."""
        low, high = 0.0, self.least_pitch
        for _ in range(40):
            middle = (low + high) / 2
            low, high = (middle, high) if self.tops[0](middle) > self.stack / 2 else (low, middle)
        return high

    def rises(self, shift: float, pitch: float) -> list[float]:
        """`rise_at` for a row of the second body on the first, and the other way."""
        first = self.rise_at(0, shift, pitch)
        return [first, first if self.a is self.b else self.rise_at(1, shift, pitch)]

    def rise_at(self, parity: int, shift: float, pitch: float) -> float:
        """Least height of a row over the one below it; 0 where they miss each other."""
        top = self.tops[parity]
        return max(top(shift), top(shift - pitch), 0.0)


def _finite(value: float) -> float:
    return value if math.isfinite(value) else 0.0


def zigzag(width: float, height: float, pair: Pair) -> Packing:
    """The best packing of full and short rows in width x height; empty when the bodies are not
    mirror-symmetric.
    """
    along, across = width - pair.width + EPS_MM, height - pair.height + EPS_MM
    if along < 0 or across < 0 or not pair.even:
        return NOTHING
    best, found = 0, None
    most = int(along / pair.least_pitch) + 1
    for n in range(most, max((most + 1) // 2, 1) - 1, -1):
        if n > 1:
            wide = along / (n - 1)
            rise = sum(pair.rises(wide / 2, wide)) / 2  # rows come no closer than this
            if n * (across / max(pair.stack / 2, rise) + 2) <= best:
                continue
        for pitch in _pitches(n, along, pair):
            play = along - (n - 1) * pitch if n > 1 else along
            shift = min(max(play - EPS_MM, 0.0), pitch / 2)
            full = pair.rises(shift, pitch)
            straight = pair.rises(0.0, pitch)
            if all(rise < least + EPS_MM for rise, least in zip(straight, full, strict=True)):
                shift = 0.0  # straight columns where the shift gains nothing
            elif pair.honeycomb and shift < pitch / 2 - EPS_MM:
                full = [math.inf, math.inf]  # edges that do not lie on each other leave slivers
            short = pair.rises(pitch / 2, pitch) if n > 1 else [math.inf, math.inf]
            lack = pair.stack - min(full[0], short[0]) - min(full[1], short[1])
            if lack > 0:  # rows two apart would touch
                full, short = ([rise + lack / 2 for rise in rises] for rises in (full, short))
            count, a, b = _mix(n, across, full, short)
            if count > best:
                rises = [full[k % 2] for k in range(a)], [short[(a + k) % 2] for k in range(b)]
                best, found = count, (n, pitch, shift, rises)
    return _built(best, *found, pair) if found else NOTHING


def _pitches(n: int, along: float, pair: Pair) -> list[float]:
    """The pitches of which one is best (see the head of this file)."""
    least = pair.least_pitch
    if pair.honeycomb:
        return [least]
    if n == 1:
        return [max(least, 2 * along)]
    largest = along / (n - 1)
    inside = {least, largest, along / (n - 0.5), 2 * pair.half_stack_shift}
    return sorted(pitch for pitch in inside if least <= pitch <= largest)


def _mix(n: int, across: float, full: list[float], short: list[float]) -> tuple[int, int, int]:
    """Most bodies, with `a` transitions between full rows first and `b` to or from a short row
    after: (count, a, b).
    """
    best = (n, 0, 0)
    a, climbed = 0, 0.0
    while climbed <= across:
        b = 0
        if n > 1:
            first, second = short[a % 2], short[(a + 1) % 2]
            twice, rest = divmod(across - climbed, first + second)
            b = 2 * int(twice) + (1 if rest >= first else 0)
        count = (a + b + 1) * n - (b + 1) // 2
        if count > best[0]:
            best = (count, a, b)
        climbed += full[a % 2]
        a += 1
    return best


def _built(
    count: int,
    n: int,
    pitch: float,
    shift: float,
    rises: tuple[list[float], list[float]],
    pair: Pair,
) -> Packing:
    bodies = ((pair.a,), (pair.b,))
    rows = [Row(0.0, 0.0, n, pitch, bodies[0])]
    home, y = 0.0, 0.0
    for rise in rises[0]:
        home, y = shift - home, y + rise
        rows.append(Row(home, y, n, pitch, bodies[len(rows) % 2]))
    for index, rise in enumerate(rises[1]):
        y += rise
        is_short = index % 2 == 0
        rows.append(Row(home + is_short * pitch / 2, y, n - is_short, pitch, bodies[len(rows) % 2]))
    return Packing(count, tuple(rows))


class Chain:
    """A row in which a body and its half-turned twin alternate (triangles up and down), the twin
    raised or lowered where there is room: then it moves closer.
    """

    def __init__(self, a: Body, b: Body, gap_mm: float) -> None:
        self.a, self.b, self.gap_mm = a, b, gap_mm
        self._there = forbidden(a.shape, b.shape, gap_mm).quarter()
        self._back = forbidden(b.shape, a.shape, gap_mm).quarter()
        self.alike = max(forbidden(body.shape, body.shape, gap_mm).reach() for body in (a, b))
        self.height = max(a.height, b.height)
        self.rise = self.height + gap_mm

    def step(self, lift: float) -> float:
        """From a body to its twin on the right, which stands `lift` higher (negative: lower)."""
        return max(self._there(-lift), 0.0)

    def pitch(self, lift: float) -> float:
        """From a body to the next like it."""
        return max(self.step(lift) + max(self._back(lift), 0.0), self.alike)

    def along(self, room: float, lift: float) -> int:
        """Count the bodies in a row with `room` beyond the first."""
        pitch = self.pitch(lift)
        return 2 * int(room / pitch) + 1 + (1 if room % pitch >= self.step(lift) else 0)


def stacked(width: float, height: float, chain: Chain) -> Packing:
    """Alternating rows, one on the other; for each number of rows, what is left of the height lifts
    or lowers the twins.
    """
    along, across = width - chain.a.width + EPS_MM, height - chain.height + EPS_MM
    if along < 0 or across < 0:
        return NOTHING
    best, found = 0, (0, 0.0)
    flat = chain.along(along, 0.0)
    most = int(across / chain.rise) + 1
    for rows in range(most, max(most - _FEWER_ROWS, 0), -1):
        room = max((height - (rows - 1) * chain.gap_mm) / rows - chain.height, 0.0)
        for lift in (room, -room):
            count = chain.along(along, lift)
            if rows * count > best:
                best, found = rows * count, (rows, lift if count > flat else 0.0)
    rows, lift = found
    rise, base = chain.rise + abs(lift), max(-lift, 0.0)
    bodies, count, step = (chain.a, chain.b), best // rows, chain.step(lift)
    row = [
        Row(0.0, k * rise + base, count, chain.pitch(lift), bodies, step, lift) for k in range(rows)
    ]
    return Packing(best, tuple(row))


def sheared(width: float, height: float, pair: Pair, samples: int = 24) -> Packing:
    """Rows that are all shifted by the same amount against the one below; for bodies without mirror
    symmetry.
    """
    along, across = width - pair.width + EPS_MM, height - pair.height + EPS_MM
    if along < 0 or across < 0:
        return NOTHING
    pitch = pair.least_pitch
    best = NOTHING
    for shift in (pitch * k / samples for k in range(samples)):
        rise = max(_clear(pair, shift, pitch, apart) / apart for apart in (1, 2, 3, 4))
        rows = []
        for k in range(int(across / rise) + 1):
            x = (k * shift) % pitch
            if x <= along:
                rows.append(Row(x, k * rise, int((along - x) / pitch) + 1, pitch, (pair.a,)))
        count = sum(row.count for row in rows)
        if count > best.count:
            best = Packing(count, tuple(rows))
    return best


def _clear(pair: Pair, shift: float, pitch: float, apart: int) -> float:
    return max(pair.rise_at(0, (shift * apart) % pitch, pitch), EPS_MM)
