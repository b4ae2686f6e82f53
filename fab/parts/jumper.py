r"""The jumper's solids: opening, rim and channel in a base, and the bought row, plug and wires that
lie there.

Drawn at edge 0 of the panel frame, (u towards the panel's centre, z from the wall face), t along
the edge:

      board   ==================
                   |[  row  ]|          open below; the plug goes in from the wall side
      floor   _____ |[ plug ]| ____
                |r|  \ wires  |r|       r: rim round the opening
      wall    ___ ____/        __|__    the channel runs from the opening to the joint at u = 0

The dimensions stand in `jumpersizes`. A cable is made of two halves that meet in the joint, one in
each panel.
"""

from __future__ import annotations

from collections.abc import Iterable

from fab.outlines.shapes import rectangle
from fab.parts.edge import at_edges, edge_box
from fab.parts.jumpersizes import CORNER_R, RIM_H, jumper_sizes, wire_path
from fab.parts.plan import Plan
from fab.solids import kernel
from fab.solids.kernel import GROW, PAST, Solid

ROW_WALL = 0.5  # thickness of the row's shroud, mm; from memory
ROW_BASE = 0.9  # of its base under the board, mm; from memory
PLUG_PLAY = 0.1  # between plug and shroud, per side, mm; from memory


def opened(plan: Plan, solid: Solid, edges: Iterable[int]) -> Solid:
    """Return a base's body with rim, opening and channel for a jumper at the given edges."""
    chosen = list(edges)
    if not chosen:
        return solid
    size = jumper_sizes(plan)
    deep, wide = size.u1 - size.u0, 2 * size.open_t
    middle = (plan.cell.apothem - (size.u0 + size.u1) / 2, 0.0)
    radius = min(CORNER_R, plan.params.jumper.air)
    around = rectangle(deep + 2 * size.rim_t, wide + 2 * size.rim_t, middle, radius + size.rim_t)
    rim = kernel.prism(around, plan.floor.top_z - GROW, plan.floor.top_z + RIM_H)
    opening = kernel.prism(
        rectangle(deep, wide, middle, radius), -PAST, plan.floor.top_z + RIM_H + PAST
    )
    half = size.channel_w / 2
    channel = edge_box(plan, (-PAST, size.u0 + radius), (-half, half), (-PAST, size.channel_d))
    fused = kernel.fused([solid, *at_edges(plan, [rim], chosen)])
    return kernel.carved(fused, at_edges(plan, [opening, channel], chosen))


def pin_row(plan: Plan) -> Solid:
    """Return the shrouded row under the board at edge 0, without its pins."""
    size, jumper = jumper_sizes(plan), plan.params.jumper
    half, top = jumper.row_depth / 2, plan.heights.board_z
    box = edge_box(
        plan,
        (size.row_u - half, size.row_u + half),
        (-size.half_t, size.half_t),
        (top - jumper.row_height, top),
    )
    wall = ROW_WALL * min(1.0, jumper.row_depth / 4)
    room = edge_box(
        plan,
        (size.row_u - half + wall, size.row_u + half - wall),
        (-size.half_t + wall, size.half_t - wall),
        (top - jumper.row_height - PAST, top - ROW_BASE),
    )
    return kernel.carved(box, [room])


def tails(plan: Plan) -> list[Solid]:
    """Return what stands out of the board's face over the row at edge 0: one tail a pole."""
    size, jumper = jumper_sizes(plan), plan.params.jumper
    half = jumper.pin / 2
    return [
        edge_box(
            plan,
            (size.row_u - half, size.row_u + half),
            (t - half, t + half),
            (plan.heights.board_top_z, plan.heights.board_top_z + jumper.tail),
        )
        for t in _poles(plan)
        if jumper.tail > 0
    ]


def plug(plan: Plan) -> Solid:
    """Return the plug at edge 0, pushed home: as wide as the row below it, narrower where it is in
    the shroud.
    """
    size, jumper = jumper_sizes(plan), plan.params.jumper
    half, foot = jumper.row_depth / 2, plan.heights.board_z - jumper.row_height
    wall = ROW_WALL * min(1.0, jumper.row_depth / 4) + PLUG_PLAY
    top = min(size.exit_z + jumper.plug_height, plan.heights.board_z - ROW_BASE - PLUG_PLAY)
    inner = edge_box(
        plan,
        (size.row_u - half + wall, size.row_u + half - wall),
        (-size.half_t + wall, size.half_t - wall),
        (size.exit_z, top),
    )
    if foot - PLUG_PLAY - size.exit_z < 0.05:
        return inner
    low = edge_box(
        plan,
        (size.row_u - half, size.row_u + half),
        (-size.half_t, size.half_t),
        (size.exit_z, foot - PLUG_PLAY),
    )
    return kernel.fused([low, inner])


def wires(plan: Plan, slackness: float) -> list[Solid]:
    """Return the wires of the half at edge 0, from the plug to the joint; `slackness` as in
    `wire_path`.
    """
    path = wire_path(plan, slackness)
    one = kernel.pipe(path, plan.params.jumper.wire_d / 2)  # drawn in (x, z)
    placed = kernel.turned(one, 180.0)  # x = u runs towards the centre
    return [kernel.moved(placed, plan.cell.apothem, t, 0.0) for t in _poles(plan)]


def half_cable(plan: Plan, slackness: float = 0.5) -> list[Solid]:
    """Return all that a panel has of a jumper at edge 0: row, tails, plug and wires."""
    return [pin_row(plan), *tails(plan), plug(plan), *wires(plan, slackness)]


def _poles(plan: Plan) -> list[float]:
    """Return the places of the poles along the edge."""
    count = plan.params.header.pins
    return [(k - (count - 1) / 2) * plan.params.jumper.pitch for k in range(count)]
