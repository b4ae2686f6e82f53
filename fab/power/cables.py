"""The supply cables on the wall: which way, about how long, how many clips, which fuse."""

from __future__ import annotations

import heapq
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from fab.layout.model import Layout
from fab.outlines.contour import Point
from fab.params.job import PowerParams
from fab.params.panel import PanelParams
from fab.power.model import Wired

CLIP_EVERY_MM = 250.0  # cable clips along the wall; common practice, no source
# Rated currents of the R10 series that fuses come in (IEC 60127), from memory.
FUSES_A = (
    0.5,
    0.63,
    0.8,
    1.0,
    1.25,
    1.6,
    2.0,
    2.5,
    3.15,
    4.0,
    5.0,
    6.3,
    8.0,
    10.0,
    12.5,
    16.0,
    20.0,
    25.0,
    32.0,
    40.0,
    50.0,
    63.0,
    80.0,
    100.0,
    125.0,
)
# a cable keeps this far off panels that it passes, at least; so it never takes the seam of a joint
OFF_MM = 4.0
# Share of the grid's step that keeps a diagonal step off the corner of a panel: with both ends d
# outside the faces, no chord under 2 d / cos(a / 2) reaches a corner of angle a; a step is at most
# sqrt(2) steps, and a at least 60 degrees.
OFF_STEP = math.sqrt(2) / 2 * math.cos(math.radians(30)) + 0.01
POST_OFF_MM = 0.5  # a cable keeps this off feet and screws
MOST_NODES = 40_000  # of the grid on which the cable finds its way
_EIGHT_WAYS = ((1, 0), (0, 1), (-1, 0), (0, -1), (1, 1), (-1, 1), (-1, -1), (1, -1))
WINDS = (
    "right",
    "up and right",
    "up",
    "up and left",
    "left",
    "down and left",
    "down",
    "down and right",
)


@dataclass(frozen=True)
class CableRun:
    """One zone's cable on the wall, from the inlet to its socket or the picture's edge."""

    zone: int
    panel: str
    x: float  # where it leaves the panel
    y: float
    leaves_deg: float
    leaves: str  # the same in words, as seen from the front
    socket: int | None  # number of the socket, from 1; None: no socket is given
    # along the wall, about; to the socket, or until the panels are behind it; None: no way out
    length_mm: float | None
    way: tuple[Point, ...]  # the same as a line, for the plan
    clips: int
    current_a: float
    fuse_a: float | None  # None: no usual fuse lies between what is drawn and what the supply gives


@dataclass(frozen=True)
class Behind:
    """The room behind bases on feet: obstacles of the cables, and where each leaves its base."""

    posts: tuple[tuple[Point, float], ...]  # middle and radius of every foot and screw, wall frame
    starts: Mapping[str, Point]  # by panel
    cable_d: float


def cable_runs(
    layout: Layout,
    wired: Wired,
    power: PowerParams,
    designs: Mapping[str, PanelParams],
    behind: Behind | None = None,
) -> tuple[CableRun, ...]:
    """One run per zone.

    The way keeps off the panels; it is found on a grid, its length is right to about a tenth.

    `behind`: the bases stand on feet, and the way runs behind them, between feet and screws.
    """
    ground = _Ground(layout, power.socket, behind)
    ends = list(power.socket)
    found = []
    for zone in wired.zones:
        room = zone.inlet.room
        angle = math.radians(room.facing_deg)
        reach = min(room.free_mm, designs[layout.by_name[room.panel].design].inlet.room) * 0.9
        out = (room.x + math.cos(angle) * reach, room.y + math.sin(angle) * reach)
        if behind is not None:
            out = behind.starts[room.panel]
        way, socket = ground.way(out, ends)
        whole = (way if behind is not None else ((room.x, room.y), *way)) if way else ()
        length = math.fsum(math.dist(a, b) for a, b in pairwise(whole)) if way else None
        clips = math.ceil((length or 0.0) / CLIP_EVERY_MM)
        found.append(
            CableRun(
                zone.index,
                room.panel,
                *(out if behind is not None else (room.x, room.y)),
                room.facing_deg,
                "behind the panels" if behind is not None else wind(room.facing_deg),
                socket,
                length,
                whole,
                clips,
                zone.current_a,
                fuse_for(zone.current_a, power.supply_a),
            )
        )
    return tuple(found)


