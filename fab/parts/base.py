"""The printed back: a tray that hangs on the wall and takes the board.

        wall_top_z   | |                         | |   base wall, inside the shell's skirt
        board_z      | |_P_                   _P_| |   posts P carry the board
        floor_z   ___| |___B_______________B_____| |___   B: clip blocks, pocket open below and above
        0         |____c___________o________________c__|   wall face; c: channel of a clip, o: keyhole

Print orientation: as drawn, floor on the bed. Panel frame of the base: edge 0 towards +X; an inlet
is at edge 0.
"""  # noqa: E501 (a drawing or a table)

from __future__ import annotations

import math
from collections.abc import Iterable
from functools import lru_cache
from typing import Any

from fab.layout.model import BaseKind
from fab.outlines.contour import Contour, Outline, Point, circle, polygon, turn
from fab.outlines.shapes import keyhole as keyhole_contour
from fab.outlines.shapes import rectangle, slot
from fab.parts.edge import at_edges, edge_box
from fab.parts.edgemark import LAYERS, edge_mark
from fab.parts.features import features
from fab.parts.feet import recess_cuts
from fab.parts.foot import footed_body
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
from fab.parts.jumper import opened
from fab.parts.keyhole import keyhole_of
from fab.parts.label import Line, label_lines, label_width, letters
from fab.parts.openings import worked
from fab.parts.plan import Plan
from fab.parts.vents import vent_slots
from fab.solids import kernel
from fab.solids.kernel import Solid
from fab.solids.stamp import raised

GROW = 0.3  # parts of one body reach into each other by this, so that they fuse
PAST = 1.0  # cuts reach past faces by this
BAY_R = 1.5  # its corners
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


def on_free_floor(plan: Plan) -> bool:
    """True when a name is all that is raised on the floor of a base, or sunk into it, beside the
    things that every base has.
    """
    return not any(item.part == "base" and item.edge is None for item in features(plan))


def name_feet(plan: Plan, kind: BaseKind) -> list[Any]:
    """The faces on which the name of a base stands on its floor; none without a name, or without
    room for it.
    """
    width, found = label_width(plan), []
    for group in letters(_name_lines(plan, kind), width):
        ((x, y), _), *_ = group
        shape = tuple(
            tuple((round(p[0] - x, 7), round(p[1] - y, 7)) for p in line) for line in group
        )
        found += [kernel.copied(face, x, y, plan.floor.top_z) for face in _letter(shape, width)]
    return found


@lru_cache(maxsize=256)
def _letter(lines: tuple[tuple[Point, ...], ...], width: float) -> tuple[Any, ...]:
    """The faces of one letter: they recur from name to name, and putting strokes together takes
    long.
    """
    return tuple(kernel.flat([slot(a, b, width) for a, b in lines], 0.0))


def name_height(plan: Plan) -> float:
    """Height of a name over the floor, mm."""
    return 3 * plan.printer.layer


def _name_lines(plan: Plan, kind: BaseKind) -> list[Line]:
    up, plan = kind.up_deg, plan.mounted(kind.steps)
    hole = keyhole_of(plan, kind)
    if up is None or hole is None or not kind.label or not plan.params.base.label:
        return []
    return label_lines(plan, kind.label, up, hole, kind.jumpers, inlet=kind.inlet)


def fused_name(plan: Plan, kind: BaseKind, solid: Solid) -> Solid:
    """A base with its name by a boolean, for a floor that is worked on or is in pieces."""
    bars = [slot(a, b, label_width(plan)) for a, b in _name_lines(plan, kind)]
    if not bars:
        return solid
    return kernel.fused(
        [solid, *kernel.prisms(bars, plan.floor.top_z - GROW, plan.floor.top_z + name_height(plan))]
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
    grown = [*_posts(plan), *(_cradle(plan) if inlet else [])]
    # what is cut out of the blank stays open
    grown = kernel.each_carved(grown, _blank_cuts(plan))
    cuts = _post_holes(plan)
    if not inlet or plan.inlet.behind:
        cuts += _windows(plan, (0,))
    if inlet:
        cuts += _bay(plan) if plan.inlet.behind else _inlet_opening(plan)
    if inlet and plan.params.inlet.kind != "round":
        cuts += _clamp_cuts(plan)
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


def _inlet_opening(plan: Plan) -> list[Solid]:
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


def _bay(plan: Plan) -> list[Solid]:
    """The opening in the floor by which plug and cable come in from behind, bases on feet."""
    start, end, half = plan.inlet.mouth_u - BAY_LIP, plan.inlet.end_u, plan.inlet.bay_half
    shape = rectangle(end - start, 2 * half, (plan.cell.apothem - (start + end) / 2, 0.0), BAY_R)
    return [kernel.prism(shape, -PAST, plan.floor.top_z + PAST)]


def _clamp_at(plan: Plan) -> Point:
    """Middle of the screw that holds the receptacle's board down."""
    u, t = plan.inlet.screw_at
    return (plan.cell.apothem - u, t)


def _clamp_cuts(plan: Plan) -> list[Solid]:
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


def _cradle(plan: Plan) -> list[Solid]:
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
        ends = [
            edge_box(plan, (rear, reach), (-half - GROW, half + GROW), (floor, grip)),
        ]
    ends.append(kernel.prism(circle(_clamp_at(plan), plan.inlet.boss_d / 2), floor, grip))
    return [
        edge_box(plan, (plan.edge.wall_u - GROW, rear), (-half, -half + 1.5), (floor, low)),
        edge_box(plan, (plan.edge.wall_u - GROW, rear), (half - 1.5, half), (floor, low)),
        edge_box(plan, (plan.edge.wall_u - GROW, reach), (-half - wall, -half), (floor, grip)),
        edge_box(plan, (plan.edge.wall_u - GROW, reach), (half, half + wall), (floor, grip)),
        *ends,
    ]
