"""Rules of printing: lines, bridges, bed."""

from __future__ import annotations

from fab.checks import room
from fab.checks.remedy import SIZE, Turn
from fab.checks.rule import PRACTICE, Rule, is_snapped

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
        when=is_snapped,
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
