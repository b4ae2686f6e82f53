"""The lift in the book: which pieces hands lift and where they hold, and the carrying boards of the
others.
"""

from __future__ import annotations

from fab.book.facts import BookFacts
from fab.files.document import Block, Caution, Figure, Heading, Para, Steps, Table
from fab.layout.model import Layout
from fab.outlines.contour import Point
from fab.outlines.page import HAIR_MM, Item, Page, Text, polyline
from fab.units import fixed
from fab.wall.carrier import BLOCK_H, BLOCK_W, BOARD_T, Carrier, carrier

WIDE_MM, HIGH_MM = 176.0, 130.0
WARNING = (
    "WARNING: A piece that breaks at a joint can fall and hurt people. Two people lift, nobody"
    " stands below, and a piece that needs a carrying board is never lifted without it."
)
STEPS = (
    (
        "Screw the ledge blocks onto the board, where wall/carrier-*.svg shows them. Lay the board"
        " on the table, blocks up."
    ),
    "Put the piece together face down on the board. Its lower rim lies against the blocks.",
    (
        "Lift board and piece together, two people, one at each side. Turn them upright; the piece"
        " leans on the board."
    ),
    (
        "Bring the backs to the room wall. Guide the keyholes over the heads of the screws. Lower"
        " the piece onto them."
    ),
    "When every screw holds, take the board away downwards.",
)


def lifting(facts: BookFacts) -> list[Block]:
    """From the table to the wall."""
    design = facts.design
    blocks: list[Block] = [Heading("Lift"), Caution(WARNING)]
    rows = tuple(
        (
            str(k),
            "carrying board" if one.board else "hands",
            str(one.people),
            "the rims of the board" if one.board else ", ".join(one.hold.hands),
        )
        for k, one in enumerate(design.lifting, 1)
    )
    blocks.append(Table("How each piece is lifted", ("piece", "by", "people", "hands under"), rows))
    boards = [
        (k, carrier(design.layout, one.lift.panels))
        for k, one in enumerate(design.lifting, 1)
        if one.board
    ]
    if not boards:
        return blocks
    blocks.append(
        Para(
            f"A carrying board is plywood of {BOARD_T:g} mm or stiffer. A ledge block is"
            f" {BLOCK_W:g} x {BLOCK_H:g} mm, lower than the panels are deep, and has two screws of"
            " 4 mm."
        )
    )
    blocks.append(Steps(STEPS))
    for number, made in boards:
        wide, high = made.size
        said = (
            f"Carrying board {number}: {wide:g} x {high:g} mm, {len(made.blocks)} ledge blocks."
            " Back view, panels face down."
        )
        blocks.append(Figure(board_page(made, design.layout), said, wide=True))
    return blocks


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
            polyline([seen(corner) for corner in panel.corners], HAIR_MM, "#0072b2", closed=True)
        )
        x, y = seen((panel.x, panel.y))
        items.append(Text(x, y - 1.0, name, min(4.0, panel.cell.apothem * scale / 3), "middle"))
    for block in made.blocks:
        items.append(
            polyline([seen(corner) for corner in block.corners], 0.3, "#d55e00", closed=True)
        )
    says = (
        f"Carrying board of {fixed(made.size[0], 0)} by {fixed(made.size[1], 0)} mm with"
        f" {len(made.blocks)} ledge blocks, back view."
    )
    return Page(wide, high, tuple(items), "carrying board", says)
