"""The printed back: a tray that hangs on the wall and takes the board.

        wall_top_z   | |                         | |   base wall, inside the shell's skirt
        board_z      | |_P_                   _P_| |   posts P carry the board
        floor_z   ___| |___B_______________B_____| |___   B: clip blocks with open pockets
        0         |____c___________o________________c__|   wall face; c: clip channel, o: keyhole

Print orientation: as drawn, floor on the bed. Panel frame of the base: edge 0 towards +X; an inlet
is at edge 0.
"""

from __future__ import annotations

import math
from collections.abc import Iterable

from fab.layout.model import BaseKind
from fab.outlines.contour import Contour, Outline, Point, circle, polygon, turn
from fab.outlines.shapes import keyhole as keyhole_contour
from fab.outlines.shapes import slot
from fab.parts.base_inlet import bay, clamp_cuts, cradle, inlet_opening
from fab.parts.base_name import fused_name, name_feet, name_height, on_free_floor
from fab.parts.edge import at_edges, edge_box
from fab.parts.edgemark import LAYERS, edge_mark
from fab.parts.feet import recess_cuts
from fab.parts.foot import footed_body
from fab.parts.jumper import opened
from fab.parts.keyhole import keyhole_of
from fab.parts.openings import worked
from fab.parts.plan import Plan
from fab.parts.vents import vent_slots
from fab.solids import kernel
from fab.solids.kernel import GROW, PAST, Solid
from fab.solids.stamp import raised

PEG_TIP = 0.6  # the peg's point stands over the board by this, 45 degrees


def base(plan: Plan, kind: BaseKind, body: Solid | None = None) -> Solid:
    """The base of one kind, z = 0 the wall face.

    `body` is what `base_body` made for it, where it is there already.

    A name is set onto the finished base; where something else is worked into the floor it comes
    before that.
    """
    plan = plan.mounted(kind.steps)
    solid = opened(plan, base_body(plan, inlet=kind.inlet) if body is None else body, kind.jumpers)
    hole = keyhole_of(plan, kind)
    cuts = []
    if hole is not None:
        shape = keyhole_contour(hole.entry, hole.rest, hole.entry_d, hole.slot_w)
        cuts.append(kernel.prism(shape, -PAST, plan.floor.top_z + PAST))
    if plan.params.base.vents:
        slots = vent_slots(plan, hole, kind.jumpers)
        cuts += [
            kernel.prism(slot(a, b, width), -PAST, plan.floor.top_z + PAST) for a, b, width in slots
        ]
    deep = plan.floor.top_z - LAYERS * plan.printer.layer
    cuts += [kernel.prism(shape, deep, plan.floor.top_z + PAST) for shape in edge_mark(plan, kind)]
    if cuts:
        solid = kernel.weighed(kernel.carved(solid, cuts), "base", _volumes(plan))
    first = kind.label and not on_free_floor(plan)
    if first:
        solid = fused_name(plan, kind, solid)
    solid = kernel.one_body(worked(plan, solid, "base", kind.steps), "base")
    if first or not (feet := name_feet(plan, kind)):
        return solid
    return raised(solid, feet, plan.floor.top_z, name_height(plan)) or kernel.one_body(
        fused_name(plan, kind, solid), "base"
    )


def base_blank(plan: Plan) -> Solid:
    """The solid that all bases of a design share, however they are mounted: floor, wall, pockets of
    the clips, holes or tongues of the shell's fixing, recesses of feet, windows of all edges but
    edge 0.
    """
    ring = Outline(plan.rings.base_outer.contour(), (plan.rings.base_inner.contour(),))
    floor = footed_body(plan, 0, plan.floor.top_z)
    wall = kernel.prism(ring, plan.floor.top_z - GROW, plan.heights.wall_top_z)
    solid = kernel.carved(kernel.fused([floor, wall, *_clip_blocks(plan)]), _blank_cuts(plan))
    hooks = snap_hooks(plan)
    return kernel.fused([solid, *hooks]) if hooks else solid


def _blank_cuts(plan: Plan) -> list[Solid]:
    windows = _windows(plan, range(1, plan.cell.sides))
    return [*_clip_cuts(plan), *_shell_fixing_cuts(plan), *recess_cuts(plan), *windows]


