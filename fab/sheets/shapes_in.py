"""Pieces from drawings that somebody else made: loose lines in, pieces and a plain report out."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from fab.errors import Fault, InputError
from fab.outlines.contour import Arc, Line, Outline, Point, Segment
from fab.outlines.loops import JOIN_MM, join
from fab.sheets.model import Piece, Turns
from fab.units import FLAT_TOL_MM, JOIN_TOL_MM, fixed, some

_CELL_MM = 0.05  # more than the sizes of equal pieces may differ


@dataclass(frozen=True)
class ShapesIn:
    """The pieces of one drawing, and what its maker should know."""

    pieces: tuple[Piece, ...]
    notes: tuple[str, ...]


def shapes_in(
    segments: Sequence[Segment],
    name: str,
    count: int,
    stock: str,
    *,
    turns: Turns = "quarter",
    tol_mm: float = JOIN_MM,
    marks: Sequence[Sequence[Segment]] = (),
    engraved: Sequence[Sequence[Segment]] = (),
) -> ShapesIn:
    """Every closed outline of a drawing as a piece, wanted `count` times; equal pieces are counted
    together.

    `marks` and `engraved` are runs of lines that stay with the piece on which they lie.

    Each piece's frame has its origin in the middle of the outline's box. Open lines and doubles are
    told in the notes; a drawing without any closed outline is refused, with the places of its open
    ends.
    """
    found = join(segments, tol_mm)
    notes = [f"{name}: {open_run}; left out. Close it to have it cut" for open_run in found.opens]
    if found.doubles:
        places = ", ".join(f"({fixed(x, 1)}, {fixed(y, 1)})" for x, y in found.doubles[:3])
        more = f" and {len(found.doubles) - 3} more" if len(found.doubles) > 3 else ""
        notes.append(
            f"{name}: {len(found.doubles)} doubled line{'s' * (len(found.doubles) > 1)} dropped, at"
            f" {places}{more}"
        )
    if found.dust:
        notes.append(f"{name}: {some(found.dust, 'line')} without length dropped")
    notes += [f"{name}: {note}" for note in found.notes]
    if not found.outlines:
        says = "; ".join(str(run) for run in found.opens[:3]) or "no lines"
        raise InputError(
            [
                Fault(
                    "",
                    f"no closed outline found within {fixed(tol_mm)} mm: {says}.",
                    "Close it in the drawing.",
                    where=name,
                )
            ]
        )
    surfaces, lost = _surfaces(found.outlines, {"marks": marks, "engraved": engraved})
    if lost:
        notes.append(f"{name}: {some(lost, 'mark')} outside the parts left out")
    groups = _grouped(
        _centred(name, outline, count, stock, turns, surface)
        for outline, surface in zip(found.outlines, surfaces, strict=True)
    )
    single = len(groups) == 1
    pieces = tuple(
        replace(piece, name=name if single else f"{name}-{k + 1}", count=n * count)
        for k, (piece, n) in enumerate(groups)
    )
    return ShapesIn(pieces, tuple(notes))


def _grouped(pieces: Iterable[Piece]) -> list[tuple[Piece, int]]:
    """Each piece that is drawn, and how often; only pieces of the same size are compared."""
    groups: list[tuple[Piece, int]] = []
    cells: dict[tuple[int, int, int], list[int]] = {}
    for piece in pieces:
        _, _, right, top = piece.outline.box
        x, y, holes = int(right // _CELL_MM), int(top // _CELL_MM), len(piece.outline.holes)
        near = [
            group
            for dx in (-1, 0, 1)
            for dy in (-1, 0, 1)
            for group in cells.get((x + dx, y + dy, holes), ())
        ]
        for k in sorted(near):
            if _alike(piece, groups[k][0]):
                groups[k] = (groups[k][0], groups[k][1] + 1)
                break
        else:
            cells.setdefault((x, y, holes), []).append(len(groups))
            groups.append((piece, 1))
    return groups


def understood(piece: Piece) -> str:
    """Describe a piece as it was read: size, holes and marks."""
    left, low, right, top = piece.outline.box
    words = [f"{piece.name}: {fixed(right - left, 2)} x {fixed(top - low, 2)} mm"]
    counts = (
        (len(piece.outline.holes), "hole"),
        (len(piece.marks), "mark"),
        (len(piece.engraved), "engraved line"),
    )
    return ", ".join([*words, *(some(many, what) for many, what in counts if many)])


Lines = tuple[tuple[Point, ...], ...]


def _surfaces(
    outlines: Sequence[Outline], runs: Mapping[str, Sequence[Sequence[Segment]]]
) -> tuple[list[dict[str, Lines]], int]:
    """Sort runs by kind onto the outline that each lies on, and count those on none."""
    import shapely

    from fab.outlines.facets import to_shapely

    found: list[dict[str, Lines]] = [dict.fromkeys(runs, ()) for _ in outlines]
    if not any(runs.values()):
        return found, 0
    edges = shapely.STRtree([to_shapely(Outline(outline.edge)) for outline in outlines])
    lost = 0
    for kind, each in runs.items():
        for run in each:
            for points in _joined_points(run):
                middle = points[len(points) // 2]
                inside = edges.query(shapely.Point(middle), predicate="intersects")
                if not len(inside):
                    lost += 1
                    continue
                smallest = min(inside.tolist(), key=lambda k: abs(outlines[k].edge.area_mm2))
                found[smallest][kind] = (*found[smallest][kind], points)
    return found, lost


def _joined_points(run: Sequence[Segment]) -> Iterator[tuple[Point, ...]]:
    """Lines of points out of segments that follow each other."""
    points: list[Point] = []
    for seg in run:
        if points and math.dist(points[-1], seg.start) > JOIN_TOL_MM:
            yield tuple(points)
            points = []
        points = points or [seg.start]
        points += _ahead(seg)
    if points:
        yield tuple(points)


def _ahead(seg: Segment) -> list[Point]:
    """Points of a segment behind its start; of an arc chords within 0.01 mm."""
    if not isinstance(seg, Arc):
        return [seg.end]
    half = math.acos(max(1.0 - FLAT_TOL_MM / max(seg.radius_mm, FLAT_TOL_MM), 0.0))
    count = max(math.ceil(abs(seg.sweep_rad) / (2 * half)), 1)
    return [seg.at(k / count) for k in range(1, count + 1)]


def _centred(
    name: str, outline: Outline, count: int, stock: str, turns: Turns, surface: dict[str, Lines]
) -> Piece:
    """The piece with the middle of its box at the origin."""
    left, low, right, top = outline.box
    dx, dy = -(left + right) / 2, -(low + top) / 2
    marks, engraved = (
        tuple(tuple((x + dx, y + dy) for x, y in line) for line in surface[kind])
        for kind in ("marks", "engraved")
    )
    return Piece(name, outline.moved(dx, dy), count, stock, turns, marks, engraved)


def _alike(a: Piece, b: Piece) -> bool:
    """The same shape with the same marks, in the same turn."""
    return (
        _close(a.marks, b.marks) and _close(a.engraved, b.engraved) and _same(a.outline, b.outline)
    )


def _close(a: Lines, b: Lines) -> bool:
    if [len(line) for line in a] != [len(line) for line in b]:
        return False
    pairs = (pair for one, other in zip(a, b, strict=True) for pair in zip(one, other, strict=True))
    return all(math.dist(*pair) <= 0.02 for pair in pairs)


def _same(a: Outline, b: Outline) -> bool:
    """The same shape in the same turn, within a hundredth of a millimetre."""
    if len(a.holes) != len(b.holes) or any(
        abs(p - q) > 0.01 for p, q in zip(a.box, b.box, strict=True)
    ):
        return False
    if abs(a.area_mm2 - b.area_mm2) > 0.01 * a.length_mm or abs(
        a.length_mm - b.length_mm
    ) > 0.01 * len(a.edge.segments):
        return False
    if _drawn_alike(a, b):
        return True
    import shapely

    from fab.outlines.facets import to_shapely

    one, other = to_shapely(a), to_shapely(b)
    return bool(shapely.hausdorff_distance(one, other) < 0.05)


def _drawn_alike(a: Outline, b: Outline) -> bool:
    """The same lines and arcs one after another, as copies have them: cheaper than a distance."""
    return [len(loop.segments) for loop in a.contours] == [
        len(loop.segments) for loop in b.contours
    ] and all(
        _equal(one, other)
        for loop, its in zip(a.contours, b.contours, strict=True)
        for one, other in zip(loop.segments, its.segments, strict=True)
    )


def _equal(a: Segment, b: Segment) -> bool:
    """The same start, and for two arcs the same centre and sense, within a hundredth."""
    if math.dist(a.start, b.start) > 0.01:
        return False
    if isinstance(a, Arc) and isinstance(b, Arc):
        return math.dist(a.centre, b.centre) <= 0.01 and a.sweep_rad * b.sweep_rad > 0
    return isinstance(a, Line) and isinstance(b, Line)
