"""Checks that a sheet can be cut: bridges, radii, kerf, bed, margin, heat, on the beam's paths."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from fab.checks.cut_measured import (
    FAR,
    inner_radius,
    lead_gaps,
    narrowest,
    parallel_gaps,
    part_gaps,
)
from fab.checks.model import Verdict, at_least, judge
from fab.outlines.facets import to_shapely
from fab.outlines.kerf import kerf_compensated
from fab.params.shop import Laser, Stock
from fab.sheets.cut import cut_plan
from fab.sheets.model import Layup, Piece, Sheet
from fab.units import FLAT_TOL_MM, fixed

if TYPE_CHECKING:
    Shape = Any  # a shapely polygon

PRACTICE = "common practice, no source"
# parallel cuts nearer than this share of the thickness heat the web between them through
HEAT_SHARE = 0.5
WEB_MM = 0.3  # material that must be left between two cuts
CAUTION = "Stay with the machine while it cuts, with extraction on; follow its maker's rules."


def checks(
    sheet: str, layup: Layup, pieces: Sequence[Piece], laser: Laser, stock: Stock
) -> tuple[Verdict, ...]:
    """Verdicts `cut.*` of one sheet.

    `pieces` are the nominal outlines; the kerf is added here once more.
    """
    by_name = {piece.name: piece for piece in pieces}
    used = [by_name[name] for name in layup.counts]
    paths = {piece.name: kerf_compensated(piece.outline, stock.kerf) for piece in used}
    laid = [to_shapely(item.outline(paths[item.piece])) for item in layup.placed]
    leads = _leads(layup, pieces, laser, stock)
    key = f"shop.stock.{layup.sheet.stock}"
    return (
        *(_bridge(sheet, piece, stock) for piece in used),
        *(_radius(sheet, piece, stock) for piece in used),
        _web(sheet, laid, stock, laser, leads),
        _bed(sheet, layup, laid, laser),
        _margin(sheet, layup, [*laid, *(line for line, _ in leads)], stock, key),
        _heat(sheet, laid, stock, laser, leads),
    )


def _leads(
    layup: Layup, pieces: Sequence[Piece], laser: Laser, stock: Stock
) -> list[tuple[Shape, int]]:
    """Lead-ins of the sheet's cuts as lines with their part's place; piercings begin them."""
    if laser.inlet_lead <= 0:
        return []
    import shapely

    place = {f"{item.piece} {item.copy}": k for k, item in enumerate(layup.placed)}
    return [
        (shapely.LineString([step.segments[0].start, step.segments[0].end]), place[step.owner])
        for step in cut_plan(layup, pieces, laser, stock).passes
        if step.segments and not step.closed and step.owner in place
    ]


def _bridge(sheet: str, piece: Piece, stock: Stock) -> Verdict:
    """Material of a part between two of its own cuts."""
    least = narrowest(piece.outline)
    return judge(
        "cut.bridge",
        f"{piece.name} on {sheet}",
        at_least(least, stock.thickness),
        (
            f"{piece.name} is one cut, without bridges."
            if least >= FAR
            else (
                f"Least material between two cuts of {piece.name}: {_mm(least)}; thickness of the"
                f" sheet: {fixed(stock.thickness, 2)} mm."
            )
        ),
        remedy=(
            f"Make that bridge {fixed(stock.thickness, 1)} mm wide or more (for a stencil:"
            " art.bridge, art.rim), or use a thinner stock."
        ),
        source=PRACTICE,
    )


def _radius(sheet: str, piece: Piece, stock: Stock) -> Verdict:
    """Smallest radius inside a corner: the beam rounds it by half its kerf, and notches crack."""
    least = min((inner_radius(contour) for contour in piece.outline.contours), default=FAR)
    shown = (
        "no inner corners" if least >= FAR else f"an inner corner of {fixed(least, 2)} mm radius"
    )
    return judge(
        "cut.radius",
        f"{piece.name} on {sheet}",
        at_least(least, stock.kerf / 2),
        f"{piece.name} has {shown}; the beam is {fixed(stock.kerf, 2)} mm wide.",
        remedy=f"Round inner corners by {fixed(math.ceil(stock.kerf * 50) / 100, 2)} mm or more.",
        source="a beam as wide as the kerf leaves a radius of half the kerf",
    )


def _web(
    sheet: str,
    laid: Sequence[Shape],
    stock: Stock,
    laser: Laser,
    leads: Sequence[tuple[Shape, int]] = (),
) -> Verdict:
    """Material between two parts, the kerf taken off."""
    near = stock.thickness * 2
    gaps = [gap for gap in part_gaps(laid, near) if not (laser.common_line and gap < 1e-6)]
    least = min([*gaps, *lead_gaps(laid, leads, near)], default=FAR)
    left = least - stock.kerf if least < FAR else FAR
    return judge(
        "cut.kerf",
        sheet,
        at_least(left, WEB_MM),
        "Material left between neighbouring parts, once the beam has removed"
        f" {fixed(stock.kerf, 2)} mm: {_mm(left)}.",
        remedy=f"Set shop.laser.part_gap = {fixed(math.ceil((stock.kerf + WEB_MM) * 10) / 10, 1)}.",
        source=PRACTICE,
    )


def _bed(sheet: str, layup: Layup, laid: Sequence[Shape], laser: Laser) -> Verdict:
    """The sheet lies in the bed either way; with `pass_through` it may stick out, cuts may not."""
    wide, high = layup.sheet.width, layup.sheet.height
    what = "the sheet"
    if laser.pass_through:
        wide = max((shape.bounds[2] for shape in laid), default=0.0)
        high = max((shape.bounds[3] for shape in laid), default=0.0)
        what = "the area of the cuts"
    bed = laser.bed
    left = max(min(bed[0] - wide, bed[1] - high), min(bed[0] - high, bed[1] - wide))
    fits = _largest(wide, high, bed)
    return judge(
        "cut.bed",
        sheet,
        at_least(left, 0.0),
        f"Size of {what}: {fixed(wide, 1)} x {fixed(high, 1)} mm; bed {fixed(bed[0], 1)} x"
        f" {fixed(bed[1], 1)} mm",
        remedy=_cut_down(layup.sheet, f"{fixed(fits[0], 1)} x {fixed(fits[1], 1)} mm", fits),
        source=CAUTION,
    )


def _cut_down(sheet: Sheet, size: str, fits: tuple[float, float]) -> str:
    """The remedy for a sheet that is larger than the bed."""
    first = f"to {size} first, the biggest sheet that fits"
    if sheet.offcut:
        return f"Cut offcut {sheet.name} {first}, and change its outline in the shop file."
    key = f"shop.stock.{sheet.stock}"
    return (
        f"Cut the stock {first}: {key}.width = {fixed(fits[0], 1)}, {key}.height ="
        f" {fixed(fits[1], 1)}."
    )


def _largest(wide: float, high: float, bed: tuple[float, float]) -> tuple[float, float]:
    """The biggest piece of a sheet of this size that fits the bed, in the sheet's own direction."""
    ways = [(min(wide, bed[0]), min(high, bed[1])), (min(wide, bed[1]), min(high, bed[0]))]
    return max(ways, key=lambda size: size[0] * size[1])


