"""From pieces to cut paths: growth by half a kerf, turns that piece and sheet allow, refusal of
what can't be cut.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

from fab.errors import Fault, InputError
from fab.outlines.contour import Outline
from fab.outlines.kerf import kerf_compensated
from fab.sheets.convex import Swollen, hull_of, swollen
from fab.sheets.lattice import useful_turns
from fab.sheets.model import Piece, Sheet
from fab.units import fixed

LEAST_SIZE_MM = 0.1  # anything smaller is dust under the beam


@dataclass(frozen=True)
class Path:
    """A piece with its cut path, in the piece's frame."""

    piece: Piece
    outline: Outline

    @cached_property
    def convex(self) -> Swollen | None:
        """The edge as a swollen polygon when it is convex; holes are no matter of it."""
        return swollen(self.outline.edge)

    @cached_property
    def area(self) -> float:
        """Inside the cut path, holes left out."""
        return self.outline.area_mm2

    def turns(self, *, grain: bool) -> tuple[float, ...]:
        """Turns to try, degrees in [0, 360), the drawn one first."""
        rule = self.piece.turns
        if rule == "none":
            return (0.0,)
        if grain or rule == "half":
            return (0.0, 180.0)
        if rule == "quarter":
            return (0.0, 90.0, 180.0, 270.0)
        return useful_turns(self.convex or hull_of(self.outline.edge))

    def least_box(self, *, grain: bool) -> tuple[float, float]:
        """Width and height of the turn with the smallest box, the longer side first."""
        boxes = [self.outline.edge.turned(math.radians(deg)).box for deg in self.turns(grain=grain)]
        sizes = [(max(b[2] - b[0], b[3] - b[1]), min(b[2] - b[0], b[3] - b[1])) for b in boxes]
        return min(sizes, key=lambda size: (size[0] * size[1], size))


def paths(pieces: Sequence[Piece], kerf_mm: float) -> tuple[Path, ...]:
    """The cut path of every piece, in their order. All faults at once."""
    faults: list[Fault] = []
    made: list[Path] = []
    names: set[str] = set()
    for piece in pieces:
        left, low, right, top = piece.outline.box
        if piece.name in names:
            faults.append(Fault(piece.name, "two pieces have this name.", "Rename one."))
        elif not all(map(math.isfinite, (left, low, right, top))):
            faults.append(
                Fault(
                    piece.name,
                    "its outline has a coordinate that is not a number.",
                    "Export it again.",
                )
            )
        elif min(right - left, top - low) < LEAST_SIZE_MM:
            size = f"{fixed(right - left)} x {fixed(top - low)} mm"
            faults.append(
                Fault(
                    piece.name,
                    f"its size of {size} is too small to cut.",
                    f"{LEAST_SIZE_MM:g} mm is the minimum; check the unit of the file.",
                )
            )
        else:
            try:
                made.append(Path(piece, kerf_compensated(piece.outline, kerf_mm)))
            except InputError as error:
                faults += [Fault(piece.name, f.says, f.works, where=f.where) for f in error.faults]
        names.add(piece.name)
    if faults:
        raise InputError(faults)
    return tuple(made)


def refuse_giants(ways: Sequence[Path], sheets: Sequence[Sheet]) -> None:
    """Raises InputError for every piece that is larger than each sheet of its stock, with the size
    it needs.
    """
    faults = []
    for path in ways:
        if path.piece.count == 0:
            continue
        own = [sheet for sheet in sheets if sheet.stock == path.piece.stock]
        if not own:
            faults.append(
                Fault(
                    path.piece.name,
                    f"the shop has no sheet of stock {path.piece.stock!r}.",
                    "Add one to the shop file.",
                )
            )
            continue
        if any(_may_fit(path, sheet) for sheet in own):
            continue
        largest = max(own, key=lambda sheet: sheet.area)
        long, short = path.least_box(grain=largest.grain)
        needs = " x ".join(
            fixed(math.ceil((side + 2 * largest.margin) * 10 - 1e-6) / 10, 1)
            for side in (long, short)
        )
        faults.append(
            Fault(
                path.piece.name,
                f"its cut path is {fixed(long, 1)} x {fixed(short, 1)} mm and fits no sheet of"
                f" {path.piece.stock!r}; the largest is {fixed(largest.width, 1)} x"
                f" {fixed(largest.height, 1)} mm, {fixed(largest.margin, 1)} mm of it margin.",
                f"It needs a sheet of {needs} mm or more, or a smaller part.",
            )
        )
    if faults:
        raise InputError(faults)


def _may_fit(path: Path, sheet: Sheet) -> bool:
    width, height = sheet.width - 2 * sheet.margin, sheet.height - 2 * sheet.margin
    for deg in path.turns(grain=sheet.grain):
        left, low, right, top = path.outline.edge.turned(math.radians(deg)).box
        if right - left <= width + 1e-6 and top - low <= height + 1e-6:
            return True
    return False
