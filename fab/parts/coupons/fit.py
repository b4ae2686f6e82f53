"""The fit coupon: a peg and slots, a ring and lap openings, the real cap and the real window, in numbered steps.

    slots   [05] [10] [15] [20] [25]      peg:  a post on a grip; its slots are wider by twice the number
            [30] [35] [40] [45] [50]
    laps    the same with thin walls: ring = wall of the base, openings = wall of the shell
    caps    the real cap at five press clearances, each with a tab that carries its number;
    edge    one edge of the real base: the caps are pressed into its window

Numbers are the clearance per side in hundredths of a millimetre. Every piece is printed as it stands, numbers up.
"""

from __future__ import annotations

from dataclasses import replace

from fab.layout.model import BaseKind
from fab.outlines.contour import Contour, Outline
from fab.outlines.kerf import grown
from fab.outlines.shapes import rectangle
from fab.outlines.strokes import width_mm
from fab.params.shop import Printer
from fab.parts.base import base
from fab.parts.cap import cap
from fab.parts.coupons.model import FIT_STEPS, LETTER_H, PRESS_STEPS, PrintedCoupon, line_mm, written
from fab.parts.coupons.raised import letters, raised
from fab.parts.plan import Plan
from fab.solids import kernel
from fab.solids.kernel import Solid

PEG = (10.0, 6.0)  # section of the peg, mm
LAP = 16.0  # outer side of the lap ring, mm
LAP_RADIUS = 2.0  # its corner radius; an opening has the clearance more
DEEP = 6.0  # height of slots and lap openings
OVER = 1.5  # the gauges are this much longer, so that they can be seen to come through
WEB = 3.0  # material between slots
FLANGE = 1.2  # thickness of the strip that carries the laps' numbers
GRIP = 6.0  # height of a gauge's grip
A_ROW = 5  # steps in a row
PLAIN = BaseKind("plain", "panel", False, None, "")
PAST = 1.0


def fit_coupons(plan: Plan) -> list[PrintedCoupon]:
    """All pieces of the fit coupon."""
    pieces = [
        PrintedCoupon("fit-slots", 1, slots(plan.printer)),
        PrintedCoupon("fit-peg", 1, peg(plan.printer)),
        PrintedCoupon("fit-laps", 1, laps(plan)),
        PrintedCoupon("fit-ring", 1, ring(plan)),
        PrintedCoupon("fit-edge", 1, edge_piece(plan)),
    ]
    return pieces + [PrintedCoupon(f"fit-cap{_sign(step)}", 1, numbered_cap(plan, step)) for step in PRESS_STEPS]


def _sign(step: int) -> str:
    return f"-minus-{abs(step):02d}" if step < 0 else f"-{step:02d}"