def base_body(plan: Plan, *, inlet: bool, blank: Solid | None = None) -> Solid:
    """The solid that all bases with an inlet, or all without one, share when they are mounted
    alike: all but keyhole, air slots, openings for jumpers, name, the figure of edge 0 and the
    maker's additions. `blank` is what `base_blank` made for it, where it is there already.
    """
    grown = [*_posts(plan), *(cradle(plan) if inlet else [])]
    # what is cut out of the blank stays open
    grown = kernel.each_carved(grown, _blank_cuts(plan))
    cuts = _post_holes(plan)
    if not inlet or plan.inlet.behind:
        cuts += _windows(plan, (0,))
    if inlet:
        cuts += bay(plan) if plan.inlet.behind else inlet_opening(plan)
    if inlet and plan.params.inlet.kind != "round":
        cuts += clamp_cuts(plan)
    solid = kernel.fused([base_blank(plan) if blank is None else blank, *grown])
    name = f"base {'with' if inlet else 'without'} inlet"
    return kernel.weighed(kernel.carved(solid, cuts), name, _volumes(plan))


def _volumes(plan: Plan) -> tuple[float, float]:
    """Least and most that a base may have before hooks, letters and additions, mm3."""
    floor = plan.rings.body.area_mm2 * plan.floor.top_z
    wall = (plan.rings.base_outer.contour().area_mm2 - plan.rings.base_inner.contour().area_mm2) * (
        plan.heights.wall_top_z - plan.floor.top_z
    )
    posts = (
        len(plan.fixings.board_holes)
        * plan.fixings.post_d
        * (plan.fixings.post_d + 2.0)
        * (plan.heights.board_z - plan.floor.top_z)
    )
    blocks = (
        len(plan.clip.pockets)
        * plan.cell.sides
        * plan.clip.block_w
        * plan.clip.block_depth
        * (plan.clip.catch_z - plan.floor.top_z)
    )
    inlet = plan.params.inlet
    cradle = (inlet.board_w + 8.0) * (inlet.board_l + 8.0) * (inlet.board_t + 4.0) + (
        inlet.cable_d + 8.0
    ) * 8.0 * (inlet.cable_d + 8.0)
    return (0.6 * (floor + wall), 1.002 * (floor + wall) + posts + blocks + cradle)


def _posts(plan: Plan) -> list[Solid]:
    shapes: list[Contour] = [
        circle(point, plan.fixings.post_d / 2) for point in plan.fixings.board_holes
    ]
    if plan.params.shell.fixing == "screw":
        webs = (_web(plan, point) for point in plan.fixings.board_holes)
        shapes += [web for web in webs if web is not None]
    posts = kernel.prisms(shapes, plan.floor.top_z - GROW, plan.heights.board_z) if shapes else []
    return [*posts, *_peg(plan)]


def _peg(plan: Plan) -> list[Solid]:
    """The peg of the mark on its post, pointed so that the board's hole finds it."""
    if plan.fixings.mark is None:
        return []
    (x, y), radius, top = plan.fixings.mark.at, plan.fixings.peg_d / 2, plan.heights.board_top_z
    shank = kernel.prism(circle((x, y), radius), plan.heights.board_z - GROW, top)
    return [shank, kernel.cone(x, y, top, radius, top + PEG_TIP, radius - PEG_TIP)]


def _web(plan: Plan, hole: Point) -> Contour | None:
    """The outline of the web that fills the crevice between a post in a corner and the wall; None
    for a post that stands elsewhere.
    """
    pitch = 360.0 / plan.cell.sides
    corner = (math.floor(math.degrees(math.atan2(hole[1], hole[0])) / pitch) + 0.5) * pitch
    out, aside = turn(hole, -math.radians(corner))
    half, away = plan.fixings.post_d / 3, plan.rings.base_inner.facet - out
    if abs(aside) > half or not plan.fixings.post_d / 2 - GROW + 1e-3 < away <= plan.fixings.post_d:
        return None
    far = plan.rings.base_inner.facet + GROW
    corners = [(out, -half), (far, -half), (far, half), (out, half)]
    return polygon([turn(point, math.radians(corner)) for point in corners])


def _post_holes(plan: Plan) -> list[Solid]:
    params = plan.params
    wide = params.insert_d if params.base.board_fixing == "insert" else params.pilot_d
    return [
        kernel.prism(circle(point, wide / 2), plan.fixings.post_hole_z, plan.heights.board_z + PAST)
        for point in plan.fixings.screw_holes
    ]


