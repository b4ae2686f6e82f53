"""The parts of one stock with all that is calculated once, what lies on each sheet, and which
answer is better.
"""

from __future__ import annotations

import math
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from fab.sheets.identical import Pattern, room
from fab.sheets.model import Layup, Placed, Sheet
from fab.sheets.nofit import NoFit, Shape
from fab.sheets.paths import Path
from fab.sheets.sheet_fill import Laid

Stop = Callable[[], bool]
Progress = Callable[[str, float], None]

MOST_TURNS = 8  # tried per piece by the quick way


@dataclass(frozen=True)
class Budget:
    """Limits of a longer search: its end (clock of time.monotonic), its seed, who may stop it."""

    until: float
    seed: int
    stop: Stop
    progress: Progress

    @property
    def over(self) -> bool:
        """True when the time is up or somebody stops the search."""
        return time.monotonic() > self.until or self.stop()

    @property
    def left_s(self) -> float:
        """Seconds left; negative when the time is up."""
        return self.until - time.monotonic()


@dataclass(frozen=True)
class Filling:
    """One sheet and what lies on it."""

    sheet: Sheet
    laid: tuple[Laid, ...]


@dataclass(frozen=True)
class Answer:
    """A whole nest in the making; smaller `rank` is better."""

    fillings: tuple[Filling, ...]
    missing: tuple[tuple[str, int], ...]
    engine: str

    @property
    def cost(self) -> float:
        """Price of all sheets, a part-filled sheet in full."""
        return math.fsum(filling.sheet.price for filling in self.fillings)


class StockParts:
    """The pieces of one stock with everything that is worked out once."""

    def __init__(self, ways: Sequence[Path], sheets: Sequence[Sheet], gap_mm: float) -> None:
        self.ways, self.sheets, self.gap_mm = tuple(ways), tuple(sheets), gap_mm
        self.nofit = NoFit(gap_mm)
        self._shapes: dict[tuple[str, bool], tuple[Shape, ...]] = {}
        self._patterns: dict[tuple[str, bool], Pattern] = {}
        self._turned: dict[tuple[str, float], Shape] = {}
        self.full: dict[tuple[str, Sheet], tuple[Laid, ...]] = {}  # sheets full of one kind
        # no smaller hole takes a piece
        self._least_mm2 = min((path.outline.edge.area_mm2 for path in ways), default=0.0)

    def shapes(self, path: Path, *, grain: bool) -> tuple[Shape, ...]:
        """A piece at each turn worth trying; turns that give the same region are tried once."""
        key = (path.piece.name, grain)
        if key not in self._shapes:
            kept: list[Shape] = []
            for turn in path.turns(grain=grain):
                shape = self.shape(path, turn)
                if len(kept) < MOST_TURNS and not any(_same_region(shape, other) for other in kept):
                    kept.append(shape)
            self._shapes[key] = tuple(kept)
        return self._shapes[key]

    def pattern(self, path: Path, *, grain: bool) -> Pattern:
        """The row patterns of a piece, made once for each grain rule."""
        key = (path.piece.name, grain)
        if key not in self._patterns:
            self._patterns[key] = Pattern(path, self.gap_mm, grain=grain)
        return self._patterns[key]

    def shape(self, path: Path, turn_deg: float) -> Shape:
        """A piece at any turn; no-fit regions are kept by name and turn."""
        key = (path.piece.name, turn_deg)
        if key not in self._turned:
            self._turned[key] = Shape(path, turn_deg, self._least_mm2)
        return self._turned[key]


def _same_region(a: Shape, b: Shape) -> bool:
    if max(abs(a.width - b.width), abs(a.height - b.height)) > 1e-6 or len(a.edge) != len(b.edge):
        return False
    moved = {(round(x - a.box[0], 4) + 0.0, round(y - a.box[1], 4) + 0.0) for x, y in a.edge}
    return all(
        (round(x - b.box[0], 4) + 0.0, round(y - b.box[1], 4) + 0.0) in moved for x, y in b.edge
    )


def rank(answer: Answer) -> tuple[int, float, int, float, int]:
    """Fewest missing, least cost, fewest whole sheets, the largest single rest (as a negative
    area), fewest offcuts.
    """
    missing = sum(count for _, count in answer.missing)
    whole = sum(1 for filling in answer.fillings if not filling.sheet.offcut)
    return (missing, round(answer.cost, 6), whole, -rest_mm2(answer), len(answer.fillings))


def rest_mm2(answer: Answer) -> float:
    """The largest rectangle beside or above everything on one sheet: quick to work out, and what a
    maker keeps.
    """
    best = 0.0
    for filling in answer.fillings:
        m = filling.sheet.margin
        right = max((item.right for item in filling.laid), default=m)
        best = max(
            best,
            beside_mm2(filling.sheet, right, max((item.top for item in filling.laid), default=m)),
        )
    return round(best, 3)


def beside_mm2(sheet: Sheet, right: float, top: float) -> float:
    """The larger rectangle beside or above what reaches to (right, top)."""
    width, height = room(sheet)
    return max((width - right + sheet.margin) * height, (height - top + sheet.margin) * width)


def layups(parts: StockParts, answer: Answer) -> list[Layup]:
    """Numbered copies; sheets in the order of work."""
    copies = dict.fromkeys((path.piece.name for path in parts.ways), 0)
    found = []
    for filling in answer.fillings:
        placed = []
        for item in sorted(filling.laid, key=lambda i: (round(i.y, 3), round(i.x, 3), i.shape.key)):
            name = item.shape.path.piece.name
            copies[name] += 1
            placed.append(Placed(name, copies[name], item.x, item.y, item.shape.turn_deg))
        used = math.fsum(item.shape.area for item in filling.laid)
        found.append(Layup(filling.sheet, tuple(placed), used, None))
    return found
