"""A diagram's frame: a box with ticks and words, and where a value lies in it."""

from __future__ import annotations

import math
from dataclasses import dataclass

from fab.light.colours import DIM
from fab.outlines.contour import Point
from fab.outlines.inks import INK
from fab.outlines.page import Item, Text, line, ring
from fab.outlines.shapes import rectangle
from fab.units import fixed

LETTER = 2.8  # mm


@dataclass(frozen=True, kw_only=True)
class Axes:
    """A box on the page, mm, and the values that its sides stand for."""

    left: float
    low: float
    width: float
    height: float
    x: tuple[float, float]
    y: tuple[float, float]

    @property
    def top(self) -> float:
        """Upper side of the box on the page, mm."""
        return self.low + self.height

    def at(self, x: float, y: float) -> Point:
        """The place on the page, mm, of a pair of values; linear, also beyond the box."""
        return (
            self.left + self.width * (x - self.x[0]) / (self.x[1] - self.x[0]),
            self.low + self.height * (y - self.y[0]) / (self.y[1] - self.y[0]),
        )

    def drawn(self, x_says: str, y_says: str) -> list[Item]:
        """Box, ticks with their numbers, and the words of both axes."""
        items: list[Item] = []
        for value in ticks(*self.x):
            px, _ = self.at(value, self.y[0])
            items.append(line((px, self.low), (px, self.top), 0.13, DIM))
            items.append(Text(px, self.low - 4.0, fixed(value), LETTER, "middle"))
        for value in ticks(*self.y):
            _, py = self.at(self.x[0], value)
            items.append(line((self.left, py), (self.left + self.width, py), 0.13, DIM))
            items.append(Text(self.left - 1.5, py - 1.0, fixed(value), LETTER, "end"))
        middle = (self.left + self.width / 2, self.low + self.height / 2)
        items.append(ring(rectangle(self.width, self.height, middle), 0.25, INK))
        items.append(Text(middle[0], self.low - 9.5, x_says, 3.0, "middle"))
        items.append(Text(self.left - 15.0, middle[1], y_says, 3.0, "middle", 90.0))
        return items

    def legend(
        self, row: int, text: str, *, colour: str, width: float, dash: tuple[float, ...] = ()
    ) -> list[Item]:
        """The meaning of one curve, over the box, two in a line."""
        x, y = self.left + 76.0 * (row % 2), self.top + 9.0 - 5.0 * (row // 2)
        return [
            line((x, y), (x + 9.0, y), width, colour, dash),
            Text(x + 11.0, y - 1.0, text, LETTER),
        ]


def ticks(low: float, high: float) -> list[float]:
    """Round values between two ends, three to seven of them."""
    rough = (high - low) / 6
    size = 10.0 ** math.floor(math.log10(rough))
    step = next(size * k for k in (1, 2, 5, 10) if size * k >= rough * (1 - 1e-9))
    first = math.ceil(low / step - 1e-9)
    return [round(k * step, 9) + 0.0 for k in range(first, math.floor(high / step + 1e-9) + 1)]
