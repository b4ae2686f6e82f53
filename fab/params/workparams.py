"""Handwork: minutes a piece for each kind of work, of which a build's hours are made."""

from __future__ import annotations

from dataclasses import dataclass

from fab.params.spec import number

PRACTICE = "common practice, no source: take your own time and write it here"
MOST_MIN = 10_000.0


def _minutes(default: float, doc: str) -> float:
    value: float = number(default, doc, 0.0, MOST_MIN, unit="min", source=PRACTICE)
    return value


@dataclass(frozen=True, kw_only=True)
class Minutes:
    """Minutes of hands a piece, machines' time not counted."""

    measure: float = _minutes(60.0, "coupons printed, cut, measured and written down, once a job")
    plate: float = _minutes(8.0, "a printed plate started, emptied and cleaned")
    print_part: float = _minutes(0.5, "a printed part looked over and freed of strings")
    sheet: float = _minutes(6.0, "a sheet laid into the laser, cut and taken out")
    cut_part: float = _minutes(1.0, "a cut part freed, looked over and wiped")
    board: float = _minutes(8.0, "a finished board tested alone on the bench")
    led: float = _minutes(0.0, "an LED soldered by hand; 0: boards come assembled")
    inlet: float = _minutes(12.0, "an inlet with its small board fixed, wired and measured")
    panel: float = _minutes(6.0, "a panel put together and closed, without its screws")
    screw: float = _minutes(0.4, "a screw or insert of a panel driven")
    joint: float = _minutes(2.0, "a joint closed: header in, panel pushed home, gap looked at")
    clip: float = _minutes(0.3, "a clip or cap pressed in")
    jumper: float = _minutes(2.0, "a jumper plugged in and laid into its channel")
    wire: float = _minutes(6.0, "an extra data wire soldered at both ends")
    page: float = _minutes(1.5, "a page of the template printed, cut and taped")
    hole: float = _minutes(6.0, "a hole looked for cables, drilled and plugged, its screw driven")
    lift: float = _minutes(20.0, "the wall lifted onto its screws, once a job")
    cable: float = _minutes(15.0, "a supply cable laid with its clips and fuse")
    first_light: float = _minutes(10.0, "a zone tested and lit")
    address: float = _minutes(3.0, "a controller programmed and told its place")
