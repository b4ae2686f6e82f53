"""The surfaces that openings and additions sit on: where they end, what is fixed on them, and flat
measures between shapes.

Shapes are faceted within 0.01 mm and measured by a general geometry library.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from fab.outlines.contour import Contour, Outline, Point, turn
from fab.outlines.facets import facets
from fab.outlines.shapes import cut_corner_points, slot
from fab.parts.features import Feature
from fab.parts.keyhole import obstacles
from fab.parts.openings import FLAT_WORK
from fab.parts.plan import Plan
from fab.parts.vents import vent_slots
from fab.units import fixed

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry
else:
    BaseGeometry = Any


@dataclass(frozen=True)
class Keep:
    """A place to keep clear of: "overlap" when a feature meets it, else a thin wall."""

    what: str
    shape: BaseGeometry
    wall: float  # material that must be left between


def surface(plan: Plan, item: Feature) -> tuple[BaseGeometry, str]:
    """The region that a feature must stay in, and the name of its boundary."""
    from shapely.geometry import Polygon, box

    if item.edge is None:
        ring = plan.rings.base_inner
        return Polygon(cut_corner_points(ring.sides, ring.apothem, ring.facet)), "the base wall"
    if item.part == "base":
        half = plan.rings.base_inner.half_edge
        # an opening may be open above
        top = plan.heights.wall_top_z + (
            2 * plan.printer.extrusion_width if not item.through else 1e3
        )
        return (
            box(-half, plan.floor.top_z - 2 * plan.printer.extrusion_width, half, top),
            "the end of the base wall",
        )
    half = plan.rings.shell_inner.half_edge
    # an opening may be open below, where the shell is printed from
    low = plan.floor.shell_z - 1e3 if item.through else plan.floor.shell_z
    high = plan.heights.ledge_foot_z if item.what not in FLAT_WORK else plan.heights.rim_z
    if item.what in FLAT_WORK:
        half = (
            plan.rings.body_apothem * math.tan(math.pi / plan.cell.sides)
            - plan.params.corner_radius
        )
    return box(-half, low, half, high), "the ledge, the corners or the rim"


def keeps(plan: Plan, item: Feature) -> list[Keep]:
    """The things fixed on the feature's surface."""
    if item.edge is None:
        return _on_floor(plan)
    if item.part == "shell" or (item.what in FLAT_WORK and item.out > 0):
        return _on_shell(plan, flat=item.what in FLAT_WORK and item.out > 0)
    return _on_base_wall(plan)


def _on_floor(plan: Plan) -> list[Keep]:
    from shapely.geometry import Point as Dot
    from shapely.geometry import Polygon

    wall = 2 * plan.printer.extrusion_width
    post, head = plan.fixings.post_d / 2, plan.params.screw_head_d / 2 + plan.fit("lap")
    found = [Keep("a standoff", Dot(at).buffer(post), 0.0) for at in plan.fixings.board_holes]
    found += [Keep("a clip pocket", Polygon(shape), wall) for shape in obstacles(plan, inlet=False)]
    found += [Keep("a shell screw", Dot(at).buffer(head), wall) for at in plan.fixings.shell_screws]
    if plan.params.base.vents:
        slots = [poly(slot(a, b, width)) for a, b, width in vent_slots(plan, None)]
        found += [Keep("an air slot", shape, wall) for shape in slots]
    half, u0, u1 = plan.clip.slot_w / 2, plan.cell.apothem - plan.clip.cavity_u, plan.cell.apothem
    for edge in range(plan.cell.sides):
        angle = 2 * math.pi * edge / plan.cell.sides
        for t in plan.clip.pockets:
            corners = ((u0, t - half), (u1, t - half), (u1, t + half), (u0, t + half))
            channel = Polygon([turn(p, angle) for p in corners])
            found.append(Keep("the channel of a clip", channel, wall))
    return found