def _margin(sheet: str, layup: Layup, laid: Sequence[Shape], stock: Stock, key: str) -> Verdict:
    """Least distance of a path from the sheet's edge, its holes and bad spots; negative outside."""
    import shapely

    whole = shapely.Polygon(layup.sheet.outline, layup.sheet.holes)
    least = FAR
    for shape in laid:
        inside = whole.covers(shape)
        away = (
            float(shape.distance(whole.boundary))
            if inside
            else -max(float(shape.difference(whole).area), 1.0)
        )
        least = min(least, away)
    return judge(
        "cut.margin",
        sheet,
        at_least(least, layup.sheet.margin, tolerance=FLAT_TOL_MM),
        f"Distance from cuts and lead-ins to the sheet's edge: {_mm(least)}.",
        remedy=(
            f"Set {key}.margin = {fixed(max(math.floor(least * 10) / 10, 0.0), 1)}, or use larger"
            " sheets."
        ),  # the facets stand off the true path by up to this
        source=f"{fixed(stock.margin, 1)} mm set by the shop",
    )


def _heat(
    sheet: str,
    laid: Sequence[Shape],
    stock: Stock,
    laser: Laser,
    leads: Sequence[tuple[Shape, int]] = (),
) -> Verdict:
    """Least distance of cuts side by side: the web between them can't lead the heat away."""
    least = min(lead_gaps(laid, leads, stock.thickness), default=FAR)
    for gap in parallel_gaps(laid, stock.thickness):
        if not (laser.common_line and gap < 1e-6):
            least = min(least, gap)
    need = HEAT_SHARE * stock.thickness
    return judge(
        "cut.heat",
        sheet,
        at_least(least, need),
        f"Least distance between parallel cuts and lead-ins: {_mm(least)}.",
        remedy=f"{_wider(laser, need)} Thin webs melt, char or catch fire. {CAUTION}",
        source=PRACTICE,
        otherwise="warn",
    )


def _wider(laser: Laser, need: float) -> str:
    """Keys that part parallel cuts; shared lines ignore the gap, lead-ins take some of it."""
    keys = ["shop.laser.common_line = false"] if laser.common_line else []
    keys.append(f"shop.laser.part_gap = {fixed(math.ceil((need + laser.inlet_lead) * 10) / 10, 1)}")
    return f"Set {' and '.join(keys)}."


def _mm(value: float) -> str:
    return "nothing near" if value >= FAR else f"{fixed(value, 2)} mm"
