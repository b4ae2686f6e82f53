"""The keyhole that a base hangs by: where its entry and its rest lie.

Worked out once, free of the CAD kernel.

Base frame, looked at from the front, `up` = the wall's up:

            __
           (  )   rest: the shank's centre when the panel hangs, `height` over the panel's centre
           |  |   slot_w
          /    \\
         (      ) entry, `travel` below the rest: the head passes here
          \\____/

The screw's head runs inside the base, above the floor, along the whole travel; everything that
stands on the floor keeps clear of it.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from fab.layout.model import BaseKind
from fab.outlines.contour import Contour, Point, turn
from fab.outlines.shapes import cut_corner_points
from fab.outlines.shapes import keyhole as keyhole_contour
from fab.parts.footsizes import FOOT_R, recesses
from fab.parts.jumpersizes import rim_corners
from fab.parts.plan import Plan

HEAD_ROOM_MM = 0.5  # kept free around head and entry; common practice, no source
CRADLE_SIDE_MM = 2.5  # the inlet's cradle is wider than its board by this, per side
CRADLE_END_MM = 3.0  # and longer by this
CLEAR_MM = 1e-6  # more than rounding moves a point
STEP_MM = 0.1  # the rest's height is rounded down to this: a number that a maker can measure

Interval = tuple[float, float]


@dataclass(frozen=True)
class Keyhole:
    """Entry and slot in the base frame, mm."""

    entry: Point
    rest: Point
    entry_d: float
    slot_w: float

    @property
    def contour(self) -> Contour:
        """The opening in the floor."""
        return keyhole_contour(self.entry, self.rest, self.entry_d, self.slot_w)

    @property
    def travel(self) -> float:
        """Way of the screw from entry to rest, mm."""
        return math.dist(self.entry, self.rest)


def slot_width(plan: Plan) -> float:
    """Width of the slot: shank and clearance."""
    return plan.params.hanger.screw_d + 2 * plan.fit("hanger")


def entry_diameter(plan: Plan) -> float:
    """Diameter of the entry: head, clearance, and room to find it blind."""
    return plan.params.hanger.head_d + 2 * plan.fit("hanger") + 0.5


def keyhole_of(plan: Plan, kind: BaseKind) -> Keyhole | None:
    """The keyhole of a kind of base; None without a hanger, or without room for it."""
    if kind.up_deg is None:
        return None
    mounted = plan.mounted(kind.steps)
    return keyhole_for(
        mounted, kind.up_deg, kind.jumpers, kind.aside_mm, kind.rest_mm, inlet=kind.inlet
    )


def keyhole_for(
    plan: Plan,
    up_deg: float,
    jumpers: Sequence[int] = (),
    aside_mm: float = 0.0,
    rest_mm: float | None = None,
    *,
    inlet: bool,
) -> Keyhole | None:
    """The keyhole of a base whose wall-up is `up_deg` in the base frame; None when there is no room
    for it.

    The rest lies on the upright line `aside_mm` to the right of the panel's centre, as high as head
    and travel are clear of the floor's features, or at `rest_mm`, or at `hanger.offset`; `jumpers`
    are the edges of the base with an opening. `plan` is mounted as the base is: the post of the
    mark stands aside of a corner.
    """
    spans = rest_spans(plan, up_deg, jumpers, aside_mm, inlet=inlet)
    offset = plan.params.hanger.offset if rest_mm is None else rest_mm
    if offset is not None:
        if not any(low - 1e-9 <= offset <= high + 1e-9 for low, high in spans):
            return None
        height = offset
    else:
        if not spans:
            return None
        low, high = spans[-1]
        height = max(math.floor(high / STEP_MM + 1e-6) * STEP_MM, low)
    angle = math.radians(up_deg)
    below = height - plan.params.hanger.travel
    entry, rest = (turn((along, -aside_mm), angle) for along in (below, height))
    return Keyhole(entry, rest, entry_diameter(plan), slot_width(plan))


def rest_spans(
    plan: Plan, up_deg: float, jumpers: Sequence[int] = (), aside_mm: float = 0.0, *, inlet: bool
) -> tuple[Interval, ...]:
    """All heights over the panel's centre at which the rest may lie, as closed intervals from low
    to high.
    """
    # exactly alike in every whole-edge turn
    if not inlet and not jumpers and not plan.fixings.board_holes:
        pitch = 360.0 / plan.cell.sides
        up_deg = round(up_deg % pitch, 9) % pitch
    angle = math.radians(up_deg)
    travel = plan.params.hanger.travel
    head = plan.params.hanger.head_d / 2 + HEAD_ROOM_MM
    entry = entry_diameter(plan) / 2 + HEAD_ROOM_MM
    standing = obstacles(plan, jumpers, inlet=inlet)
    for_head = _free(plan, angle, standing, head, aside_mm)
    for_entry = _free(plan, angle, standing, entry, aside_mm)
    spans = []
    for low, high in for_head:
        for entry_low, entry_high in for_entry:
            span = (max(low, entry_low) + travel, min(high, entry_high + travel))
            if span[0] <= span[1]:
                spans.append(span)
    return tuple(sorted(spans))


def obstacles(
    plan: Plan, jumpers: Sequence[int] = (), *, inlet: bool
) -> tuple[tuple[Point, ...], ...]:
    """Convex polygons, base frame, of everything that stands on the floor inside the base wall but
    the board's posts.

    Clip blocks on every edge, sockets that hang lower than the head is high, the rims of the
    openings for jumpers, and the inlet at edge 0.
    """
    sides, inner = plan.cell.sides, plan.rings.base_inner.apothem
    depth = plan.clip.block_depth
    half = plan.clip.block_w / 2
    boxes = [(inner - depth, at - half, inner, at + half) for at in plan.clip.pockets]
    head_top = plan.floor.top_z + plan.params.hanger.head_h + 1.0
    if plan.heights.board_z - plan.params.header.socket_height < head_top:
        reach = plan.params.board.fit + plan.params.header.socket_depth
        boxes.append((inner - reach, -plan.edge.window_w / 2, inner, plan.edge.window_w / 2))
    angles = [2 * math.pi * edge / sides for edge in range(sides)]
    found = [
        tuple(turn(point, angle) for point in _corners(*box)) for angle in angles for box in boxes
    ]
    found += [rim_corners(plan, edge) for edge in jumpers]
    return (*found, *inlet_shapes(plan)) if inlet else tuple(found)


def inlet_shapes(plan: Plan) -> tuple[tuple[Point, ...], ...]:
    """Return what the inlet at edge 0 takes of the floor: its cradle, with feet the opening before
    it and the boss beside it.
    """
    wide = max(plan.params.inlet.board_w, plan.params.inlet.cable_d) / 2 + CRADLE_SIDE_MM
    behind = max(plan.edge.wall_u + plan.params.inlet.board_l + CRADLE_END_MM, plan.inlet.end_u)
    wide = max(wide, plan.inlet.bay_half) if plan.inlet.behind else wide
    a, inner = plan.cell.apothem, plan.rings.base_inner.apothem
    cradle = _corners(a - behind, -wide, inner, wide)
    if not plan.inlet.behind or plan.params.inlet.kind == "round":
        return (cradle,)
    u, t = plan.inlet.screw_at
    radius = max(plan.inlet.boss_d, plan.inlet.washer_d) / 2 / math.cos(math.pi / 8)
    spokes = [(k + 0.5) * math.pi / 4 for k in range(8)]
    boss = tuple((a - u + radius * math.cos(s), t + radius * math.sin(s)) for s in spokes)
    return (cradle, boss)


def _corners(x0: float, y0: float, x1: float, y1: float) -> tuple[Point, ...]:
    return ((x0, y0), (x1, y0), (x1, y1), (x0, y1))


def _free(
    plan: Plan, angle: float, standing: Sequence[Sequence[Point]], radius: float, aside_mm: float
) -> list[Interval]:
    """Distances along the line at `angle`, `aside_mm` to the right of the centre, at which a disc
    of `radius` may stand. All is moved so that the line runs through the origin.
    """
    dx, dy = turn((0.0, aside_mm), angle)

    def moved(points: Sequence[Point]) -> list[Point]:
        return [(x + dx, y + dy) for x, y in points]

    inner = plan.rings.base_inner
    ring = moved(cut_corner_points(plan.cell.sides, inner.apothem, inner.facet))
    inside = _clip(ring, angle, -radius)
    if inside is None:
        return []
    blocked: list[Interval] = []
    for hole in moved(plan.fixings.board_holes):
        span = _through_disc(hole, plan.fixings.post_d / 2 + radius, angle)
        if span:
            blocked.append(span)
    for spot in moved(recesses(plan)):
        span = _through_disc(spot, FOOT_R + radius, angle)
        if span:
            blocked.append(span)
    for shape in standing:
        span = _through_grown(moved(shape), radius, angle)
        if span:
            blocked.append(span)
    free, low = [], inside[0]
    for start, end in sorted(blocked):
        if start >= inside[1]:
            break
        if start >= low:
            free.append((low, start))
        low = max(low, end)
    if low <= inside[1]:
        free.append((low, inside[1]))
    return free


def _edges(points: Sequence[Point]) -> Iterator[tuple[Point, Point]]:
    return ((here, points[(k + 1) % len(points)]) for k, here in enumerate(points))


def _clip(points: Sequence[Point], angle: float, grown: float) -> Interval | None:
    """Part of the line inside an anticlockwise convex polygon whose edges are moved outwards by
    `grown`.
    """
    ux, uy = math.cos(angle), math.sin(angle)
    low, high = -math.inf, math.inf
    for (ax, ay), (bx, by) in _edges(points):
        length = math.hypot(bx - ax, by - ay)
        nx, ny = (by - ay) / length, (ax - bx) / length  # outwards
        room = ax * nx + ay * ny + grown
        slope = ux * nx + uy * ny
        if abs(slope) < 1e-12:
            if room < 0:
                return None
        elif slope > 0:
            high = min(high, room / slope)
        else:
            low = max(low, room / slope)
    return (low, high) if low <= high else None


def _through_disc(centre: Point, radius: float, angle: float) -> Interval | None:
    along = centre[0] * math.cos(angle) + centre[1] * math.sin(angle)
    square = radius**2 - (math.hypot(*centre) ** 2 - along**2)
    if square <= 0:
        return None
    return (along - math.sqrt(square), along + math.sqrt(square))


def _through_grown(points: Sequence[Point], radius: float, angle: float) -> Interval | None:
    """Part of the line inside a convex polygon grown by a disc: a convex shape, so one interval.

    The grown shape is the polygon, a rectangle on every edge and a disc on every corner.
    """
    ux, uy = math.cos(angle), math.sin(angle)
    beside = [ux * y - uy * x for x, y in points]
    if min(beside) > radius + CLEAR_MM or max(beside) < -radius - CLEAR_MM:
        return None  # most of what stands on a floor lies beside the line as a whole
    spans = [_clip(points, angle, 0.0)]
    for (ax, ay), (bx, by) in _edges(points):
        length = math.hypot(bx - ax, by - ay)
        nx, ny = (by - ay) / length * radius, (ax - bx) / length * radius
        spans.append(
            _clip([(ax, ay), (ax + nx, ay + ny), (bx + nx, by + ny), (bx, by)], angle, 0.0)
        )
        spans.append(_through_disc((ax, ay), radius, angle))
    real = [span for span in spans if span]
    return (min(low for low, _ in real), max(high for _, high in real)) if real else None
