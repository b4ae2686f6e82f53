"""Rules of a panel's outline and of what lies on its edges: header, clips, cap, port."""

from __future__ import annotations

from fab.checks import room
from fab.checks.remedy import Turn
from fab.checks.rule import HIGHER, LARGER, Rule, is_drawn, is_screwed
from fab.parts import cap, spaces
from fab.parts.heights import BESIDE_SOCKET_MM

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
        when=is_screwed,
    ),
    Rule(
        "fit.screw-head",
        "Overlap of a countersunk head over its hole, per side",
        lambda p: ((p.params.screw_head_d - p.params.screw_d) / 2, 0.5),
        (Turn("screw_head_d", 0.1),),
        when=is_screwed,
    ),
    Rule(
        "fit.screw-floor",
        "Remaining floor thickness under a countersunk head",
        lambda p: (
            p.floor.top_z - (p.params.screw_head_d - p.params.screw_d) / 2,
            3 * p.printer.layer,
        ),
        (Turn("base.floor", 0.1),),
        when=is_screwed,
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
        when=is_drawn,
    ),
    Rule(
        "fit.post-socket",
        "Gap, standoff to socket",
        lambda p: (spaces.post_socket(p), 0.2),
        (LARGER,),
        when=is_drawn,
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
        when=is_drawn,
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
