r"""The printed front: outer wall, solid corners for screws or snaps, ports, ledge and rebate for
the diffuser.

        rim_z     | |______________________________| |   rebate: the diffuser drops in here
        ledge_z   | |__                          __| |   ledge, 45 degrees below
                  |   /                          \   |
        corner_top|##|                            |##|   corners are solid up to here
        shell_z   |##|                            |##|   open: the base goes in

Print orientation: as drawn, open back on the bed. Drawn in the panel frame, at rest height
`shell_z`.
"""

from __future__ import annotations

import math

from fab.outlines.contour import circle, polygon
from fab.outlines.shapes import regular
from fab.parts.board_source import board_layout, edge_of, seen_from_edge
from fab.parts.edge import at_edges, edge_box
from fab.parts.foot import footed_body
from fab.parts.openings import worked
from fab.parts.plan import Plan
from fab.solids import kernel
from fab.solids.kernel import PAST, Solid

INTO = 0.4  # and into each other by this: cuts that only touch can get lost in the kernel


def shell(plan: Plan) -> Solid:
    """The shell in wall position; the print starts at `plan.floor.shell_z`."""
    body = footed_body(plan, plan.floor.shell_z, plan.heights.rim_z)
    cuts = [
        kernel.prism(
            plan.rings.shell_inner.contour(),
            plan.floor.shell_z - PAST,
            plan.heights.corner_top_z + INTO,
        ),
        *_inner_foot(plan),
        _shaft(plan),
        kernel.prism(
            plan.rings.window,
            plan.heights.ledge_z - plan.heights.ledge_lip - INTO,
            plan.heights.ledge_z + INTO,
        ),
        kernel.prism(plan.rings.rebate, plan.heights.ledge_z, plan.heights.rim_z + PAST),
        *([] if plan.params.board.none else at_edges(plan, [_port(plan)])),
        *_screw_pilots(plan),
        *_snap_pockets(plan),
    ]
    solid = kernel.weighed(kernel.carved(body, cuts), "shell", _volumes(plan))
    if plan.params.switch.on:
        solid = kernel.fused([solid, *press_ribs(plan)])
    return kernel.one_body(worked(plan, solid, "shell"), "shell")


def _inner_foot(plan: Plan) -> list[Solid]:
    """The body that the chamfer of the inner bed edge takes away."""
    by, ring = plan.printer.elephant_foot, plan.rings.shell_inner
    wide, full = ring.inset(-by).contour(), ring.contour()
    if by <= 0 or len(wide.segments) != len(full.segments):
        return []
    return [kernel.frustum(wide, plan.floor.shell_z, full, plan.floor.shell_z + by)]


def _shaft(plan: Plan) -> Solid:
    """The body that is taken away over the corners up to the ledge's lip: the rebate's shape,
    narrowed under the ledge by flat slopes that meet in sharp mitres (a rounded mitre would lean
    out further than the slopes do).

    The slopes are drawn longer than the shaft, so that no face of the two lies on an edge of the
    other.
    """
    top, low = plan.heights.ledge_z - plan.heights.ledge_lip, plan.heights.corner_top_z - PAST
    over = min(INTO, plan.rings.ledge_apothem / 4)
    lean = math.tan(math.radians(plan.printer.overhang_deg))
    n, a = plan.cell.sides, plan.rings.ledge_apothem
    slopes = kernel.frustum(
        regular(n, a + (top - low) * lean), low, regular(n, a - over * lean), top + over
    )
    return kernel.common(
        slopes, kernel.prism(plan.rings.rebate, plan.heights.corner_top_z, top + PAST)
    )


def _volumes(plan: Plan) -> tuple[float, float]:
    """Least and most that the shell may have before its press ribs, mm3."""
    wall = (plan.rings.body.area_mm2 - plan.rings.rebate.area_mm2) * (
        plan.heights.rim_z - plan.floor.shell_z
    )
    ledge, lip = plan.rings.rebate.area_mm2 - plan.rings.window.area_mm2, plan.heights.ledge_lip
    corners = max(plan.rings.rebate.area_mm2 - plan.rings.shell_inner.contour().area_mm2, 0.0) * (
        plan.heights.corner_top_z - plan.floor.shell_z
    )
    deep = plan.params.shell.wall + plan.fit("lap")
    ports = (
        plan.cell.sides
        * (plan.edge.port_w + 1.0)
        * (plan.heights.port_top_z - plan.floor.shell_z)
        * deep
    )
    return (
        0.8 * (wall + ledge * lip + corners) - ports,
        1.002 * (wall + ledge * (plan.heights.ledge_z - plan.heights.ledge_foot_z) + corners),
    )


