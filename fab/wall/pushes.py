"""Putting panels together face down on a table by straight pushes.

A push moves one piece of the wall against another along a joint's normal and mates every joint
between the two whose normal it is. A few panels get the best order there is (`best_order`); for
more, panels are joined along one direction first, then along the next, and every order of
directions is tried.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from itertools import islice, permutations

from fab.layout.model import Joint, Layout, PlacedPanel
from fab.wall.best_order import MOST_PANELS, Facing, best_merges

TRIES = 24  # orders of the directions that are tried


@dataclass(frozen=True)
class Push:
    """One piece is pushed against another, face down on the table; directions are those of the
    front view.
    """

    moving: tuple[str, ...]
    onto: tuple[str, ...]
    # None: no straight push is free; the piece is laid in from above, without a header
    heading_deg: float | None
    joints: tuple[int, ...]  # headers that mate, by index of the layout's joints


@dataclass(frozen=True)
class Planned:
    """Pushes, and how good they are."""

    pushes: tuple[Push, ...]
    # no other order joins more boards, mates more of the wanted joints, or more joints
    proven: bool


def best_pushes(
    layout: Layout,
    pieces: Sequence[Sequence[str]],
    reach: float,
    wishes: Collection[int],
    seams: Collection[int],
    bare: Collection[int] = (),
) -> Planned:
    """Return the pushes that put every piece together: fewest merges without a header, then most
    `wishes` mated, then most joints.

    `bare`: joints that take no header, though a push may go along them. Exact for pieces of at most
    `MOST_PANELS` panels; larger ones get the best of `TRIES` orders of the joints' directions.
    """
    ways = Ways(layout, reach)
    found: list[Push] = []
    proven = True
    for piece in pieces:
        pushes = _by_directions(layout, piece, ways, wishes, seams, bare)
        inside = set(piece)
        live = {
            k
            for k, joint in enumerate(layout.joints)
            if k not in seams and k not in bare and joint.a in inside and joint.b in inside
        }
        if len(live) > sum(len(push.joints) for push in pushes):
            if len(piece) <= MOST_PANELS:
                pushes = _exact(layout, piece, ways, wishes, seams, bare)
            else:
                proven = False
        found += pushes
    return Planned(tuple(found), proven)


def _by_directions(
    layout: Layout,
    piece: Sequence[str],
    ways: Ways,
    wishes: Collection[int],
    seams: Collection[int],
    bare: Collection[int],
) -> list[Push]:
    """The best of the orders of the joints' directions."""
    inside = set(piece)
    joints = [
        k
        for k, joint in enumerate(layout.joints)
        if k not in seams and {joint.a, joint.b} <= inside
    ]
    best: list[Push] = []
    score: tuple[int, int, int] | None = None
    for order in islice(permutations(sorted({line_of(layout.joints[k]) for k in joints})), TRIES):
        pushes = _pushed(layout, joints, order, ways, bare)
        mated = [k for push in pushes for k in push.joints]
        loose = sum(1 for push in pushes if not push.joints)
        now = (-loose, len(set(wishes).intersection(mated)), len(mated))
        if score is None or now > score:
            best, score = pushes, now
        if len(mated) == len(joints):
            break
    return best


def _exact(
    layout: Layout,
    piece: Sequence[str],
    ways: Ways,
    wishes: Collection[int],
    seams: Collection[int],
    bare: Collection[int],
) -> list[Push]:
    """The best order there is, for a few panels."""
    wide = {panel.name: k for k, panel in enumerate(layout.panels)}
    inside = sorted(piece, key=wide.__getitem__)
    at = {name: k for k, name in enumerate(inside)}
    facings, shared = [], []
    for k, joint in enumerate(layout.joints):
        if k in seams or joint.a not in at or joint.b not in at:
            continue
        shared.append(k)
        for one, other, shift in ((joint.a, joint.b, 0.0), (joint.b, joint.a, 180.0)):
            heading = round((joint.normal_deg + shift) % 360.0, 4) % 360.0
            facings.append(Facing(at[one], heading, at[other], k not in bare, k in wishes))
    near = [
        [at[layout.panels[n].name] for n in ways.near[wide[name]] if layout.panels[n].name in at]
        for name in inside
    ]
    boards = sum(1 << at[name] for name in inside if name not in _covers(layout, bare))
    merges = best_merges(
        len(inside),
        facings,
        lambda m, s, heading: ways.hits(wide[inside[m]], wide[inside[s]], heading),
        near,
        boards,
    )
    found = []
    for merge in merges:
        moving, still = (
            [wide[inside[p]] for p in range(len(inside)) if side >> p & 1] for side in merge[:2]
        )
        way = merge.heading
        if len(moving) > len(still):  # the smaller part moves
            moving, still = still, moving
            way = None if way is None else (way + 180.0) % 360.0
        names = [{layout.panels[n].name for n in side} for side in (moving, still)]
        between = {
            k
            for k in shared
            if (layout.joints[k].a in names[0] and layout.joints[k].b in names[1])
            or (layout.joints[k].a in names[1] and layout.joints[k].b in names[0])
        }
        found.append(_push(layout, way, (still, moving), between, bare))
    return found


