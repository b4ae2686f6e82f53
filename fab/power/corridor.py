"""The free room outside an open edge: may a plug and its cable leave there, along the wall?

    |<-- free_mm -->|                 the strip is as wide as the plug and starts at the middle of
____                  ____            the open edge; the first cell that it meets ends it.
    |================|    |
a   |  strip, plug_w |  b |           An edge inside a hole of the wall is no way out however deep
____|================|____|           the hole is: no cable passes under bases flat on the wall.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Mapping, Sequence

from fab.layout.model import Layout, OpenEdge, PlacedPanel
from fab.outlines.contour import Point
from fab.params.panel import InletParams, PanelParams
from fab.power.model import EdgeRoom

TOUCH_MM = 1e-3  # cells that share a corner may come this near without being met


def plug_width(inlet: InletParams) -> float:
    """Width that plug or cable takes along the edge, mm."""
    return inlet.plug_w if inlet.kind == "usb-c" else inlet.cable_d


def edge_rooms(layout: Layout, designs: Mapping[str, PanelParams]) -> tuple[EdgeRoom, ...]:
    """The room outside every open edge, in the layout's order of open edges; of bases on feet, that
    of every edge of every panel, for the cable runs behind them; all of them are free.

    `free_mm` is exact up to twice `inlet.room` and capped there (capped edges are simply free).
    """
    reach = {name: 2 * design.inlet.room for name, design in designs.items()}
    if any(design.base.feet > 0 for design in designs.values()):
        return _behind(layout, reach)
    cells = _Cells(layout.panels)
    held = enclosed_edges(layout)
    rooms = []
    for k, edge in enumerate(layout.open_edges):
        panel = layout.by_name[edge.panel]
        width = plug_width(designs[panel.design].inlet)
        free = _free(cells, panel, edge.edge, width, reach[panel.design])
        x, y = panel.edge_middle(edge.edge)
        rooms.append(
            EdgeRoom(panel.name, edge.edge, x, y, panel.normal_deg(edge.edge), free, k in held)
        )
    return tuple(rooms)


def _behind(layout: Layout, reach: Mapping[str, float]) -> tuple[EdgeRoom, ...]:
    """Every edge of every panel, all free."""
    return tuple(
        EdgeRoom(
            panel.name,
            edge,
            *panel.edge_middle(edge),
            panel.normal_deg(edge),
            reach[panel.design],
            False,
        )
        for panel in layout.panels
        for edge in range(panel.cell.sides)
    )


def is_usable(room: EdgeRoom, inlet: InletParams) -> bool:
    """True when an inlet's cable may leave by this edge."""
    return not room.enclosed and room.free_mm >= inlet.room - TOUCH_MM


class _Cells:
    """Panels by place, so that only near ones are looked at."""

    def __init__(self, panels: Sequence[PlacedPanel]) -> None:
        self.size = 2 * max(panel.cell.circumradius for panel in panels)
        self.grid: dict[tuple[int, int], list[PlacedPanel]] = defaultdict(list)
        for panel in panels:
            self.grid[self._key(panel.x, panel.y)].append(panel)

    def _key(self, x: float, y: float) -> tuple[int, int]:
        return (math.floor(x / self.size), math.floor(y / self.size))

    def near(self, a: Point, b: Point) -> list[PlacedPanel]:
        """Panels that meet the box between two points, or lie up to a panel's size beside it."""
        (i0, i1), (j0, j1) = map(sorted, zip(self._key(*a), self._key(*b), strict=True))
        return [
            p
            for i in range(i0 - 1, i1 + 2)
            for j in range(j0 - 1, j1 + 2)
            for p in self.grid.get((i, j), ())
        ]


def _free(cells: _Cells, panel: PlacedPanel, edge: int, width: float, reach: float) -> float:
    x, y = panel.edge_middle(edge)
    angle = math.radians(panel.normal_deg(edge))
    ux, uy = math.cos(angle), math.sin(angle)
    free = reach
    for other in cells.near((x, y), (x + ux * reach, y + uy * reach)):
        if other is panel:
            continue
        local = [
            ((px - x) * ux + (py - y) * uy, (py - y) * ux - (px - x) * uy)
            for px, py in other.corners
        ]
        inside = _clip(_clip(local, width / 2 - TOUCH_MM, 1.0), width / 2 - TOUCH_MM, -1.0)
        if inside and max(s for s, _ in inside) > TOUCH_MM:
            free = min(free, max(min(s for s, _ in inside), 0.0))
    return free


