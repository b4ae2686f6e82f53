"""The words of the book, in the order of the alphabet, each with one meaning."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import fields, is_dataclass
from typing import Any

from fab.files.document import Chapter, Para, Picture, Table, Viewer
from fab.outlines.page import Page
from fab.units import some

WORDS = (
    ("art", "A picture or letters on a diffuser, a shell or a base."),
    ("base", "The printed back of a panel. It carries the board and hangs on the wall."),
    ("batten", "A level wooden bar of a room wall that screws can hold in."),
    ("bed", "The area on which a printer prints, or on which a laser cuts."),
    ("blank cover", "A panel without a board. It has no LEDs and no supply."),
    ("board", "The circuit board of a panel with its LEDs."),
    ("cap", "A printed part that closes the header window of an open edge against light."),
    ("carrying board", "A board on which the finished wall lies face down while it is lifted."),
    ("check", "A comparison of one measured value with its limit. It passes, warns or fails."),
    ("clip", "A printed bridge across a joint. It snaps into both bases from the back."),
    ("controller", "The small computer that sends data to the LEDs."),
    ("coupon", "A small test piece, printed or cut, that is measured with calipers."),
    ("cradle", "The printed seat of the small board of an inlet, on the floor of a base."),
    ("crush rib", "A thin rib of a cap or a foot that is squeezed when the part is pressed in."),
    ("datum", "The point of the template from which all holes are measured."),
    ("diffuser", "The translucent sheet in front of the LEDs, cut by laser."),
    ("edge", "One side of a panel, numbered counter-clockwise in front view, edge 0 first."),
    ("fit", "The clearance between two parts that touch, on each side."),
    ("floor", "The flat back of a base."),
    (
        "foot",
        "A printed part that is pressed into a base from behind and holds it off the room wall.",
    ),
    ("hanger", "A keyhole slot in a base, together with the screw it hangs on."),
    ("header", "A straight row of pins that joins two boards through a joint."),
    ("inlet", "The opening of a panel where the supply cable goes in."),
    (
        "joint",
        "Two edges of two panels that lie on each other. B/4-D/1: edge 4 of B on edge 1 of D.",
    ),
    ("jumper", "A short cable that joins two boards from the back where no header can go in."),
    ("kerf", "The width of material that the laser beam removes."),
    ("lap", "The part of the shell's wall that overlaps the base."),
    ("ledge", "The inner rim of the shell that the diffuser lies on."),
    (
        "level shifter",
        "A small circuit that raises the data of a controller to the level of the LEDs.",
    ),
    ("mark", "The index mark that fits a board to its base one way only and names edge 0."),
    ("nest", "The arrangement of all parts on the sheets."),
    ("offcut", "The rest of a sheet that can be used again."),
    ("open edge", "An edge of a panel with no neighbour."),
    ("panel", "One light module: base, board, shell and diffuser."),
    ("pin row", "The pins on a board that the plug of a jumper goes onto."),
    ("plate", "All that is printed at once on the bed of the printer."),
    ("pocket", "A recess of a base or shell in which a hook of a clip or tongue snaps in."),
    ("port", "An opening in the wall of the shell for a header, a cap or a plug."),
    ("press rib", "A rib of the shell over an edge switch. It presses the switch."),
    ("rebate", "The step in the shell in which the diffuser lies."),
    ("roll", "A roll of filament of one colour."),
    ("sheet", "One piece of flat stock as it lies in the laser cutter."),
    ("shell", "The printed front of a panel. It holds the diffuser."),
    ("socket", "The part of a board that the pins of a header go into."),
    ("standoff", "A post of the base that the board lies on."),
    ("stock", "The materials in the rack: sheets and offcuts."),
    ("stud", "An upright wooden or metal bar of a room wall that screws can hold in."),
    ("template", "The drawing at 1:1 that is taped to the wall to drill through."),
    ("tongue", "A springy tab of the base that holds the shell without screws."),
    ("wall plug", "The plastic sleeve in a drilled hole that holds a wall screw."),
    ("window", "The opening in the wall of a base for a header or a cap."),
    ("zone", "The panels that one inlet feeds."),
)


def chapter(rest: Iterable[Any]) -> Chapter:
    """The glossary: words that `rest`, the other chapters and what checks say, uses."""
    said = "\n".join(texts(rest)).lower()
    used = tuple((word, means) for word, means in WORDS if _stands_in(said, word))
    return Chapter(
        "Glossary",
        "glossary",
        (
            Para(
                "Front view: you face the wall. Back view: the panel lies face down, its top away"
                " from you, so left and right are swapped."
            ),
            Table("Words of this book", ("word", "meaning"), used),
        ),
    )


def texts(value: Any) -> Iterator[str]:
    """Every text in a value of the document; of pictures their titles and what they show."""
    if isinstance(value, str):
        yield value
    elif isinstance(value, Page):
        yield from (value.title, value.says)
    elif isinstance(value, list | tuple):
        for one in value:
            yield from texts(one)
    elif is_dataclass(value) and not isinstance(value, Picture | Viewer):
        for one in fields(value):
            yield from texts(getattr(value, one.name))


def _stands_in(said: str, word: str) -> bool:
    many = some(2, word).removeprefix("2 ")
    return bool(re.search(rf"\b({word}|{many})\b", said))
