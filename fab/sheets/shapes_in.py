"""Pieces from drawings that somebody else made: loose lines in, pieces and a plain report out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from fab.errors import Fault, InputError
from fab.outlines.contour import Outline, Segment
from fab.outlines.loops import JOIN_MM, join
from fab.sheets.model import Piece, Turns
from fab.units import fixed


@dataclass(frozen=True)
class ShapesIn:
    """The pieces of one drawing, and what its maker should know."""

    pieces: tuple[Piece, ...]
    notes: tuple[str, ...]


def shapes_in(
    segments: Sequence[Segment], name: str, count: int, stock: str, *, turns: Turns = "quarter", tol_mm: float = JOIN_MM
) -> ShapesIn:
    """Every closed outline of a drawing as a piece, wanted `count` times; equal outlines are counted together.

    Each piece's frame has its origin in the middle of the outline's box. Open lines and doubles are told in the
    notes; a drawing without any closed outline is refused, with the places of its open ends.
    """
    found = join(segments, tol_mm)
    notes = [f"{name}: {open_run}; left out. Close it, or it can't be cut" for open_run in found.opens]
    if found.doubles:
        places = ", ".join(f"({fixed(x, 1)}, {fixed(y, 1)})" for x, y in found.doubles[:3])
        more = f" and {len(found.doubles) - 3} more" if len(found.doubles) > 3 else ""
        notes.append(
            f"{name}: {len(found.doubles)} doubled line{'s' * (len(found.doubles) > 1)} dropped, at {places}{more}"
        )
    if found.dust:
        notes.append(f"{name}: {found.dust} lines without length dropped")
    notes += [f"{name}: {note}" for note in found.notes]
    if not found.outlines:
        says = "; ".join(str(run) for run in found.opens[:3]) or "no lines"
        raise InputError(
            [Fault(name, "", f"no closed outline found within {fixed(tol_mm)} mm: {says}.", "Close it in the drawing.")]
        )
    groups: list[tuple[Outline, int]] = []
    for outline in (_centred(one) for one in found.outlines):
        for k, (other, n) in enumerate(groups):
            if _same(outline, other):
                groups[k] = (other, n + 1)
                break
        else:
            groups.append((outline, 1))
    single = len(groups) == 1
    pieces = tuple(
        Piece(name if single else f"{name}-{k + 1}", outline, n * count, stock, turns)
        for k, (outline, n) in enumerate(groups)
    )
    return ShapesIn(pieces, tuple(notes))


def _centred(outline: Outline) -> Outline:
    left, low, right, top = outline.box
    return outline.moved(-(left + right) / 2, -(low + top) / 2)


def _same(a: Outline, b: Outline) -> bool:
    """The same shape in the same turn, within a hundredth of a millimetre."""
    if len(a.holes) != len(b.holes) or any(abs(p - q) > 0.01 for p, q in zip(a.box, b.box, strict=True)):
        return False
    if abs(a.area_mm2 - b.area_mm2) > 0.01 * a.length_mm or abs(a.length_mm - b.length_mm) > 0.01 * len(
        a.edge.segments
    ):
        return False
    import shapely

    from fab.outlines.facets import to_shapely

    one, other = to_shapely(a), to_shapely(b)
    return bool(shapely.hausdorff_distance(one, other) < 0.05)
