"""Where the words of a drawing stand, so that no two lie on each other and no leader crosses one."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from fab.outlines.contour import Box, Point

STEP_MM = 1.3
AIR_MM = 0.5  # kept free round words


@dataclass(frozen=True)
class Word:
    """A line of text that belongs to `foot` and would like to have its leader end at `at`."""

    foot: Point
    at: Point
    width: float
    height: float
    arrows: tuple[tuple[Point, Point], ...] = ()  # lines at the foot that no word may cover

    def box(self, at: Point) -> Box:
        """The room that the words take over the end of their leader."""
        half = self.width / 2
        return (at[0] - half, at[1] + 0.3, at[0] + half, at[1] + 0.3 + self.height)


def places(words: Sequence[Word], frame: Box) -> list[Point]:
    """For each word the place nearest to the one it would like, inside the frame and clear of all
    others; with the fewest faults where there is none that is clear.
    """
    found: list[Point] = []
    for word in words:
        ranked = (
            (_faults(word, at, words, found, frame), round(math.dist(at, word.at), 6), at)
            for at in _tried(word, frame)
        )
        found.append(min(ranked)[2])
    return found


def _faults(
    word: Word, at: Point, words: Sequence[Word], found: Sequence[Point], frame: Box
) -> int:
    """How many things a word at a place would lie on or cross."""
    box = word.box(at)
    told = sum(_meets(box, *arrow) for other in words for arrow in other.arrows)
    for other, there in zip(words, found, strict=False):
        taken = other.box(there)
        told += _overlap(box, taken)
        told += _meets(box, other.foot, there) + _meets(taken, word.foot, at)
        told += _cross((word.foot, at), (other.foot, there))
    return told + 4 * (not _inside(box, frame))


def _tried(word: Word, frame: Box) -> Iterator[Point]:
    yield word.at
    x0, y0, x1, y1 = frame
    for row in range(int((y1 - y0) / STEP_MM)):
        for column in range(int((x1 - x0) / STEP_MM)):
            yield (x0 + column * STEP_MM, y0 + row * STEP_MM)


def _inside(box: Box, frame: Box) -> bool:
    return (
        box[0] >= frame[0] + AIR_MM
        and box[1] >= frame[1] + AIR_MM
        and box[2] <= frame[2] - AIR_MM
        and box[3] <= frame[3] - AIR_MM
    )


def _overlap(a: Box, b: Box) -> bool:
    return (
        a[0] < b[2] + AIR_MM
        and b[0] < a[2] + AIR_MM
        and a[1] < b[3] + AIR_MM
        and b[1] < a[3] + AIR_MM
    )


def _meets(box: Box, a: Point, b: Point) -> bool:
    """Does a line touch a box? Clipped against one side after the other."""
    low, high = 0.0, 1.0
    for axis in (0, 1):
        way = b[axis] - a[axis]
        near, far = box[axis] - a[axis], box[axis + 2] - a[axis]
        if abs(way) < 1e-12:
            if near > 0 or far < 0:
                return False
            continue
        near, far = sorted((near / way, far / way))
        low, high = max(low, near), min(high, far)
    return low <= high


def _cross(one: tuple[Point, Point], other: tuple[Point, Point]) -> bool:
    def side(a: Point, b: Point, c: Point) -> float:
        return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])

    (a, b), (c, d) = one, other
    return side(a, b, c) * side(a, b, d) < 0 and side(c, d, a) * side(c, d, b) < 0
