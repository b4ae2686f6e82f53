"""The circuit board's envelope: plate with holes, LEDs, sockets, switches, tall parts.

Ordered, not printed.
"""

from __future__ import annotations

import math

from fab.outlines.contour import circle, polygon
from fab.parts.board_outline import board_outline
from fab.parts.board_source import BoardItem, BoardLayout, board_layout
from fab.parts.plan import Plan
from fab.parts.press_sizes import PLUNGER_R
from fab.solids import kernel
from fab.solids.kernel import Solid

SOCKET_SIDE = 0.3  # a socket is longer than its pins by this at each end, mm
PLUNGER_H = 0.8  # what a plunger stands over its switch's body, mm


def board_plate(plan: Plan) -> Solid:
    """The bare plate. Raises InputError for a blank cover."""
    return kernel.one_body(
        kernel.prism(board_outline(plan), plan.heights.board_z, plan.heights.board_top_z), "board"
    )


def sockets(plan: Plan) -> list[Solid]:
    """Sockets under the board's edges, mouths outwards.

    Open to the pins: a bar above and below them is left out.
    """
    layout = board_layout(plan)
    return [_socket(plan, socket) for socket in layout.sockets] if layout is not None else []


def _socket(plan: Plan, socket: BoardItem) -> Solid:
    """One socket, drawn with its mouth at x = 0 and turned into its place."""
    half, axis = socket.width / 2 + SOCKET_SIDE, plan.heights.board_z - socket.height / 2
    body = kernel.box(
        -socket.depth, 0.0, -half, half, plan.heights.board_z - socket.height, plan.heights.board_z
    )
    row = socket.width / 2 - 0.2
    mouth = kernel.box(0.5 - socket.depth, 0.1, -row, row, axis - 0.5, axis + 0.5)
    return kernel.moved(
        kernel.turned(kernel.carved(body, [mouth]), socket.turn_deg), socket.x, socket.y, 0.0
    )


def led_bodies(plan: Plan) -> list[Solid]:
    """One box an LED."""
    layout = board_layout(plan)
    return [_box(plan, led) for led in layout.leds] if layout is not None else []


def switch_bodies(plan: Plan) -> list[Solid]:
    """Edge switches: body and plunger of each; none without press edges."""
    layout = board_layout(plan)
    solids = []
    for switch in layout.switches if layout is not None else ():
        top = plan.heights.board_top_z + switch.height
        solids.append(
            kernel.prism(polygon(switch.corners), plan.heights.board_top_z, top - PLUNGER_H)
        )
        solids.append(kernel.prism(circle(switch.at, PLUNGER_R), top - PLUNGER_H, top))
    return solids


def _box(plan: Plan, part: BoardItem) -> Solid:
    """The block that a part takes up, on the face that it sits on."""
    low, high = plan.heights.board_top_z, plan.heights.board_top_z + part.height
    if part.side == "back":
        low, high = plan.heights.board_z - part.height, plan.heights.board_z
    half, deep = part.width / 2, part.depth / 2
    if math.isclose(part.turn_deg % 360.0, 0.0):
        return kernel.box(part.x - deep, part.x + deep, part.y - half, part.y + half, low, high)
    return kernel.prism(polygon(part.corners), low, high)


def tall_parts(plan: Plan) -> list[Solid]:
    """One block a part that is neither socket, LED nor switch; those of no size are left out."""
    return [_box(plan, part) for part in _sized(board_layout(plan))]


def _sized(layout: BoardLayout | None) -> list[BoardItem]:
    return (
        [part for part in layout.parts if min(part.width, part.depth, part.height) > 0]
        if layout is not None
        else []
    )
