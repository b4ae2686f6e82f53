"""Free spaces of a design, in mm, on which values that are left out depend, and which checks
measure.

Flat geometry of the plan alone, free of the CAD kernel. Negative: the two overlap.
"""

from __future__ import annotations

import math

from fab.outlines.contour import Point
from fab.parts.plan import Plan

WASHER_T = 0.5  # ISO 7089 M3
PAN_HEAD_H = 2.4  # ISO 7045 M3 k max
Box = tuple[float, float, float, float]  # x0, y0, x1, y1


def to_box(point: Point, box: Box) -> float:
    """From a point to a box, negative inside."""
    dx = max(box[0] - point[0], point[0] - box[2])
    dy = max(box[1] - point[1], point[1] - box[3])
    return math.hypot(max(dx, 0.0), max(dy, 0.0)) + min(max(dx, dy), 0.0)


def corner_reach(plan: Plan, aside: float = 0.0) -> float:
    """From the centre to the body's outline along a corner's bisector, `aside` of it."""
    half = math.pi / plan.cell.sides
    radius = plan.params.corner_radius
    if aside < radius * math.sin(half):
        reach = (plan.rings.body_apothem - radius) / math.cos(half)
        return reach + math.sqrt(radius**2 - aside**2)
    return (plan.rings.body_apothem - aside * math.sin(half)) / math.cos(half)


def screw_to_corner(plan: Plan) -> float:
    """From a shell screw's middle to the nearest outer face."""
    half = math.pi / plan.cell.sides
    if plan.rings.screw_radius <= (plan.rings.body_apothem - plan.params.corner_radius) / math.cos(
        half
    ):
        return plan.rings.screw_edge
    return corner_reach(plan) - plan.rings.screw_radius


def corner_screw(plan: Plan) -> float:
    """From the sunk head of a shell screw to the rounded corner."""
    return screw_to_corner(plan) - plan.params.screw_head_d / 2 - plan.fit("lap")


def clip_far(plan: Plan) -> float:
    """Outer side of the outermost clip pocket with its wall, from the edge's middle."""
    return max(plan.clip.pockets) + plan.clip.block_w / 2


def clip_room(plan: Plan) -> float:
    """Straight base wall beside the outermost clip pocket."""
    return plan.rings.base_inner.half_edge - clip_far(plan)


def clip_corner(plan: Plan) -> float:
    """Half of what is between the clip pockets of neighbouring edges."""
    inner = plan.rings.base_inner.apothem - plan.clip.block_depth
    return inner * math.tan(math.pi / plan.cell.sides) - clip_far(plan)


def clip_cavity(plan: Plan) -> Box:
    """The outermost clip pocket at edge 0, at positive t."""
    a, half, at = plan.cell.apothem, plan.clip.slot_w / 2, max(plan.clip.pockets)
    return (a - plan.clip.cavity_u, at - half, a - plan.edge.wall_u, at + half)


def first_post(plan: Plan) -> Point:
    """Middle of the standoff at corner 0, panel frame, mm."""
    return plan.corner(0, plan.fixings.post_radius)


def post_clip(plan: Plan) -> float:
    """From a standoff to a clip pocket."""
    return to_box(first_post(plan), clip_cavity(plan)) - plan.fixings.post_d / 2


def socket_box(plan: Plan) -> Box:
    """The socket at edge 0."""
    half = plan.edge.socket_half
    return (
        plan.rings.board.apothem - plan.params.header.socket_depth,
        -half,
        plan.rings.board.apothem,
        half,
    )


def clip_socket(plan: Plan) -> float:
    """From the clip to the socket, and from its pocket to the socket: beside it or under it,
    whichever is more.
    """
    under = plan.heights.board_z - plan.params.header.socket_height
    clip = plan.clip.offset - plan.params.clip.width / 2 - plan.edge.socket_half
    pocket = plan.clip.offset - plan.clip.block_w / 2 - plan.edge.socket_half
    return min(max(clip, under - plan.clip.top_z), max(pocket, under - plan.clip.catch_z))


def post_socket(plan: Plan) -> float:
    """From a standoff to a socket."""
    return to_box(first_post(plan), socket_box(plan)) - plan.fixings.post_d / 2


def hole_to_edge(plan: Plan) -> float:
    """From the rim of the widest mounting hole to the board's straight edge or its cut corner."""
    straight = plan.rings.board.apothem - plan.fixings.post_radius * math.cos(
        math.pi / plan.cell.sides
    )
    return (
        min(straight, plan.rings.board.facet - plan.fixings.post_radius)
        - plan.fixings.mark_hole_d / 2
    )


def header_reach(plan: Plan) -> float:
    """Length of pin inside a socket, both boards equally far from the joint."""
    header = plan.params.header
    return header.body / 2 + header.pin - (plan.cell.apothem - plan.rings.board.apothem)


def seat_growth(plan: Plan, kelvin: float) -> float:
    """Growth of the sheet at its furthest corner."""
    reach = plan.rings.rebate_apothem / math.cos(math.pi / plan.cell.sides)
    return plan.stock.expansion_per_k * kelvin * reach


def seat_cover(plan: Plan) -> float:
    """Ledge under the coldest sheet when it is pushed to the other side."""
    sheet = plan.params.diffuser
    shrink = seat_growth(plan, max(sheet.cut_c - sheet.cold_c, 0.0))
    return plan.params.shell.ledge - 2 * (plan.rings.seat_gap + shrink)


def under_ledge(plan: Plan) -> float:
    """From the highest thing that the shell stands over to the foot of its ledge."""
    heads = plan.heights.board_top_z + PAN_HEAD_H + plan.floor.press_room
    return plan.heights.ledge_foot_z - max(
        plan.heights.corner_top_z, plan.heights.port_top_z + 1.0, heads
    )


def rib_tip_z(plan: Plan) -> float:
    """Underside of a press rib's cheeks at their tip."""
    reach = plan.press.rib_tip_u - plan.params.gap / 2 - plan.params.shell.wall
    return plan.press.rib_foot_z + reach / math.tan(math.radians(plan.printer.overhang_deg))
