"""Line drawings of the bench: what is connected to what when a board or an inlet is tried."""

from __future__ import annotations

from collections.abc import Sequence

from fab.outlines.contour import polygon
from fab.outlines.inks import BLUE, INK
from fab.outlines.page import Fill, Item, Page, Stroke, Text, polyline

WIDE_MM, HIGH_MM = 72.0, 56.0
WORD_MM = 2.9
RED, BLACK = "#b33c00", INK
DEVICE, BOARD = "#e4e7ee", "#cfe6d8"


def board_bench(supply: str) -> Page:
    """A bench supply at the test points of a board, and the controller that drives its data."""
    items = [
        *_box(3, 34, 25, 18, ("bench supply", f"{supply}, limit set"), DEVICE),
        *_box(3, 5, 25, 14, ("controller,", "test program"), DEVICE),
        *_box(47, 5, 22, 47, ("board",), BOARD),
        *_wire([(28, 47), (47, 47)], RED, "+", "TP1"),
        *_wire([(28, 39), (47, 39)], BLACK, "-", "TP2"),
        *_wire([(28, 12), (47, 12)], BLUE, "", ""),
        Text(37.5, 13.5, "data", WORD_MM, "middle", colour=BLUE),
    ]
    says = (
        f"Bench supply of {supply}: plus to TP1, minus to TP2 of the board; the controller drives"
        " the data line."
    )
    return Page(WIDE_MM, HIGH_MM, tuple(items), "Board on the bench", says)


def inlet_bench(supply: str) -> Page:
    """The wall's own supply at an inlet, and a meter at its two wires."""
    items = [
        *_box(3, 36, 22, 14, (f"supply {supply}",), DEVICE),
        *_box(44, 36, 22, 14, ("inlet",), BOARD),
        *_box(22, 4, 28, 14, ("multimeter, volts",), DEVICE),
        *_wire([(25, 43), (44, 43)], INK, "", ""),
        Text(34.5, 44.5, "cable", WORD_MM, "middle", colour=INK),
        polyline([(60, 36), (60, 9), (50, 9)], 0.6, RED),
        polyline([(52, 36), (52, 25), (30, 25), (30, 18)], 0.6, BLACK),
        Text(61.2, 22, "red +", WORD_MM, colour=RED),
        Text(41, 26.5, "black -", WORD_MM, "middle", colour=BLACK),
    ]
    says = "The supply plugged into the inlet; a meter between its red and its black wire."
    return Page(WIDE_MM, HIGH_MM, tuple(items), "Inlet on the bench", says)


def _box(
    x: float, y: float, wide: float, high: float, words: Sequence[str], colour: str
) -> list[Item]:
    shape = polygon([(x, y), (x + wide, y), (x + wide, y + high), (x, y + high)])
    middle = y + high / 2 + (len(words) / 2 - 1) * WORD_MM * 1.5
    return [
        Fill((shape,), colour),
        Stroke(shape.segments, 0.3, INK),
        *(
            Text(
                x + wide / 2, middle - k * WORD_MM * 1.5 + 0.6, word, WORD_MM, "middle", colour=INK
            )
            for k, word in enumerate(words)
        ),
    ]


def _wire(path: Sequence[tuple[float, float]], colour: str, sign: str, name: str) -> list[Item]:
    """A wire with its sign at the start and the name of the point at its end."""
    (x0, y0), (x1, y1) = path[0], path[-1]
    return [
        polyline(list(path), 0.6, colour),
        *([Text(x0 + 2.5, y0 + 1.2, sign, WORD_MM * 1.2, "middle", colour=colour)] if sign else []),
        *([Text(x1 + 1.0, y1 - 1.0, name, WORD_MM, colour=INK)] if name else []),
    ]
