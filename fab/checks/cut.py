"""Checks that a sheet can be cut: bridges, radii, kerf, bed, margin, heat, on the beam's paths."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from fab.checks.model import Verdict, at_least, judge
from fab.outlines.contour import Arc, Contour, Outline
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
HEAT_TURN_DEG = 10.0  # cuts that run within this of each other count as parallel
CHORD_DEG = 30.0  # corners that turn by less are chords of a curve
WEB_MM = 0.3  # material that must be left between two cuts
FAR = math.inf  # nothing to measure
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


def _lead_gaps(
    laid: Sequence[Shape], leads: Sequence[tuple[Shape, int]], within: float
) -> list[float]:
    """Distances nearer than `within`: lead-ins to cuts of other parts, and to each other."""
    import shapely

    if not leads:
        return []
    found = []
    lines, owners = [line for line, _ in leads], [owner for _, owner in leads]
    for others, whose in (([shape.boundary for shape in laid], range(len(laid))), (lines, owners)):
        tree = shapely.STRtree(others)
        for i, j in tree.query(lines, predicate="dwithin", distance=within).T:
            if owners[i] != whose[j]:
                found.append(float(lines[i].distance(others[j])))
    return found


def _bridge(sheet: str, piece: Piece, stock: Stock) -> Verdict:
    """Material of a part between two of its own cuts."""
    least = _narrowest(piece.outline)
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


def _narrowest(outline: Outline) -> float:
    """Least distance between two contours of an outline; FAR without holes."""
    import shapely

    rings = [
        shapely.LinearRing(
            [
                seg.at(k / 16) if isinstance(seg, Arc) else seg.start
                for seg in contour.segments
                for k in (range(16) if isinstance(seg, Arc) else (0,))
            ]
        )
        for contour in outline.contours
    ]
    if len(rings) < 2:
        return FAR
    # each with its nearest: a grille has thousands of holes, and pairs without end
    _, gaps = shapely.STRtree(rings).query_nearest(rings, exclusive=True, return_distance=True)
    return float(gaps.min(initial=FAR))


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


def inner_radius(contour: Contour) -> float:
    """Smallest radius of a turn to the right (material lies left); 0 at a sharp corner, or FAR."""
    least = FAR
    segments = contour.segments
    for k, seg in enumerate(segments):
        if isinstance(seg, Arc) and seg.sweep_rad < 0:
            least = min(least, seg.radius_mm)
        (ux, uy), (vx, vy) = _heading(segments[k - 1], 1.0), _heading(seg, 0.0)
        turned = -math.atan2(ux * vy - uy * vx, ux * vx + uy * vy)
        if turned > math.radians(CHORD_DEG):
            least = 0.0
        elif turned > math.radians(1.0):  # chords of a curve: the radius that their ends lie on
            least = min(
                least, min(segments[k - 1].length_mm, seg.length_mm) / (2 * math.tan(turned / 2))
            )
    return least


def _heading(seg: Any, at: float) -> tuple[float, float]:
    """Direction of a segment at its start (0) or end (1)."""
    if not isinstance(seg, Arc):
        return (seg.end[0] - seg.start[0], seg.end[1] - seg.start[1])
    x, y = seg.end if at else seg.start
    side = math.copysign(1.0, seg.sweep_rad)
    return (-(y - seg.centre[1]) * side, (x - seg.centre[0]) * side)


def _web(
    sheet: str,
    laid: Sequence[Shape],
    stock: Stock,
    laser: Laser,
    leads: Sequence[tuple[Shape, int]] = (),
) -> Verdict:
    """Material between two parts, the kerf taken off."""
    near = stock.thickness * 2
    gaps = [gap for gap in _gaps(laid, near) if not (laser.common_line and gap < 1e-6)]
    least = min([*gaps, *_lead_gaps(laid, leads, near)], default=FAR)
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


def _gaps(laid: Sequence[Shape], within: float) -> list[float]:
    """Distances of all pairs of parts nearer than `within`."""
    import shapely

    if len(laid) < 2:
        return []
    tree = shapely.STRtree(laid)
    first, second = tree.query(laid, predicate="dwithin", distance=within)
    return [
        float(laid[i].distance(laid[j]))
        for i, j in zip(first.tolist(), second.tolist(), strict=True)
        if i < j
    ]


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
    least = min(_lead_gaps(laid, leads, stock.thickness), default=FAR)
    for gap in _parallel(laid, stock.thickness):
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


def _parallel(laid: Sequence[Shape], within: float) -> list[float]:
    """Distances of straight cuts of different parts that run side by side nearer than `within`."""
    import numpy as np
    import shapely

    if len(laid) < 2:
        return []
    sides, owner = [], []
    for index, shape in enumerate(laid):
        points = np.asarray(shape.exterior.coords)
        long = np.linalg.norm(np.diff(points, axis=0), axis=1) > within
        sides += [shapely.LineString(points[k : k + 2]) for k in np.flatnonzero(long)]
        owner += [index] * int(long.sum())
    if not sides:
        return []
    first, second = shapely.STRtree(sides).query(sides, predicate="dwithin", distance=within)
    found = []
    for i, j in zip(first.tolist(), second.tolist(), strict=True):
        if owner[i] < owner[j] and _turn_deg(sides[i], sides[j]) < HEAT_TURN_DEG:
            found.append(float(sides[i].distance(sides[j])))
    return found


def _turn_deg(a: Any, b: Any) -> float:
    (ax, ay), (bx, by) = a.coords
    (cx, cy), (dx, dy) = b.coords
    ux, uy, vx, vy = bx - ax, by - ay, dx - cx, dy - cy
    return math.degrees(
        math.asin(min(abs(ux * vy - uy * vx) / (math.hypot(ux, uy) * math.hypot(vx, vy)), 1.0))
    )


def _mm(value: float) -> str:
    return "nothing near" if value >= FAR else f"{fixed(value, 2)} mm"
