"""Facts about a design's board that was given rather than drawn here.

Free of the kernel and of the plan.
"""

from __future__ import annotations

from fab.outlines.contour import Point
from fab.params.boardparams import BoardPart
from fab.params.panel import PanelParams

# places on a board are whole numbers of 1e-6 mm, drawn or given: what a file can hold
GRID_PLACES = 6


def given(params: PanelParams, kind: str) -> tuple[BoardPart, ...]:
    """The parts of one kind that the board was given with, in their order."""
    return tuple(part for part in params.board.part if part.kind == kind)


def has_own_board(params: PanelParams) -> bool:
    """True when the board was given: its outline, or the parts on it."""
    return bool(params.board.outline or params.board.part)


def on_grid(point: Point) -> Point:
    """A point of a board as a file can hold it."""
    return (round(point[0], GRID_PLACES) + 0.0, round(point[1], GRID_PLACES) + 0.0)


def base_is_worked(params: PanelParams) -> bool:
    """True when the base has openings or additions, which keep their place in the panel."""
    return _cut_or_set({"base", "both"}, params) or _art_on("base", params)


def shell_is_worked(params: PanelParams) -> bool:
    """True when the shell has openings or additions: it is not alike in every turn then."""
    return _cut_or_set({"shell", "both"}, params) or _art_on("shell", params)


def _cut_or_set(parts: set[str], params: PanelParams) -> bool:
    return any(item.part in parts for item in params.opening) or any(
        item.part in parts for item in params.addition
    )


def _art_on(part: str, params: PanelParams) -> bool:
    return any(art.on == part for art in params.art)


def alike_in_every_turn(params: PanelParams) -> bool:
    """True when nothing in the base keeps its place in the panel: a blank cover that the maker left
    as it is.
    """
    return params.board.none and not base_is_worked(params)
