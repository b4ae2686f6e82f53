"""Loads of screws under a rigid wall, in closed form and free of any library.

In the wall: screws are springs of one body. A load W at x_c on springs k_i at x_i that act upwards
only gives

    F_i = k_i (v + t x_i)      sum F_i = W      sum F_i x_i = W x_c

which for two screws is the lever rule, for equal springs W/n + W (x_c - x) (x_i - x) / sum (x_j -
x)^2. Where the sides of the slots hold too, it is the bolt group: the same with sum (x_j - x)^2 +
(y_j - y)^2 below.

Out of the wall: the weight acts at z_c before the wall, so the body turns about its lowest line and
the screws at h_i above it pull by h_i: T_i = W z_c h_i / sum h_j^2; for one bracket W z_c / h.
Elementary statics, no source needed.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from fab.outlines.contour import Point

MANY_SCREWS = 24


@dataclass(frozen=True)
class Loads:
    """Force of each screw on the body, N: `up` against gravity, `side` to the right."""

    up: tuple[float, ...]
    side: tuple[float, ...]

    @property
    def shear(self) -> tuple[float, ...]:
        """Force of each screw across its axis, N."""
        return tuple(math.hypot(u, s) for u, s in zip(self.up, self.side, strict=True))


def row_loads(
    xs: Sequence[float], weight_n: float, x_c: float, stiff: Sequence[float] | None = None
) -> Loads | None:
    """Upright springs under a rigid body; None when they all stand at one x and the weight does
    not.
    """
    k = list(stiff) if stiff is not None else [1.0] * len(xs)
    total = math.fsum(k)
    mean = math.fsum(ki * x for ki, x in zip(k, xs, strict=True)) / total
    spread = math.fsum(ki * (x - mean) ** 2 for ki, x in zip(k, xs, strict=True))
    arm = x_c - mean
    size = max(abs(x) for x in xs) + abs(x_c) + 1.0
    if spread <= total * (1e-9 * size) ** 2:
        if abs(arm) > 1e-6:
            return None
        return Loads(tuple(weight_n * ki / total for ki in k), (0.0,) * len(k))
    up = tuple(
        weight_n * ki * (1 / total + arm * (x - mean) / spread) for ki, x in zip(k, xs, strict=True)
    )
    return Loads(up, (0.0,) * len(k))


def bolt_loads(points: Sequence[Point], weight_n: float, x_c: float) -> Loads | None:
    """Equal springs that act both ways in the wall (the bolt-group formula); None when one point
    must hold a moment.
    """
    count = len(points)
    mx, my = math.fsum(x for x, _ in points) / count, math.fsum(y for _, y in points) / count
    polar = math.fsum((x - mx) ** 2 + (y - my) ** 2 for x, y in points)
    arm = x_c - mx
    if polar <= 1e-9:
        return Loads((weight_n / count,) * count, (0.0,) * count) if abs(arm) <= 1e-6 else None
    twist = weight_n * arm / polar
    return Loads(
        tuple(weight_n / count + twist * (x - mx) for x, _ in points),
        tuple(-twist * (y - my) for _, y in points),
    )


def pull_loads(heights: Sequence[float], weight_n: float, z_c: float) -> tuple[float, ...]:
    """Pull of each screw, `heights` over the line that the body turns about; a height of 0 or less
    pulls nothing.

    When no screw is above that line the pull has no bound: infinity.
    """
    square = math.fsum(h**2 for h in heights if h > 0)
    if square <= 1e-12:
        return (math.inf if weight_n * z_c > 0 else 0.0,) * len(heights)
    return tuple(weight_n * z_c * max(h, 0.0) / square for h in heights)


def uneven_loads(
    xs: Sequence[float], weight_n: float, x_c: float, stiff_n_mm: float, off_mm: float
) -> tuple[float, ...]:
    """The most that each screw carries under a rigid wall when any one hole lies `off_mm` too low,
    N.

    Springs that only push, the low one behind a gap: a screw so low that the others hold the wall
    up before it is met carries nothing. Two screws share by the lever rule, however they are
    drilled.
    """
    even = row_loads(xs, weight_n, x_c)
    if even is None or len(xs) < 3 or off_mm <= 0:
        return even.shear if even is not None else (weight_n,) * len(xs)
    most = even.up
    rows = range(len(xs))
    ends = {
        min(rows, key=lambda k: xs[k]),
        max(rows, key=lambda k: xs[k]),
        max(rows, key=lambda k: even.up[k]),
    }
    # of many, these leave the others most
    for low in rows if len(xs) <= MANY_SCREWS else sorted(ends):
        gaps = [off_mm * (k == low) for k in range(len(xs))]
        loads = pushed_loads(xs, gaps, weight_n, x_c, stiff_n_mm)
        if loads is not None:
            most = tuple(map(max, most, loads))
    return most


def column_uneven(count: int, weight_n: float, stiff_n_mm: float, off_mm: float) -> float:
    """The most that one of `count` screws over each other carries upwards when another one lies
    `off_mm` too low, N: W / (n - 1) while that one is not met, (W + k g) / n once it is.
    """
    if count < 2 or off_mm <= 0:
        return weight_n / max(count, 1)
    return min(weight_n / (count - 1), (weight_n + stiff_n_mm * off_mm) / count)


def pushed_loads(
    xs: Sequence[float], gaps: Sequence[float], weight_n: float, x_c: float, stiff_n_mm: float
) -> tuple[float, ...] | None:
    """Loads of equal springs that only push, each behind a gap: F = k max(0, v + t x - g).

    By taking screws out and in; by halving where that runs round. None when none balance.
    """
    found = _by_active_set(xs, gaps, weight_n, x_c, stiff_n_mm)
    return found or _by_halving(xs, gaps, weight_n, x_c, stiff_n_mm)


def _by_halving(
    xs: Sequence[float], gaps: Sequence[float], weight_n: float, x_c: float, stiff_n_mm: float
) -> tuple[float, ...] | None:
    """The turn by halving: the moment of the loads grows with it."""
    size = max(abs(x - x_c) for x in xs) + 1.0

    def loads(turn: float) -> list[float]:
        starts = [g - turn * (x - x_c) for x, g in zip(xs, gaps, strict=True)]
        sink = _sunk_to(starts, weight_n / stiff_n_mm)
        return [stiff_n_mm * max(sink - start, 0.0) for start in starts]

    most = (max(gaps) + weight_n / stiff_n_mm) * 1e3 / size
    low, high = -most, most
    for _ in range(80):
        turn = (low + high) / 2
        moment = math.fsum(f * (x - x_c) for f, x in zip(loads(turn), xs, strict=True))
        low, high = (turn, high) if moment < 0 else (low, turn)
    found = loads(high)
    off = abs(math.fsum(f * (x - x_c) for f, x in zip(found, xs, strict=True)))
    return tuple(found) if off <= 1e-4 * weight_n * size else None


def _sunk_to(starts: Sequence[float], squeezed_mm: float) -> float:
    """Return how deep a body sinks, mm, onto equal springs that it meets at the depths `starts`
    and presses in by `squeezed_mm` in all.
    """
    met, rest = 0.0, sorted(starts)
    for count, start in enumerate(rest, 1):
        met += start
        sink = (squeezed_mm + met) / count
        if count == len(rest) or sink <= rest[count]:
            break
    return sink


def _by_active_set(
    xs: Sequence[float], gaps: Sequence[float], weight_n: float, x_c: float, stiff_n_mm: float
) -> tuple[float, ...] | None:
    active = set(range(len(xs)))
    for _ in range(4 * len(xs) + 4):
        n = len(active)
        mean = math.fsum(xs[k] for k in active) / n
        spread = math.fsum((xs[k] - mean) ** 2 for k in active)
        if n < 2 or spread <= 1e-6:
            return None
        gap = math.fsum(gaps[k] for k in active) / n
        tilted = math.fsum(gaps[k] * (xs[k] - mean) for k in active)
        turn = (weight_n * (x_c - mean) / stiff_n_mm + tilted) / spread
        sink = weight_n / stiff_n_mm / n + gap
        loads = tuple(
            stiff_n_mm * (sink + turn * (x - mean) - g) for x, g in zip(xs, gaps, strict=True)
        )
        pulled = min(active, key=lambda k: (loads[k], k))
        met = max(range(len(xs)), key=lambda k: (k not in active, loads[k]))
        if loads[pulled] < -1e-9 * weight_n:
            active.discard(pulled)
        elif met not in active and loads[met] > 1e-9 * weight_n:
            active.add(met)
        else:
            return tuple(max(load, 0.0) if k in active else 0.0 for k, load in enumerate(loads))
    return None
