"""Openings and additions of a design: do they stay clear of what base and shell need, and leave walls that print?

Flat on each surface, by a general geometry library: shapes are faceted within 0.01 mm, so gaps are good to that.
Whether light gets out through an opening is for `light.leak`, which looks at the solids.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from fab.checks import room
from fab.checks.model import Verdict, at_least
from fab.checks.remedy import in_full
from fab.errors import BrokenGeometry
from fab.layout.model import BaseKind
from fab.outlines.contour import Contour, Outline, Point, turn
from fab.outlines.crossings import crossing
from fab.outlines.facets import facets
from fab.outlines.shapes import cut_corner_points, slot
from fab.parts.features import Feature, features
from fab.parts.given import base_is_worked, shell_is_worked
from fab.parts.keyhole import keyhole_for, obstacles
from fab.parts.openings import FLAT_WORK
from fab.parts.plan import Plan
from fab.parts.vents import vent_slots
from fab.units import fixed

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry
else:
    BaseGeometry = Any

PRACTICE = "common practice, no source: two printed lines make a wall"
CLEAR_MM = 0.5  # additions keep this from parts that come later


@dataclass(frozen=True)
class Keep:
    """A place on a surface to keep clear of: "overlap" is told when a feature meets it, a thin wall when it is near."""

    what: str
    shape: BaseGeometry
    wall: float  # material that must be left between


def opening_checks(design: str, plan: Plan, kinds: Sequence[BaseKind] = ()) -> tuple[Verdict, ...]:
    """Verdicts `openings.*` of one design; none without openings and additions.

    `kinds`: the bases that the layout asks for; their keyholes and inlets must stay clear too.
    """
    if not base_is_worked(plan.params) and not shell_is_worked(plan.params):
        return ()
    subject = "panel" if design in ("", "panel") else f"panel {design}"
    try:
        items = features(plan)
    except BrokenGeometry as error:
        return (at_least("openings.shape", subject, 0, 1, "", f"an opening or addition has no shape: {error}"),)
    verdicts = list(_shapes(design, subject, items))
    if any(verdict.verdict == "fail" for verdict in verdicts):
        return tuple(verdicts)
    for item in items:
        others = [other for other in items if other is not item and _same_surface(item, other)]
        verdicts += _clear(design, subject, plan, item, others)
    verdicts += [verdict for kind in kinds for verdict in _kind(design, subject, plan, items, kind)]
    verdicts += _turns(design, subject, plan, kinds)
    return tuple(verdicts)


def _shapes(design: str, subject: str, items: Sequence[Feature]) -> Iterator[Verdict]:
    """Polygons that do not cross themselves."""
    for item in items:
        hit = next((found for shape in item.shapes if (found := crossing(_loops(shape))) is not None), None)
        if hit is not None or not item.shapes:
            where = f"crosses itself at {_at(hit[1])}" if hit is not None else "has no shape"
            says = f"{item.told} {where}"
            yield at_least("openings.shape", subject, 0, 1, "", says, remedy=f"Mend panel.{item.key}.")


def _clear(design: str, subject: str, plan: Plan, item: Feature, others: Sequence[Feature]) -> Iterator[Verdict]:
    """Inside its surface, clear of everything fixed there and of the other features."""
    key = in_full(design, item.key, plan)
    shape = _union(item.shapes)
    inside, edge_says = _surface(plan, item)
    room_left = _inset(inside, shape)
    wall = 2 * plan.printer.extrusion_width if item.out <= 0 or item.through else 0.0
    place = _middle(shape)
    says = f"{item.told} at {_at(place)} leaves {fixed(room_left)} mm to {edge_says}"
    yield at_least("openings.inside", subject, room_left, wall, "mm", says, source=PRACTICE, tolerance=0.01,
                   remedy=f"Move {key} {fixed(wall - room_left, 2)} mm inwards, or make it smaller.")  # fmt: skip
    keeps = [*_keeps(plan, item), *(_other(plan, other) for other in others)]
    gap, keep = min(
        ((_gap(shape, keep.shape) - keep.wall, keep) for keep in keeps), key=lambda row: row[0], default=(0.0, None)
    )
    if keep is not None:
        left = gap + keep.wall
        told = f"overlaps {keep.what} by {fixed(-left)} mm" if left < 0 else f"leaves {fixed(left)} mm to {keep.what}"
        yield at_least("openings.clear", subject, left, keep.wall, "mm", f"{item.told} at {_at(place)} {told}",
                       source=PRACTICE, tolerance=0.01, remedy=f"Move {key} {fixed(max(-gap, 0.0), 2)} mm away from "
                                                               "it.")  # fmt: skip
    yield from _reach(subject, plan, item, key, shape)


def _reach(subject: str, plan: Plan, item: Feature, key: str, shape: BaseGeometry) -> Iterator[Verdict]:
    """How far an addition may stand out before it meets the board, and how deep letters may go."""
    place = _at(_middle(shape))
    if item.through:
        return
    if item.what in FLAT_WORK and item.out < 0:
        thick = plan.floor_z if item.edge is None else plan.params.shell.wall
        left = thick + item.out
        yield at_least("openings.letters-depth", subject, left, 2 * plan.printer.layer if item.edge is None else 2 * plan.printer.extrusion_width,
                       "mm", f"behind the sunk {item.told} at {place} there are {fixed(left)} mm", source=PRACTICE,
                       remedy=f"Make {key}.depth smaller.")  # fmt: skip
        return
    if item.edge is None:
        under = _under_board(plan, shape)
        left = under - plan.floor_z - item.out
        yield at_least("openings.height", subject, left, CLEAR_MM, "mm", f"between {item.told} at {place} and the "
                                                                         f"board there are {fixed(left)} mm",
                       remedy=f"Make {key}.height {fixed(CLEAR_MM - left, 2)} mm smaller.")  # fmt: skip
    elif item.what not in FLAT_WORK:
        left = _beside_board(plan, item, shape)
        yield at_least("openings.height", subject, left, CLEAR_MM, "mm", f"between {item.told} at {place} and the "
                                                                         "board or base wall there are "
                                                                         f"{fixed(left)} mm",
                       remedy=f"Make {key}.height smaller, or move it away from the board.")  # fmt: skip


def _under_board(plan: Plan, shape: BaseGeometry) -> float:
    """Lowest thing over a place of the floor."""
    from shapely.geometry import Polygon

    from fab.parts.board_source import board_layout

    layout, low = board_layout(plan), plan.board_z
    for part in (*layout.sockets, *layout.parts) if layout is not None else ():
        if (
            part.side != "front"
            and min(part.width, part.depth) > 0
            and Polygon(part.corners).distance(shape) < CLEAR_MM
        ):
            low = min(low, plan.board_z - part.height)
    return low if layout is not None else plan.ledge_foot_z


def _beside_board(plan: Plan, item: Feature, shape: BaseGeometry) -> float:
    """Room between an addition on a wall and what comes down beside it."""
    _, z0, _, z1 = shape.bounds
    slope = item.out / math.tan(math.radians(plan.printer.overhang_deg))
    if item.part == "shell":
        return min(z0 - slope - plan.wall_top_z - plan.press_room, plan.ledge_foot_z - z1 + CLEAR_MM)
    if plan.params.board.none or z1 < plan.board_z - CLEAR_MM:
        return plan.board_z - z1
    return plan.params.board.fit - item.out


def _surface(plan: Plan, item: Feature) -> tuple[BaseGeometry, str]:
    """The region that a feature must stay in, and the name of its boundary."""
    from shapely.geometry import Polygon, box

    if item.edge is None:
        ring = plan.base_inner
        return Polygon(cut_corner_points(ring.sides, ring.apothem, ring.facet)), "the base wall"
    if item.part == "base":
        half = plan.base_inner.half_edge
        top = plan.wall_top_z + (
            2 * plan.printer.extrusion_width if not item.through else 1e3
        )  # an opening may be open above
        return box(-half, plan.floor_z - 2 * plan.printer.extrusion_width, half, top), "the end of the base wall"
    half = plan.shell_inner.half_edge
    low = (
        plan.shell_z - 1e3 if item.through else plan.shell_z
    )  # an opening may be open below, where the shell is printed from
    high = plan.ledge_foot_z if item.what not in FLAT_WORK else plan.rim_z
    if item.what in FLAT_WORK:
        half = plan.body_apothem * math.tan(math.pi / plan.cell.sides) - plan.params.corner_radius
    return box(-half, low, half, high), "the ledge, the corners or the rim"


def _keeps(plan: Plan, item: Feature) -> list[Keep]:
    """What is fixed on the feature's surface."""
    from shapely.geometry import Point as Dot
    from shapely.geometry import Polygon, box

    wall = 2 * plan.printer.extrusion_width
    if item.edge is None:
        keeps = [Keep("a standoff", Dot(hole).buffer(plan.post_d / 2), 0.0) for hole in plan.board_holes]
        keeps += [Keep("a clip pocket", Polygon(shape), wall) for shape in obstacles(plan, False)]
        head = plan.params.screw_head_d / 2 + plan.fit("lap")
        keeps += [Keep("a shell screw", Dot(screw).buffer(head), wall) for screw in plan.shell_screws]
        if plan.params.base.vents:
            keeps += [Keep("an air slot", _poly(slot(a, b, width)), wall) for a, b, width in vent_slots(plan, None)]
        half = plan.clip_slot_w / 2
        for edge in range(plan.cell.sides):
            for side in (-1, 1):
                t = side * plan.clip_offset
                u = plan.cell.apothem - plan.clip_cavity_u
                corners = ((u, t - half), (plan.cell.apothem, t - half), (plan.cell.apothem, t + half), (u, t + half))
                angle = 2 * math.pi * edge / plan.cell.sides
                keeps.append(Keep("the channel of a clip", Polygon([turn(p, angle) for p in corners]), wall))
        return keeps
    if item.what in FLAT_WORK and item.out > 0:
        return [Keep("the port", box(-plan.port_w / 2, plan.shell_z, plan.port_w / 2, plan.port_top_z), 0.0)]
    if item.part == "shell":
        keeps = [Keep("the port", box(-plan.port_w / 2, plan.shell_z - 1e3, plan.port_w / 2, plan.port_top_z), wall)]
        if plan.params.switch.on:
            half = plan.params.switch.size / 2 + 0.5 + wall
            keeps.append(Keep("the press rib", box(-half, plan.rib_foot_z, half, plan.rib_top_z), 0.0))
        return keeps
    half = plan.clip_block_w / 2
    keeps = [
        Keep(
            "the header window",
            box(-plan.window_w / 2, plan.axis_z - plan.window_h / 2, plan.window_w / 2, plan.wall_top_z + 1e3),
            wall,
        )
    ]
    keeps += [
        Keep("a clip pocket", box(at - half, plan.floor_z, at + half, plan.clip_catch_z), 0.0)
        for at in (-plan.clip_offset, plan.clip_offset)
    ]
    return keeps


