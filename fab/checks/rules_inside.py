"""Rules of heights in a panel, and of how board, shell and press edges are held."""

from __future__ import annotations

from fab.checks import room
from fab.checks.remedy import Turn
from fab.checks.rule import DEEPER, HIGHER, LARGER, Rule, is_pressed, is_screwed, is_snapped
from fab.parts import spaces

HEIGHTS = (
    Rule(
        "fit.board-clip",
        "Gap, clip to board",
        lambda p: (p.heights.board_z - p.clip.top_z, 0.3),
        (HIGHER, Turn("clip.leg_length", -0.1)),
    ),
    Rule(
        "fit.board-screw",
        "Gap, head of the wall screw to board",
        lambda p: (p.heights.board_z - p.floor.top_z - 0.3 - p.params.hanger.head_h, 0.5),
        (HIGHER,),
    ),
    Rule(
        "fit.board-parts",
        "Gap, head of the wall screw to the tallest part under the board",
        lambda p: (
            p.heights.board_z
            - p.params.board.controller_height
            - p.floor.top_z
            - 0.3
            - p.params.hanger.head_h,
            0.2,
        ),
        (HIGHER,),
    ),
    Rule(
        "fit.board-inlet",
        "Gap, inlet to the socket over it",
        lambda p: (p.heights.board_z - p.params.header.socket_height - room.inlet_top(p), 0.3),
        (HIGHER,),
    ),
    Rule(
        "fit.window-floor",
        "Gap, floor to header window",
        lambda p: (p.heights.axis_z - p.edge.window_h / 2 - p.floor.top_z, 2 * p.printer.layer),
        (HIGHER,),
    ),
    Rule(
        "fit.inlet-wall",
        "Remaining base wall over the inlet's opening",
        lambda p: (p.heights.wall_top_z - p.inlet.z - room.inlet_half(p), 1.0),
        (HIGHER,),
    ),
    Rule(
        "fit.plug-port",
        "Gap, cable plug to the top of the shell's port",
        lambda p: (room.port_over_plug(p), p.floor.press_room + 0.2),
        (HIGHER,),
    ),
    Rule(
        "fit.ledge",
        "Clearance under the shell's ledge",
        lambda p: (spaces.under_ledge(p), 0.2),
        (DEEPER,),
    ),
    Rule(
        "fit.throw",
        "Gap, LEDs to a diffuser that is pressed down",
        lambda p: (p.heights.throw - p.floor.press_room, 1.0),
        (DEEPER,),
    ),
    Rule(
        "fit.rebate",
        "Depth of the diffuser's rebate",
        lambda p: (p.heights.rim_z - p.heights.ledge_z, p.stock.thickness / 2),
        (Turn("diffuser.proud", -0.05),),
    ),
    Rule(
        "fit.seat-ledge",
        "Cover of the ledge by the coldest sheet, pushed to one side",
        lambda p: (spaces.seat_cover(p), 0.3),
        (Turn("shell.ledge", 0.1),),
        source="thermal growth: PMMA about 7e-5 per kelvin",
    ),
    Rule(
        "fit.seat-warm",
        "Free space beside the warmest sheet in its rebate",
        lambda p: (room.seat_left(p), 0.02),
        (Turn("shop.printer.clearance.seat", 0.02),),
    ),
)

FIXINGS = (
    Rule(
        "fit.snap-tongue",
        "Width of a base tongue",
        lambda p: (p.snap.width, 3.0),
        (Turn("shell.wall", -0.05), LARGER),
        when=is_snapped,
    ),
    Rule(
        "fit.snap-length",
        "Length of a base tongue",
        lambda p: (p.snap.catch_z - p.floor.top_z, 4.0),
        (HIGHER,),
        when=is_snapped,
    ),
    Rule(
        "fit.snap-pocket",
        "Remaining shell wall behind a tongue's pocket",
        lambda p: (room.pocket_back(p), 2 * p.printer.extrusion_width),
        (Turn("corner_radius", -0.5), Turn("shell.snap_engage", -0.05)),
        when=is_snapped,
    ),
    Rule(
        "fit.snap-bend",
        "Free space for a tongue to bend, beyond its hook",
        lambda p: (room.tongue_room(p), 0.1),
        (Turn("shell.snap_engage", -0.05), Turn("board.fit", 0.05)),
        when=is_snapped,
    ),
    Rule(
        "fit.snap-hold",
        "Reach of a tongue's hook into the shell, minus its clearance",
        lambda p: (p.params.shell.snap_engage - p.fit("shell-snap"), 0.1),
        (Turn("shell.snap_engage", 0.05),),
        when=is_snapped,
    ),
    Rule(
        "fit.press-fixing",
        "A shell that moves when pressed cannot be held by screws: their heads would hit the wall.",
        lambda p: (0.0 if is_screwed(p) else 1.0, 1.0),
        (Turn("shell.fixing", word="snap"), Turn("switch.on", word=False)),
        when=is_pressed,
        unit="",
        bare=True,
    ),
    Rule(
        "fit.press-rib",
        "Flat of a press rib beyond the middle of the plunger",
        lambda p: (room.rib_over_plunger(p), 0.0),
        (Turn("switch.height", 0.1),),
        when=is_pressed,
    ),
    Rule(
        "fit.press-rib-top",
        "Thickness of a press rib",
        lambda p: (p.press.rib_top_z - p.press.rib_z, 1.5),
        (DEEPER,),
        when=is_pressed,
    ),
    Rule(
        "fit.press-rib-tip",
        "Thickness of a press rib's tip",
        lambda p: (p.press.rib_top_z - spaces.rib_tip_z(p), 1.0),
        (DEEPER, Turn("switch.height", 0.1)),
        when=is_pressed,
    ),
    Rule(
        "fit.press-order",
        "Travel of the shell beyond the switch's travel",
        lambda p: (p.floor.press_room - p.params.switch.free - p.params.switch.travel, 0.05),
        (Turn("switch.extra", 0.05),),
        when=is_pressed,
    ),
    Rule(
        "fit.press-body",
        "Gap, switch body to board edge",
        lambda p: (p.params.switch.inset - p.params.switch.size / 2, 0.3),
        (Turn("switch.inset", 0.1),),
        when=is_pressed,
    ),
    Rule(
        "fit.press-side",
        "Straight length beside a press rib",
        lambda p: (
            p.rings.shell_inner.half_edge
            - p.params.switch.size / 2
            - 0.5
            - 2 * p.printer.extrusion_width,
            1.0,
        ),
        (LARGER,),
        when=is_pressed,
    ),
)