def slots(printer: Printer) -> Solid:
    """The block with the peg's slots, two rows of five, the numbers above each."""
    most = max(FIT_STEPS) / 100
    pitch = PEG[0] + 2 * most + WEB
    letter = LETTER_H + line_mm(printer)
    row = PEG[1] + 2 * most + 2 * WEB + letter
    wide, deep = A_ROW * pitch + WEB, len(FIT_STEPS) // A_ROW * row
    block = kernel.prism(rectangle(wide, deep, (wide / 2, deep / 2), 2.0), 0, DEEP)
    solid = kernel.chamfered_foot(block, printer.elephant_foot)
    cuts, texts = [], []
    for place, step in enumerate(FIT_STEPS):
        x = WEB + pitch / 2 - WEB / 2 + place % A_ROW * pitch
        y = deep - (place // A_ROW + 1) * row + WEB + PEG[1] / 2 + most
        play = step / 100
        cuts += _hole(rectangle(PEG[0] + 2 * play, PEG[1] + 2 * play, (x, y)), printer)
        top = y + PEG[1] / 2 + most + WEB / 2 + line_mm(printer) / 2
        texts += raised(letters(written(step), (x, top), printer), DEEP, printer)
    return kernel.one_body(kernel.fused([kernel.carved(solid, cuts), *texts]), "fit-slots")


def peg(printer: Printer) -> Solid:
    """The peg, upright on its grip: turned over and pushed into the slots from above."""
    grip = kernel.chamfered_foot(kernel.prism(rectangle(PEG[0] + 6, PEG[1] + 6, radius_mm=2.0), 0, GRIP), printer.elephant_foot)
    top, lead = GRIP + DEEP + OVER, 0.8
    post = kernel.prism(rectangle(*PEG), GRIP - 0.3, top - lead)
    tip = kernel.frustum(rectangle(*PEG), top - lead, rectangle(PEG[0] - 2 * lead, PEG[1] - 2 * lead), top)
    return kernel.one_body(kernel.fused([grip, post, tip]), "fit-peg")


def laps(plan: Plan) -> Solid:
    """Openings with the shell's wall around them, two rows of five, the numbers on a strip before each row."""
    printer, wall = plan.printer, plan.params.shell.wall
    most = max(FIT_STEPS) / 100
    strip = LETTER_H + line_mm(printer) + 2.0
    deep = strip + LAP + 2 * most + 2 * wall  # of a row
    bodies, holes, texts = [], [], []
    for level in (0, 1):
        low = (1 - level) * deep
        middle = low + strip + wall + LAP / 2 + most
        x = 0.0
        for step in FIT_STEPS[level * A_ROW : (level + 1) * A_ROW]:
            inner, radius = LAP + 2 * step / 100, LAP_RADIUS + step / 100
            at = (x + wall + inner / 2, middle)
            bodies.append(kernel.prism(rectangle(inner + 2 * wall, inner + 2 * wall, at, radius + wall), 0, DEEP))
            holes += _hole(rectangle(inner, inner, at, radius), printer)
            line = (at[0], low + 1.0 + line_mm(printer) / 2)
            texts += raised(letters(written(step), line, printer), FLANGE, printer)
            x += inner + wall
        foot, top = max(low - wall - most, 0.0), low + strip + most + 2 * wall + LAP_RADIUS  # into the rows on both sides
        bodies.append(kernel.prism(rectangle(x + wall, top - foot, ((x + wall) / 2, (foot + top) / 2), 1.5), 0, FLANGE))
    solid = kernel.carved(kernel.fused(bodies), holes)
    return kernel.one_body(kernel.fused([solid, *texts]), "fit-laps")


def ring(plan: Plan) -> Solid:
    """The ring with the base's wall, upright on its grip."""
    printer = plan.printer
    grip = kernel.prism(rectangle(LAP + 4, LAP + 4, radius_mm=3.0), 0, FLANGE * 2)
    outer = rectangle(LAP, LAP, radius_mm=LAP_RADIUS)
    inner = LAP - 2 * plan.params.base.wall
    hollow = rectangle(inner, inner, radius_mm=max(LAP_RADIUS - plan.params.base.wall, 0.2))
    wall = kernel.prism(Outline(outer, (hollow,)), FLANGE * 2 - 0.3, FLANGE * 2 + DEEP + OVER)
    return kernel.one_body(kernel.fused([kernel.chamfered_foot(grip, printer.elephant_foot), wall]), "fit-ring")


def _hole(shape: Contour, printer: Printer) -> list[Solid]:
    """A hole through the piece, flared where it meets the bed: the first layers squeeze out there."""
    tools = [kernel.prism(shape, -PAST, DEEP + PAST)]
    if printer.elephant_foot > 0:
        wide = grown(Outline(shape), printer.elephant_foot).edge
        tools.append(kernel.frustum(wide, 0.0, shape, printer.elephant_foot))
    return tools


def edge_piece(plan: Plan, crop: tuple[float, float] | None = None) -> Solid:
    """A piece of the real base at edge 0, floor on the bed. `crop`: from and to along the edge; left out: the whole
    of window and clip pockets."""
    half = plan.clip_offset + plan.clip_block_w / 2 + 3.0
    low, high = crop or (-half, half)
    reach = plan.wall_u + plan.clip_block_depth + LETTER_H + line_mm(plan.printer) + 3.0
    a = plan.cell.apothem
    room = kernel.box(a - reach, a + PAST, low, high, -PAST, plan.wall_top_z + PAST)
    piece = base(plan, PLAIN).intersect(room)
    return kernel.one_body(kernel.moved(piece, reach - a, -(low + high) / 2, 0.0), "edge piece of the base")


def with_press(plan: Plan, step: int) -> Plan:
    """The plan with another press clearance."""
    clearance = replace(plan.printer.clearance, press=step / 100)
    return replace(plan, printer=replace(plan.printer, clearance=clearance))


def numbered_cap(plan: Plan, step: int) -> Solid:
    """The real cap at one press clearance; a tab beyond its upper edge carries the number and pulls it out again."""
    printer = plan.printer
    solid = cap(with_press(plan, step))
    play = plan.fit("cap-port")
    edge = plan.port_top_z - plan.press_room - play - plan.axis_z  # upper edge of the plate; x is up the wall here
    thick = plan.params.shell.wall + plan.fit("lap") - 0.3  # clear of the base wall that the plate rests on
    half = max(plan.port_w / 2 - play - plan.port_chamfer, LETTER_H / 2 + line_mm(printer))
    start = edge + plan.wall_top_z - plan.port_top_z + line_mm(printer) + 1.5  # numbers stay over the base wall
    words = letters(written(step), (start, -LETTER_H / 2), printer, "start")
    end = start + width_mm("-15", LETTER_H) + line_mm(printer) + 1.0
    tab = kernel.box(edge - 0.5, end, -half, half, 0.0, thick)
    return kernel.one_body(kernel.fused([solid, tab, *raised(words, thick, printer)]), f"fit-cap {step}")