def _other(plan: Plan, other: Feature) -> Keep:
    wall = 2 * plan.printer.extrusion_width
    return Keep(f"{other.told}", _union(other.shapes), wall if other.through else 0.0)


def _kind(design: str, subject: str, plan: Plan, items: Sequence[Feature], kind: BaseKind) -> Iterator[Verdict]:
    """Keyhole, screw and inlet of one kind of base against what is on its floor and at its edge 0."""
    from shapely.geometry import Polygon, box

    wall = 2 * plan.printer.extrusion_width
    floor: list[Keep] = []
    inlet: list[Keep] = []
    hole = keyhole_for(plan, kind.up_deg, kind.inlet) if kind.up_deg is not None else None
    if hole is not None:
        floor.append(Keep("the keyhole", _poly(hole.contour), wall))
        sweep = slot(hole.entry, hole.rest, plan.params.hanger.head_d)
        floor.append(Keep("the way of the wall screw's head", _poly(sweep), CLEAR_MM))
    if kind.inlet:
        floor.append(Keep("the inlet", Polygon(obstacles(plan, True)[-1]), 0.0))
        half = max(plan.params.inlet.plug_w, plan.params.inlet.shell_w, plan.params.inlet.cable_d) / 2
        inlet.append(Keep("the inlet", box(-half, plan.floor_z, half, plan.inlet_z + room.inlet_half(plan)), wall))
    for item in items:
        if item.part != "base" and not kind.inlet:
            continue
        placed = item.turned_back(kind.steps, plan.cell.sides)
        keeps = floor if placed.edge is None else inlet if placed.edge == 0 else []
        shape = _union(placed.shapes)
        for keep in keeps:
            left = _gap(shape, keep.shape)
            told = (
                f"overlaps {keep.what} by {fixed(-left)} mm" if left < 0 else f"leaves {fixed(left)} mm to {keep.what}"
            )
            yield at_least("openings.kind", f"{subject} base {kind.key}", left, keep.wall, "mm",
                           f"{item.told} {told}", source=PRACTICE, tolerance=0.01,
                           remedy=f"Move {in_full(design, item.key, plan)} {fixed(max(keep.wall - left, 0.0), 2)} mm "
                                  "away, or give hanger or inlet to another panel.")  # fmt: skip


