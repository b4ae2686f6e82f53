"""A board from a user's drawing: edge and holes, repaired where that is safe, else refused."""

from __future__ import annotations

from fab.errors import BrokenGeometry, InputError, refused
from fab.files.read_outline import read_outline
from fab.outlines.contour import Contour, Outline, circle
from fab.outlines.loops import Joined, join
from fab.outlines.roundness import as_circle
from fab.params.allowed_paths import of_file
from fab.params.boardparams import BoardParams
from fab.params.positions import UNIT_MM
from fab.units import JOIN_TOL_MM, fixed, some

DUST_MM2 = 0.05  # loops smaller than this are dust: no drill makes a hole of 0.25 mm
# corners of a polygon may lie off a circle by this and be one: the usual rounding of drawing
# programs
ROUND_MM = 0.02
MOST_CORNERS = 20_000
MOST_READ = 100_000  # lines of the drawing, before they are joined
MOST_TOLD = 3


def one_outline(data: bytes, board: BoardParams, shown: str) -> tuple[Outline, tuple[str, ...]]:
    """The board's outline in mm, in the file's own frame, and what was put right.

    Raises InputError with the place.
    """
    try:
        loose = read_outline(
            data, shown, None if board.units == "file" else UNIT_MM[board.units], MOST_READ
        )
        joined = join(loose.segments, max(board.join, 10 * JOIN_TOL_MM))
    except InputError as error:
        raise of_file(error, shown, "", "Draw the board as closed outlines.") from None
    except BrokenGeometry as error:
        raise refused(
            f"its lines cannot be read as an outline: {error}.",
            "Remove very short lines and gaps from the drawing.",
            where=shown,
        ) from None
    notes = [note.removeprefix(f"{shown}: ") for note in loose.notes]
    outline = _the_board(joined, notes, shown)
    edge, holes = _without_dust(outline, notes)
    holes = [_rounded(hole, notes) for hole in holes]
    edge = _rounded(edge, notes) if as_circle(edge, ROUND_MM) else edge
    notes += _repairs(joined)
    many = sum(len(contour.segments) for contour in (edge, *holes))
    if many > MOST_CORNERS:
        says = f"the board has {many:,} corners; at most {MOST_CORNERS:,} are kept."
        raise refused(
            says, "Simplify the drawing: a router cannot follow so many corners.", where=shown
        )
    return Outline(edge, tuple(holes)), tuple(note[:300] for note in dict.fromkeys(notes))


def _the_board(joined: Joined, notes: list[str], shown: str) -> Outline:
    """The one outline that is a board; what lies in its holes is none of its business."""
    real = [outline for outline in joined.outlines if outline.edge.area_mm2 > DUST_MM2]
    if not real:
        says = "there is no closed outline in it."
        if joined.opens:
            says = f"the outline does not close: {_opens(joined)}."
        raise refused(
            says, "Close it in the drawing, or make board.join larger than the gap.", where=shown
        )
    largest = max(real, key=lambda outline: outline.edge.area_mm2)
    beside = [
        outline for outline in real if outline is not largest and not _inside_box(outline, largest)
    ]
    longest = max((run.length_mm for run in joined.opens), default=0.0)
    if longest > 0.5 * largest.edge.length_mm:
        says = f"the board's edge does not close: {_opens(joined)}."
        raise refused(
            says, "Close it in the drawing, or make board.join larger than the gap.", where=shown
        )
    if beside:
        places = ", ".join(_at(outline.edge) for outline in [largest, *beside][:4])
        says = f"holds {some(len(beside) + 1, 'outline')} side by side, at {places}."
        raise refused(says, "Leave one board in the file.", where=shown)
    inner = len(real) - 1
    if inner:
        notes.append(f"{some(inner, 'outline')} inside holes of the board left out")
    return largest


def _inside_box(small: Outline, large: Outline) -> bool:
    a, b = small.box, large.box
    return a[0] >= b[0] and a[1] >= b[1] and a[2] <= b[2] and a[3] <= b[3]


def _without_dust(outline: Outline, notes: list[str]) -> tuple[Contour, list[Contour]]:
    """The edge and the holes that a drill can make."""
    kept = [hole for hole in outline.holes if abs(hole.area_mm2) > DUST_MM2]
    gone = [hole for hole in outline.holes if abs(hole.area_mm2) <= DUST_MM2]
    if gone:
        places = ", ".join(_at(hole) for hole in gone[:MOST_TOLD])
        notes.append(f"{some(len(gone), 'loop')} too small to be holes are left out, at {places}")
    return outline.edge, kept


def _rounded(contour: Contour, notes: list[str]) -> Contour:
    """Return a circle where the line is one; a polygon that stands for a circle is reported."""
    found = as_circle(contour, ROUND_MM)
    if found is None:
        return contour
    centre, radius = found
    if contour.circle() is None:
        what = (
            f"{len(contour.segments)} lines at x {fixed(centre[0], 2)}, y {fixed(centre[1], 2)} mm"
        )
        notes.append(f"{what} are read as a circle of {fixed(2 * radius, 2)} mm")
    return circle(centre, radius)


def _repairs(joined: Joined) -> list[str]:
    """The repairs that joining the lines made, in words."""
    notes = list(joined.notes)
    if joined.doubles:
        places = ", ".join(
            f"x {fixed(x, 2)}, y {fixed(y, 2)} mm" for x, y in joined.doubles[:MOST_TOLD]
        )
        notes.append(f"{some(len(joined.doubles), 'doubled line')} read once, at {places}")
    if joined.dust:
        notes.append(f"{some(joined.dust, 'line')} without length left out")
    if joined.opens:
        notes.append(f"{some(len(joined.opens), 'open line')} left out: {_opens(joined)}")
    return notes


def _opens(joined: Joined) -> str:
    longest = sorted(joined.opens, key=lambda run: -run.length_mm)
    return "; ".join(str(run) for run in longest[:MOST_TOLD])


def _at(contour: Contour) -> str:
    x0, y0, x1, y1 = contour.box
    return f"x {fixed((x0 + x1) / 2, 2)}, y {fixed((y0 + y1) / 2, 2)} mm"
