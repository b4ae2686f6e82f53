"""Rooms measured flat in the plan: distances between circles and boxes on the floor."""

from __future__ import annotations

import math

from fab.outlines.contour import turn
from fab.outlines.facets import facets
from fab.params.shop import Printer
from fab.parts.apart import boxes_apart
from fab.parts.bought import PLUG_L
from fab.parts.cap import plate_contour
from fab.parts.footsizes import FOOT_R, recesses
from fab.parts.inlet_sizes import (
    BAY_LIP,
    CABLE_UP,
    LIP,
    LIP_TOP,
    LIP_W,
    PINCH,
    STOP_SIDE,
    TIE_H,
    TIE_W,
)
from fab.parts.keyhole import entry_diameter, obstacles, slot_width
from fab.parts.plan import Plan
from fab.parts.spaces import (
    PAN_HEAD_H,
    WASHER_T,
    Box,
    clip_cavity,
    corner_reach,
    seat_growth,
    socket_box,
    to_box,
)
from fab.parts.vents import SLOT_W
from fab.prints.turns import best_turn
from fab.wall.strength import safe_shear, safe_stress

ACROSS = 0.25  # of a print's stress along its layers that it bears across them


def pocket_back(plan: Plan) -> float:
    """Wall that is left behind the pocket of a tongue."""
    deep = plan.rings.shell_inner.facet + plan.params.shell.snap_engage + plan.fit("shell-snap")
    half = plan.snap.width / 2 + plan.snap.slit / 2
    slope = math.cos(math.pi / plan.cell.sides)
    return min(corner_reach(plan) - deep, (corner_reach(plan, max(half, 0.0)) - deep) * slope)


def tongue_room(plan: Plan) -> float:
    """Bend of a tongue inwards until it meets board or post, less what its hook asks for."""
    shell, base = plan.params.shell, plan.params.base
    thin = max(base.wall - shell.snap_tongue, 0.0)
    to_post = plan.rings.base_inner.facet - plan.fixings.post_radius - plan.fixings.post_d / 2
    return thin + min(plan.params.board.fit, to_post) - shell.snap_engage


def socket_corner(plan: Plan) -> float:
    """From the inner corner of a socket to the bisector between its edge and the next."""
    inner, _, _, half = socket_box(plan)
    angle = math.pi / plan.cell.sides
    return inner * math.sin(angle) - half * math.cos(angle)


def out_of_line(plan: Plan) -> float:
    """Stray of a header from the middle of a window: the board's shift on its screws or in its
    base, and half of what the clips let two bases slip along the joint.
    """
    board = min(plan.params.board.fit, max((plan.params.board.hole - plan.params.screw_d) / 2, 0.0))
    return board + plan.fit("clip")


def plate_top_half(plan: Plan) -> float:
    """Half the straight upper side of a cap's plate."""
    corners = [seg.start for seg in plate_contour(plan).segments]
    top = max(z for _, z in corners)
    return max(t for t, z in corners if z > top - 1e-6)


def plate_side(plan: Plan) -> float:
    """The upright side of a cap's plate."""
    corners = [seg.start for seg in plate_contour(plan).segments]
    far = max(t for t, _ in corners)
    beside = [z for t, z in corners if t > far - 1e-6]
    return max(beside) - min(beside)


def inlet_half(plan: Plan) -> float:
    """Half the height of the opening in the base wall."""
    inlet = plan.params.inlet
    if inlet.kind == "round":
        return inlet.cable_d / 2 + plan.fit("lap")
    return inlet.shell_h / 2 + plan.fit("inlet")


def inlet_span(plan: Plan) -> float:
    """The bridge over the inlet's opening: its width less sides rounded to the overhang."""
    inlet, half = plan.params.inlet, inlet_half(plan)
    radius = half if inlet.kind == "round" else half - 0.05
    wide = half if inlet.kind == "round" else inlet.shell_w / 2 + plan.fit("inlet")
    return 2 * (wide - radius * (1 - math.sin(math.radians(90.0 - plan.printer.overhang_deg))))


def inlet_top(plan: Plan) -> float:
    """Height of the inlet's upper side over the wall plane, mm."""
    inlet = plan.params.inlet
    return plan.inlet.z + (inlet.cable_d if inlet.kind == "round" else inlet.shell_h) / 2