def _turns(design: str, subject: str, plan: Plan, kinds: Sequence[BaseKind]) -> Iterator[Verdict]:
    """A shell with openings keeps its place while its base turns with the inlet: its fixings must meet all the same."""
    if not shell_is_worked(plan.params):
        return
    n, corners = plan.cell.sides, set(plan.fixing_corners)
    for kind in kinds:
        met = {(corner + kind.steps) % n for corner in corners}
        says = (
            f"{len(met & corners)} of {len(corners)} fixings of the shell meet those of a base that is mounted "
            f"{kind.steps} edges round"
        )
        yield at_least("openings.turned", f"{subject} base {kind.key}", len(met & corners), len(corners), "", says,
                       remedy=f"Set {in_full(design, 'shell.screws', plan)} = {n}.")  # fmt: skip


# -- measures ------------------------------------------------------------------------------------------------------


def _same_surface(a: Feature, b: Feature) -> bool:
    return a.part == b.part and a.edge == b.edge and a.back == b.back


def _loops(shape: Contour | Outline) -> tuple[Contour, ...]:
    return shape.contours if isinstance(shape, Outline) else (shape,)


def _poly(shape: Contour | Outline) -> BaseGeometry:
    from shapely.geometry import Polygon

    outline = shape if isinstance(shape, Outline) else Outline(shape)
    return Polygon(facets(outline.edge, outside=True), [facets(hole, outside=True) for hole in outline.holes])


