"""Sizes that hold the board on its base and the shell on both. All mm."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import cached_property

from fab.outlines.contour import Point, turn
from fab.parts.basis import Basis
from fab.parts.given import given, has_own_board, on_grid, shell_is_worked
from fab.parts.heights import Heights
from fab.parts.oneway import PEG_LINES, SHIFT_MM, IndexMark, mark_of
from fab.parts.rings import Rings

BESIDE_HOLE_MM = 0.8  # of board beside a mounting hole


@dataclass(frozen=True)
class Fixings:
    """Sizes that hold the board on its base and the shell on both. All mm."""

    basis: Basis
    rings: Rings
    heights: Heights

    @cached_property
    def post_d(self) -> float:
        """A board post; wide enough for its hole, grown onto the base wall when the shell is
        screwed.
        """
        hole = (
            self.basis.params.insert_d
            if self.basis.params.base.board_fixing == "insert"
            else self.basis.params.pilot_d
        )
        return hole + 2 * 2.0

    @cached_property
    def post_radius(self) -> float:
        """Centre to board post."""
        away = (
            self.post_d / 2 - 0.3
            if self.basis.params.shell.fixing == "screw"
            else self.post_d / 2 + self.basis.params.base.wall
        )
        edge = self.basis.params.board.fit + self.mark_hole_d / 2 + 1.2
        straight = self.rings.board.apothem - self.mark_hole_d / 2 - BESIDE_HOLE_MM
        slope = math.cos(math.pi / self.basis.cell.sides)
        return min(self.rings.base_inner.facet - max(away, edge), straight / slope)

    @cached_property
    def board_holes(self) -> tuple[Point, ...]:
        """Places of the board's mounting holes, each over a post; in the frame of the base."""
        if not self.basis.turned:
            return self._holes
        back = -2 * math.pi * self.basis.turned / self.basis.cell.sides
        return tuple(on_grid(turn(hole, back)) for hole in self._holes)

    @cached_property
    def _holes(self) -> tuple[Point, ...]:
        """The same in the panel frame; the hole of the mark first, between edges 0 and 1, on a
        board drawn here.
        """
        if self.basis.params.board.none:
            return ()
        if has_own_board(self.basis.params):
            rows = given(self.basis.params, "hole")
            if rows or self.basis.params.board.outline:
                return tuple((row.x, row.y) for row in rows)
        x, y = self.basis.corner(0, self.post_radius)
        aside = (x, y - SHIFT_MM)  # along edge 0, so that it comes no nearer to a wall
        others = [self.basis.corner(k, self.post_radius) for k in range(1, self.basis.cell.sides)]
        return tuple(on_grid(hole) for hole in (aside, *others))

    @cached_property
    def clear_of_leds(self) -> tuple[Point, ...]:
        """The circles round heads of screws that LEDs keep clear of, panel frame.

        On a board drawn here all corners are alike, that of the mark too: a peg is no wider than a
        head, and so the grid of LEDs is as even as the panel.
        """
        if self.basis.params.board.none or has_own_board(self.basis.params):
            return self._holes
        corners = range(self.basis.cell.sides)
        return tuple(on_grid(self.basis.corner(k, self.post_radius)) for k in corners)

    @cached_property
    def posts_at_an_edge(self) -> tuple[Point, ...]:
        """The posts as one edge after the other sees them: that of the mark stands aside of a
        corner. A board that was given has its posts where it has its holes; which of them an inlet
        meets is a check of its own.
        """
        if has_own_board(self.basis.params):
            return self.board_holes
        turns = [2 * math.pi * k / self.basis.cell.sides for k in range(self.basis.cell.sides)]
        return tuple(
            dict.fromkeys(on_grid(turn(hole, angle)) for angle in turns for hole in self._holes[:2])
        )

    @cached_property
    def mark(self) -> IndexMark | None:
        """The hole over the base's peg, in the frame of the base; None for a board that its holes
        do not tell apart.
        """
        found = mark_of(self._holes, self.basis.cell.sides)
        return None if found is None else replace(found, at=self.board_holes[found.index])

    @cached_property
    def screw_holes(self) -> tuple[Point, ...]:
        """The holes that take a screw: all but that of the mark."""
        free = None if self.mark is None else self.mark.index
        return tuple(hole for k, hole in enumerate(self.board_holes) if k != free)

    @cached_property
    def mark_hole_d(self) -> float:
        """The hole of the mark in a board drawn here: like the others, or wider, for a peg that can
        be printed.
        """
        peg = PEG_LINES * self.basis.printer.extrusion_width
        return max(self.basis.params.board.hole, peg + 2 * self.basis.fit("mark"))

    @cached_property
    def peg_d(self) -> float:
        """The peg of the mark, as wide as its hole in the board allows."""
        rows = given(self.basis.params, "hole")
        hole = self.mark_hole_d
        if rows and self.mark is not None:
            hole = rows[self.mark.index].width or self.basis.params.board.hole
        return hole - 2 * self.basis.fit("mark")

    @cached_property
    def fixing_corners(self) -> tuple[int, ...]:
        """Corners by which the shell is held, spread evenly."""
        n = self.basis.cell.sides
        # such a shell does not turn with its base
        few = n if n <= 4 or shell_is_worked(self.basis.params) else 3
        wanted = min(self.basis.params.shell.screws or few, n)
        return tuple(sorted({k * n // wanted for k in range(wanted)}))

    @cached_property
    def shell_screws(self) -> tuple[Point, ...]:
        """Places of the shell's screws; none when it snaps."""
        if self.basis.params.shell.fixing == "snap":
            return ()
        return tuple(self.basis.corner(k, self.rings.screw_radius) for k in self.fixing_corners)

    @cached_property
    def post_hole_z(self) -> float:
        """Lower end of the hole in a board post."""
        params = self.basis.params
        deep = (
            params.insert_l + 1.0 if params.base.board_fixing == "insert" else params.screw_d * 2.5
        )
        return max(self.heights.board_z - deep, 2 * self.basis.printer.layer + 0.2)

    @cached_property
    def board_screws(self) -> int:
        """Board screws driven per panel; every hole but that of the mark may take one."""
        return min(
            self.basis.cell.sides if self.basis.cell.sides <= 4 else 3, len(self.screw_holes)
        )