def plug_half(plan: Plan) -> float:
    """Half the height of the plug, or of a round inlet's cable."""
    inlet = plan.params.inlet
    return (inlet.cable_d if inlet.kind == "round" else inlet.plug_h) / 2


def cable_bend(plan: Plan) -> float:
    """Radius of the two like bends by which the cable of a base on feet sinks from the plug under
    the floor, mm.

    Two arcs of radius R that turn back to level sink by h over the length sqrt(h (4 R - h)):
    elementary geometry.
    """
    inlet = plan.params.inlet
    sink = plan.inlet.z + inlet.cable_d / 2
    long = plan.inlet.end_u - plan.inlet.mouth_u - (0.0 if inlet.kind == "round" else PLUG_L)
    return (long**2 / sink + sink) / 4 if long > 0 else 0.0


def port_over_plug(plan: Plan) -> float:
    """From the plug's (or cable's) upper corner to the port's cut corner or its top."""
    inlet = plan.params.inlet
    wide, high = (
        (inlet.cable_d, inlet.cable_d) if inlet.kind == "round" else (inlet.plug_w, inlet.plug_h)
    )
    top = plan.heights.port_top_z - plan.inlet.z - high / 2
    # how far it reaches under the cut corner
    under = max(wide / 2 - (plan.edge.port_w / 2 - plan.edge.port_chamfer), 0.0)
    return top - under / math.tan(math.radians(plan.printer.overhang_deg))


def seat_left(plan: Plan) -> float:
    """Gap per side around the warmest sheet."""
    sheet = plan.params.diffuser
    return plan.rings.seat_gap - seat_growth(plan, max(sheet.warm_c - sheet.cut_c, 0.0))


def rib_over_plunger(plan: Plan) -> float:
    """Fall of a press rib's slope over the plunger's middle: the flat must reach there."""
    reach = plan.press.switch_u - plan.params.gap / 2 - plan.params.shell.wall
    slope = plan.press.rib_foot_z + reach / math.tan(math.radians(plan.printer.overhang_deg))
    return plan.press.rib_z - slope


def cradle_to_clip(plan: Plan) -> float:
    """Slit between the inlet's cradle and a clip's pocket.

    Where their walls touch or are one, there is none: the nozzle's bore, less what the two lack of
    one whole wall.
    """
    wall = plan.params.base.wall
    wide = plan.params.inlet.board_w / 2 + plan.fit("inlet") + wall
    slit = plan.clip.offset - plan.clip.block_w / 2 - wide
    return slit if slit > 1e-6 else plan.printer.nozzle + min(wall + slit, 0.0)


def inlet_box(plan: Plan) -> Box:
    """The floor that an inlet takes at edge 0: cradle, or ribs with the cable between."""
    a, half = plan.cell.apothem, plan.inlet.half
    return (a - plan.inlet.end_u, -half, a - plan.edge.wall_u, half)


def behind_inlet(plan: Plan) -> float:
    """From the inlet's floor to posts, feet, other edges' clip pockets, or the base wall."""
    boxes = [inlet_box(plan)]
    if plan.inlet.behind and plan.params.inlet.kind != "round":
        u0, t0, u1, t1 = plan.inlet.screw_box
        boxes.append((plan.cell.apothem - u1, t0, plan.cell.apothem - u0, t1))
    return min(_behind(plan, box) for box in boxes)


def _behind(plan: Plan, box: Box) -> float:
    corners = ((box[0], box[1]), (box[2], box[1]), (box[2], box[3]), (box[0], box[3]))
    ring = plan.rings.base_inner
    gaps = [
        ring.apothem - (x * math.cos(angle) + y * math.sin(angle))
        for angle in (2 * math.pi * k / ring.sides for k in range(1, ring.sides))
        for x, y in (corners[0], corners[3])
    ]
    gaps += [to_box(post, box) - plan.fixings.post_d / 2 for post in plan.fixings.posts_at_an_edge]
    gaps += [to_box(spot, box) - FOOT_R for spot in recesses(plan)]
    per_edge = len(obstacles(plan, inlet=False)) // ring.sides
    gaps += [boxes_apart(corners, shape) for shape in obstacles(plan, inlet=False)[per_edge:]]
    return min(gaps)


