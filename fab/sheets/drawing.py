"""Cut files as drawings: one layer an operation, inner before outer, in the order of work."""

from __future__ import annotations

from fab.outlines.contour import Point
from fab.outlines.drawing import Drawing, Layer
from fab.outlines.inks import BLUE, GREEN, GREY, ORANGE, PURPLE, VERMILION
from fab.outlines.kerf import kerf_compensated
from fab.params.shop import Laser, Operation, Stock
from fab.sheets.model import Layup, Piece, Sheet
from fab.sheets.passes import CutPlan, closed_contours
from fab.sheets.passes import Operation as Work
from fab.units import fixed

# Okabe and Ito's colour-blind safe palette (Color Universal Design, 2008): purple, blue, bluish
# green, vermillion; beside each the nearest of the basic colour indices of DXF.
USUAL: dict[Work, tuple[str, str, int]] = {
    "engrave": ("ENGRAVE", PURPLE, 6),
    "mark": ("MARK", BLUE, 5),
    "inner": ("CUT-INNER", GREEN, 3),
    "outer": ("CUT-OUTER", VERMILION, 1),
    "rest": ("CUT-REST", ORANGE, 2),
}

NOT_CUT = "SHEET-NOT-CUT"  # how the sheet is laid
_ARM_MM = 20.0  # of the mark at the origin


def look(work: Work, laser: Laser) -> tuple[str, str, int]:
    """Layer name, colour and colour index of an operation: the shop's where it says so, else the
    usual ones.
    """
    own: Operation = {
        "engrave": laser.engrave,
        "mark": laser.mark,
        "inner": laser.inner,
        "outer": laser.outer,
        "rest": Operation(),
    }[work]
    name, colour, aci = USUAL[work]
    return own.layer or name, own.colour or colour, own.aci or aci


def sheet_drawing(
    layup: Layup, plan: CutPlan, laser: Laser, stock: Stock, title: str = ""
) -> Drawing:
    """The cut file of one sheet, 1:1, origin at the sheet's lower left corner, kerf already in the
    paths.
    """
    layers = []
    for work in USUAL:
        steps = [step for step in plan.passes if step.operation == work]
        if not steps:
            continue
        strokes = tuple(step.points for step in steps if step.points)
        runs = tuple(step.segments for step in steps if step.segments and not step.closed)
        layers.append(Layer(*look(work, laser), closed_contours(plan, work), strokes, runs))
    sheet = layup.sheet
    layers += _to_lay(sheet)
    parts = ", ".join(f"{count} x {name}" for name, count in layup.counts.items())
    return Drawing(
        sheet.width,
        sheet.height,
        tuple(layers),
        title,
        (parts, *kerf_notes(stock), *lay_notes(sheet), *plan.notes),
    )


def _to_lay(sheet: Sheet) -> list[Layer]:
    """Marks for laying the sheet, on a layer that is not cut: edge of an offcut, grain, corner at
    the origin.

    A plain sheet without grain is laid by its corner alone and needs none. Without a margin a cut
    may lie on the edge, where a second line would be one cut twice, and there is no room for marks.
    """
    if not sheet.margin or (sheet.is_rectangle and not sheet.offcut and not sheet.grain):
        return []
    loops = [(*loop, loop[0]) for loop in (sheet.outline, *sheet.holes)] if sheet.offcut else []
    m, arm = sheet.margin / 2, min(_ARM_MM, sheet.width / 4, sheet.height / 4)
    corner = ((m, m + arm), (m, m), (m + arm, m))
    return [Layer(NOT_CUT, GREY, 8, (), (*loops, corner, *_grain(sheet)))]


def _grain(sheet: Sheet) -> list[tuple[Point, ...]]:
    """An arrow along X in the lower margin, both ways: grain has no front."""
    if not sheet.grain:
        return []
    m, long = sheet.margin / 2, min(3 * _ARM_MM, sheet.width / 2)
    left, right = (sheet.width - long) / 2, (sheet.width + long) / 2
    head = min(m * 0.6, long / 4)
    return [
        ((left, m), (right, m)),
        ((left + head, m + head), (left, m), (left + head, m - head)),
        ((right - head, m + head), (right, m), (right - head, m - head)),
    ]


def lay_notes(sheet: Sheet) -> tuple[str, ...]:
    """Name the sheet or offcut, and say how it is laid on the bed."""
    size = f"{fixed(sheet.width, 1)} x {fixed(sheet.height, 1)} mm"
    what = f"offcut {sheet.name}" if sheet.offcut else f"sheet {sheet.name}"
    of = size if sheet.name == sheet.stock else f"{sheet.stock}, {size}"
    notes = [f"cut from {what} ({of}); its lower left corner lies at the origin 0, 0"]
    if _to_lay(sheet):
        drawn = ["edge"] * sheet.offcut + ["grain"] * sheet.grain + ["corner at the origin"]
        notes.append(
            f"layer {NOT_CUT} shows its {', '.join(drawn)}: position the sheet by it, never cut it"
        )
    if sheet.grain:
        notes.append(f"grain: lay it as measured, {fixed(sheet.width, 1)} mm along X")
    return tuple(notes)


def part_drawing(piece: Piece, laser: Laser, stock: Stock, title: str = "") -> Drawing:
    """The cut file of one single part, its lower left corner at (0, 0), kerf already in the
    paths.
    """
    cut = kerf_compensated(piece.outline, stock.kerf)
    left, low, right, top = cut.box
    cut = cut.moved(-left, -low)
    layers = []
    surface: tuple[tuple[Work, tuple[tuple[Point, ...], ...]], ...] = (
        ("engrave", piece.engraved),
        ("mark", piece.marks),
    )
    for work, lines in surface:
        if lines:
            strokes = tuple(tuple((x - left, y - low) for x, y in line) for line in lines)
            layers.append(Layer(*look(work, laser), (), strokes))
    if cut.holes:
        layers.append(Layer(*look("inner", laser), cut.holes))
    layers.append(Layer(*look("outer", laser), (cut.edge,)))
    return Drawing(right - left, top - low, tuple(layers), title, kerf_notes(stock))


def kerf_notes(stock: Stock) -> tuple[str, ...]:
    """Notes for the maker before cutting."""
    half = fixed(stock.kerf / 2)
    return (
        (
            f"kerf {fixed(stock.kerf)} mm is in the paths: edges moved out by {half} mm, holes in"
            f" by {half} mm; cut on the line"
        ),
        f"for {stock.material} {stock.finish}, {fixed(stock.thickness)} mm",
    )
