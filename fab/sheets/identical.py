"""One convex piece, many copies, rectangular sheets: one exact pattern repeated, the last sheet
kept whole.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import cached_property

from fab.sheets.bounds import most_in_room
from fab.sheets.lattice import Lattice
from fab.sheets.model import Layup, Placed, Sheet
from fab.sheets.paths import Path
from fab.sheets.rows import Spot
from fab.sheets.scales import most_by_lengths

Pose = tuple[float, float, float]  # x, y of the piece's origin in the sheet frame, turn in degrees

_HALVINGS = 8  # of the search for the narrowest strip


class Pattern:
    """Places of the copies of one piece on rectangular sheets, by the lattice."""

    def __init__(self, path: Path, gap_mm: float, *, grain: bool, shared: bool = False) -> None:
        shape = path.convex
        if shape is None:
            raise ValueError("rows need a convex piece without holes")  # our own caller's fault
        self.shape, self.gap_mm = shape, gap_mm
        self.any_turn = path.piece.turns == "free" and not grain
        self.turns, self.shared = path.turns(grain=grain), shared
        self._whole: dict[tuple[float, float, float], tuple[Pose, ...]] = {}
        self._bounds: dict[tuple[float, float], int] = {}

    @cached_property
    def lattice(self) -> Lattice:
        """The rows of the piece; a bound asks for none."""
        return Lattice(self.shape, self.gap_mm, self.turns, shared=self.shared)

    def whole(self, sheet: Sheet) -> tuple[Pose, ...]:
        """Return the most copies that the sheet takes."""
        key = (sheet.width, sheet.height, sheet.margin)
        if key not in self._whole:
            width, height = room(sheet)
            self._whole[key] = self._poses(self.lattice.spots(width, height), sheet)
        return self._whole[key]

    def part(
        self, sheet: Sheet, count: int, ways: Sequence[bool] = (True, False)
    ) -> tuple[Pose, ...]:
        """`count` copies, at most as many as `whole` has, in the strip that leaves the largest
        rectangle.

        ways: strips to try, True for one of full height at the left, False for one of full width at
        the bottom.
        """
        if count == 0:
            return ()
        width, height = room(sheet)
        whole = self.lattice.spots(width, height)
        if count == len(whole):
            return self.whole(sheet)
        sizes = self._sizes(whole)
        best: tuple[float, tuple[Spot, ...]] | None = None
        for upright in ways:
            order = sorted(whole, key=lambda s: _far(s, sizes, upright=upright))[:count]
            order = self._narrower(order, width, height, count, upright=upright)
            sizes |= self._sizes(order)
            far = max(_far(s, sizes, upright=upright) for s in order)
            rest = (width - far) * height if upright else (height - far) * width
            if best is None or rest > best[0] + 1e-6:
                best = (rest, tuple(order))
        assert best is not None
        return self._poses(best[1], sheet)

    def bound(self, sheet: Sheet) -> int:
        """No nest gets more copies on this sheet, in the turns that the piece may have."""
        size = room(sheet)
        if size not in self._bounds:
            self._bounds[size] = self._bound(*size)
        return self._bounds[size]

    def _bound(self, width: float, height: float) -> int:
        most = most_in_room((0.0, 0.0, width, height), self.shape, self.gap_mm)
        if self.any_turn or min(width, height) <= 0:
            return most
        grown = self.shape.swollen(self.gap_mm / 2)
        width, height = width + self.gap_mm, height + self.gap_mm
        return min(most, most_by_lengths(grown, self.turns, width, height))

    def _narrower(
        self, spots: list[Spot], width: float, height: float, count: int, *, upright: bool
    ) -> list[Spot]:
        """A narrower strip that still holds `count`, by bisection; the strip stands (full height)
        or lies.
        """
        sizes = self._sizes(spots)
        high = max(_far(s, sizes, upright=upright) for s in spots)
        low = min(count * self.shape.area / (height if upright else width), high)
        for _ in range(_HALVINGS):
            middle = (low + high) / 2
            strip = (middle, height) if upright else (width, middle)
            if self.lattice.count(*strip) >= count:
                found = self.lattice.block(*strip)
                sizes = self._sizes(found)
                spots = sorted(found, key=lambda s: _far(s, sizes, upright=upright))[:count]
                high = min(middle, max(_far(s, sizes, upright=upright) for s in spots))
            else:
                low = middle
        return spots

    def _sizes(self, spots: Sequence[Spot]) -> dict[float, tuple[float, float, float, float]]:
        return {turn: self.shape.turned(turn).box for turn in {spot.turn_deg for spot in spots}}

    def _poses(self, spots: Sequence[Spot], sheet: Sheet) -> tuple[Pose, ...]:
        boxes = self._sizes(spots)
        poses = [
            (
                s.x - boxes[s.turn_deg][0] + sheet.margin,
                s.y - boxes[s.turn_deg][1] + sheet.margin,
                s.turn_deg,
            )
            for s in spots
        ]
        return tuple(sorted(poses, key=lambda pose: (round(pose[1], 6), round(pose[0], 6))))


def _far(
    spot: Spot, boxes: dict[float, tuple[float, float, float, float]], *, upright: bool
) -> float:
    left, low, right, top = boxes[spot.turn_deg]
    return spot.x + right - left if upright else spot.y + top - low


def room(sheet: Sheet) -> tuple[float, float]:
    """Width and height between the margins."""
    return sheet.width - 2 * sheet.margin, sheet.height - 2 * sheet.margin


def choose(least: int, offers: Sequence[tuple[int, float, int]]) -> list[int]:
    """Choose how many of each offer (copies each, price, count) reach `least` copies at least cost,
    then with fewest sheets.

    Takes all of every offer when they don't reach it. What costs nothing is used first, so that the
    rest of a sheet that is paid for is large; some of it is given back when it holds everything
    alone. Exact by branch and bound.
    """
    used = [count if price == 0 and copies > 0 else 0 for copies, price, count in offers]
    rest = least - sum(n * offer[0] for n, offer in zip(used, offers, strict=True))
    order = sorted(
        (k for k, o in enumerate(offers) if o[1] > 0 and o[0] > 0),
        key=lambda k: (offers[k][1] / offers[k][0], k),
    )
    best: tuple[float, int, list[int]] = (math.inf, 0, [offers[k][2] for k in order])

    def branch(at: int, rest: int, cost: float, taken: list[int]) -> None:
        nonlocal best
        if rest <= 0:
            best = min(
                best,
                (cost, sum(taken), taken + [0] * (len(order) - at)),
                key=lambda b: (round(b[0], 9), b[1]),
            )
            return
        if at == len(order):
            return
        copies, price, count = offers[order[at]]
        if cost + rest * price / copies > best[0] + 1e-9:
            return
        for n in range(min(count, -(-rest // copies)), -1, -1):
            if cost + n * price + max(rest - n * copies, 0) * price / copies > best[0] + 1e-9:
                return
            branch(at + 1, rest - n * copies, cost + n * price, [*taken, n])

    branch(0, rest, 0.0, [])
    for k, n in zip(order, best[2], strict=True):
        used[k] = n
    if any(used[k] for k in order):
        return used
    spare = sum(n * offer[0] for n, offer in zip(used, offers, strict=True)) - least
    for k in sorted(range(len(offers)), key=lambda k: offers[k][0]):
        if offers[k][1] == 0 and offers[k][0] > 0 and spare >= offers[k][0]:
            back = min(used[k], spare // offers[k][0])
            used[k], spare = used[k] - back, spare - back * offers[k][0]
    return used


def placed(path: Path, poses: Sequence[Pose], first_copy: int) -> tuple[Placed, ...]:
    """Poses as numbered copies."""
    return tuple(Placed(path.piece.name, first_copy + k, *pose) for k, pose in enumerate(poses))


def identical(
    path: Path, sheets: Sequence[Sheet], gap_mm: float, *, shared: bool = False
) -> list[Layup]:
    """One convex piece on rectangular sheets; the sheet that is only partly used comes last."""
    patterns = {
        grain: Pattern(path, gap_mm, grain=grain, shared=shared)
        for grain in sorted({sheet.grain for sheet in sheets})
    }
    offers = [(len(patterns[s.grain].whole(s)), s.price, s.count) for s in sheets]
    used = choose(path.piece.count, offers)
    order = [k for k, n in enumerate(used) for _ in range(n)]
    spare = sum(offers[k][0] for k in order) - path.piece.count
    if spare > 0:  # the rest is worth most on the largest sheet that may stay partly empty
        last = max(
            (k for k in set(order) if offers[k][0] >= spare), key=lambda k: (sheets[k].area, k)
        )
        order.remove(last)
        order.append(last)
    layups: list[Layup] = []
    copy = 1
    for at, k in enumerate(order):
        pattern, sheet = patterns[sheets[k].grain], sheets[k]
        left = path.piece.count - copy + 1
        poses = (
            pattern.part(sheet, left)
            if at == len(order) - 1 and left < offers[k][0]
            else pattern.whole(sheet)
        )
        layups.append(
            Layup(sheet, placed(path, poses, copy), len(poses) * path.area, pattern.bound(sheet))
        )
        copy += len(poses)
    return layups
