"""A user's picture as filled areas: the closed lines of an SVG or DXF; open ones are reported."""

from __future__ import annotations

import math
from collections.abc import Sequence

from fab.errors import BrokenGeometry, InputError, refused
from fab.files.drawn import FLAT_MM
from fab.files.line_count import too_many
from fab.files.read_outline import read_outline
from fab.outlines import clip2d
from fab.outlines.clip2d import Region
from fab.outlines.contour import Arc, Line, Point, Segment
from fab.outlines.crossing_count import MOST_CROSSINGS, tangled
from fab.outlines.facets import facets
from fab.outlines.loops import join
from fab.params.allowed_paths import of_file
from fab.params.artparams import ArtParams
from fab.params.positions import UNIT_MM
from fab.units import JOIN_TOL_MM, some

# corners and chords of all curves, before those that matter least are left out
MOST_POINTS = 300_000
JOIN_MM = 0.05  # loose ends nearer than this are joined

Ring = list[Point]


def picture(data: bytes, art: ArtParams, shown: str) -> tuple[Region, tuple[str, ...]]:
    """The filled areas of a picture in mm, y up, and what was put right.

    Raises InputError with the place.

    Lines that follow each other in the file make the rings; loose ones are joined. Rings may cross
    themselves and each other: an area is filled where an odd number of them lie round it, or, with
    the rule "nonzero", where they go round it in sum.
    """
    try:
        loose = read_outline(
            data, shown, None if art.units == "file" else UNIT_MM[art.units], MOST_POINTS
        )
    except InputError as error:
        raise of_file(error, shown, "", "Give closed outlines.") from None
    notes = [note.removeprefix(f"{shown}: ") for note in loose.notes]
    rings, rest = _in_order(loose.segments)
    if rest:
        rings += _joined(rest, shown, notes)
    if sum(len(ring) for ring in rings) > MOST_POINTS:
        raise too_many(sum(len(ring) for ring in rings), MOST_POINTS, shown)
    if tangled(rings):
        says = (
            f"its lines cross more than {MOST_CROSSINGS:,} times, or lie over each other all the"
            " way."
        )
        raise refused(says, "Combine its areas in the drawing program.", where=shown)
    if art.rule == "nonzero":
        region = clip2d.nonzero(rings)
    else:
        region, crossing = clip2d.odd(rings)
        if crossing:
            notes.append(
                f"lines cross themselves or each other, {crossing} times: filled where an odd"
                " number of them lie round"
            )
    return region, tuple(note[:300] for note in dict.fromkeys(notes))


def _in_order(segments: Sequence[Segment]) -> tuple[list[Ring], list[Segment]]:
    """Rings of segments that follow each other and close, as points; and the segments left over."""
    rings: list[Ring] = []
    rest: list[Segment] = []
    run: list[Segment] = []
    for seg in segments:
        if run and math.dist(run[-1].end, seg.start) > JOIN_TOL_MM:
            rest += run
            run = []
        run.append(seg)
        if len(run) > 1 and math.dist(run[0].start, seg.end) <= JOIN_TOL_MM:
            rings.append([point for each in run for point in _points(each)])
            run = []
    return [ring for ring in rings if len(ring) > 2], [*rest, *run]


def _points(seg: Segment) -> list[Point]:
    """Points along a segment without its end; chords stray no more than curves do elsewhere."""
    if isinstance(seg, Line):
        return [seg.start]
    step = 2 * math.acos(max(1 - FLAT_MM / seg.radius_mm, 0.0))
    count = max(1, math.ceil(abs(seg.sweep_rad) / step)) if isinstance(seg, Arc) else 1
    return [seg.at(k / count) for k in range(count)]


def _joined(segments: Sequence[Segment], shown: str, notes: list[str]) -> list[Ring]:
    """Rings out of loose lines."""
    try:
        found = join(segments, JOIN_MM)
    except InputError as error:
        raise of_file(error, shown, "", "Draw closed outlines.") from None
    except BrokenGeometry as error:
        raise refused(f"{error}.", "Draw closed outlines.", where=shown) from None
    if found.opens:
        told = "; ".join(str(run) for run in found.opens[:2])
        notes.append(f"{some(len(found.opens), 'open line')} left out: {told}")
    if found.doubles:
        notes.append(f"{some(len(found.doubles), 'doubled line')} read once")
    loops = [contour for outline in found.outlines for contour in outline.contours]
    return [list(facets(loop, FLAT_MM, outside=False)) for loop in loops]
