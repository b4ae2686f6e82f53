"""The table of plan checks: what must hold between the values of a design so that its parts can be
built at all.

Every rule measures a room in millimetres from the plan alone (no CAD kernel) and says how much is
needed. A gate stands before what can't be calculated without it. Order: outline, edge, heights,
fixings, bought parts, print.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from fab.checks import room
from fab.checks.remedy import SIZE, Turn
from fab.parts import cap, spaces
from fab.parts.footsizes import STUB_R, foot_to_clip, over_recess, recess_depth
from fab.parts.given import has_own_board
from fab.parts.heights import BESIDE_SOCKET_MM
from fab.parts.plan import Plan

PRACTICE = "common practice, no source"
Measure = Callable[[Plan], tuple[float, float]]


@dataclass(frozen=True)
class Rule:
    """Passes when measured >= limit (`most`: <= limit).

    `says` is a label: a colon, the figure and its limit follow.
    """

    id: str
    says: str
    measure: Measure  # plan -> (measured, limit)
    turns: tuple[Turn, ...]
    when: Callable[[Plan], bool] = lambda plan: True
    gate: bool = False
    most: bool = False
    bare: bool = False  # the sentence stands without its figures
    unit: str = "mm"
    source: str = ""


def _usb(plan: Plan) -> bool:
    return plan.params.inlet.kind == "usb-c"


def _screwed(plan: Plan) -> bool:
    return plan.params.shell.fixing == "screw"


def _snapped(plan: Plan) -> bool:
    return plan.params.shell.fixing == "snap"


def _pressed(plan: Plan) -> bool:
    return plan.params.switch.on


def _drawn(plan: Plan) -> bool:
    """The board is drawn here; `board.*` looks at one that was given."""
    return not has_own_board(plan.params) and not plan.params.board.none


def _vents(plan: Plan) -> bool:
    return plan.params.base.vents


def _on_feet(plan: Plan) -> bool:
    return plan.params.base.feet > 0


CABLE_PULL_N, PULL_FACTOR = 15.0, 2.0
CABLE_PLAY_MM = 1.0  # between the cable and the room wall or the bases
STUB_LEAST_MM = 1.0  # a shorter stub lets the foot wobble
LARGER = Turn(SIZE, 1.0)
DEEPER = Turn("depth", 0.5)
HIGHER = Turn("board.height", 0.1)

OUTLINE = (
    Rule(
        "fit.sheet",
        "Thinnest sheet within its tolerance",
        lambda p: (p.stock.thickness - p.heights.thickness_tolerance, 0.2),
        (Turn("shop.stock.tolerance", -0.05),),
        gate=True,
    ),
    Rule(
        "fit.size",
        "Distance, panel centre to board edge",
        lambda p: (p.rings.board.apothem, p.params.header.socket_depth + 1.5),
        (LARGER,),
        gate=True,
    ),
    Rule(
        "fit.corner-radius",
        "Half the straight length of an edge between its rounded corners",
        lambda p: (p.rings.body_apothem - p.params.corner_radius, 0.15 * p.rings.body_apothem),
        (Turn("corner_radius", -0.5),),
        gate=True,
    ),
    Rule(
        "fit.window-corner",
        "Distance, centre to edge of the lit opening",
        lambda p: (p.rings.ledge_apothem, 2.0 + p.printer.nozzle),
        (LARGER, Turn("shell.ledge", -0.1)),
        gate=True,
    ),
    Rule(
        "fit.board-edge",
        "Straight board edge beside the header, on each side",
        lambda p: (p.rings.board.half_edge - p.edge.window_w / 2, 1.0),
        (LARGER,),
        gate=True,
    ),
    Rule(
        "fit.corner-screw",
        "Gap, shell screw head to rounded corner",
        lambda p: (spaces.corner_screw(p), 2 * p.printer.extrusion_width),
        (Turn("corner_radius", -0.5), LARGER),
        when=_screwed,
    ),
    Rule(
        "fit.screw-head",
        "Overlap of a countersunk head over its hole, per side",
        lambda p: ((p.params.screw_head_d - p.params.screw_d) / 2, 0.5),
        (Turn("screw_head_d", 0.1),),
        when=_screwed,
    ),
    Rule(
        "fit.screw-floor",
        "Remaining floor thickness under a countersunk head",
        lambda p: (
            p.floor.top_z - (p.params.screw_head_d - p.params.screw_d) / 2,
            3 * p.printer.layer,
        ),
        (Turn("base.floor", 0.1),),
        when=_screwed,
    ),
)

EDGE = (
    Rule(
        "fit.clip-room",
        "Straight base wall beside a clip pocket",
        lambda p: (spaces.clip_room(p), 0.2),
        (LARGER, Turn("clip.width", -0.5), Turn("corner_radius", -0.5)),
    ),
    Rule(
        "fit.clip-corner",
        "Half the gap between clip pockets of neighbouring edges",
        lambda p: (spaces.clip_corner(p), 0.2),
        (LARGER, Turn("clip.width", -0.5)),
    ),
    Rule(
        "fit.clip-socket",
        "Gap, clip pocket to socket and window",
        lambda p: (spaces.clip_socket(p), BESIDE_SOCKET_MM - 0.01),
        (Turn("clip.offset", 0.1), Turn("board.height", 0.1)),
    ),
    Rule(
        "fit.post-clip",
        "Gap, standoff to clip pocket",
        lambda p: (spaces.post_clip(p), 0.0),
        (LARGER, Turn("clip.width", -0.5)),
        when=_drawn,
    ),
    Rule(
        "fit.post-socket",
        "Gap, standoff to socket",
        lambda p: (spaces.post_socket(p), 0.2),
        (LARGER,),
        when=_drawn,
    ),
    Rule(
        "fit.socket-corner",
        "Half the gap between sockets of neighbouring edges",
        lambda p: (room.socket_corner(p), 0.1),
        (LARGER,),
    ),
    Rule(
        "fit.board-hole",
        "Gap, mounting hole to board edge",
        lambda p: (spaces.hole_to_edge(p), 0.8),
        (LARGER, Turn("shell.wall", -0.05), Turn("board.hole", -0.1)),
        when=_drawn,
    ),
    Rule(
        "fit.header-reach",
        "Reach of the header's pins into each socket",
        lambda p: (spaces.header_reach(p), p.params.header.reach),
        (Turn("header.pin", 0.1),),
    ),
    Rule(
        "fit.header-depth",
        "Remaining socket depth behind the pins",
        lambda p: (p.params.header.socket_depth - spaces.header_reach(p), 0.2),
        (Turn("header.socket_depth", 0.1), Turn("header.pin", -0.1)),
    ),
    Rule(
        "fit.header-play",
        "Play of the header in its window, minus the misalignment of two boards and two clips",
        lambda p: (p.params.header.play - room.out_of_line(p), 0.0),
        (Turn("header.play", 0.05),),
    ),
    Rule(
        "fit.clip-channel",
        "Remaining floor thickness over a clip channel",
        lambda p: (p.floor.top_z - p.clip.bar_top_z - p.fit("clip"), 2 * p.printer.layer),
        (Turn("base.floor", 0.1),),
    ),
    Rule(
        "fit.clip-bend",
        "Free space for a clip leg to bend, beyond its hook",
        lambda p: (p.clip.leg_in_u - p.edge.wall_u - p.params.clip.hook, 0.05),
        (Turn("clip.hook", -0.05),),
    ),
    Rule(
        "fit.clip-hold",
        "Overlap of a clip hook with the wall that it holds",
        lambda p: (p.params.clip.hook - p.fit("clip-hook"), 0.2),
        (Turn("clip.hook", 0.05),),
    ),
    Rule(
        "fit.clip-in",
        "Free pocket width while the clip goes in",
        lambda p: (p.clip.cavity_u - p.edge.wall_u - p.params.clip.hook - p.params.clip.leg, 0.1),
        (Turn("clip.hook", -0.05),),
    ),
    Rule(
        "fit.cap-plug",
        "Height of the cap plug",
        lambda p: (cap.plug_z(p)[1] - cap.plug_z(p)[0], 1.5),
        (Turn("header.play", 0.05),),
    ),
    Rule(
        "fit.cap-plate",
        "Half the top length of the cap plate",
        lambda p: (room.plate_top_half(p), 0.5),
        (Turn("shop.printer.bridge", 0.5),),
    ),
    Rule(
        "fit.cap-side",
        "Height of the upright side of the cap plate",
        lambda p: (room.plate_side(p), 0.5),
        (Turn("shop.printer.bridge", 0.5), HIGHER),
    ),
    Rule(
        "fit.cap-rib",
        "Depth of a crush rib in the cap plug",
        lambda p: (2 * cap.RIB_R - p.fit("cap-port") + p.fit("cap"), 0.2),
        (Turn("shop.printer.clearance.sliding", -0.05),),
    ),
    Rule(
        "fit.port-side",
        "Height of the upright side of a port",
        lambda p: (p.heights.port_top_z - p.edge.port_chamfer_h - p.floor.shell_z, 0.5),
        (Turn("shop.printer.bridge", 0.5), HIGHER),
    ),
)

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
        when=_snapped,
    ),
    Rule(
        "fit.snap-length",
        "Length of a base tongue",
        lambda p: (p.snap.catch_z - p.floor.top_z, 4.0),
        (HIGHER,),
        when=_snapped,
    ),
    Rule(
        "fit.snap-pocket",
        "Remaining shell wall behind a tongue's pocket",
        lambda p: (room.pocket_back(p), 2 * p.printer.extrusion_width),
        (Turn("corner_radius", -0.5), Turn("shell.snap_engage", -0.05)),
        when=_snapped,
    ),
    Rule(
        "fit.snap-bend",
        "Free space for a tongue to bend, beyond its hook",
        lambda p: (room.tongue_room(p), 0.1),
        (Turn("shell.snap_engage", -0.05), Turn("board.fit", 0.05)),
        when=_snapped,
    ),
    Rule(
        "fit.snap-hold",
        "Reach of a tongue's hook into the shell, minus its clearance",
        lambda p: (p.params.shell.snap_engage - p.fit("shell-snap"), 0.1),
        (Turn("shell.snap_engage", 0.05),),
        when=_snapped,
    ),
    Rule(
        "fit.press-fixing",
        "A shell that moves when pressed cannot be held by screws: their heads would hit the wall.",
        lambda p: (0.0 if _screwed(p) else 1.0, 1.0),
        (Turn("shell.fixing", word="snap"), Turn("switch.on", word=False)),
        when=_pressed,
        unit="",
        bare=True,
    ),
    Rule(
        "fit.press-rib",
        "Flat of a press rib beyond the middle of the plunger",
        lambda p: (room.rib_over_plunger(p), 0.0),
        (Turn("switch.height", 0.1),),
        when=_pressed,
    ),
    Rule(
        "fit.press-rib-top",
        "Thickness of a press rib",
        lambda p: (p.press.rib_top_z - p.press.rib_z, 1.5),
        (DEEPER,),
        when=_pressed,
    ),
    Rule(
        "fit.press-rib-tip",
        "Thickness of a press rib's tip",
        lambda p: (p.press.rib_top_z - spaces.rib_tip_z(p), 1.0),
        (DEEPER, Turn("switch.height", 0.1)),
        when=_pressed,
    ),
    Rule(
        "fit.press-order",
        "Travel of the shell beyond the switch's travel",
        lambda p: (p.floor.press_room - p.params.switch.free - p.params.switch.travel, 0.05),
        (Turn("switch.extra", 0.05),),
        when=_pressed,
    ),
    Rule(
        "fit.press-body",
        "Gap, switch body to board edge",
        lambda p: (p.params.switch.inset - p.params.switch.size / 2, 0.3),
        (Turn("switch.inset", 0.1),),
        when=_pressed,
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
        when=_pressed,
    ),
)

BOUGHT = (
    Rule(
        "fit.led-margin",
        "Gap, LED body to board edge",
        lambda p: ((p.params.led.margin or 0.0) - p.params.led.size / 2 * math.sqrt(2.0), 0.0),
        (Turn("led.margin", 0.1),),
        when=lambda p: _drawn(p) and p.params.led.margin is not None,
    ),
    Rule(
        "fit.cradle-room",
        "Gap, inlet cradle to clip pocket",
        lambda p: (room.cradle_to_clip(p), p.printer.nozzle),
        (Turn("inlet.board_w", -0.1), LARGER),
        when=_usb,
    ),
    Rule(
        "fit.cable-room",
        "Gap, ribs beside a cable to clip pocket",
        lambda p: (
            p.clip.offset
            - p.clip.block_w / 2
            - p.params.inlet.cable_d / 2
            - 1.5
            - p.inlet.rib_wall,
            p.printer.nozzle,
        ),
        (Turn("inlet.cable_d", -0.1),),
        when=lambda p: not _usb(p),
    ),
    Rule(
        "fit.cradle-length",
        "Free space behind the inlet's cradle",
        lambda p: (room.behind_inlet(p), p.printer.nozzle),
        (Turn("inlet.room", -1.0), LARGER, Turn("inlet.board_l", -0.1)),
    ),
    Rule(
        "fit.inlet-screw",
        "Free height over the screw that holds the inlet's board",
        lambda p: (room.inlet_screw_room(p), 0.3),
        (HIGHER,),
        when=_usb,
    ),
    Rule(
        "fit.inlet-pull",
        "Pull on the supply cable that the inlet's board withstands",
        lambda p: (room.cable_pull(p), PULL_FACTOR * CABLE_PULL_N),
        (Turn("inlet.board_w", 0.5), Turn("inlet.board_t", 0.1), Turn("inlet.board_l", 0.5)),
        unit="N",
        when=_usb,
        source=(
            "a pull of 15 N by hand, factor 2: common practice, no source; bearing and shear by"
            " safe stress"
        ),
    ),
    Rule(
        "fit.cable-pull",
        "Pull on the supply cable that its tie and ribs withstand",
        lambda p: (room.tied_cable(p), PULL_FACTOR * CABLE_PULL_N),
        (Turn("base.wall", 0.05), Turn("inlet.cable_d", -0.1)),
        unit="N",
        when=lambda p: not _usb(p),
        source=(
            "a pull of 15 N by hand, factor 2: common practice, no source; a quarter of the safe"
            " stress across the layers"
        ),
    ),
    Rule(
        "fit.hanger-head",
        "Overlap of the screw head over its slot, per side",
        lambda p: (p.params.hanger.head_d / 2 - p.params.hanger.screw_d / 2 - p.fit("hanger"), 1.0),
        (Turn("hanger.head_d", 0.1),),
        source="a head that slips through lets the panel fall",
    ),
    Rule(
        "fit.hanger-travel",
        "Length of the slot beyond the entry",
        lambda p: (room.slot_reach(p), 1.0),
        (Turn("hanger.travel", 0.5),),
    ),
    Rule(
        "fit.vent-room",
        "Gap, air slot to clips and inlet",
        lambda p: (room.vent_room(p), 0.8),
        (Turn("base.vents", word=False),),
        when=_vents,
    ),
)

FEET = (
    Rule(
        "fit.feet-cable",
        "Free space between the feet and the supply cable",
        lambda p: (p.params.base.feet - p.params.inlet.cable_d, CABLE_PLAY_MM),
        (Turn("base.feet", 0.5),),
        when=_on_feet,
        source=PRACTICE,
    ),
    Rule(
        "fit.foot-seat",
        "Depth of a foot's stub in the floor",
        lambda p: (recess_depth(p), STUB_LEAST_MM),
        (Turn("base.floor", 0.1),),
        when=_on_feet,
        source=PRACTICE,
    ),
    Rule(
        "fit.foot-clip",
        "Gap, foot to clip channel",
        lambda p: (foot_to_clip(p), 0.5),
        (LARGER, Turn("clip.width", -0.5)),
        when=_on_feet,
    ),
    Rule(
        "fit.foot-post",
        "Gap, recess of a foot to the hole of a standoff",
        lambda p: (over_recess(p), 4 * p.printer.layer),
        (HIGHER, LARGER),
        when=_on_feet,
    ),
    Rule(
        "fit.plug-board",
        "Gap, cable plug to the parts under the board",
        lambda p: (
            p.heights.board_z - p.params.board.controller_height - p.inlet.z - room.plug_half(p),
            0.3,
        ),
        (HIGHER,),
        when=_on_feet,
    ),
    Rule(
        "fit.cable-bend",
        "Bend radius of the cable behind the bases",
        lambda p: (room.cable_bend(p), p.params.inlet.cable_d),
        (Turn("inlet.room", 0.5), Turn("inlet.cable_d", -0.1)),
        when=_on_feet,
        source="a soft cable bent once by hand: its diameter; common practice, no source",
    ),
    Rule(
        "print.foot-bridge",
        "Bridge over the recess of a foot",
        lambda p: (2 * STUB_R, p.printer.bridge),
        (Turn("shop.printer.bridge", 0.5),),
        most=True,
        when=_on_feet,
    ),
)

PRINT = (
    Rule(
        "print.wall-lines",
        "Thickness of the base wall",
        lambda p: (p.params.base.wall, 2 * p.printer.extrusion_width),
        (Turn("base.wall", 0.05),),
        source=PRACTICE,
    ),
    Rule(
        "print.shell-lines",
        "Thickness of the shell wall",
        lambda p: (p.params.shell.wall, 2 * p.printer.extrusion_width),
        (Turn("shell.wall", 0.05),),
        source=PRACTICE,
    ),
    Rule(
        "print.clip-leg",
        "Thickness of a clip leg at its thinnest",
        lambda p: (p.params.clip.leg * p.params.clip.tip, 2 * p.printer.extrusion_width),
        (Turn("clip.leg", 0.05), Turn("clip.tip", 0.05)),
        source=PRACTICE,
    ),
    Rule(
        "print.tongue",
        "Thickness of a base tongue",
        lambda p: (
            min(p.params.shell.snap_tongue, p.params.base.wall),
            2 * p.printer.extrusion_width,
        ),
        (Turn("shell.snap_tongue", 0.05), Turn("base.wall", 0.05)),
        when=_snapped,
        source=PRACTICE,
    ),
    Rule(
        "print.floor",
        "Thickness of the floor",
        lambda p: (p.floor.top_z, 4 * p.printer.layer),
        (Turn("base.floor", 0.1),),
        source=PRACTICE,
    ),
    Rule(
        "print.clip-bridge",
        "Bridge over a clip channel",
        lambda p: (p.clip.slot_w, p.printer.bridge),
        (Turn("clip.width", -0.5), Turn("shop.printer.bridge", 0.5)),
        most=True,
    ),
    Rule(
        "print.inlet-bridge",
        "Bridge over the inlet's opening",
        lambda p: (room.inlet_span(p), p.printer.bridge),
        (Turn("shop.printer.bridge", 0.5),),
        most=True,
    ),
    Rule(
        "print.ledge",
        "Width of the ledge",
        lambda p: (p.params.shell.ledge, 2 * p.printer.extrusion_width),
        (Turn("shell.ledge", 0.1),),
        source=PRACTICE,
    ),
    Rule(
        "print.gap",
        "Smallest printed gap, beyond half a layer",
        lambda p: (min(p.fit("lap"), p.fit("clip"), p.fit("cap-port")), 0.1),
        (
            Turn("shop.printer.clearance.sliding", 0.05),
            Turn("shop.printer.clearance.location", 0.05),
        ),
        source=PRACTICE,
    ),
    Rule(
        "print.bed",
        "Remaining width of the bed beside the panel's body and the margin",
        lambda p: (room.bed_left(p), 0.0),
        (Turn(SIZE, -1.0), Turn("shop.printer.bed_margin", -0.5)),
    ),
    Rule(
        "print.height",
        "Remaining print height over the shell",
        lambda p: (p.printer.height - (p.heights.rim_z - p.floor.shell_z), 0.0),
        (Turn("depth", -0.5),),
    ),
)

RULES: tuple[Rule, ...] = (*OUTLINE, *EDGE, *HEIGHTS, *FIXINGS, *BOUGHT, *FEET, *PRINT)
