"""The printed plug of an edge that has no joint: a plate flush with the shell, a plug squeezed in
the base's window.

        plate  [ fills the shell's port, outer face on the bed when printed ]
        plug      [ in the base's window; a crush rib a side ]
        notch     [ through the plate's lower edge, higher behind it: a blade levers the cap out ]

Drawn in the panel frame at edge 0; printed with the plate's outer face down.
"""

from __future__ import annotations

from fab.outlines.contour import Contour, Outline, circle, polygon
from fab.outlines.kerf import grown
from fab.parts.edge import edge_box
from fab.parts.plan import Plan
from fab.solids import kernel
from fab.solids.kernel import Solid

RIB_R = 0.6  # radius of a crush rib, mm
# its longest, mm: in a window made taller by a header's play a longer one holds no better, and
# takes more than two thumbs to push
RIB_LONG = 3.0
PRY_W = 6.0  # width of the notch under the plate that a small blade goes in by, mm
PRY_IN = 0.8  # its height at the face: a blade of a knife or a small screwdriver
PRY_BEHIND = 2.2  # its height behind the plate, where the blade is levered up
PRY_DEEP = 1.0  # how far it goes in there, from the plate's back


def top_z(plan: Plan) -> float:
    """Top of plate and plug: the shell's port comes down to its clearance when an edge is
    pressed.
    """
    return plan.heights.port_top_z - plan.floor.press_room - plan.fit("cap-port")


def plug_z(plan: Plan) -> tuple[float, float]:
    """Bottom and top of the plug: the window's height less its clearance."""
    half = plan.edge.window_h / 2 - plan.fit("cap-port")
    return (plan.heights.axis_z - half, plan.heights.axis_z + half)


def rib_z(plan: Plan) -> tuple[float, float]:
    """Bottom and top of a crush rib, about the middle of the plug."""
    low, high = plug_z(plan)
    half = min(high - low, RIB_LONG) / 2
    return (plan.heights.axis_z - half, plan.heights.axis_z + half)


def plate_contour(plan: Plan) -> Contour:
    """The plate in (t, z): the port less its clearance, down to the base's floor; a pry notch
    below.
    """
    play = plan.fit("cap-port")
    half, cut = plan.edge.port_w / 2, plan.edge.port_chamfer
    low, top = plan.floor.top_z + 0.1 - play, plan.heights.port_top_z - plan.floor.press_room
    side = (
        [(half, top - plan.edge.port_chamfer_h), (half - cut, top)] if cut > 1e-6 else [(half, top)]
    )
    right = [(half, low), *side]
    return grown(Outline(polygon([*right, *((-t, z) for t, z in reversed(right))])), -play).edge


def _plate(plan: Plan, thick: float) -> Solid:
    """The plate lying, its outer face up, that face's edge relieved: it is on the bed when
    printed.
    """
    full, by = plate_contour(plan), plan.printer.elephant_foot
    if by <= 0:
        return kernel.prism(full, 0, thick)
    low = grown(Outline(full), -by).edge
    return kernel.fused(
        [kernel.prism(full, 0, thick - by), kernel.frustum(full, thick - by, low, thick)]
    )


def cap_in_place(plan: Plan) -> Solid:
    """The cap at edge 0 of its base."""
    gap, wall = plan.params.gap / 2, plan.params.shell.wall
    seat = gap + wall + plan.fit("lap")  # outer face of the base wall
    play = plan.fit("cap-port")
    half = plan.edge.window_w / 2 - play
    low, high = plug_z(plan)
    plate = kernel.tilted(kernel.tilted(_plate(plan, seat - gap), "x", 90.0), "z", 90.0)
    plate = kernel.moved(plate, plan.cell.apothem - seat, 0.0, 0.0)
    plug = edge_box(plan, (gap + 0.2, plan.edge.wall_u), (-half, half), (low, high))
    ribs = []
    # press: a negative clearance reaches past the window's side
    squeeze = plan.edge.window_w / 2 - plan.fit("cap")
    for side in (-1, 1):
        centre = side * (squeeze - RIB_R)
        at_u = plan.edge.wall_u - plan.params.base.wall / 2
        rod = kernel.prism(circle((plan.cell.apothem - at_u, centre), RIB_R), *rib_z(plan))
        ribs.append(rod)
    low_z, across = plan.floor.top_z + 0.1, (-PRY_W / 2, PRY_W / 2)
    entry = edge_box(plan, (gap - 1.0, seat + 1.0), across, (low_z - 1.0, low_z + PRY_IN))
    behind = edge_box(
        plan, (seat - PRY_DEEP, seat + 1.0), across, (low_z - 1.0, low_z + PRY_BEHIND)
    )
    solid = kernel.fused([plate, plug, *ribs])
    return kernel.one_body(kernel.carved(solid, [entry, behind]), "cap")


def cap_seated(plan: Plan, solid: Solid) -> Solid:
    """A printed cap moved into its place at edge 0."""
    upright = kernel.tilted(solid, "y", -90.0)
    return kernel.moved(upright, plan.cell.apothem - plan.params.gap / 2, 0.0, plan.heights.axis_z)


def cap(plan: Plan) -> Solid:
    """The cap as printed: outer face on the bed."""
    placed = kernel.moved(
        cap_in_place(plan), -(plan.cell.apothem - plan.params.gap / 2), 0.0, -plan.heights.axis_z
    )
    return kernel.tilted(placed, "y", 90.0)  # the outer face, +x, turns down
