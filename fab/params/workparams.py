"""Handwork: minutes a piece for each kind of work, of which a build's hours are made."""

from __future__ import annotations

from fab.params.spec import ParamTable, number

PRACTICE = "common practice, no source: measure your own time and write it here"
MOST_MIN = 10_000.0


def _minutes(default: float, doc: str) -> float:
    value: float = number(default, doc, 0.0, MOST_MIN, unit="min", source=PRACTICE)
    return value


class Minutes(ParamTable):
    """Minutes of hands a piece, machines' time not counted."""

    measure: float = _minutes(60.0, "print, cut and measure the coupons, once a job")
    plate: float = _minutes(8.0, "start, empty and clean a printer plate")
    print_part: float = _minutes(0.5, "inspect a printed part and remove strings")
    sheet: float = _minutes(6.0, "load, cut and unload a sheet in the laser")
    cut_part: float = _minutes(1.0, "remove, inspect and wipe a cut part")
    board: float = _minutes(8.0, "test a finished board on the bench")
    led: float = _minutes(0.0, "an LED soldered by hand; 0: boards come assembled")
    inlet: float = _minutes(12.0, "mount, wire and measure an inlet with its small board")
    panel: float = _minutes(6.0, "put a panel together and close it, without its screws")
    screw: float = _minutes(0.4, "drive a screw or insert of a panel")
    joint: float = _minutes(2.0, "close a joint: insert the header, push the panel, check the gap")
    clip: float = _minutes(0.3, "press in a clip or cap")
    jumper: float = _minutes(2.0, "plug in a jumper and lay it into its channel")
    wire: float = _minutes(6.0, "solder an extra data wire at both ends")
    page: float = _minutes(1.5, "print, cut and tape a page of the template")
    hole: float = _minutes(
        6.0, ("scan for cables, drill, insert the wall plug and drive the screw, for each hole")
    )
    lift: float = _minutes(20.0, "lift the wall onto its screws, once a job")
    cable: float = _minutes(15.0, "lay a supply cable with its clips and fuse")
    first_light: float = _minutes(10.0, "test and light a zone")
    address: float = _minutes(3.0, "program a controller and set its position")
