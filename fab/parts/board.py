"""The circuit board's envelope: plate with mounting holes, LEDs, sockets, edge switches. Bought or ordered, not printed."""

from __future__ import annotations

from fab.outlines.contour import circle
from fab.parts.board_outline import board_outline
from fab.parts.edge import at_edges, edge_box
from fab.parts.leds import led_grid
from fab.parts.plan import PLUNGER_R, Plan
from fab.solids import kernel
from fab.solids.kernel import Solid

SOCKET_SIDE = 0.3  # a socket is longer than its pins by this at each end, mm


def board_plate(plan: Plan) -> Solid:
    """The bare plate."""
    return kernel.one_body(kernel.prism(board_outline(plan), plan.board_z, plan.board_top_z), "board")


def sockets(plan: Plan) -> list[Solid]:
    """Sockets under the board's edges, mouths outwards. Open to the pins: a bar above and below them is left out."""
    header = plan.params.header
    edge_u = plan.cell.apothem - plan.board.apothem
    half = header.pins * header.pitch / 2 + SOCKET_SIDE
    body = edge_box(plan, (edge_u, edge_u + header.socket_depth), (-half, half), (plan.board_z - header.socket_height, plan.board_z))
    row = header.pins * header.pitch / 2
    mouth = edge_box(
        plan, (edge_u - 0.1, edge_u + header.socket_depth - 0.5), (-row + 0.2, row - 0.2),
        (plan.axis_z - 0.5, plan.axis_z + 0.5),
    )  # fmt: skip
    return at_edges(plan, [kernel.carved(body, [mouth])])


def led_bodies(plan: Plan) -> list[Solid]:
    """One box an LED."""
    half = plan.params.led.size / 2
    return [
        kernel.box(x - half, x + half, y - half, y + half, plan.board_top_z, plan.led_z) for x, y in led_grid(plan)
    ]


def switch_bodies(plan: Plan) -> list[Solid]:
    """Edge switches: body and plunger, at each edge; none without press edges."""
    switch = plan.params.switch
    if not switch.on:
        return []
    half, top = switch.size / 2, plan.board_top_z + switch.height
    centre = plan.cell.apothem - plan.switch_u
    body = edge_box(plan, (plan.switch_u - half, plan.switch_u + half), (-half, half), (plan.board_top_z, top - 0.8))
    plunger = kernel.prism(circle((centre, 0.0), PLUNGER_R), top - 0.8, top)
    return at_edges(plan, [body, plunger])


def board_parts(plan: Plan) -> list[tuple[str, Solid]]:
    """Everything on one board with its name."""
    named = [("board", board_plate(plan))]
    named += [(f"socket {k}", solid) for k, solid in enumerate(sockets(plan))]
    named += [(f"LED {k + 1}", solid) for k, solid in enumerate(led_bodies(plan))]
    named += [(f"switch {k // 2}", solid) for k, solid in enumerate(switch_bodies(plan))]
    return named
