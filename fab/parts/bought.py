"""Envelopes of bought parts, for the fit proof: header, screws, receptacle and plug.

Panel frame.
"""

from __future__ import annotations

from fab.outlines.contour import Contour, Point, circle
from fab.outlines.shapes import rectangle, slot
from fab.parts.edge import edge_box
from fab.parts.inlet_sizes import CABLE_SIDE, TIE_MOST
from fab.parts.keyhole import Keyhole
from fab.parts.plan import Plan
from fab.parts.spaces import PAN_HEAD_H, WASHER_T
from fab.solids import kernel
from fab.solids.kernel import Solid

RECEPTACLE_L = 7.5  # length of a receptacle's body, mm; from memory
PLUG_L = 20.0  # length of a plug's overmould, mm; from memory
PIN = 0.64  # square pin of a 2.54 mm header, mm; trade size, from memory


def header_in_joint(plan: Plan) -> Solid:
    """A header in the middle of the joint at edge 0: body and pins, u from one board to the
    other.
    """
    header = plan.params.header
    row = header.pins * header.pitch / 2
    solids = [
        edge_box(
            plan,
            (-header.body / 2, header.body / 2),
            (-row, row),
            (plan.heights.axis_z - header.body / 2, plan.heights.axis_z + header.body / 2),
        )
    ]
    reach = header.body / 2 + header.pin
    for k in range(header.pins):
        t = (k - (header.pins - 1) / 2) * header.pitch
        solids.append(
            edge_box(
                plan,
                (-reach, reach),
                (t - PIN / 2, t + PIN / 2),
                (plan.heights.axis_z - PIN / 2, plan.heights.axis_z + PIN / 2),
            )
        )
    return kernel.fused(solids)


def shell_screws(plan: Plan) -> list[Solid]:
    """Countersunk screws from the back into the shell's corners: head and the shank up to the
    pilot.
    """
    head, shank = plan.params.screw_head_d / 2, plan.params.screw_d / 2
    solids = []
    for x, y in plan.fixings.shell_screws:
        cone = kernel.cone(x, y, 0.0, head, head - shank, shank)
        solids.append(
            kernel.fused(
                [cone, kernel.prism(circle((x, y), shank), head - shank, plan.floor.top_z)]
            )
        )
    return solids


def board_screws(plan: Plan) -> list[Solid]:
    """Pan heads on the board, one a mounting hole but that of the mark."""
    head = plan.params.screw_head_d / 2
    return [
        kernel.prism(circle(point, head), plan.heights.board_top_z, plan.heights.board_top_z + 2.4)
        for point in plan.fixings.screw_holes
    ]


def wall_screw(plan: Plan, at: Point) -> Solid:
    """The wall screw at rest: shank through the slot, head inside over the floor."""
    hanger = plan.params.hanger
    shank = kernel.prism(
        circle(at, hanger.screw_d / 2), -1.0 - plan.params.base.feet, plan.floor.top_z + 0.3
    )
    head = kernel.prism(
        circle(at, hanger.head_d / 2),
        plan.floor.top_z + 0.3,
        plan.floor.top_z + 0.3 + hanger.head_h,
    )
    return kernel.fused([shank, head])


def head_travel(plan: Plan, hole: Keyhole) -> Solid:
    """The room that the screw's head sweeps from entry to rest."""
    hanger = plan.params.hanger
    return kernel.prism(
        slot(hole.entry, hole.rest, hanger.head_d),
        plan.floor.top_z + 0.05,
        plan.floor.top_z + 0.3 + hanger.head_h,
    )


def receptacle(plan: Plan) -> list[tuple[str, Solid]]:
    """The inlet at edge 0: its small board, the receptacle and a plug pushed in; or the cable of a
    round inlet.

    With feet it looks towards the centre, and the plug lies over the opening in the floor.
    """
    inlet, behind, mouth = plan.params.inlet, plan.inlet.behind, plan.inlet.mouth_u
    seat_u = plan.params.gap / 2 + plan.params.shell.wall + plan.fit("lap")
    if inlet.kind == "round":
        shape = circle((0.0, plan.inlet.z), inlet.cable_d / 2)
        if behind:
            return [("cable", _lying(plan, shape, plan.edge.wall_u + 6.0, mouth + 5.0))]
        return [("cable", _lying(plan, shape, seat_u - PLUG_L, plan.edge.wall_u + 10.0))]
    board = edge_box(
        plan,
        (plan.edge.wall_u + 0.1, plan.edge.wall_u + inlet.board_l),
        (-inlet.board_w / 2, inlet.board_w / 2),
        (plan.inlet.board_z, plan.inlet.board_z + inlet.board_t),
    )
    # a receptacle's body is rounded like its opening in the base
    shape = rectangle(inlet.shell_w, inlet.shell_h, (0.0, plan.inlet.z), inlet.shell_h / 2 - 0.05)
    body_u, plug_u = (seat_u, seat_u + RECEPTACLE_L), (seat_u - PLUG_L, seat_u)
    if behind:
        body_u, plug_u = (mouth - RECEPTACLE_L, mouth), (mouth, mouth + min(PLUG_L, inlet.room))
    body = _lying(plan, shape, *body_u)
    plug = edge_box(
        plan,
        plug_u,
        (-inlet.plug_w / 2, inlet.plug_w / 2),
        (plan.inlet.z - inlet.plug_h / 2, plan.inlet.z + inlet.plug_h / 2),
    )
    return [
        ("inlet board", board),
        ("receptacle", body),
        ("plug", plug),
        ("inlet screw", _inlet_screw(plan)),
    ]


def _inlet_screw(plan: Plan) -> Solid:
    """The screw that holds the receptacle's board down, with its washer."""
    top = plan.inlet.board_z + plan.params.inlet.board_t
    u, t = plan.inlet.screw_at
    at = (plan.cell.apothem - u, t)
    washer = kernel.prism(circle(at, plan.inlet.washer_d / 2), top, top + WASHER_T)
    head = kernel.prism(
        circle(at, plan.params.screw_head_d / 2), top + WASHER_T, top + WASHER_T + PAN_HEAD_H
    )
    return kernel.fused([washer, head])


def tie(plan: Plan) -> Solid:
    """The tie of a round inlet's cable, pulled tight: through the windows of both ribs, under the
    cable and over it.
    """
    (wide, thick), inlet = TIE_MOST, plan.params.inlet
    along = (plan.inlet.tie_u - wide / 2, plan.inlet.tie_u + wide / 2)
    inner = inlet.cable_d / 2 + CABLE_SIDE + plan.inlet.rib_wall
    low, top = plan.floor.top_z, plan.inlet.z + inlet.cable_d / 2
    whole = edge_box(plan, along, (-inner - thick, inner + thick), (low, top + thick))
    return kernel.carved(whole, [edge_box(plan, along, (-inner, inner), (low + thick, top))])


def _lying(plan: Plan, shape: Contour, u0: float, u1: float) -> Solid:
    """A shape drawn in (t, z) and extruded inwards from u0 to u1 at edge 0."""
    bar = kernel.tilted(kernel.tilted(kernel.prism(shape, 0, u1 - u0), "x", 90.0), "z", 90.0)
    return kernel.moved(bar, plan.cell.apothem - u1, 0.0, 0.0)