def _port(plan: Plan) -> Solid:
    """Opening of an edge, from the back rim up: header, cap or plug pass.

    Its upper corners are cut so that it bridges.
    """
    half, low, top, cut = (
        plan.edge.port_w / 2,
        plan.floor.shell_z - PAST,
        plan.heights.port_top_z,
        plan.edge.port_chamfer,
    )
    by = plan.printer.elephant_foot
    side = (
        [(half, top - plan.edge.port_chamfer_h), (half - cut, top)] if cut > 1e-6 else [(half, top)]
    )
    foot = (
        [(half + by, low), (half + by, plan.floor.shell_z), (half, plan.floor.shell_z + by)]
        if by > 0
        else [(half, low)]
    )
    right = [*foot, *side]
    shape = polygon([*right, *((-t, z) for t, z in reversed(right))])
    deep = plan.params.gap / 2 + plan.params.shell.wall + plan.fit("lap") / 2 + PAST
    pierced = kernel.tilted(kernel.tilted(kernel.prism(shape, 0, deep), "x", 90.0), "z", 90.0)
    return kernel.moved(pierced, plan.cell.apothem - deep + PAST, 0.0, 0.0)


def _screw_pilots(plan: Plan) -> list[Solid]:
    top, radius, by = (
        plan.heights.corner_top_z - 1.2,
        plan.rings.fix_hole_d / 2,
        plan.printer.elephant_foot,
    )
    holes = [
        kernel.prism(circle(point, radius), plan.floor.shell_z - PAST, top)
        for point in plan.fixings.shell_screws
    ]
    if by > 0:
        holes += [
            kernel.cone(x, y, plan.floor.shell_z, radius + by, plan.floor.shell_z + by, radius)
            for x, y in plan.fixings.shell_screws
        ]
    return holes


def _snap_pockets(plan: Plan) -> list[Solid]:
    """Pockets in the corners' faces: the nose rests in them and may sink with the shell when an
    edge is pressed.
    """
    if plan.params.shell.fixing != "snap":
        return []
    play = plan.fit("shell-snap")
    face = plan.rings.shell_inner.facet
    deep = face + plan.params.shell.snap_engage + play
    # height at which the holding face leaves the shell's face
    foot = plan.snap.catch_z + plan.fit("lap")
    inner = face - PAST
    low = foot - play
    top = plan.heights.wall_top_z + plan.floor.press_room + play
    # the face that is held lies along the nose's 45 degree face, `play` below it
    shape = polygon(
        [(inner, low - PAST), (face, low), (deep, low + deep - face), (deep, top), (inner, top)]
    )
    half = plan.snap.width / 2 + plan.snap.slit / 2
    return [
        kernel.turned(kernel.ridge(shape, -half, half), (2 * corner + 1) * 180.0 / plan.cell.sides)
        for corner in plan.fixings.fixing_corners
    ]


def press_ribs(plan: Plan) -> list[Solid]:
    """A rib over every edge switch of the board."""
    layout, rib, found = board_layout(plan), press_rib(plan), []
    for switch in layout.switches if layout is not None else ():
        edge = edge_of(plan, switch.at)
        aside = round(seen_from_edge(plan, switch.at, edge)[1], 4)
        placed = kernel.moved(rib, 0.0, aside, 0.0) if aside else rib
        found += at_edges(plan, [placed], [edge])
    return found


def press_rib(plan: Plan) -> Solid:
    r"""A rib over the edge switch at edge 0: two cheeks sloped from the wall, a flat between them
    that meets the plunger.

          _____________
    wall |             |  `rib_top_z`
         |  ___________|  flat at `rib_z`, free play over the plunger: bridged, cheek to cheek
         |    /           cheeks rise as steeply as the printer may overhang, from `rib_foot_z`
         |  /             over the base wall
    """
    outer = plan.params.gap / 2 + plan.params.shell.wall
    half = plan.params.switch.size / 2 + 0.5
    cheek = 2 * plan.printer.extrusion_width
    low, tip, flat, top = (
        plan.press.rib_foot_z,
        plan.press.rib_tip_u,
        plan.press.rib_z,
        plan.press.rib_top_z,
    )
    a = plan.cell.apothem
    at_tip = low + (tip - outer) / math.tan(math.radians(plan.printer.overhang_deg))
    wedge = kernel.ridge(
        polygon(
            [
                (a - outer + 0.3, low),
                (a - outer, low),
                (a - tip, at_tip),
                (a - tip, top),
                (a - outer + 0.3, top),
            ]
        ),
        -half - cheek,
        half + cheek,
    )
    channel = edge_box(plan, (outer + 0.001, tip + PAST), (-half, half), (low - 2.0, flat))
    return kernel.carved(wedge, [channel])
