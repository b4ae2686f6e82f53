"""Proof that a nest can be cut, by another library than the engine's and from scratch.

Every copy's cut path is built anew from its nominal outline, laid at its pose and turned into
facets that lie outside the true curve. What is asked of the facets then holds for the curves: apart
by the gap, inside the margin.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Mapping, Sequence
from typing import Any

from fab.outlines.buffers import buffered
from fab.outlines.contour import Outline
from fab.outlines.facets import to_shapely
from fab.outlines.kerf import kerf_compensated
from fab.sheets.model import Layup, Nest, Piece, Sheet
from fab.units import fixed

FACET_MM = 5e-4  # facets stand off by no more than this
SLACK_MM = 2 * FACET_MM + 1e-5  # so a gap that is exactly met may measure this much less


def audit(
    result: Nest, pieces: Sequence[Piece], sheets: Sequence[Sheet], gap_mm: float, kerf_mm: float
) -> tuple[str, ...]:
    """Everything that is wrong with a nest, as sentences; empty when it can be cut.

    Proven: every copy's cut path lies inside its sheet by the margin, holes and bad spots included;
    any two keep the gap within 0.001 mm; each piece is there as often as asked, less what is
    reported missing; sheets are of the piece's stock and no more than there are; turns are those
    that piece and grain allow.
    """
    wrong = [*_counts(result, pieces, sheets)]
    by_name = {piece.name: piece for piece in pieces}
    cut = {piece.name: kerf_compensated(piece.outline, kerf_mm) for piece in pieces if piece.count}
    seen: set[tuple[object, ...]] = set()
    for index, layup in enumerate(result.layups):
        # the same poses on the same kind of sheet need no second proof
        key = (layup.sheet, tuple((p.piece, p.x, p.y, p.turn_deg) for p in layup.placed))
        if key in seen:
            continue
        seen.add(key)
        unknown = sorted({p.piece for p in layup.placed} - cut.keys())
        if unknown:
            wrong.append(
                f"sheet {index + 1} carries parts that were not ordered: {', '.join(unknown)}"
            )
            continue
        wrong += [f"sheet {index + 1}: {says}" for says in _layup(layup, by_name, cut, gap_mm)]
    return tuple(wrong)


def _counts(result: Nest, pieces: Sequence[Piece], sheets: Sequence[Sheet]) -> list[str]:
    wrong = []
    copies = Counter((p.piece, p.copy) for layup in result.layups for p in layup.placed)
    wrong += [
        f"copy {copy} of {name} lies {n} times"
        for (name, copy), n in sorted(copies.items())
        if n > 1
    ]
    laid = Counter(name for name, _ in copies)
    for piece in pieces:
        have, miss = laid[piece.name], result.missing.get(piece.name, 0)
        if have + miss != piece.count:
            wrong.append(
                f"{piece.name}: {piece.count} wanted, {have} laid and {miss} reported missing"
            )
    used = Counter(layup.sheet for layup in result.layups)
    for sheet, n in used.items():
        if sheet not in sheets or n > sheet.count:
            wrong.append(
                f"sheets {sheet.name!r}: {n} used, {sheet.count if sheet in sheets else 0} in the"
                " rack"
            )
    return wrong


def _layup(
    layup: Layup, pieces: Mapping[str, Piece], cut: Mapping[str, Outline], gap_mm: float
) -> list[str]:
    import shapely

    wrong = []
    for item in layup.placed:
        if pieces[item.piece].stock != layup.sheet.stock:
            wrong.append(
                f"{item.piece} {item.copy} is of stock {pieces[item.piece].stock!r}, the sheet of"
                f" {layup.sheet.stock!r}"
            )
        if not _turn_allowed(item.turn_deg, pieces[item.piece], layup.sheet):
            wrong.append(f"{item.piece} {item.copy} is turned by {fixed(item.turn_deg)} degrees")
    shapes = [
        to_shapely(item.outline(cut[item.piece]), FACET_MM, outside=True) for item in layup.placed
    ]
    names = [f"{item.piece} {item.copy}" for item in layup.placed]
    field = shapely.Polygon(layup.sheet.outline, layup.sheet.holes)
    roomy = buffered(field, SLACK_MM, join_style="mitre")
    shapely.prepare(roomy)
    for name, shape in zip(names, shapes, strict=True):
        if not shape.is_valid:
            wrong.append(f"{name} has a cut path that crosses itself")
        elif not roomy.contains(shape):
            wrong.append(f"{name} extends beyond the sheet")
        elif (edge := field.boundary.distance(shape)) < layup.sheet.margin - SLACK_MM:
            wrong.append(
                f"{name} is {fixed(edge)} mm from the edge, the margin is"
                f" {fixed(layup.sheet.margin)} mm"
            )
    tree = shapely.STRtree(shapes)
    for i, j in _close(tree, shapes, gap_mm):
        if shapes[i].intersection(shapes[j]).area > SLACK_MM * min(
            shapes[i].length, shapes[j].length
        ):
            wrong.append(f"{names[i]} and {names[j]} overlap")
        elif (apart := shapes[i].distance(shapes[j])) < gap_mm - SLACK_MM:
            wrong.append(
                f"{names[i]} and {names[j]} are {fixed(apart)} mm apart, the gap is"
                f" {fixed(gap_mm)} mm"
            )
    return wrong


def _close(tree: Any, shapes: Sequence[Any], gap_mm: float) -> list[tuple[int, int]]:
    """Pairs that are nearer than the gap, or that touch."""
    pairs = tree.query(shapes, predicate="dwithin", distance=max(gap_mm - SLACK_MM, 0.0)).T
    return sorted((int(i), int(j)) for i, j in pairs if i < j)


def _turn_allowed(turn_deg: float, piece: Piece, sheet: Sheet) -> bool:
    step = {"none": 360.0, "half": 180.0, "quarter": 90.0}.get(
        piece.turns, 180.0 if sheet.grain else 0.0
    )
    if sheet.grain and step:
        step = max(step, 180.0)
    return (
        step == 0.0
        or min(turn_deg % step, step - turn_deg % step) < 1e-6
        or math.isclose(turn_deg % step, 0.0)
    )
