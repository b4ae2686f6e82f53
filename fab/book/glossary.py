"""The words of the book, in the order of the alphabet, each with one meaning."""

from __future__ import annotations

from fab.files.document import Chapter, Para, Table

WORDS = (
    ("base", "The printed back of a panel. It carries the board and hangs on the wall."),
    ("board", "The circuit board of a panel with its LEDs."),
    ("cap", "A printed part that closes the header window of an open edge against light."),
    ("clip", "A printed bridge across a joint. It snaps into both bases from the back."),
    ("coupon", "A small test piece, printed or cut, that is measured with calipers."),
    ("diffuser", "The translucent sheet in front of the LEDs, cut by laser."),
    ("edge", "One side of a panel, numbered counter-clockwise in front view, edge 0 first."),
    ("hanger", "A keyhole slot in a base, together with the screw it hangs on."),
    ("header", "A straight row of pins that joins two boards through a joint."),
    ("inlet", "The opening of a panel where the supply cable goes in."),
    (
        "joint",
        "Two edges of two panels that lie on each other. B/4-D/1: edge 4 of B on edge 1 of D.",
    ),
    ("jumper", "A short cable that joins two boards from the back where no header can go in."),
    ("kerf", "The width of material that the laser beam removes."),
    ("ledge", "The inner rim of the shell that the diffuser lies on."),
    ("mark", "The index mark that fits a board to its base one way only and names edge 0."),
    ("offcut", "The rest of a sheet that can be used again."),
    ("open edge", "An edge of a panel with no neighbour."),
    ("panel", "One light module: base, board, shell and diffuser."),
    ("plate", "All that is printed at once on the bed of the printer."),
    ("sheet", "One piece of flat stock as it lies in the laser cutter."),
    ("shell", "The printed front of a panel. It holds the diffuser."),
    ("standoff", "A post of the base that the board lies on."),
    ("stock", "The materials in the rack: sheets and offcuts."),
    ("template", "The drawing at 1:1 that is taped to the wall to drill through."),
    ("zone", "The panels that one inlet feeds."),
)


def chapter() -> Chapter:
    """The glossary."""
    return Chapter(
        "Glossary",
        "glossary",
        (
            Para(
                "Front view: you face the wall. Back view: the panel lies face down, its top away"
                " from you, so left and right are swapped."
            ),
            Table("Words of this book", ("word", "meaning"), WORDS),
        ),
    )
