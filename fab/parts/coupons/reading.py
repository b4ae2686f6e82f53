"""From a caliper's readings to a value of the shop, with how well it is known.

Uncertainty: the caliper's resolution as a bound, over what it is divided by, and the standard error
of repeated readings (s / sqrt n), added in squares; stated as plus and minus one of that. A caliper
of 0.02 mm over a stack of ten strips knows a kerf to 0.002 mm; over one strip it would know it to
0.02 mm.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from fab.errors import InputError
from fab.params.shop import Clearance, Paper, Stock
from fab.params.spec import Spec, specs
from fab.units import fixed

CALIPER_MM = 0.02  # resolution of a common caliper
BAR_MM = 100.0  # length of a template's scale bars
USUAL_KERF_MM = 0.6  # over this it is no laser's kerf in thin sheet, common practice
ALIKE = 5.0  # repeated readings further apart than this many resolutions are worth a second look
CLASH = 3.0  # two ways to measure that differ by more than so many of their uncertainties disagree

Key = tuple[str, ...]


@dataclass(frozen=True)
class CouponValue:
    """A value that readings give.

    `key` is where it stands in the shop file; None: nowhere, it is only told.
    """

    key: Key | None
    what: str
    value: float
    plus_minus: float
    unit: str
    says: tuple[str, ...]  # how it comes about
    doubts: tuple[str, ...] = ()


@dataclass(frozen=True)
class Mean:
    """A mean of readings and how well it is known."""

    value: float
    plus_minus: float
    spread: float  # largest less smallest


def mean(readings: Sequence[float], resolution: float) -> Mean:
    """Mean, with resolution and standard error added in squares."""
    count = len(readings)
    middle = math.fsum(readings) / count
    error = 0.0
    if count > 1:
        error = math.sqrt(math.fsum((one - middle) ** 2 for one in readings) / (count - 1) / count)
    return Mean(middle, math.hypot(resolution, error), max(readings) - min(readings))


def kerf(
    stock: str,
    stack: Sequence[float],
    strips: int,
    strip_mm: float,
    *,
    windows: Sequence[float] = (),
    window_mm: float = 0.0,
    resolution: float = CALIPER_MM,
) -> CouponValue:
    """Kerf of a stock: (nominal stack - measured stack) / strips; windows are a second, coarser
    way.

    When both are given they are joined by their weights; when they disagree it is said.
    """
    _some(stack, "the stack")
    if not 1 <= strips <= 1000 or not strip_mm > 0:
        raise InputError(f"a stack of {strips} strips of {strip_mm} mm cannot be measured")
    nominal = strips * strip_mm
    found = mean(stack, resolution)
    value, plus_minus = (nominal - found.value) / strips, found.plus_minus / strips
    says = [
        f"{strips} strips of {fixed(strip_mm, 3)} mm are {fixed(nominal, 3)} mm as drawn and"
        f" measure {fixed(found.value, 3)} mm: each lost ({fixed(nominal, 3)} -"
        f" {fixed(found.value, 3)}) / {strips} = {fixed(value, 4)} mm"
    ]
    doubts = _spread(stack, found, resolution)
    if value < 0:
        raise InputError(
            f"the stack measures {fixed(found.value, 3)} mm, more than the {fixed(nominal, 3)} mm"
            " of the drawing: push the strips together, clean their edges, and check that the"
            " coupon was cut without kerf compensation and at true size"
        )
    if windows:
        inside = mean(windows, resolution)
        other, other_pm = inside.value - window_mm, inside.plus_minus
        says.append(
            f"windows of {fixed(window_mm, 3)} mm measure {fixed(inside.value, 3)} mm:"
            f" {fixed(other, 4)} mm wider"
        )
        doubts += _spread(windows, inside, resolution)
        if abs(other - value) > CLASH * math.hypot(other_pm, plus_minus):
            doubts.append(
                f"strips say {fixed(value, 3)} mm, windows {fixed(other, 3)} mm: the cut may lean"
                " (measure the same face), or edges carry a burr. The strips are taken"
            )
        else:
            weights = 1 / plus_minus**2, 1 / other_pm**2
            value = (value * weights[0] + other * weights[1]) / sum(weights)
            plus_minus = 1 / math.sqrt(sum(weights))
    if value > USUAL_KERF_MM:
        doubts.append(
            f"{fixed(value, 3)} mm is a large kerf: check that the coupon has its true size and"
            f" that all {strips} strips were measured"
        )
    found = Mean(value, plus_minus, found.spread)
    return _held(
        ("stock", stock, "kerf"),
        f"kerf of {stock}",
        found,
        specs(Stock)["kerf"],
        says=says,
        doubts=doubts,
    )


def clearance(kind: str, steps: Sequence[float]) -> CouponValue:
    """Clearance per side of a class of fit, from the numbers (hundredths of a mm) of the chosen
    steps.

    The step to either side was tried and not taken, so half a step of 0.05 mm is the bound.
    """
    _some(steps, "the chosen step")
    half_step = 0.025
    found = mean([step / 100 for step in steps], half_step)
    chosen = ", ".join(fixed(step, 1) for step in steps)
    says = [
        f"step {chosen} stands for {fixed(found.value, 3)} mm per side; the steps are"
        f" {fixed(2 * half_step)} mm apart"
    ]
    doubts = []
    if found.spread > 2 * 2 * half_step + 1e-9:
        doubts.append(
            "the chosen steps lie more than two apart: print the coupon again, and let it cool"
        )
    key, what = ("printer", "clearance", kind), f"clearance of {kind} fits, per side"
    return _held(key, what, found, specs(Clearance)[kind], says=says, doubts=doubts)


def scale(
    axis: str,
    pairs: Sequence[tuple[float, float]],
    nominal_mm: float,
    resolution: float = CALIPER_MM,
) -> CouponValue:
    """Scale of the printer along an axis, from (outside, inside) readings over two posts.

    Their mean is the distance of the posts' middles: a line too wide adds to the one what it takes
    from the other. The shop has no such value; it is set in the printer or the slicer.
    """
    _some(pairs, "the posts")
    for outside, inside in pairs:
        if inside >= outside:
            raise InputError(
                f"{fixed(outside, 2)} outside and {fixed(inside, 2)} inside are the wrong way"
                " round: give outside first"
            )
    middles = [(outside + inside) / 2 for outside, inside in pairs]
    found = mean(middles, resolution / math.sqrt(2))
    share, share_pm = found.value / nominal_mm, found.plus_minus / nominal_mm
    if not 0.9 < share < 1.1:
        raise InputError(
            f"distance of the posts' middles: {fixed(found.value, 2)} mm, drawn"
            f" {fixed(nominal_mm, 2)} mm; no printer is so far off. Read once outside over both"
            " posts, once inside between them"
        )
    post = math.fsum((outside - inside) / 2 for outside, inside in pairs) / len(pairs)
    says = [
        (
            f"distance of the posts' middles: {fixed(found.value, 3)} mm, drawn"
            f" {fixed(nominal_mm, 2)} mm: {fixed(share * 100, 3)} %"
        ),
        f"posts of 10 mm measure {fixed(post, 2)} mm",
    ]
    off = abs(found.value - nominal_mm)
    if off <= 2 * found.plus_minus:
        says.append("that is within the resolution of a caliper: change nothing")
    else:
        says.append(
            f"set the printer's steps along {axis.upper()}, or the slicer's scale along"
            f" {axis.upper()}, to {fixed(100 / share, 2)} % of what they are, and print the coupon"
            " again. If X and Y differ by the same share, the filament shrinks: use the slicer's"
            " setting for shrinkage"
        )
    return CouponValue(
        None,
        f"correction of the printer along {axis.upper()}",
        1 / share,
        share_pm / share**2,
        "times",
        tuple(says),
        tuple(_spread(middles, found, resolution)),
    )


def paper(axis: str, readings: Sequence[float], resolution: float = CALIPER_MM) -> CouponValue:
    """The length of the template's 100 mm bar on paper along an axis."""
    _some(readings, "the bar")
    found = mean(readings, resolution)
    says = [
        f"the 100 mm bar along {axis.upper()} comes out at {fixed(found.value / BAR_MM * 100, 2)} %"
    ]
    doubts = _spread(readings, found, resolution)
    if abs(found.value - BAR_MM) > 5:
        doubts.append(
            "the print dialog scaled the page: print it again with its scaling off, then measure"
            " again"
        )
    key, what = f"bar_{axis}", f"100 mm bar along {axis.upper()}"
    return _held(("paper", key), what, found, specs(Paper)[key], says=says, doubts=doubts, places=2)


