"""What must hold between the values of a design so that its parts can be built at all: the table of
plan checks.

Every rule measures a room in millimetres from the plan alone (no CAD kernel) and says how much is
needed. A gate stands before what can't be reckoned without it. Order: outline, edge, heights,
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

    `says` is a sentence that the measured room ends.
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
        "the thinnest sheet that the tolerance allows has this thickness",
        lambda p: (p.stock.thickness - p.heights.thickness_tolerance, 0.2),
        (Turn("shop.stock.tolerance", -0.05),),
        gate=True,
    ),
    Rule(
        "fit.size",
        "from the panel's centre to the board's edge there are",
        lambda p: (p.rings.board.apothem, p.params.header.socket_depth + 1.5),
        (LARGER,),
        gate=True,
    ),
    Rule(
        "fit.corner-radius",
        "the corner radius leaves this of an edge's half straight",
        lambda p: (p.rings.body_apothem - p.params.corner_radius, 0.15 * p.rings.body_apothem),
        (Turn("corner_radius", -0.5),),
        gate=True,
    ),
    Rule(
        "fit.window-corner",
        "the lit opening is this large, from centre to edge",
        lambda p: (p.rings.ledge_apothem, 2.0 + p.printer.nozzle),
        (LARGER, Turn("shell.ledge", -0.1)),
        gate=True,
    ),
    Rule(
        "fit.board-edge",
        "half the board's straight edge leaves beside the header",
        lambda p: (p.rings.board.half_edge - p.edge.window_w / 2, 1.0),
        (LARGER,),
        gate=True,
    ),
    Rule(
        "fit.corner-screw",
        "between a shell screw's head and the rounded corner there are",
        lambda p: (spaces.corner_screw(p), 2 * p.printer.extrusion_width),
        (Turn("corner_radius", -0.5), LARGER),
        when=_screwed,
    ),
    Rule(
        "fit.screw-head",
        "a countersunk head is wider than its hole by, per side",
        lambda p: ((p.params.screw_head_d - p.params.screw_d) / 2, 0.5),
        (Turn("screw_head_d", 0.1),),
        when=_screwed,
    ),
    Rule(
        "fit.screw-floor",
        "the floor under a countersunk head is left with",
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
        "beside a clip's pocket the straight base wall goes on for",
        lambda p: (spaces.clip_room(p), 0.2),
        (LARGER, Turn("clip.width", -0.5), Turn("corner_radius", -0.5)),
    ),
    Rule(
        "fit.clip-corner",
        "between clip pockets of neighbouring edges there are, at half",
        lambda p: (spaces.clip_corner(p), 0.2),
        (LARGER, Turn("clip.width", -0.5)),
    ),
    Rule(
        "fit.clip-socket",
        "Room between a clip with its pocket and socket and window:",
        lambda p: (spaces.clip_socket(p), BESIDE_SOCKET_MM - 0.01),
        (Turn("clip.offset", 0.1), Turn("board.height", 0.1)),
    ),
    Rule(
        "fit.post-clip",
        "between a board post and a clip's pocket there are",
        lambda p: (spaces.post_clip(p), 0.0),
        (LARGER, Turn("clip.width", -0.5)),
        when=_drawn,
    ),
    Rule(
        "fit.post-socket",
        "between a board post and a socket there are",
        lambda p: (spaces.post_socket(p), 0.2),
        (LARGER,),
        when=_drawn,
    ),
    Rule(
        "fit.socket-corner",
        "between sockets of neighbouring edges there are, at half",
        lambda p: (room.socket_corner(p), 0.1),
        (LARGER,),
    ),
    Rule(
        "fit.board-hole",
        "between a mounting hole and the board's edge there are",
        lambda p: (spaces.hole_to_edge(p), 0.8),
        (LARGER, Turn("shell.wall", -0.05), Turn("board.hole", -0.1)),
        when=_drawn,
    ),
    Rule(
        "fit.header-reach",
        "a header's pins reach into each socket by",
        lambda p: (spaces.header_reach(p), p.params.header.reach),
        (Turn("header.pin", 0.1),),
    ),
    Rule(
        "fit.header-depth",
        "behind the pins a socket has left",
        lambda p: (p.params.header.socket_depth - spaces.header_reach(p), 0.2),
        (Turn("header.socket_depth", 0.1), Turn("header.pin", -0.1)),
    ),
    Rule(
        "fit.header-play",
        "the header's play in its window, less what two boards and two clips may sit out of"
        " line, is",
        lambda p: (p.params.header.play - room.out_of_line(p), 0.0),
        (Turn("header.play", 0.05),),
    ),
    Rule(
        "fit.clip-channel",
        "over a clip's channel the floor is left with",
        lambda p: (p.floor.top_z - p.clip.bar_top_z - p.fit("clip"), 2 * p.printer.layer),
        (Turn("base.floor", 0.1),),
    ),
    Rule(
        "fit.clip-bend",
        "the room that a leg of a clip has to bend, beyond its hook, is",
        lambda p: (p.clip.leg_in_u - p.edge.wall_u - p.params.clip.hook, 0.05),
        (Turn("clip.hook", -0.05),),
    ),
    Rule(
        "fit.clip-hold",
        "a clip's hook reaches over the wall that it holds on by",
        lambda p: (p.params.clip.hook - p.fit("clip-hook"), 0.2),
        (Turn("clip.hook", 0.05),),
    ),
    Rule(
        "fit.clip-in",
        "hook and leg leave of the pocket when the clip goes in",
        lambda p: (p.clip.cavity_u - p.edge.wall_u - p.params.clip.hook - p.params.clip.leg, 0.1),
        (Turn("clip.hook", -0.05),),
    ),
    Rule(
        "fit.cap-plug",
        "a cap's plug is this high",
        lambda p: (cap.plug_z(p)[1] - cap.plug_z(p)[0], 1.5),
        (Turn("header.play", 0.05),),
    ),
    Rule(
        "fit.cap-plate",
        "the upper straight of a cap's plate is, at half",
        lambda p: (room.plate_top_half(p), 0.5),
        (Turn("shop.printer.bridge", 0.5),),
    ),
    Rule(
        "fit.cap-side",
        "the upright side of a cap's plate is",
        lambda p: (room.plate_side(p), 0.5),
        (Turn("shop.printer.bridge", 0.5), HIGHER),
    ),
    Rule(
        "fit.cap-rib",
        "a crush rib is sunk in the plug by",
        lambda p: (2 * cap.RIB_R - p.fit("cap-port") + p.fit("cap"), 0.2),
        (Turn("shop.printer.clearance.sliding", -0.05),),
    ),
    Rule(
        "fit.port-side",
        "the upright side of a port is",
        lambda p: (p.heights.port_top_z - p.edge.port_chamfer_h - p.floor.shell_z, 0.5),
        (Turn("shop.printer.bridge", 0.5), HIGHER),
    ),
)

HEIGHTS = (
    Rule(
        "fit.board-clip",
        "between a clip's top and the board there are",
        lambda p: (p.heights.board_z - p.clip.top_z, 0.3),
        (HIGHER, Turn("clip.leg_length", -0.1)),
    ),
    Rule(
        "fit.board-screw",
        "between the wall screw's head and the board there are",
        lambda p: (p.heights.board_z - p.floor.top_z - 0.3 - p.params.hanger.head_h, 0.5),
        (HIGHER,),
    ),
    Rule(
        "fit.board-parts",
        "between the wall screw's head and the tallest part under the board there are",
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
        "between the inlet and a socket over it there are",
        lambda p: (p.heights.board_z - p.params.header.socket_height - room.inlet_top(p), 0.3),
        (HIGHER,),
    ),
    Rule(
        "fit.window-floor",
        "between floor and header window there are",
        lambda p: (p.heights.axis_z - p.edge.window_h / 2 - p.floor.top_z, 2 * p.printer.layer),
        (HIGHER,),
    ),
    Rule(
        "fit.inlet-wall",
        "over the inlet's opening the base wall is left with",
        lambda p: (p.heights.wall_top_z - p.inlet.z - room.inlet_half(p), 1.0),
        (HIGHER,),
    ),
    Rule(
        "fit.plug-port",
        "between the plug and the top of the shell's port there are",
        lambda p: (room.port_over_plug(p), p.floor.press_room + 0.2),
        (HIGHER,),
    ),
    Rule(
        "fit.ledge",
        "between what the shell has below and the foot of its ledge there are",
        lambda p: (spaces.under_ledge(p), 0.2),
        (DEEPER,),
    ),
    Rule(
        "fit.throw",
        "between the LEDs and a diffuser that is pressed down there are",
        lambda p: (p.heights.throw - p.floor.press_room, 1.0),
        (DEEPER,),
    ),
    Rule(
        "fit.rebate",
        "the diffuser's rebate is this deep",
        lambda p: (p.heights.rim_z - p.heights.ledge_z, p.stock.thickness / 2),
        (Turn("diffuser.proud", -0.05),),
    ),
    Rule(
        "fit.seat-ledge",
        "the coldest sheet, pushed to one side, still lies on the ledge by",
        lambda p: (spaces.seat_cover(p), 0.3),
        (Turn("shell.ledge", 0.1),),
        source="thermal growth: PMMA about 7e-5 per kelvin",
    ),
    Rule(
        "fit.seat-warm",
        "the warmest sheet, beside its rebate, has left",
        lambda p: (room.seat_left(p), 0.02),
        (Turn("shop.printer.clearance.seat", 0.02),),
    ),
)

FIXINGS = (
    Rule(
        "fit.snap-tongue",
        "a tongue of the base is this wide",
        lambda p: (p.snap.width, 3.0),
        (Turn("shell.wall", -0.05), LARGER),
        when=_snapped,
    ),
    Rule(
        "fit.snap-length",
        "a tongue of the base is this long",
        lambda p: (p.snap.catch_z - p.floor.top_z, 4.0),
        (HIGHER,),
        when=_snapped,
    ),
    Rule(
        "fit.snap-pocket",
        "behind a tongue's pocket the shell is left with",
        lambda p: (room.pocket_back(p), 2 * p.printer.extrusion_width),
        (Turn("corner_radius", -0.5), Turn("shell.snap_engage", -0.05)),
        when=_snapped,
    ),
    Rule(
        "fit.snap-bend",
        "the room that a tongue has to bend, beyond its hook, is",
        lambda p: (room.tongue_room(p), 0.1),
        (Turn("shell.snap_engage", -0.05), Turn("board.fit", 0.05)),
        when=_snapped,
    ),
    Rule(
        "fit.snap-hold",
        "a tongue's hook reaches into the shell, less its clearance, by",
        lambda p: (p.params.shell.snap_engage - p.fit("shell-snap"), 0.1),
        (Turn("shell.snap_engage", 0.05),),
        when=_snapped,
    ),
    Rule(
        "fit.press-fixing",
        "a shell that sinks when it is pressed can't be held by screws: their heads would meet the"
        " wall",
        lambda p: (0.0 if _screwed(p) else 1.0, 1.0),
        (Turn("shell.fixing", word="snap"), Turn("switch.on", word=False)),
        when=_pressed,
        unit="",
        bare=True,
    ),
    Rule(
        "fit.press-rib",
        "from a press rib's slope to its flat, at the plunger's middle, there are",
        lambda p: (room.rib_over_plunger(p), 0.0),
        (Turn("switch.height", 0.1),),
        when=_pressed,
    ),
    Rule(
        "fit.press-rib-top",
        "a press rib is this thick",
        lambda p: (p.press.rib_top_z - p.press.rib_z, 1.5),
        (DEEPER,),
        when=_pressed,
    ),
    Rule(
        "fit.press-rib-tip",
        "the tip of a press rib is this thick",
        lambda p: (p.press.rib_top_z - spaces.rib_tip_z(p), 1.0),
        (DEEPER, Turn("switch.height", 0.1)),
        when=_pressed,
    ),
    Rule(
        "fit.press-order",
        "past the switch's travel the shell can still sink by",
        lambda p: (p.floor.press_room - p.params.switch.free - p.params.switch.travel, 0.05),
        (Turn("switch.extra", 0.05),),
        when=_pressed,
    ),
    Rule(
        "fit.press-body",
        "between a switch's body and the board's edge there are",
        lambda p: (p.params.switch.inset - p.params.switch.size / 2, 0.3),
        (Turn("switch.inset", 0.1),),
        when=_pressed,
    ),
    Rule(
        "fit.press-side",
        "beside a press rib the corner starts after",
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
        "an LED's body stays inside the board's edge by",
        lambda p: ((p.params.led.margin or 0.0) - p.params.led.size / 2 * math.sqrt(2.0), 0.0),
        (Turn("led.margin", 0.1),),
        when=lambda p: _drawn(p) and p.params.led.margin is not None,
    ),
    Rule(
        "fit.cradle-room",
        "between the inlet's cradle and a clip's pocket there are",
        lambda p: (room.cradle_to_clip(p), p.printer.nozzle),
        (Turn("inlet.board_w", -0.1), LARGER),
        when=_usb,
    ),
    Rule(
        "fit.cable-room",
        "between a cable's tie bars and a clip's pocket there are",
        lambda p: (
            p.clip.offset
            - p.clip.block_w / 2
            - p.params.inlet.cable_d / 2
            - 1.5
            - p.params.base.wall,
            p.printer.nozzle,
        ),
        (Turn("inlet.cable_d", -0.1),),
        when=lambda p: not _usb(p),
    ),
    Rule(
        "fit.cradle-length",
        "behind the inlet's cradle there are, up to what stands on the floor",
        lambda p: (room.behind_inlet(p), p.printer.nozzle),
        (Turn("inlet.room", -1.0), LARGER, Turn("inlet.board_l", -0.1)),
    ),
    Rule(
        "fit.inlet-screw",
        "Room over the screw that holds the inlet's board down:",
        lambda p: (room.inlet_screw_room(p), 0.3),
        (HIGHER,),
        when=lambda p: _usb(p) and not _on_feet(p),
    ),
    Rule(
        "fit.inlet-pull",
        "Pull on the supply cable that the inlet's board is held against:",
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
        "fit.hanger-head",
        "the screw's head is wider than the slot it hangs in by, per side",
        lambda p: (p.params.hanger.head_d / 2 - p.params.hanger.screw_d / 2 - p.fit("hanger"), 1.0),
        (Turn("hanger.head_d", 0.1),),
        source="a head that slips through lets the panel fall",
    ),
    Rule(
        "fit.hanger-travel",
        "the slot reaches out of the entry by",
        lambda p: (room.slot_reach(p), 1.0),
        (Turn("hanger.travel", 0.5),),
    ),
    Rule(
        "fit.vent-room",
        "an air slot stays clear of the clips and the inlet by",
        lambda p: (room.vent_room(p), 0.8),
        (Turn("base.vents", word=False),),
        when=_vents,
    ),
)

FEET = (
    Rule(
        "fit.feet-cable",
        "beside the supply cable the feet leave",
        lambda p: (p.params.base.feet - p.params.inlet.cable_d, CABLE_PLAY_MM),
        (Turn("base.feet", 0.5),),
        when=_on_feet,
        source=PRACTICE,
    ),
    Rule(
        "fit.foot-seat",
        "the stub of a foot goes into the floor by",
        lambda p: (recess_depth(p), STUB_LEAST_MM),
        (Turn("base.floor", 0.1),),
        when=_on_feet,
        source=PRACTICE,
    ),
    Rule(
        "fit.foot-clip",
        "between a foot and a clip's channel there are",
        lambda p: (foot_to_clip(p), 0.5),
        (LARGER, Turn("clip.width", -0.5)),
        when=_on_feet,
    ),
    Rule(
        "fit.foot-post",
        "between a foot's recess and the hole of a board post there are",
        lambda p: (over_recess(p), 4 * p.printer.layer),
        (HIGHER, LARGER),
        when=_on_feet,
    ),
    Rule(
        "fit.plug-board",
        "between the plug and what hangs under the board there are",
        lambda p: (
            p.heights.board_z - p.params.board.controller_height - p.inlet.z - room.plug_half(p),
            0.3,
        ),
        (HIGHER,),
        when=_on_feet,
    ),
    Rule(
        "fit.cable-bend",
        "on its way down behind the bases the cable bends, at its middle, with a radius of",
        lambda p: (room.cable_bend(p), p.params.inlet.cable_d),
        (Turn("inlet.room", 0.5), Turn("inlet.cable_d", -0.1)),
        when=_on_feet,
        source="a soft cable bent once by hand: its diameter; common practice, no source",
    ),
    Rule(
        "print.foot-bridge",
        "the recess of a foot, which the floor bridges, is this wide",
        lambda p: (2 * STUB_R, p.printer.bridge),
        (Turn("shop.printer.bridge", 0.5),),
        most=True,
        when=_on_feet,
    ),
)

PRINT = (
    Rule(
        "print.wall-lines",
        "Thickness of the base wall:",
        lambda p: (p.params.base.wall, 2 * p.printer.extrusion_width),
        (Turn("base.wall", 0.05),),
        source=PRACTICE,
    ),
    Rule(
        "print.shell-lines",
        "Thickness of the shell's wall:",
        lambda p: (p.params.shell.wall, 2 * p.printer.extrusion_width),
        (Turn("shell.wall", 0.05),),
        source=PRACTICE,
    ),
    Rule(
        "print.clip-leg",
        "the thinnest place of a clip's leg is",
        lambda p: (p.params.clip.leg * p.params.clip.tip, 2 * p.printer.extrusion_width),
        (Turn("clip.leg", 0.05), Turn("clip.tip", 0.05)),
        source=PRACTICE,
    ),
    Rule(
        "print.tongue",
        "a tongue is this thick",
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
        "the floor is this thick",
        lambda p: (p.floor.top_z, 4 * p.printer.layer),
        (Turn("base.floor", 0.1),),
        source=PRACTICE,
    ),
    Rule(
        "print.clip-bridge",
        "a clip's channel, which the floor bridges, is this wide",
        lambda p: (p.clip.slot_w, p.printer.bridge),
        (Turn("clip.width", -0.5), Turn("shop.printer.bridge", 0.5)),
        most=True,
    ),
    Rule(
        "print.inlet-bridge",
        "the inlet's opening must be bridged over",
        lambda p: (room.inlet_span(p), p.printer.bridge),
        (Turn("shop.printer.bridge", 0.5),),
        most=True,
    ),
    Rule(
        "print.ledge",
        "the ledge is this wide",
        lambda p: (p.params.shell.ledge, 2 * p.printer.extrusion_width),
        (Turn("shell.ledge", 0.1),),
        source=PRACTICE,
    ),
    Rule(
        "print.gap",
        "the smallest printed gap that must stay open, beside half a layer, is",
        lambda p: (min(p.fit("lap"), p.fit("clip"), p.fit("cap-port")), 0.1),
        (
            Turn("shop.printer.clearance.sliding", 0.05),
            Turn("shop.printer.clearance.location", 0.05),
        ),
        source=PRACTICE,
    ),
    Rule(
        "print.bed",
        "the bed, less the panel's body and the margin all round, has left",
        lambda p: (room.bed_left(p), 0.0),
        (Turn(SIZE, -1.0), Turn("shop.printer.bed_margin", -0.5)),
    ),
    Rule(
        "print.height",
        "over the shell the printer has left",
        lambda p: (p.printer.height - (p.heights.rim_z - p.floor.shell_z), 0.0),
        (Turn("depth", -0.5),),
    ),
)

RULES: tuple[Rule, ...] = (*OUTLINE, *EDGE, *HEIGHTS, *FIXINGS, *BOUGHT, *FEET, *PRINT)
