"""The fit coupon: a peg and slots, a ring and lap openings, the real cap and the real window, in
numbered steps.

    slots   [05] [10] [15] [20] [25]      peg: a post on a grip; its slots are wider by
            [30] [35] [40] [45] [50]      twice the number
    laps    the same with thin walls: ring = wall of the base, openings = wall of the shell
    caps    the real cap at five press clearances, each with a tab that carries its number;
    edge    one edge of the real base: the caps are pressed into its window

Numbers are the clearance per side in hundredths of a millimetre. Every piece is printed as it
stands, numbers up.
"""

from __future__ import annotations

from dataclasses import replace

from fab.layout.model import BaseKind
from fab.outlines.contour import Contour, Outline, Point
from fab.outlines.kerf import grown
from fab.outlines.shapes import rectangle
from fab.outlines.strokes import width_mm
from fab.params.shop import Printer
from fab.parts.base import base
from fab.parts.cap import cap
from fab.parts.coupons.model import (
    FIT_STEPS,
    LETTER_H,
    PRESS_STEPS,
    PrintedCoupon,
    line_mm,
    written,
)
from fab.parts.coupons.raised import letters, raised
from fab.parts.plan import Plan
from fab.solids import kernel
from fab.solids.kernel import PAST, Solid

PEG = (10.0, 6.0)  # section of the peg, mm
LAP = 16.0  # outer side of the lap ring at least, mm
LAP_RADIUS = 2.0  # its corner radius; an opening has the clearance more
DEEP = 6.0  # height of slots and lap openings
OVER = 1.5  # the gauges are this much longer, so that they can be seen to come through
WEB = 3.0  # material between slots
FLANGE = 1.2  # thickness of the strip that carries the laps' numbers
GRIP = 6.0  # height of a gauge's grip
A_ROW = 5  # steps in a row
MOST = max(FIT_STEPS) / 100  # the largest clearance
PLAIN = BaseKind("plain", "panel", False, None, "")


def fit_coupons(plan: Plan) -> list[PrintedCoupon]:
    """All pieces of the fit coupon."""
    pieces = [
        PrintedCoupon("fit-slots", 1, slots(plan.printer)),
        PrintedCoupon("fit-peg", 1, peg(plan.printer)),
        PrintedCoupon("fit-laps", 1, laps(plan)),
        PrintedCoupon("fit-ring", 1, ring(plan)),
        PrintedCoupon("fit-edge", 1, edge_piece(plan)),
    ]
    return pieces + [
        PrintedCoupon(f"fit-cap{_sign(step)}", 1, numbered_cap(plan, step)) for step in PRESS_STEPS
    ]


def _sign(step: int) -> str:
    return f"-minus-{abs(step):02d}" if step < 0 else f"-{step:02d}"