def _union(shapes: Sequence[Contour | Outline]) -> BaseGeometry:
    from shapely import unary_union

    return unary_union([_poly(shape) for shape in shapes])


def _gap(a: BaseGeometry, b: BaseGeometry) -> float:
    """Distance of two shapes; how deep they overlap, negative, when they do."""
    apart = float(a.distance(b))
    if apart > 0:
        return apart
    shared = a.intersection(b)
    x0, y0, x1, y1 = shared.bounds
    return -max(min(x1 - x0, y1 - y0), 1e-6)


def _inset(inside: BaseGeometry, shape: BaseGeometry) -> float:
    """Least distance from a shape to the boundary of the region round it; negative when it sticks out."""
    if inside.contains(shape):
        return float(inside.exterior.distance(shape))
    out = shape.difference(inside)
    return -float(max(inside.distance(_dot(point)) for point in _corners(out)))


def _corners(shape: BaseGeometry) -> list[Point]:
    from shapely import get_coordinates

    return [(float(x), float(y)) for x, y in get_coordinates(shape)]


def _dot(point: Point) -> BaseGeometry:
    from shapely.geometry import Point as Dot

    return Dot(point)


def _middle(shape: BaseGeometry) -> Point:
    return (float(shape.centroid.x), float(shape.centroid.y))


def _at(point: Point) -> str:
    return f"{fixed(point[0], 2)}, {fixed(point[1], 2)} mm"
