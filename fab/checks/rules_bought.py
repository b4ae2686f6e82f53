"""Rules of bought parts and cables, and of feet."""

from __future__ import annotations

import math

from fab.checks import room
from fab.checks.remedy import Turn
from fab.checks.rule import HIGHER, LARGER, PRACTICE, Rule, has_usb, has_vents, is_drawn, on_feet
from fab.parts.footsizes import STUB_R, foot_to_clip, over_recess, recess_depth

CABLE_PULL_N, PULL_FACTOR = 15.0, 2.0
CABLE_PLAY_MM = 1.0  # between the cable and the room wall or the bases
STUB_LEAST_MM = 1.0  # a shorter stub lets the foot wobble

BOUGHT = (
    Rule(
        "fit.led-margin",
        "Gap, LED body to board edge",
        lambda p: ((p.params.led.margin or 0.0) - p.params.led.size / 2 * math.sqrt(2.0), 0.0),
        (Turn("led.margin", 0.1),),
        when=lambda p: is_drawn(p) and p.params.led.margin is not None,
    ),
    Rule(
        "fit.cradle-room",
        "Gap, inlet cradle to clip pocket",
        lambda p: (room.cradle_to_clip(p), p.printer.nozzle),
        (Turn("inlet.board_w", -0.1), LARGER),
        when=has_usb,
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
        when=lambda p: not has_usb(p),
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
        when=has_usb,
    ),
    Rule(
        "fit.inlet-pull",
        "Pull on the supply cable that the inlet's board withstands",
        lambda p: (room.cable_pull(p), PULL_FACTOR * CABLE_PULL_N),
        (Turn("inlet.board_w", 0.5), Turn("inlet.board_t", 0.1), Turn("inlet.board_l", 0.5)),
        unit="N",
        when=has_usb,
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
        when=lambda p: not has_usb(p),
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
        when=has_vents,
    ),
)

FEET = (
    Rule(
        "fit.feet-cable",
        "Free space between the feet and the supply cable",
        lambda p: (p.params.base.feet - p.params.inlet.cable_d, CABLE_PLAY_MM),
        (Turn("base.feet", 0.5),),
        when=on_feet,
        source=PRACTICE,
    ),
    Rule(
        "fit.foot-seat",
        "Depth of a foot's stub in the floor",
        lambda p: (recess_depth(p), STUB_LEAST_MM),
        (Turn("base.floor", 0.1),),
        when=on_feet,
        source=PRACTICE,
    ),
    Rule(
        "fit.foot-clip",
        "Gap, foot to clip channel",
        lambda p: (foot_to_clip(p), 0.5),
        (LARGER, Turn("clip.width", -0.5)),
        when=on_feet,
    ),
    Rule(
        "fit.foot-post",
        "Gap, recess of a foot to the hole of a standoff",
        lambda p: (over_recess(p), 4 * p.printer.layer),
        (HIGHER, LARGER),
        when=on_feet,
    ),
    Rule(
        "fit.plug-board",
        "Gap, cable plug to the parts under the board",
        lambda p: (
            p.heights.board_z - p.params.board.controller_height - p.inlet.z - room.plug_half(p),
            0.3,
        ),
        (HIGHER,),
        when=on_feet,
    ),
    Rule(
        "fit.cable-bend",
        "Bend radius of the cable behind the bases",
        lambda p: (room.cable_bend(p), p.params.inlet.cable_d),
        (Turn("inlet.room", 0.5), Turn("inlet.cable_d", -0.1), LARGER),
        when=on_feet,
        source="a soft cable bent once by hand: its diameter; common practice, no source",
    ),
    Rule(
        "print.foot-bridge",
        "Bridge over the recess of a foot",
        lambda p: (2 * STUB_R, p.printer.bridge),
        (Turn("shop.printer.bridge", 0.5),),
        most=True,
        when=on_feet,
    ),
)