def slot_places(printer: Printer) -> dict[int, Point]:
    """Step to the middle of its slot."""
    pitch, row = _slot_pitch(), _slot_row(printer)
    deep = len(FIT_STEPS) // A_ROW * row
    return {
        step: (
            (place % A_ROW + 0.5) * pitch + WEB / 2,
            deep - (place // A_ROW + 1) * row + WEB + PEG[1] / 2 + MOST,
        )
        for place, step in enumerate(FIT_STEPS)
    }


def _slot_pitch() -> float:
    return PEG[0] + 2 * MOST + WEB


def _slot_row(printer: Printer) -> float:
    """A slot with its number over it."""
    return PEG[1] + 2 * MOST + 2 * WEB + LETTER_H + line_mm(printer)


def slots(printer: Printer) -> Solid:
    """The block with the peg's slots, two rows of five, the numbers above each."""
    return kernel.one_body(kernel.fused(slot_parts(printer)), "fit-slots")


def slot_parts(printer: Printer) -> list[Solid]:
    """The same before it is one: the block first, then the letters, which dip into it."""
    shape, texts = slot_block(printer), []
    cuts = [tool for hole in shape.holes for tool in _hole(hole, printer)]
    for text, at in slot_texts(printer):
        texts += raised(letters(text, at, printer), DEEP, printer)
    block = kernel.chamfered_foot(kernel.prism(shape.edge, 0, DEEP), printer.elephant_foot)
    return [kernel.carved(block, cuts), *texts]


def slot_block(printer: Printer) -> Outline:
    """The outline of the block with the peg's slots."""
    wide, deep = A_ROW * _slot_pitch() + WEB, len(FIT_STEPS) // A_ROW * _slot_row(printer)
    sides = [
        (PEG[0] + step / 50, PEG[1] + step / 50, at) for step, at in slot_places(printer).items()
    ]
    edge = rectangle(wide, deep, (wide / 2, deep / 2), 2.0)
    return Outline(edge, tuple(rectangle(*side) for side in sides))


def slot_texts(printer: Printer) -> list[tuple[str, Point]]:
    """The number of each slot, and the middle of its foot."""
    over = PEG[1] / 2 + MOST + WEB / 2 + line_mm(printer) / 2
    return [(written(step), (x, y + over)) for step, (x, y) in slot_places(printer).items()]


def peg(printer: Printer) -> Solid:
    """The peg, upright on its grip: turned over and pushed into the slots from above."""
    grip = kernel.chamfered_foot(
        kernel.prism(rectangle(PEG[0] + 6, PEG[1] + 6, radius_mm=2.0), 0, GRIP),
        printer.elephant_foot,
    )
    top, lead = GRIP + DEEP + OVER, 0.8
    post = kernel.prism(rectangle(*PEG), GRIP - 0.3, top - lead)
    tip = kernel.frustum(
        rectangle(*PEG), top - lead, rectangle(PEG[0] - 2 * lead, PEG[1] - 2 * lead), top
    )
    return kernel.one_body(kernel.fused([grip, post, tip]), "fit-peg")


def lap_side(plan: Plan) -> float:
    """Outer side of the lap ring: room inside for walls of any thickness."""
    return max(LAP, 2 * plan.params.base.wall + 8.0)


def lap_places(plan: Plan) -> dict[int, Point]:
    """Step to the middle of its opening; neighbours share a wall."""
    wall, side = plan.params.shell.wall, lap_side(plan)
    found: dict[int, Point] = {}
    for level in (0, 1):
        y = (1 - level) * _lap_row(plan) + _strip(plan) + wall + side / 2 + MOST
        x = 0.0
        for step in FIT_STEPS[level * A_ROW : (level + 1) * A_ROW]:
            inner = side + 2 * step / 100
            found[step] = (x + wall + inner / 2, y)
            x += inner + wall
    return found


def _strip(plan: Plan) -> float:
    """Width of the strip that carries the numbers of a row."""
    return LETTER_H + line_mm(plan.printer) + 2.0


def _lap_row(plan: Plan) -> float:
    return _strip(plan) + lap_side(plan) + 2 * MOST + 2 * plan.params.shell.wall


def laps(plan: Plan) -> Solid:
    """Openings with the shell's wall around them, two rows of five, the numbers on a strip before
    each row.
    """
    printer, wall, side = plan.printer, plan.params.shell.wall, lap_side(plan)
    bodies, holes, texts, right = [], [], [], [0.0, 0.0]
    for place, (step, at) in enumerate(lap_places(plan).items()):
        level = place // A_ROW
        inner, radius = side + 2 * step / 100, LAP_RADIUS + step / 100
        bodies.append(
            kernel.prism(rectangle(inner + 2 * wall, inner + 2 * wall, at, radius + wall), 0, DEEP)
        )
        holes += _hole(rectangle(inner, inner, at, radius), printer)
        foot = (1 - level) * _lap_row(plan) + 1.0 + line_mm(printer) / 2
        texts += raised(letters(written(step), (at[0], foot), printer), FLANGE, printer)
        right[level] = at[0] + inner / 2 + wall
    for level in (0, 1):  # a strip reaches into the rings on both sides of it
        low = (1 - level) * _lap_row(plan)
        foot, top = max(low - wall - MOST, 0.0), low + _strip(plan) + MOST + 2 * wall + LAP_RADIUS
        middle = (right[level] / 2, (foot + top) / 2)
        bodies.append(kernel.prism(rectangle(right[level], top - foot, middle, 1.5), 0, FLANGE))
    solid = kernel.carved(kernel.fused(bodies), holes)
    return kernel.one_body(kernel.fused([solid, *texts]), "fit-laps")


def ring(plan: Plan) -> Solid:
    """The ring with the base's wall, upright on its grip."""
    thick, side = plan.params.base.wall, lap_side(plan)
    foot = 2 * FLANGE
    grip = kernel.prism(rectangle(side + 4, side + 4, radius_mm=3.0), 0, foot)
    outer = rectangle(side, side, radius_mm=LAP_RADIUS)
    hollow = rectangle(side - 2 * thick, side - 2 * thick, radius_mm=max(LAP_RADIUS - thick, 0.2))
    wall = kernel.prism(Outline(outer, (hollow,)), foot - 0.3, foot + DEEP + OVER)
    return kernel.one_body(
        kernel.fused([kernel.chamfered_foot(grip, plan.printer.elephant_foot), wall]), "fit-ring"
    )


def _hole(shape: Contour, printer: Printer) -> list[Solid]:
    """A hole through the piece, flared where it meets the bed: the first layers squeeze out
    there.
    """
    tools = [kernel.prism(shape, -PAST, DEEP + PAST)]
    if printer.elephant_foot > 0:
        wide = grown(Outline(shape), printer.elephant_foot).edge
        tools.append(kernel.frustum(wide, 0.0, shape, printer.elephant_foot))
    return tools


def edge_reach(plan: Plan) -> float:
    """From the lattice edge inwards to the end of a piece of the base: pocket and number
    find room.
    """
    return plan.edge.wall_u + plan.clip.block_depth + LETTER_H + line_mm(plan.printer) + 3.0


def edge_piece(plan: Plan, crop: tuple[float, float] | None = None) -> Solid:
    """A piece of the real base at edge 0, floor on the bed, the lattice edge at x = `edge_reach`.

    `crop`: from and to along the edge; left out: the whole of window and clip pockets.
    """
    half = max(plan.clip.pockets) + plan.clip.block_w / 2 + 3.0
    return cropped(plan, base(plan, PLAIN), crop or (-half, half))


def cropped(plan: Plan, whole: Solid, along: tuple[float, float]) -> Solid:
    """The piece of a base at edge 0, from and to along the edge, as `edge_piece` lays it."""
    low, high = along
    reach, a = edge_reach(plan), plan.cell.apothem
    room = kernel.box(a - reach, a + PAST, low, high, -PAST, plan.heights.wall_top_z + PAST)
    piece = kernel.common(whole, room)
    return kernel.one_body(
        kernel.moved(piece, reach - a, -(low + high) / 2, 0.0), "edge piece of the base"
    )


def with_press(plan: Plan, step: int) -> Plan:
    """The plan with another press clearance."""
    clearance = replace(plan.printer.clearance, press=step / 100)
    return replace(plan, printer=replace(plan.printer, clearance=clearance))


def numbered_cap(plan: Plan, step: int) -> Solid:
    """The real cap at one press clearance; a tab beyond its upper edge carries the number and pulls
    it out again.
    """
    printer = plan.printer
    solid = cap(with_press(plan, step))
    play = plan.fit("cap-port")
    # upper edge of the plate; x is up the wall here
    edge = plan.heights.port_top_z - plan.floor.press_room - play - plan.heights.axis_z
    # clear of the base wall that the plate rests on
    thick = plan.params.shell.wall + plan.fit("lap") - 0.3
    half = max(
        plan.edge.port_w / 2 - play - plan.edge.port_chamfer, LETTER_H / 2 + line_mm(printer)
    )
    # numbers stay over the base wall
    start = edge + plan.heights.wall_top_z - plan.heights.port_top_z + line_mm(printer) + 1.5
    words = letters(written(step), (start, -LETTER_H / 2), printer, anchor="start")
    end = start + width_mm("-15", LETTER_H) + line_mm(printer) + 1.0
    tab = kernel.box(edge - 0.5, end, -half, half, 0.0, thick)
    return kernel.one_body(
        kernel.fused([solid, tab, *raised(words, thick, printer)]), f"fit-cap {step}"
    )