def _held(
    key: Key,
    what: str,
    found: Mean,
    spec: Spec,
    *,
    says: list[str],
    doubts: list[str],
    places: int = 3,
) -> CouponValue:
    """The value rounded, inside what its key takes."""
    value = round(found.value, places) + 0.0
    if (spec.least is not None and value < spec.least) or (
        spec.most is not None and value > spec.most
    ):
        raise InputError(
            f"{what} comes out at {fixed(value, places)} mm; {'.'.join(key)} takes {spec.least:g}"
            f" to {spec.most:g} mm. Are the readings in millimetres and of the right piece?"
        )
    return CouponValue(key, what, value, found.plus_minus, "mm", tuple(says), tuple(doubts))


def _some(readings: Sequence[object], what: str) -> None:
    if not readings:
        raise InputError(f"no reading of {what} is given")
    flat = [
        one
        for reading in readings
        for one in (reading if isinstance(reading, tuple) else (reading,))
    ]
    if any(not isinstance(one, (int, float)) or not math.isfinite(one) for one in flat):
        raise InputError(f"a reading of {what} is not a number")


def _spread(readings: Sequence[float], found: Mean, resolution: float) -> list[str]:
    if len(readings) < 2:
        return ["there is only one reading: measure three times, and open the caliper each time"]
    if found.spread > ALIKE * resolution:
        return [
            f"the readings differ by {fixed(found.spread, 3)} mm: clean the pieces and the caliper,"
            " and read again (or X and Y differ on this machine; then the mean is taken)"
        ]
    return []