def _on_shell(plan: Plan, *, flat: bool) -> list[Keep]:
    """`flat`: raised work, which ends at the port and may stand over the press rib."""
    from shapely.geometry import box

    wall, half = 2 * plan.printer.extrusion_width, plan.edge.port_w / 2
    low, top = plan.floor.shell_z, plan.heights.port_top_z
    if flat:
        return [Keep("the port", box(-half, low, half, top), 0.0)]
    found = [Keep("the port", box(-half, low - 1e3, half, top), wall)]
    if plan.params.switch.on:
        rib = plan.params.switch.size / 2 + 0.5 + wall
        shape = box(-rib, plan.press.rib_foot_z, rib, plan.press.rib_top_z)
        found.append(Keep("the press rib", shape, 0.0))
    return found


def _on_base_wall(plan: Plan) -> list[Keep]:
    from shapely.geometry import box

    wide, half = plan.edge.window_w / 2, plan.clip.block_w / 2
    low, top = plan.heights.axis_z - plan.edge.window_h / 2, plan.heights.wall_top_z + 1e3
    window = box(-wide, low, wide, top)
    return [
        Keep("the header window", window, 2 * plan.printer.extrusion_width),
        *(
            Keep(
                "a clip pocket", box(at - half, plan.floor.top_z, at + half, plan.clip.catch_z), 0.0
            )
            for at in plan.clip.pockets
        ),
    ]


def other(plan: Plan, other: Feature) -> Keep:
    """The room of another feature as one to keep clear of; one that goes through keeps a wall of
    two extrusion widths besides.
    """
    wall = 2 * plan.printer.extrusion_width
    return Keep(f"{other.told}", union(other.shapes), wall if other.through else 0.0)


# -- measures
# --------------------------------------------------------------------------------------------------


def same_surface(a: Feature, b: Feature) -> bool:
    """True where both features are cut into or raised from the same face of the same part."""
    return a.part == b.part and a.edge == b.edge and a.back == b.back


def loops(shape: Contour | Outline) -> tuple[Contour, ...]:
    """The closed contours of a shape, the outer one first."""
    return shape.contours if isinstance(shape, Outline) else (shape,)


def poly(shape: Contour | Outline) -> BaseGeometry:
    """The shape with facets outside true arcs: distances come out too small, never too large."""
    from shapely.geometry import Polygon

    outline = shape if isinstance(shape, Outline) else Outline(shape)
    return Polygon(
        facets(outline.edge, outside=True), [facets(hole, outside=True) for hole in outline.holes]
    )


def union(shapes: Sequence[Contour | Outline]) -> BaseGeometry:
    """The region that the shapes cover together, facets outside as in `poly`."""
    from shapely import unary_union

    return unary_union([poly(shape) for shape in shapes])


def gap(a: BaseGeometry, b: BaseGeometry) -> float:
    """Distance of two shapes; how deep they overlap, negative, when they do."""
    apart = float(a.distance(b))
    if apart > 0:
        return apart
    shared = a.intersection(b)
    x0, y0, x1, y1 = shared.bounds
    return -max(min(float(x1 - x0), float(y1 - y0)), 1e-6)


def inset(inside: BaseGeometry, shape: BaseGeometry) -> float:
    """Least distance from a shape to its region's boundary; negative when it sticks out."""
    if inside.contains(shape):
        return float(inside.exterior.distance(shape))
    out = shape.difference(inside)
    return -float(max(inside.distance(dot(point)) for point in corners(out)))


def corners(shape: BaseGeometry) -> list[Point]:
    """All corners of a region, of its holes too, in mm."""
    from shapely import get_coordinates

    return [(float(x), float(y)) for x, y in get_coordinates(shape)]


def dot(point: Point) -> BaseGeometry:
    """A point as a geometry that `gap` and `inset` take."""
    from shapely.geometry import Point as Dot

    return Dot(point)


def middle(shape: BaseGeometry) -> Point:
    """The centroid of a region; for one with a dent it may lie outside."""
    return (float(shape.centroid.x), float(shape.centroid.y))


def at(point: Point) -> str:
    """A place in words, mm to two decimals."""
    return f"{fixed(point[0], 2)}, {fixed(point[1], 2)} mm"
