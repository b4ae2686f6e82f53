"""The largest pitch at which a centred grid has a wanted number of LEDs on a board."""

from __future__ import annotations

import math
from functools import lru_cache

from fab.errors import refused
from fab.outlines.contour import Point
from fab.parts.ledfree import Free, area_of, planes, reach_of, switch_spans
from fab.parts.ledgrids import unit_grid
from fab.units import JOIN_TOL_MM, fixed, some

THIN_MM = 1e-4
STEP_MM = 0.001  # a solved pitch is a whole number of these where the count allows


@lru_cache(maxsize=256)
def solved_pitch(free: Free, pattern: str, count: int, size: float) -> tuple[float, str]:
    """Largest pitch, and what lies in the centre, for exactly `count` LEDs of this size.

    Exact: every grid point is inside for known spans of the pitch, so the number of points is a
    step function of the pitch whose steps are all known; no trial and error.
    """
    below, above, tight, least = 0, 0, 0.0, size - JOIN_TOL_MM
    for phase in ("site", "cell", "bond"):
        steps = _steps(free, pattern, phase, count)
        for low, high, number in steps:
            if number == count and high >= least:
                neat = math.floor(high / STEP_MM + 1e-6) * STEP_MM
                return (round(neat, 3) if neat > low and neat >= least else high), phase
            if number == count:
                tight = max(tight, high)
            elif number < count and high >= least:
                below = max(below, number)
            elif high >= least and (above == 0 or number < above):
                above = number
    near = " or ".join(str(n) for n in (below, above) if n)
    if tight:
        says = (
            f"{some(count, 'LED')} of {fixed(size)} mm would sit {fixed(tight)} mm apart: their"
            " bodies overlap."
        )
        raise refused(
            says,
            (f"The nearest counts that work: {near}." if near else "Make panel.led.size smaller."),
            key="panel.led.count",
        )
    if not near:
        says = (
            "no LED has room on this board: margin, screws and switches leave no place for its"
            " centre."
        )
        raise refused(
            says, "Make panel.led.margin or panel.led.size smaller.", key="panel.led.count"
        )
    says = f"no centred {pattern} grid on this board has {some(count, 'LED')}."
    raise refused(says, f"The nearest counts that work: {near}.", key="panel.led.count")


def _steps(free: Free, pattern: str, phase: str, count: int) -> list[tuple[float, float, int]]:
    """(low, high, number) of LEDs for pitches low < pitch <= high, the largest pitch first.

    Points that enter or leave within `THIN_MM` of pitch do so together: places are only known to so
    many decimals.
    """
    ring = free.ring
    if ring.apothem <= 0:
        return []
    cell = math.sqrt(0.75) if pattern == "triangular" else 1.0
    # dense enough: about 2.7 times the wanted number
    least = 0.6 * math.sqrt(area_of(ring) / (cell * (count + 1)))
    events: list[tuple[float, int]] = []
    always = 0
    for v in unit_grid(ring.sides, pattern, phase, reach_of(ring) / least):
        if v == (0.0, 0.0):
            always += v in free
            continue
        most = min(
            far / (v[0] * nx + v[1] * ny)
            for nx, ny, far in planes(ring)
            if v[0] * nx + v[1] * ny > 1e-12
        )
        for low, high in _outside(_blocked(free, v), least, most):
            events += [(high, 1), (low, -1)]
    events.sort(key=lambda e: (-e[0], -e[1]))
    steps: list[tuple[float, float, int]] = []
    number, at = always, 4 * reach_of(ring)
    for pitch, change in events:
        if at - pitch > THIN_MM:
            steps.append((pitch, at - THIN_MM, number))
            at = pitch
        number += change
    return steps


def _blocked(free: Free, v: Point) -> list[tuple[float, float]]:
    """Spans of the pitch for which the grid point `v` would sit on a screw or a switch."""
    spans = []
    vv = v[0] * v[0] + v[1] * v[1]
    for sx, sy in free.screws:
        along = (v[0] * sx + v[1] * sy) / vv
        root = along * along - (sx * sx + sy * sy - free.screw_r**2) / vv
        if root > 0:
            spans.append((along - math.sqrt(root), along + math.sqrt(root)))
    return spans + switch_spans(free, v)


def _outside(
    blocked: list[tuple[float, float]], low: float, high: float
) -> list[tuple[float, float]]:
    """The parts of low..high outside the blocked spans."""
    left = []
    for begin, end in sorted(blocked):
        if begin > low:
            left.append((low, min(begin, high)))
        low = max(low, end)
        if low >= high:
            return left
    return [*left, (low, high)] if high > low else left