def _covers(layout: Layout, bare: Collection[int]) -> set[str]:
    """Panels all of whose joints take no header: they have no board, or nothing beside them has
    one.
    """
    count: dict[str, int] = defaultdict(int)
    for k, joint in enumerate(layout.joints):
        for name in (joint.a, joint.b):
            count[name] += k not in bare
    return {name for name, live in count.items() if not live}


def line_of(joint: Joint) -> float:
    """Direction of a joint's normal without its sign, rounded so that parallel joints agree."""
    return round(joint.normal_deg % 180.0, 4) % 180.0


def _pushed(
    layout: Layout, joints: Sequence[int], order: Sequence[float], ways: Ways, bare: Collection[int]
) -> list[Push]:
    """Join along the first direction all that can be, then along the second ..., then what is left
    however it goes.
    """
    index = {panel.name: k for k, panel in enumerate(layout.panels)}
    group = list(range(len(layout.panels)))
    members = {k: [k] for k in group}
    between: dict[int, set[int]] = defaultdict(set)  # joints that touch a group
    for k in joints:
        between[index[layout.joints[k].a]].add(k)
        between[index[layout.joints[k].b]].add(k)
    pushes: list[Push] = []
    for stage in (*order, None, "any"):
        progress = True
        while progress:
            progress = False
            for k in joints:
                joint = layout.joints[k]
                a, b = group[index[joint.a]], group[index[joint.b]]
                if a == b or (isinstance(stage, float) and line_of(joint) != stage):
                    continue
                if len(members[b]) > len(members[a]):
                    a, b = b, a  # the smaller piece moves
                heading = (
                    joint.normal_deg + (180.0 if group[index[joint.b]] == b else 0.0)
                ) % 360.0
                free = ways.free(members[b], group, a, heading)
                if not free and stage != "any":
                    continue
                between_both = between[a] & between[b]
                pushes.append(
                    _push(
                        layout,
                        heading if free else None,
                        (members[a], members[b]),
                        between_both,
                        bare,
                    )
                )
                for panel in members[b]:
                    group[panel] = a
                members[a] += members.pop(b)
                between[a] ^= between.pop(b)  # joints between the two are inside now
                progress = True
            if isinstance(stage, float):
                break
    return pushes


def _push(
    layout: Layout,
    heading: float | None,
    pieces: tuple[list[int], list[int]],
    shared: set[int],
    bare: Collection[int],
) -> Push:
    """The second piece onto the first; joints of `shared` with that normal mate, but those that are
    bare.
    """
    still, moving = pieces
    inside = {layout.panels[n].name for n in moving}
    names = tuple(layout.panels[n].name for n in sorted(moving))
    onto = tuple(layout.panels[n].name for n in sorted(still))
    mated = []
    if heading is not None:
        for other in sorted(shared.difference(bare)):
            joint = layout.joints[other]
            there = (joint.normal_deg + (180.0 if joint.b in inside else 0.0)) % 360.0
            if abs((there - heading + 180.0) % 360.0 - 180.0) < 1e-4:
                mated.append(other)
    return Push(names, onto, heading, tuple(mated))


class Ways:
    """True when a panel that comes in along a straight way runs into another one. Remembered per
    pair and direction.
    """

    def __init__(self, layout: Layout, reach: float) -> None:
        self.panels, self.reach = layout.panels, reach
        self.near: list[list[int]] = [[] for _ in layout.panels]
        for i, j in near_pairs(layout.panels, reach):
            self.near[i].append(j)
            self.near[j].append(i)
        self.known: dict[tuple[int, int, float], bool] = {}
        self.alike: dict[tuple[object, ...], bool] = {}  # most pairs lie to each other as others do

    def free(
        self, moving: Sequence[int], group: Sequence[int], still: int, heading_deg: float
    ) -> bool:
        """True when all `moving` panels may come the last `reach` mm along `heading_deg` to those
        whose group is `still`.
        """
        heading = round(heading_deg, 4)
        return all(
            not self.hits(m, s, heading) for m in moving for s in self.near[m] if group[s] == still
        )

    def hits(self, moving: int, still: int, heading_deg: float) -> bool:
        """True when `moving` touches `still` on its last `reach` mm along `heading_deg`.

        Answers are kept by relative place, because most pairs of a lattice lie alike.
        """
        key = (moving, still, heading_deg)
        if key not in self.known:
            a, b = self.panels[moving], self.panels[still]
            like = (
                a.cell,
                a.turn_deg,
                b.cell,
                b.turn_deg,
                round(b.x - a.x, 6),
                round(b.y - a.y, 6),
                heading_deg,
            )
            if like not in self.alike:
                angle = math.radians(heading_deg)
                back = (-self.reach * math.cos(angle), -self.reach * math.sin(angle))
                self.alike[like] = swept_overlap(a, b, back)
            self.known[key] = self.alike[like]
        return self.known[key]


def swept_overlap(moving: PlacedPanel, still: PlacedPanel, shift: tuple[float, float]) -> bool:
    """True when a convex panel on its way from `shift` away to its place overlaps another.
    Separating axes, exact.
    """
    tolerance = 1e-6 * min(moving.cell.apothem, still.cell.apothem)
    angles = [
        math.radians(p.normal_deg(edge)) for p in (moving, still) for edge in range(p.cell.sides)
    ]
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
    """Pairs (i, j), i < j, of panels that could touch within `reach` mm: their centres are nearer
    than two circumradii and `reach`. Found on a grid of that size, in linear time.
    """
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
