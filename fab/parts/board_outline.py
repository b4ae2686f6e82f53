"""The board's flat side, free of the kernel: outline with mounting holes, and where its sockets
open.
"""

from __future__ import annotations

from fab.errors import InputError
from fab.outlines.contour import Outline, Point
from fab.parts.board_source import board_layout
from fab.parts.plan import Plan


def board_outline(plan: Plan) -> Outline:
    """Outline and mounting holes in the panel frame.

    Raises InputError for a blank cover, which has no board.
    """
    layout = board_layout(plan)
    if layout is None:
        raise InputError(f'a blank cover has no board: design "{plan.params.name}"')
    return layout.outline


def socket_places(plan: Plan) -> tuple[Point, ...]:
    """Middle of each socket's mouth, on the board's edge."""
    layout = board_layout(plan)
    return tuple(socket.at for socket in layout.sockets) if layout is not None else ()
