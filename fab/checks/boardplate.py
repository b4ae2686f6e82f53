"""The plate of a board in its base: outline against the wall, mounting holes over the standoffs.

Gaps between a board's edge and the base are exact on true arcs: the base is convex inside, so the
least gap is found against each of its sides in turn.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from fab.checks.boardmodel import (
    DRAWN_MM,
    LARGER,
    RING_MM,
    Finding,
    at,
    inwards,
    named,
    no_less,
    no_more,
    off_part,
)
from fab.checks.remedy import Turn
from fab.outlines.contour import Arc, Contour, Point
from fab.outlines.crossings import crossing, inside
from fab.outlines.curves import contour_of
from fab.outlines.distance import distance_mm
from fab.outlines.shapes import cut_corner_points
from fab.parts import spaces
from fab.parts.apart import point_to_box
from fab.parts.board_source import SAME_HOLE_MM, BoardItem, BoardLayout, edge_of, seen_from_edge
from fab.parts.plan import Plan
from fab.parts.rings import Ring
from fab.units import fixed


def simple(plan: Plan, layout: BoardLayout) -> Finding:
    """The outline crosses neither itself nor its holes."""
    hit = crossing(layout.outline.contours)
    where = f" at {at(hit[1])}" if hit else ""
    out = next(
        (
            hole
            for hole in layout.outline.holes
            if not inside(layout.outline.edge, hole.segments[0].start)
        ),
        None,
    )
    if out is not None and not where:
        where = f": a hole lies outside it at {at(out.segments[0].start)}"
    says = (
        f"The board's outline crosses itself or a hole{where}."
        if where
        else "The board's outline and its holes do not cross."
    )
    return Finding(
        "board.closed", no_less(0 if where else 1, 1, ""), says, "Repair the file there.", source=""
    )


def outline(plan: Plan, layout: BoardLayout) -> Finding:
    """Gap between the board's edge and the inside of the base wall."""
    gap, point, where = least_gap(plan.rings.base_inner, layout.outline.edge)
    least = plan.params.board.fit
    says = (
        f"Gap, board edge to base wall: {fixed(gap)} mm (minimum {fixed(least)} mm), at {where},"
        f" {at(point)}."
    )
    hint = f"Or make the board {fixed(math.ceil((least - gap) * 100) / 100)} mm smaller there."
    return Finding(
        "board.outline",
        no_less(gap, least, slack=DRAWN_MM),
        says,
        hint,
        (LARGER, Turn("base.wall", -0.05)),
    )


def least_gap(ring: Ring, contour: Contour) -> tuple[float, Point, str]:
    """Least distance from a contour to the sides of a ring round it, the point, and the side: "edge
    2" or "corner 3".

    Negative where the contour sticks out.
    """
    half, best = math.pi / ring.sides, (math.inf, (0.0, 0.0), "")
    sides = [(2 * k * half, ring.apothem, f"edge {k}") for k in range(ring.sides)]
    if ring.half_facet > 0:
        sides += [((2 * k + 1) * half, ring.facet, f"corner {k}") for k in range(ring.sides)]
    for angle, far, name in sides:
        nx, ny = math.cos(angle), math.sin(angle)
        reach, point = _furthest(contour, nx, ny)
        if far - reach < best[0] - 1e-9:
            best = (far - reach, point, name)
    return best


def _furthest(contour: Contour, nx: float, ny: float) -> tuple[float, Point]:
    """The furthest that a contour reaches in a direction, and the place."""
    points = [seg.start for seg in contour.segments]
    for seg in contour.segments:
        if isinstance(seg, Arc):
            top = (seg.centre[0] + nx * seg.radius_mm, seg.centre[1] + ny * seg.radius_mm)
            sx, sy = seg.start[0] - seg.centre[0], seg.start[1] - seg.centre[1]
            turned = math.atan2(sx * ny - sy * nx, sx * nx + sy * ny) * math.copysign(
                1.0, seg.sweep_rad
            )
            if turned % (2 * math.pi) <= abs(seg.sweep_rad):
                points.append(top)
    best = max(points, key=lambda p: p[0] * nx + p[1] * ny)
    return best[0] * nx + best[1] * ny, best


def _drawn(plan: Plan, holes: Sequence[BoardItem]) -> Iterator[Finding]:
    """Holes of the list against those of the drawing, where one of them at least is in both."""
    circles = [
        found[0]
        for curve in plan.params.board.outline[1:]
        if (found := contour_of(curve).circle()) is not None
    ]
    off = (
        [(min(math.dist(hole.at, centre) for centre in circles), hole) for hole in holes]
        if circles
        else []
    )
    if not any(gap <= SAME_HOLE_MM for gap, _ in off):
        return  # drilled by the list alone
    gap, hole = max(off, key=lambda item: item[0])
    yield Finding(
        "board.hole-drawn",
        no_more(gap, SAME_HOLE_MM),
        f"Distance from the mounting hole of the list at {at(hole.at)} to the nearest hole of the"
        f" drawing: {fixed(gap)} mm.",
        "Make the list and the drawing agree on that hole.",
    )


