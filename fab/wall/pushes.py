"""Putting panels together face down on a table by straight pushes.

A push moves one piece of the wall against another along a joint's normal and mates every joint between the two whose
normal it is. Joining along one direction first, then along the next, mates most; every order of directions is tried.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import islice, permutations

from fab.layout.model import Joint, Layout, PlacedPanel

TRIES = 24  # orders of the directions that are tried


@dataclass(frozen=True)
class Push:
    """One piece is pushed against another, face down on the table; directions are those of the front view."""

    moving: tuple[str, ...]
    onto: tuple[str, ...]
    heading_deg: float | None  # None: no straight push is free; the piece is laid in from above, without a header
    joints: tuple[int, ...]  # headers that mate, by index of the layout's joints


def best_pushes(
    layout: Layout, pieces: Sequence[Sequence[str]], reach: float, wishes: set[int], seams: set[int]
) -> list[Push]:
    """Pushes by every order of the joints' directions, the best of all tried."""
    near = _Ways(layout, reach)
    directions = sorted({line_of(joint) for k, joint in enumerate(layout.joints) if k not in seams})
    best: list[Push] | None = None
    score = (-1, -1)
    for order in islice(permutations(directions), TRIES):
        pushes = _pushed(layout, pieces, order, near, seams)
        mated = [k for push in pushes for k in push.joints]
        now = (len(wishes.intersection(mated)), len(mated))
        if now > score:
            best, score = pushes, now
    return best or []


def line_of(joint: Joint) -> float:
    """Direction of a joint's normal without its sign, rounded so that parallel joints agree."""
    return round(joint.normal_deg % 180.0, 4) % 180.0


def _pushed(
    layout: Layout, pieces: Sequence[Sequence[str]], order: Sequence[float], ways: _Ways, seams: set[int]
) -> list[Push]:
    """Join along the first direction all that can be, then along the second ..., then what is left however it goes."""
    index = {panel.name: k for k, panel in enumerate(layout.panels)}
    group = list(range(len(layout.panels)))
    members = {k: [k] for k in group}
    between: dict[int, set[int]] = defaultdict(set)  # joints that touch a group
    for k, joint in enumerate(layout.joints):
        if k not in seams:
            between[index[joint.a]].add(k)
            between[index[joint.b]].add(k)
    pushes: list[Push] = []
    for stage in (*order, None, "any"):
        progress = True
        while progress:
            progress = False
            for k, joint in enumerate(layout.joints):
                a, b = group[index[joint.a]], group[index[joint.b]]
                if k in seams or a == b or (isinstance(stage, float) and line_of(joint) != stage):
                    continue
                if len(members[b]) > len(members[a]):
                    a, b = b, a  # the smaller piece moves
                heading = (joint.normal_deg + (180.0 if group[index[joint.b]] == b else 0.0)) % 360.0
                free = ways.free(members[b], group, a, heading)
                if not free and stage != "any":
                    continue
                push = _push(layout, heading if free else None, (members[a], members[b]), between[a] & between[b])
                pushes.append(push)
                for panel in members[b]:
                    group[panel] = a
                members[a] += members.pop(b)
                between[a] ^= between.pop(b)  # joints between the two are inside now
                progress = True
            if isinstance(stage, float):
                break
    return pushes


def _push(layout: Layout, heading: float | None, pieces: tuple[list[int], list[int]], shared: set[int]) -> Push:
    """The second piece onto the first; joints of `shared` with that normal mate."""
    still, moving = pieces
    inside = {layout.panels[n].name for n in moving}
    names = tuple(layout.panels[n].name for n in sorted(moving))
    onto = tuple(layout.panels[n].name for n in sorted(still))
    mated = []
    if heading is not None:
        for other in sorted(shared):
            joint = layout.joints[other]
            there = (joint.normal_deg + (180.0 if joint.b in inside else 0.0)) % 360.0
            if abs((there - heading + 180.0) % 360.0 - 180.0) < 1e-4:
                mated.append(other)
    return Push(names, onto, heading, tuple(mated))


class _Ways:
    """Does a panel that comes in along a straight way run into another one? Remembered per pair and direction."""

    def __init__(self, layout: Layout, reach: float) -> None:
        self.panels, self.reach = layout.panels, reach
        self.near: list[list[int]] = [[] for _ in layout.panels]
        for i, j in near_pairs(layout.panels, reach):
            self.near[i].append(j)
            self.near[j].append(i)
        self.known: dict[tuple[int, int, float], bool] = {}
        self.alike: dict[tuple[object, ...], bool] = {}  # most pairs lie to each other as others do

    def free(self, moving: Sequence[int], group: Sequence[int], still: int, heading_deg: float) -> bool:
        """May all `moving` panels come the last `reach` mm along `heading_deg` to those whose group is `still`?"""
        heading = round(heading_deg, 4)
        return all(not self._hits(m, s, heading) for m in moving for s in self.near[m] if group[s] == still)

    def _hits(self, moving: int, still: int, heading_deg: float) -> bool:
        key = (moving, still, heading_deg)
        if key not in self.known:
            a, b = self.panels[moving], self.panels[still]
            like = (a.cell, a.turn_deg, b.cell, b.turn_deg, round(b.x - a.x, 6), round(b.y - a.y, 6), heading_deg)
            if like not in self.alike:
                angle = math.radians(heading_deg)
                back = (-self.reach * math.cos(angle), -self.reach * math.sin(angle))
                self.alike[like] = swept_overlap(a, b, back)
            self.known[key] = self.alike[like]
        return self.known[key]


def swept_overlap(moving: PlacedPanel, still: PlacedPanel, shift: tuple[float, float]) -> bool:
    """Does a convex panel on its way from `shift` away to its place overlap another one? Separating axes, exact."""
    tolerance = 1e-6 * min(moving.cell.apothem, still.cell.apothem)
    angles = [math.radians(p.normal_deg(edge)) for p in (moving, still) for edge in range(p.cell.sides)]
    angles.append(math.atan2(shift[1], shift[0]) + math.pi / 2)
    for angle in angles:
        nx, ny = math.cos(angle), math.sin(angle)
        here = [x * nx + y * ny for x, y in moving.corners]
        there = [x * nx + y * ny for x, y in still.corners]
        along = shift[0] * nx + shift[1] * ny
        low, high = min(here) + min(along, 0.0), max(here) + max(along, 0.0)
        if high <= min(there) + tolerance or max(there) <= low + tolerance:
            return False
    return True


def near_pairs(panels: Sequence[PlacedPanel], reach: float) -> Iterator[tuple[int, int]]:
    size = 2 * max(panel.cell.circumradius for panel in panels) + reach
    grid: dict[tuple[int, int], list[int]] = defaultdict(list)
    for k, panel in enumerate(panels):
        grid[(math.floor(panel.x / size), math.floor(panel.y / size))].append(k)
    for k, panel in enumerate(panels):
        i, j = math.floor(panel.x / size), math.floor(panel.y / size)
        for di in (-1, 0, 1):
            for dj in (-1, 0, 1):
                for n in grid.get((i + di, j + dj), ()):
                    if k < n and math.dist((panel.x, panel.y), (panels[n].x, panels[n].y)) < size:
                        yield k, n
