"""The snap coupon: the real clip, and pieces of the real base's edge with its pocket at five snap
clearances.

A piece is cut symmetric about its pocket, so two with the same number lie edge to edge like two
panels of a joint:

        [ 10 | pocket ][ pocket | 10 ]     seen from the front; the clip goes in from the back
"""

from __future__ import annotations

from dataclasses import replace

from fab.outlines.strokes import width_mm
from fab.parts.clip import clip
from fab.parts.coupons.fit import edge_piece
from fab.parts.coupons.model import LETTER_H, SNAP_STEPS, PrintedCoupon, line_mm, written
from fab.parts.coupons.raised import letters, raised
from fab.parts.plan import Plan
from fab.solids import kernel
from fab.solids.kernel import Solid


def snap_coupons(plan: Plan) -> list[PrintedCoupon]:
    """Two edge pieces a step and two clips."""
    pieces = [
        PrintedCoupon(f"snap-edge-{step:02d}", 2, pocket_piece(plan, step)) for step in SNAP_STEPS
    ]
    return [*pieces, PrintedCoupon("snap-clip", 2, clip(plan))]


def with_snap(plan: Plan, step: int) -> Plan:
    """The plan with another snap clearance."""
    clearance = replace(plan.printer.clearance, snap=step / 100)
    return replace(plan, printer=replace(plan.printer, clearance=clearance))


def pocket_crop(plan: Plan) -> tuple[float, float]:
    """From and to along the edge: a pocket, and room for the number."""
    half = max(
        plan.clip.block_w / 2 + 3.0, width_mm("88", LETTER_H) / 2 + line_mm(plan.printer) + 1.0
    )
    return plan.clip.offset - half, plan.clip.offset + half


def pocket_piece(plan: Plan, step: int) -> Solid:
    """One clip pocket of the real base at a snap clearance, its number raised on the floor
    inside.
    """
    piece = edge_piece(with_snap(plan, step), pocket_crop(plan))
    # The number reads from inside the panel: its top towards the edge. The floor ends at x = 0.
    words = letters(
        written(step), (1.0 + line_mm(plan.printer) / 2, 0.0), plan.printer, turn_deg=-90.0
    )
    return kernel.one_body(
        kernel.fused([piece, *raised(words, plan.floor.top_z, plan.printer)]), f"snap edge {step}"
    )