def _clip_blocks(plan: Plan) -> list[Solid]:
    """Pockets of the clips: a box against the base wall, as high as the face the hook holds on."""
    half = plan.clip.block_w / 2
    boxes = [
        edge_box(
            plan,
            (plan.edge.wall_u - GROW, plan.edge.wall_u + plan.clip.block_depth),
            (at - half, at + half),
            (plan.floor.top_z - GROW, plan.clip.pocket_z),
        )
        for at in plan.clip.pockets
    ]
    return at_edges(plan, boxes)


def _clip_cuts(plan: Plan) -> list[Solid]:
    """Pocket through floor and block with the channel of the bar in the wall face: one tool each,
    because two that overlap take the kernel twice as long.
    """
    half, out = plan.clip.slot_w / 2, plan.cell.apothem
    inner, wall = out - plan.clip.cavity_u, out - plan.edge.wall_u
    top, channel = plan.clip.catch_z + PAST, plan.clip.bar_top_z + plan.fit("clip")
    profile = polygon(
        [
            (inner, -PAST),
            (out + PAST, -PAST),
            (out + PAST, channel),
            (wall, channel),
            (wall, top),
            (inner, top),
        ]
    )
    return at_edges(plan, [kernel.ridge(profile, at - half, at + half) for at in plan.clip.pockets])


def _shell_fixing_cuts(plan: Plan) -> list[Solid]:
    """Countersunk holes of the shell screws, or the slits beside the tongues of the snaps."""
    params = plan.params
    cuts: list[Solid] = []
    for x, y in plan.fixings.shell_screws:
        through = params.screw_d / 2 + plan.fit("lap")
        head = params.screw_head_d / 2 + plan.fit("lap")
        cuts.append(kernel.prism(circle((x, y), through), -PAST, plan.floor.top_z + PAST))
        # 90 degree head, its edge at the wall face
        cuts.append(kernel.cone(x, y, 0.0, head, head - through, through))
        cuts.append(kernel.prism(circle((x, y), head), -PAST, 0.0))
    if params.shell.fixing == "snap":
        facet, half, slit = plan.rings.base_outer.facet, plan.snap.width / 2, plan.snap.slit
        inner = plan.rings.base_inner.facet
        for corner in plan.fixings.fixing_corners:
            turn_deg = (2 * corner + 1) * 180.0 / plan.cell.sides
            tools = [
                kernel.box(
                    inner - PAST,
                    facet + PAST,
                    start,
                    start + slit,
                    plan.floor.top_z,
                    plan.heights.wall_top_z + PAST,
                )
                for start in (-half - slit, half)
            ]
            thin = facet - params.shell.snap_tongue
            if thin > inner + 1e-6:
                tools.append(
                    kernel.box(
                        inner - PAST,
                        thin,
                        -half,
                        half,
                        plan.floor.top_z,
                        plan.heights.wall_top_z + PAST,
                    )
                )
            cuts += [kernel.turned(tool, turn_deg) for tool in tools]
    return cuts


def snap_hooks(plan: Plan) -> list[Solid]:
    """Noses on the tongues: sloped under (it holds and prints), lead-in above."""
    if plan.params.shell.fixing != "snap":
        return []
    profile = plan.snap.profile
    return [
        kernel.turned(
            kernel.ridge(profile, -plan.snap.width / 2, plan.snap.width / 2),
            (2 * corner + 1) * 180.0 / plan.cell.sides,
        )
        for corner in plan.fixings.fixing_corners
    ]


def _windows(plan: Plan, edges: Iterable[int]) -> list[Solid]:
    """Header windows, their upper corners cut so that the wall above bridges them; open upwards
    where no wall is left. A blank cover has none.
    """
    if plan.params.board.none:
        return []
    half, cut = plan.edge.window_w / 2, plan.edge.window_chamfer
    low, shoulder, top = (
        plan.heights.axis_z - plan.edge.window_h / 2,
        plan.heights.axis_z + plan.edge.window_h / 2,
        plan.heights.window_top_z,
    )
    side = (
        [(half, low), (half, shoulder), (half - cut, top)]
        if cut > 1e-6
        else [(half, low), (half, top)]
    )
    if not plan.heights.window_closed:
        side = [(half, low), (half, plan.heights.wall_top_z + PAST)]
    shape = polygon([*side, *((-t, z) for t, z in reversed(side))])
    deep = plan.params.base.wall + 0.2
    tool = kernel.tilted(kernel.tilted(kernel.prism(shape, 0, deep), "x", 90.0), "z", 90.0)
    placed = kernel.moved(tool, plan.cell.apothem - plan.edge.wall_u - 0.1, 0.0, 0.0)
    return at_edges(plan, [placed], edges)