def fuse_for(draws_a: float, supply_a: float) -> float | None:
    """Return the least usual fuse over the draw and under the supply; None: there is none.

    A fuse at or above what the supply can give does not open: the supply has to limit its current
    then.
    """
    return next(
        (rated for rated in FUSES_A if draws_a < rated - 1e-9 and rated < supply_a - 1e-9), None
    )


def wind(angle_deg: float) -> str:
    """One of eight directions in words, as seen from the front."""
    return WINDS[round(angle_deg / 45.0) % 8]


class _Ground:
    """The wall around the panels as a grid; nodes inside a panel are shut."""

    def __init__(
        self, layout: Layout, sockets: Sequence[Point], behind: Behind | None = None
    ) -> None:
        x0, y0, x1, y1 = layout.box
        least = min(panel.cell.apothem for panel in layout.panels)
        pad = 2 * least
        xs, ys = [x0, x1, *(s[0] for s in sockets)], [y0, y1, *(s[1] for s in sockets)]
        self.box = (x0, y0, x1, y1)
        self.x0, self.y0 = min(xs) - pad, min(ys) - pad
        wide, high = max(xs) + pad - self.x0, max(ys) + pad - self.y0
        self.step = max(least / (5 if behind is None else 10), math.sqrt(wide * high / MOST_NODES))
        self.off = OFF_MM if self.step > least / 4 else max(OFF_MM, OFF_STEP * self.step)
        self.nx, self.ny = math.ceil(wide / self.step) + 1, math.ceil(high / self.step) + 1
        self.shut = self._shut(layout) if behind is None else self._standing(behind)
        self.fields: dict[int | None, tuple[dict[int, float], dict[int, int]]] = {}

    def point(self, node: int) -> Point:
        return (self.x0 + node % self.nx * self.step, self.y0 + node // self.nx * self.step)

    def _shut(self, layout: Layout) -> set[int]:
        shut: set[int] = set()
        for panel in layout.panels:
            cell, r = panel.cell, panel.cell.circumradius + 2 * self.off
            normals = [math.radians(panel.normal_deg(edge)) for edge in range(cell.sides)]
            i, j = (
                np.arange(self._index(at - r, origin), self._index(at + r, origin) + 2)
                for at, origin in ((panel.x, self.x0), (panel.y, self.y0))
            )
            x = (self.x0 + i * self.step - panel.x)[:, None]
            y = (self.y0 + j * self.step - panel.y)[None, :]
            faces = [x * math.cos(a) + y * math.sin(a) for a in normals]
            inside = np.maximum.reduce(faces) < cell.apothem + self.off
            shut.update((j[None, :] * self.nx + i[:, None])[inside].tolist())
        return shut

    def _standing(self, behind: Behind) -> set[int]:
        """Nodes so near a foot or screw that a straight step between open nodes misses it."""
        shut: set[int] = set()
        for (px, py), radius in behind.posts:
            r = math.hypot(radius + behind.cable_d / 2 + POST_OFF_MM, self.step * math.sqrt(2) / 2)
            for i in range(self._index(px - r, self.x0), self._index(px + r, self.x0) + 2):
                for j in range(self._index(py - r, self.y0), self._index(py + r, self.y0) + 2):
                    if math.dist((self.x0 + i * self.step, self.y0 + j * self.step), (px, py)) < r:
                        shut.add(j * self.nx + i)
        return shut

    def _index(self, value: float, origin: float) -> int:
        return math.floor((value - origin) / self.step)

    def nearest(self, point: Point) -> int:
        """The nearest open node."""
        i, j = self._index(point[0], self.x0), self._index(point[1], self.y0)
        for reach in range(2, 12):
            near = [
                b * self.nx + a
                for a in range(max(i - reach, 0), min(i + reach + 2, self.nx))
                for b in range(max(j - reach, 0), min(j + reach + 2, self.ny))
            ]
            able = [node for node in near if node not in self.shut]
            if able:
                return min(
                    able, key=lambda node: (round(math.dist(self.point(node), point), 6), node)
                )
        return j * self.nx + i

    def way(self, start: Point, sockets: Sequence[Point]) -> tuple[tuple[Point, ...], int | None]:
        """The shortest way to a socket, or out of the box where none is; empty when shut in."""
        node = self.nearest(start)
        best: tuple[float, int | None] | None = None
        for k in range(len(sockets)) if sockets else (None,):
            far, _ = self._field(k, sockets)
            if node in far and (best is None or far[node] < best[0] - 1e-9):
                best = (far[node], k)
        if best is None:
            return (), None
        key = best[1]
        _, onward = self._field(key, sockets)
        nodes = [node]
        while onward[nodes[-1]] != nodes[-1]:
            nodes.append(onward[nodes[-1]])
        # the first node lies beside the start, perhaps behind it: where it is free, the line goes
        # straight on
        if len(nodes) > 2 and self._clear(start, self.point(nodes[1])):
            nodes = nodes[1:]
        points = [start, *(self.point(n) for n in nodes)]
        if key is not None:
            points.append(sockets[key])
        return _straightened(points), None if key is None else key + 1

    def _clear(self, a: Point, b: Point) -> bool:
        """True when the straight line is free, as far as the grid can tell."""
        for k in range(1, 8):
            x, y = a[0] + (b[0] - a[0]) * k / 8, a[1] + (b[1] - a[1]) * k / 8
            i, j = round((x - self.x0) / self.step), round((y - self.y0) / self.step)
            if j * self.nx + i in self.shut:
                return False
        return True

    def _field(
        self, key: int | None, sockets: Sequence[Point]
    ) -> tuple[dict[int, float], dict[int, int]]:
        """Each open node's distance from a socket (or from outside), and the next node there."""
        if key in self.fields:
            return self.fields[key]
        x0, y0, x1, y1 = self.box
        if key is None:
            open_nodes = (node for node in range(self.nx * self.ny) if node not in self.shut)
            places = ((node, self.point(node)) for node in open_nodes)
            starts = {node: 0.0 for node, (x, y) in places if not (x0 <= x <= x1 and y0 <= y <= y1)}
        else:
            node = self.nearest(sockets[key])
            starts = {node: math.dist(self.point(node), sockets[key])}
        far: dict[int, float] = dict(starts)
        onward = {node: node for node in starts}
        heap = [(value, node) for node, value in starts.items()]
        heapq.heapify(heap)
        steps = [(di, dj, self.step * math.hypot(di, dj)) for di, dj in _EIGHT_WAYS]
        while heap:
            value, node = heapq.heappop(heap)
            if value > far[node]:
                continue
            row, column = divmod(node, self.nx)
            for di, dj, long in steps:
                a, b = column + di, row + dj
                there = b * self.nx + a
                longer = value + long
                # what is known to be nearer costs least to see: most nodes are met from all sides
                if longer >= far.get(there, math.inf) - 1e-9 or there in self.shut:
                    continue
                if 0 <= a < self.nx and 0 <= b < self.ny:
                    far[there], onward[there] = longer, node
                    heapq.heappush(heap, (longer, there))
        self.fields[key] = (far, onward)
        return self.fields[key]


def _straightened(points: Sequence[Point]) -> tuple[Point, ...]:
    """Without the points in the middle of a straight stretch."""
    kept = [points[0]]
    for k in range(1, len(points) - 1):
        (ax, ay), (bx, by), (cx, cy) = kept[-1], points[k], points[k + 1]
        if abs((bx - ax) * (cy - by) - (by - ay) * (cx - bx)) > 1e-6:
            kept.append(points[k])
    kept.append(points[-1])
    return tuple(kept)