def slot_reach(plan: Plan) -> float:
    """The distance of the slot's closed end outside the entry."""
    return plan.params.hanger.travel + slot_width(plan) / 2 - entry_diameter(plan) / 2


def vent_room(plan: Plan) -> float:
    """From an air slot's middle line to the clip pockets and the inlet, less half its width."""
    a = plan.rings.base_inner.apothem
    points = [
        plan.corner(k, a * (0.35 + 0.25 * s / 8))
        for k in (0, plan.cell.sides - 1)
        for s in range(9)
    ]
    pocket = clip_cavity(plan)
    turned = [turn(p, -2 * math.pi / plan.cell.sides) for p in points]
    gaps = [to_box(p, inlet_box(plan)) for p in points] + [
        to_box(p, pocket) for p in points + turned
    ]
    return min(gaps) - SLOT_W / 2


def off_lines(wall: float, printer: Printer) -> float:
    """Distance of a wall from a whole number of printed lines, two at least, in lines."""
    lines = wall / printer.extrusion_width
    return abs(lines - max(round(lines), 2))


def bed_left(plan: Plan) -> float:
    """The rest of the bed's tighter side beside the panel's body and the margins, mm, the body
    turned as it fits best, by any angle.
    """
    bed_x, bed_y = (side - 2 * plan.printer.bed_margin for side in plan.printer.bed)
    return best_turn(facets(plan.rings.body, outside=True), bed_x, bed_y)[1]


def inlet_screw_room(plan: Plan) -> float:
    """From the head over the receptacle's board to what hangs under the panel's board."""
    under = max(plan.params.board.controller_height, 0.0)
    top = plan.inlet.board_z + plan.params.inlet.board_t + WASHER_T + PAN_HEAD_H
    return plan.heights.board_z - under - top


def cable_pull(plan: Plan) -> float:
    """Pull on the supply cable, N, that the inlet's board is held against, without a factor: where
    it bears on the base, where what it bears on shears off floor and sides, and across, where the
    plug levers its rear up against the screw's thread, and with feet its outer end against the two
    lips.

    With feet the cable pulls towards the centre, against two stops beside the receptacle; without
    them it pulls outwards, against the base wall, and a plug pushes it against the stop behind.
    """
    inlet, play = plan.params.inlet, plan.fit("inlet")
    stress, shear = safe_stress(plan.filament), safe_shear(plan.filament)
    wall, high = plan.params.base.wall, plan.inlet.board_z + inlet.board_t - plan.floor.top_z
    grip = plan.inlet.board_z + inlet.board_t - PINCH - 2 * plan.printer.layer
    thread = math.pi * plan.params.screw_d * grip * stress / 2
    if plan.inlet.behind:
        if plan.inlet.washer_over < 0.5:
            return 0.0  # no room for the washer between receptacle and board's edge
        out, stop = PLUG_L + plan.inlet.rib_wall, plan.inlet.rib_wall - BAY_LIP
        lips = 2 * LIP_W * (LIP + LIP_TOP) * shear * inlet.board_l / out
        up = thread * (inlet.board_l - plan.inlet.washer_d / 2) / (inlet.board_l + out)
        wide = max(inlet.board_w / 2 - inlet.shell_w / 2 - STOP_SIDE, 0.0)
        bearing = 2 * wide * inlet.board_t * stress
        return min(bearing, 2 * (wide + play + high) * stop * shear, lips, up)
    beside = max(inlet.board_w - inlet.shell_w - 2 * play, 0.0)
    bearing = beside * inlet.board_t * stress
    behind = (inlet.board_w + 2 * play + 2 * high) * wall * shear
    return min(bearing, behind, thread * inlet.board_l / (PLUG_L + wall))


def tied_cable(plan: Plan) -> float:
    """Pull on the cable of a round inlet, N, that its ribs hold by the tie, without a factor: the
    tie bears on a window's side in both ribs, and bends them off the floor, across their layers.
    """
    inlet, wall, stress = plan.params.inlet, plan.inlet.rib_wall, safe_stress(plan.filament)
    bearing = 2 * wall * TIE_H * stress
    long = plan.inlet.stop_u - plan.edge.wall_u
    section = wall * (long**3 - TIE_W**3) / 6 / long
    return min(bearing, 2 * section * stress * ACROSS / (inlet.cable_d / 2 + CABLE_UP))