def _clip(points: list[Point], most: float, sign: float) -> list[Point]:
    """The part of a convex polygon in (s, t) where sign * t <= most."""
    kept: list[Point] = []
    for k, b in enumerate(points):
        a = points[k - 1]
        fa, fb = sign * a[1] - most, sign * b[1] - most
        if (fa <= 0) != (fb <= 0):
            share = fa / (fa - fb)
            kept.append((a[0] + (b[0] - a[0]) * share, a[1] + (b[1] - a[1]) * share))
        if fb <= 0:
            kept.append(b)
    return kept


def enclosed_edges(layout: Layout) -> frozenset[int]:
    """Indices of open edges that face a hole of the wall, or lie in a hole of another group.

    Open edges are walked with the panels on the left; where four of them meet in one corner the
    walk keeps to the same void, so cells that touch by a corner close a hole. A loop that runs
    clockwise bounds a hole.
    """
    loops = _loops(layout, layout.open_edges)
    holes = [loop for loop in loops if _twice_area(loop) < 0]
    held: set[int] = set()
    for loop in loops:
        (ax, ay), (bx, by) = loop[0][1], loop[0][2]
        # a point just outside the panel, beside the loop's first edge
        length = math.dist((ax, ay), (bx, by))
        out = 1e-3 * length
        probe = ((ax + bx) / 2 + (by - ay) / length * out, (ay + by) / 2 - (bx - ax) / length * out)
        if _twice_area(loop) < 0 or any(_inside(probe, hole) for hole in holes):
            held |= {k for k, _, _ in loop}
    return frozenset(held)


Step = tuple[int, Point, Point]  # open edge's index, its start, its end


def _loops(layout: Layout, edges: Sequence[OpenEdge]) -> list[list[Step]]:
    names: dict[tuple[int, int], int] = {}
    steps: list[tuple[int, int]] = []
    ends: list[tuple[Point, Point]] = []
    size = 1e-4 * min(panel.cell.apothem for panel in layout.panels)
    for edge in edges:
        corners = layout.by_name[edge.panel].corners
        start, end = corners[edge.edge], corners[(edge.edge + 1) % len(corners)]
        ends.append((start, end))
        steps.append((_vertex(names, start, size), _vertex(names, end, size)))
    leaving: dict[int, list[int]] = defaultdict(list)
    for k, (start_id, _) in enumerate(steps):
        leaving[start_id].append(k)
    used: set[int] = set()
    loops = []
    for first in range(len(steps)):
        if first in used:
            continue
        loop, k = [], first
        while k not in used:
            used.add(k)
            loop.append((k, *ends[k]))
            back = _bearing(ends[k][1], ends[k][0])
            onward = leaving[steps[k][1]]
            k = min(onward, key=lambda j: ((_bearing(*ends[j]) - back - 1e-9) % (2 * math.pi), j))
        loops.append(loop)
    return loops


def _vertex(names: dict[tuple[int, int], int], point: Point, size: float) -> int:
    """One number for all points that fall together."""
    i, j = math.floor(point[0] / size), math.floor(point[1] / size)
    for di in (0, -1, 1):
        for dj in (0, -1, 1):
            found = names.get((i + di, j + dj))
            if found is not None:
                return found
    return names.setdefault((i, j), len(names))


def _bearing(a: Point, b: Point) -> float:
    return math.atan2(b[1] - a[1], b[0] - a[0])


def _twice_area(loop: list[Step]) -> float:
    return math.fsum(a[0] * b[1] - b[0] * a[1] for _, a, b in loop)


def _inside(point: Point, loop: list[Step]) -> bool:
    x, y = point
    odd = False
    for _, (ax, ay), (bx, by) in loop:
        if (ay > y) != (by > y) and x < ax + (y - ay) / (by - ay) * (bx - ax):
            odd = not odd
    return odd
