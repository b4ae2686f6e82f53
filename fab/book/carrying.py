"""The lift in the book: which pieces hands lift and where they hold, and the carrying boards of the
others.
"""

from __future__ import annotations

from fab.book.spotlight import spotlight
from fab.design import Design
from fab.files.document import Block, Step, Table
from fab.layout.model import Layout
from fab.outlines.contour import Point
from fab.outlines.inks import BLUE, VERMILION
from fab.outlines.page import HAIR_MM, Item, Page, Text, polyline
from fab.units import fixed, names_of, some
from fab.wall.carrier import BLOCK_H, BLOCK_W, BOARD_T, Carrier, carrier
from fab.wall.lifting import LiftPlan

MOST_PIECES = 24  # with steps; the table has all
WIDE_MM, HIGH_MM = 72.0, 60.0  # as small as other steps: the drawing is wall/carrier-*.svg
LEAST_MM = 2.6  # letters, where a panel has room for them
WARNING = (
    "WARNING: A piece that breaks at a joint can fall and hurt people. Lift with as many"
    " people as the step names. Let nobody stand below. Never lift a piece that needs a carrying"
    " board without it."
)


def boards(design: Design) -> list[Step]:
    """A step for each piece that hands alone would break: its board is there before it."""
    return [
        _board(design, number, one)
        for number, one in enumerate(design.lifting[:MOST_PIECES], 1)
        if one.board
    ]


def lifting(design: Design) -> list[Block]:
    """From the table to the wall: for each piece who lifts it where, and onto which screws."""
    plans = design.lifting
    rows = tuple(
        (
            str(number),
            names_of(one.lift.panels),
            names_of(one.lift.screws),
            f"{one.lift.grams / 1000:.2f}",
            f"{one.lift.raise_mm:g}",
            _people(one),
            _hold(one),
        )
        for number, one in enumerate(plans, 1)
    )
    header = ("piece", "panels", "screws in", "kg", "raise, mm", "lifted by", "hands under")
    steps = [_hang(design, number, one) for number, one in enumerate(plans[:MOST_PIECES], 1)]
    return [*steps, Table("Onto the screws, in this order", header, rows, numeric=(3, 4))]


def _people(one: LiftPlan) -> str:
    """The number of people who lift a piece; one that is too heavy or large for two says so."""
    return some(one.people, "person") if one.lift.handy else "more than 2 people"


def _hold(one: LiftPlan) -> str:
    return "the rims of the carrying board" if one.board else names_of(one.hold.hands)


def _board(design: Design, number: int, one: LiftPlan) -> Step:
    made = carrier(design.layout, one.lift.panels)
    wide, high = made.size
    return Step(
        f"Carrying board {number}",
        board_page(made, design.layout),
        "Screw the ledge blocks on where wall/carrier-*.svg shows them. Lay the board on the table,"
        " blocks up, and join this piece on it, its lower rim against the blocks.",
        f"plywood {wide:g} x {high:g} mm, {BOARD_T:g} mm thick or stiffer;"
        f" {some(len(made.blocks), 'ledge block')} {BLOCK_W:g} x {BLOCK_H:g} mm, lower than the"
        f" panels are deep; {some(2 * len(made.blocks), 'screw')} of 4 mm.",
        "Every panel of the picture has its place, and every block touches a lower edge.",
        "Unscrew the block that is off and set it to the drawing.",
    )


def _hang(design: Design, number: int, one: LiftPlan) -> Step:
    """One piece, lifted and lowered onto its screws."""
    lift = one.lift
    pieces = len(design.lifting)
    what = "Lift the wall" if pieces == 1 else f"Lift piece {number} of {pieces}"
    title = f"{what} and hang it"
    page = spotlight(design, lift.panels, title, f"Panels {names_of(lift.panels)}, front view.")
    mate = " Its headers mate on the way down." if lift.joints else ""
    holes = "keyhole over the screw" if len(lift.screws) == 1 else "keyholes over the screws"
    away = " Then take the board away downwards." if one.board else ""
    return Step(
        title,
        page,
        f"Hold {'' if one.board else 'it at '}{_hold(one)}; turn the piece upright and bring its"
        " back"
        f" to the wall, {lift.raise_mm:g} mm too high. Guide the {holes} in"
        f" {names_of(lift.screws)} and lower it."
        f"{mate}{away}",
        f"{names_of(lift.panels)}, {lift.grams / 1000:.2f} kg; {_people(one)}.",
        "Every screw carries: the piece does not swing and cannot be pulled off forwards.",
        "Lift it off again, and set the height of each screw's head.",
        WARNING if number == 1 else "",
    )


def board_page(made: Carrier, layout: Layout) -> Page:
    """The board in back view, scaled to fit a page of the book."""
    x0, y0, x1, y1 = made.box
    scale = min(WIDE_MM / (x1 - x0), HIGH_MM / (y1 - y0))

    def seen(point: Point) -> Point:
        return ((x1 - point[0]) * scale, (point[1] - y0) * scale)

    wide, high = (x1 - x0) * scale, (y1 - y0) * scale
    items: list[Item] = [
        polyline(
            [(0.3, 0.3), (wide - 0.3, 0.3), (wide - 0.3, high - 0.3), (0.3, high - 0.3)],
            0.4,
            "#555555",
            closed=True,
        )
    ]
    for name in made.panels:
        panel = layout.by_name[name]
        items.append(
            polyline([seen(corner) for corner in panel.corners], HAIR_MM, BLUE, closed=True)
        )
        x, y = seen((panel.x, panel.y))
        size = min(max(LEAST_MM, panel.cell.apothem * scale / 3), panel.cell.apothem * scale)
        items.append(Text(x, y - size / 3, name, size, "middle"))
    for block in made.blocks:
        items.append(
            polyline([seen(corner) for corner in block.corners], 0.3, VERMILION, closed=True)
        )
    says = (
        f"Carrying board of {fixed(made.size[0], 0)} by {fixed(made.size[1], 0)} mm with"
        f" {len(made.blocks)} ledge blocks, back view."
    )
    return Page(wide, high, tuple(items), "carrying board", says)