def mounting(plan: Plan, layout: BoardLayout) -> Iterator[Finding]:
    """Mounting holes over the standoffs of the base."""
    holes, params = layout.holes, plan.params
    yield Finding(
        "board.holes",
        no_less(len(holes), 2, ""),
        f"Mounting holes of the board: {len(holes)}.",
        "List them in the positions file, or set board.hole to their diameter.",
    )
    if not holes:
        return
    yield from _drawn(plan, holes)
    least, hole = min(
        ((hole.width - params.screw_d, hole) for hole in holes), key=lambda item: item[0]
    )
    yield Finding(
        "board.hole-screw",
        no_less(least, 0.1),
        f"Play of a {fixed(params.screw_d)} mm screw in the {fixed(hole.width)} mm hole at"
        f" {at(hole.at)}: {fixed(least)} mm.",
        "",
        (Turn("screw_d", -0.1),),
        source="ISO 273 fine: M3 3.2",
    )
    least, hole = min(
        ((plan.fixings.post_d - hole.width, hole) for hole in holes), key=lambda item: item[0]
    )
    yield Finding(
        "board.hole-rim",
        no_less(least, RING_MM),
        f"The {fixed(plan.fixings.post_d)} mm standoff is {fixed(least)} mm wider than the"
        f" {fixed(hole.width)} mm hole on it, at {at(hole.at)}.",
        f"Make the hole {fixed(plan.fixings.post_d - RING_MM)} mm or less.",
        (Turn("pilot_d", 0.1),),
    )
    least, hole = min(((_to_edge(layout, hole), hole) for hole in holes), key=lambda item: item[0])
    yield Finding(
        "board.hole-edge",
        no_less(least, RING_MM),
        f"Gap, mounting hole to board edge or to another hole: {fixed(least)} mm, at"
        f" {at(hole.at)}.",
        "Move the hole towards the board's centre.",
    )
    pilot = params.insert_d if params.base.board_fixing == "insert" else params.pilot_d
    ring = plan.rings.base_outer
    sides = cut_corner_points(ring.sides, ring.apothem, ring.facet)
    least, hole = min(
        ((-point_to_box(hole.at, sides) - pilot / 2, hole) for hole in holes),
        key=lambda item: item[0],
    )
    yield Finding(
        "board.hole-wall",
        no_less(least, 2 * plan.printer.extrusion_width),
        f"Gap, pilot hole of a standoff to the outside of the base wall: {fixed(least)} mm, at"
        f" {at(hole.at)}.",
        "Move the hole towards the board's centre.",
        (LARGER,),
    )
    least, hole, what = min(
        (_post_room(plan, layout, hole) for hole in holes), key=lambda item: item[0]
    )
    yield Finding(
        "board.hole-standoff",
        no_less(least, 0.0),
        f"Gap, standoff to {what}: {fixed(least)} mm, at {at(hole.at)}.",
        f"Move the hole {fixed(max(-least, 0.0))} mm or more away.",
        (LARGER, Turn("clip.width", -0.5)),
    )


def _to_edge(layout: BoardLayout, hole: BoardItem) -> float:
    """From the rim of a mounting hole to the next cut of the board; negative when it is outside."""
    outline = layout.outline
    gaps = [inwards(outline.edge, hole.at)]
    for other in outline.holes:
        whole = other.circle()
        if whole is not None and math.dist(whole[0], hole.at) < hole.width / 2:
            continue  # the hole itself
        gaps.append(distance_mm(other, hole.at))
    return min(gaps) - hole.width / 2


def _post_room(plan: Plan, layout: BoardLayout, hole: BoardItem) -> tuple[float, BoardItem, str]:
    """From the post under a hole to the nearest thing beside it."""
    box = spaces.clip_cavity(plan)
    gaps = []
    for edge in range(plan.cell.sides):
        u, t = seen_from_edge(plan, hole.at, edge)
        gaps.append((spaces.to_box((u, abs(t)), box), f"the clip pocket of edge {edge}"))
    for part in (*layout.sockets, *layout.parts):
        if part.side == "back" and min(part.width, part.depth) > 0:
            what = (
                f"the socket of edge {edge_of(plan, part.at)}"
                if part.kind == "socket"
                else named(part)
            )
            gaps.append((off_part(part, hole.at), what))
    gaps += [
        (math.dist(hole.at, other.at) - plan.fixings.post_d / 2, "the next standoff")
        for other in layout.holes
        if other is not hole
    ]
    gap, what = min(gaps, key=lambda item: item[0])
    return gap - plan.fixings.post_d / 2, hole, what
