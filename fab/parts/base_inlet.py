"""The inlet in a base: its opening, and what holds a receptacle's board or a cable."""

from __future__ import annotations

from fab.outlines.contour import Point, circle, polygon
from fab.outlines.shapes import rectangle
from fab.parts.edge import edge_box
from fab.parts.inlet_sizes import (
    BAY_LIP,
    CABLE_SIDE,
    LIP,
    LIP_OVER,
    LIP_TOP,
    LIP_W,
    PINCH,
    STOP_SIDE,
    TIE_H,
    TIE_W,
)
from fab.parts.plan import Plan
from fab.solids import kernel
from fab.solids.kernel import GROW, PAST, Solid

BAY_R = 1.5  # corners of the bay behind a receptacle


def inlet_opening(plan: Plan) -> list[Solid]:
    """The hole in the base wall at edge 0: a rounded slot for the receptacle, or a round one for a
    cable.
    """
    inlet, play = plan.params.inlet, plan.fit("inlet")
    if inlet.kind == "round":
        shape = circle((0.0, plan.inlet.z), inlet.cable_d / 2 + plan.fit("lap"))
    else:
        wide, high = inlet.shell_w + 2 * play, inlet.shell_h + 2 * play
        shape = rectangle(wide, high, (0.0, plan.inlet.z), high / 2 - 0.05)
    deep = plan.params.base.wall + 0.2
    bored = kernel.tilted(kernel.tilted(kernel.prism(shape, 0, deep), "x", 90.0), "z", 90.0)
    return [kernel.moved(bored, plan.cell.apothem - plan.edge.wall_u - 0.1, 0.0, 0.0)]


def bay(plan: Plan) -> list[Solid]:
    """The opening in the floor by which plug and cable come in from behind, bases on feet."""
    start, end, half = plan.inlet.mouth_u - BAY_LIP, plan.inlet.end_u, plan.inlet.bay_half
    shape = rectangle(end - start, 2 * half, (plan.cell.apothem - (start + end) / 2, 0.0), BAY_R)
    return [kernel.prism(shape, -PAST, plan.floor.top_z + PAST)]


def _clamp_at(plan: Plan) -> Point:
    """Middle of the screw that holds the receptacle's board down."""
    u, t = plan.inlet.screw_at
    return (plan.cell.apothem - u, t)


def clamp_cuts(plan: Plan) -> list[Solid]:
    """The pilot hole of that screw, the room of the board's end over the boss, and what is taken
    off under the washer so that it lies on the board alone.
    """
    inlet = plan.params.inlet
    grip = plan.inlet.board_z + inlet.board_t
    half, rear = (
        inlet.board_w / 2 + plan.fit("inlet"),
        plan.edge.wall_u + inlet.board_l + plan.fit("inlet"),
    )
    hole = kernel.prism(
        circle(_clamp_at(plan), plan.rings.fix_hole_d / 2), 2 * plan.printer.layer, grip + PAST
    )
    under = circle(_clamp_at(plan), plan.inlet.washer_d / 2 + PINCH)
    start = min(rear - 3.0, plan.inlet.screw_box[0]) if plan.inlet.behind else rear - 3.0
    return [
        hole,
        kernel.prism(under, grip - PINCH, grip + PAST),
        edge_box(plan, (start, rear), (-half, half), (plan.inlet.board_z, grip + PAST)),
    ]


def _lips(plan: Plan, low: float) -> list[Solid]:
    """Two lips of the base wall that start at height `low`, over the ends of the board's outer
    edge: its wires leave between them.
    """
    wall_x, end = plan.cell.apothem - plan.edge.wall_u, plan.params.inlet.board_w / 2
    top = low + LIP + LIP_TOP
    corners = [(wall_x + GROW, low), (wall_x + GROW, top), (wall_x - LIP, top)]
    profile = polygon([*corners, (wall_x - LIP, low + LIP), (wall_x, low)])
    return [kernel.ridge(profile, *sorted((s * end, s * (end - LIP_W)))) for s in (1, -1)]


def _tie_cuts(plan: Plan) -> list[Solid]:
    """Windows in the ribs beside a cable: its tie goes through both, under and over the cable."""
    half = plan.inlet.half + GROW
    along = (plan.inlet.tie_u - TIE_W / 2, plan.inlet.tie_u + TIE_W / 2)
    return [edge_box(plan, along, (-half, half), (plan.floor.top_z, plan.floor.top_z + TIE_H))]


def cradle(plan: Plan) -> list[Solid]:
    """Rails that carry the receptacle's board, side ribs, a stop behind it, and the boss of the
    screw whose washer holds it down; with feet two lips over its outer end. A cable gets a rib on
    either side, with windows for a tie.
    """
    inlet, wall, play = plan.params.inlet, plan.params.base.wall, plan.fit("inlet")
    floor = plan.floor.top_z - GROW
    if inlet.kind == "round":
        half = inlet.cable_d / 2 + CABLE_SIDE
        along = (plan.edge.wall_u - GROW, plan.inlet.stop_u)
        top, thick = plan.inlet.z + inlet.cable_d / 2, plan.inlet.rib_wall
        ribs = [
            edge_box(plan, along, (-half - thick, -half), (floor, top)),
            edge_box(plan, along, (half, half + thick), (floor, top)),
        ]
        # cut before they stand on the floor: flush with it, the window would leave a seam there
        return [kernel.carved(rib, _tie_cuts(plan)) for rib in ribs]
    low = plan.inlet.board_z
    half, rear = inlet.board_w / 2 + play, plan.edge.wall_u + inlet.board_l + play
    grip = low + inlet.board_t
    # the base wall stops it when the plug goes in; two stops beside the receptacle hold it back
    if plan.inlet.behind:
        reach, inner = plan.inlet.mouth_u - BAY_LIP, inlet.shell_w / 2 + STOP_SIDE
        ends = [
            edge_box(plan, (rear, reach), (-half - GROW, -inner), (floor, grip)),
            edge_box(plan, (rear, reach), (inner, half + GROW), (floor, grip)),
            *_lips(plan, grip + LIP_OVER),
        ]
    else:
        reach = rear + wall
        ends = [edge_box(plan, (rear, reach), (-half - GROW, half + GROW), (floor, grip))]
    ends.append(kernel.prism(circle(_clamp_at(plan), plan.inlet.boss_d / 2), floor, grip))
    return [
        edge_box(plan, (plan.edge.wall_u - GROW, rear), (-half, -half + 1.5), (floor, low)),
        edge_box(plan, (plan.edge.wall_u - GROW, rear), (half - 1.5, half), (floor, low)),
        edge_box(plan, (plan.edge.wall_u - GROW, reach), (-half - wall, -half), (floor, grip)),
        edge_box(plan, (plan.edge.wall_u - GROW, reach), (half, half + wall), (floor, grip)),
        *ends,
    ]
