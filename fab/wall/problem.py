"""One group of panels that hang together, and the rules a choice of its hangers must keep.

Rules, in the order in which they are told:

    two          at least two screws for more than one panel
    reach        no panel further from a hanger than `hang.reach` joints, and none that a clip's
                 hook alone would have
                 to keep from tipping off the wall
    centre       the centre of mass lies between the outer screws with margin; under the screw when
                 there is one; where all screws stand over each other, it lies less far aside than
                 they lie apart, so that no slot's side presses harder than the whole weight
    uplift       no screw is pulled upwards
    screw-load   shear / limit + pull / limit <= 1 / factor for every screw (linear interaction: the
                 cautious line
                 for anchors, from memory)
    joint        no clip carries more than it may

Loads are reckoned twice: of a rigid wall here, and of a frame of panels whose joints give in
`frame`; both must keep the limits, for the truth lies between them.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from fab.outlines.contour import Point, turn
from fab.wall.model import ALONE_MM, CENTRE_MARGIN_MM, Place, newtons
from fab.wall.places import lowest
from fab.wall.statics import Loads, bolt_loads, column_uneven, pull_loads, row_loads, uneven_loads
from fab.wall.to_hang import WallToHang

SLACK = 1e-9


@dataclass(frozen=True)
class HangGroup:
    """A group, its weights in the wall frame, and what its screws may do."""

    names: tuple[str, ...]
    places: tuple[Place, ...]  # one per panel, as `names`
    links: tuple[tuple[int, ...], ...]  # neighbours of each panel, by index
    weights: tuple[float, ...]  # N
    # of each panel's mass, wall frame, z from the wall
    centres: tuple[tuple[float, float, float], ...]
    tipping: tuple[float, ...]  # pull on a clip's hook when the panel has no screw of its own, N
    must: frozenset[int]
    reach: int
    shear_limit: float  # N per screw, without factor
    pull_limit: float
    factor: float
    lift_limit: float
    drill_mm: float = 0.0
    screw_n_mm: float = 200.0

    @cached_property
    def weight(self) -> float:
        """Weight of the group, N."""
        return math.fsum(self.weights)

    @cached_property
    def centre(self) -> tuple[float, float, float]:
        """Centre of mass (x, y, z), wall frame, mm; the mean of the panels' centres where nothing
        weighs.
        """
        if self.weight <= 0:
            x, y, z = (math.fsum(c[k] for c in self.centres) / len(self.centres) for k in range(3))
            return (x, y, z)
        x, y, z = (
            math.fsum(w * c[k] for w, c in zip(self.weights, self.centres, strict=True))
            / self.weight
            for k in range(3)
        )
        return (x, y, z)

    @cached_property
    def low_y(self) -> float:
        """The line that the whole group turns about when its screws give."""
        return min(place.low_y for place in self.places)

    @cached_property
    def upright(self) -> bool:
        """All screws stand over each other, as on a column of panels or on a single stud: the
        sides of the slots, not the row of screws, keep the group straight.
        """
        able = self.open_to()
        xs = [self.places[k].x for k in able if len(able) > 1] or [p.x for p in self.places]
        return len(self.names) > 1 and max(xs) - min(xs) < 2 * CENTRE_MARGIN_MM

    def as_column(self) -> HangGroup:
        """The same group with those places alone that stand over each other, nearest to the centre
        of mass: what may hang on a single stud though others could reach its far rim.
        """
        able, centre = self.open_to(), self.centre[0]
        near = min((self.places[k].x for k in able), key=lambda x: abs(x - centre), default=0.0)
        far = {k for k in able if abs(self.places[k].x - near) >= 2 * CENTRE_MARGIN_MM - 1e-6}
        places = (
            replace(p, stops=("studs",)) if k in far else p for k, p in enumerate(self.places)
        )
        return replace(self, places=tuple(places))

    def without(self, rules: frozenset[str]) -> HangGroup:
        """The same group where the `rules` forbid no place."""
        places = (
            replace(p, stops=tuple(s for s in p.stops if s not in rules)) for p in self.places
        )
        return replace(self, places=tuple(places))

    def open_to(self) -> tuple[int, ...]:
        """Panels that may have a screw."""
        return tuple(k for k, place in enumerate(self.places) if not place.stops)

    @cached_property
    def balls(self) -> tuple[tuple[int, ...], ...]:
        """For each panel, the panels whose screw would be near enough."""
        return tuple(tuple(sorted(self._ball(k))) for k in range(len(self.names)))

    def _ball(self, start: int) -> dict[int, int]:
        seen, edge = {start: 0}, [start]
        for step in range(1, self.reach + 1):
            edge = [
                n
                for k in edge
                for n in self.links[k]
                if n not in seen and not seen.update({n: step})
            ]
        return seen

    def cap(self, k: int) -> float:
        """The shear at which panel k's screw is used up, its pull by the panel's own lever
        included.
        """
        place, z = self.places[k], self.centre[2]
        arm = place.y - place.low_y
        if arm <= 0 and z > 0:
            return 0.0
        return (
            1 / self.factor / (1 / self.shear_limit + (z / arm if z > 0 else 0.0) / self.pull_limit)
        )

    @cached_property
    def own_screw(self) -> frozenset[int]:
        """Panels that a hook alone would have to keep from tipping off the wall."""
        return frozenset(k for k, pull in enumerate(self.tipping) if pull > self.lift_limit + SLACK)


def groups_of(known: WallToHang, places: Sequence[Place]) -> tuple[HangGroup, ...]:
    """The layout's groups with their weights, in the layout's order."""
    layout, hang, wall, joint = known.layout, known.hang, known.wall, known.joint
    by_place = {place.panel: place for place in places}
    found = []
    for names in layout.groups:
        index = {name: k for k, name in enumerate(names)}
        weights, centres = [], []
        for name in names:
            mass, panel = known.masses[name], layout.by_name[name]
            x, y = panel.to_wall((mass.x, mass.y))
            weights.append(newtons(mass.grams))
            centres.append((x, y, mass.z + known.plan_of(name).params.base.feet))
        tipping = [
            tipping_pull(known, name, w, c[2])
            for name, w, c in zip(names, weights, centres, strict=True)
        ]
        links = tuple(
            tuple(index[other] for _, other, _ in layout.neighbours[name]) for name in names
        )
        found.append(
            HangGroup(
                names,
                tuple(by_place[name] for name in names),
                links,
                tuple(weights),
                tuple(centres),
                tuple(tipping),
                frozenset(index[name] for name in hang.must if name in index),
                hang.reach,
                wall.shear_n,
                wall.pull_n,
                hang.factor,
                joint.lift_n,
                hang.drill_mm,
                joint.screw_n_mm,
            )
        )
    return tuple(found)


def tipping_pull(known: WallToHang, name: str, weight_n: float, z: float) -> float:
    """Pull on each hook of the highest joint when a panel without a screw leans off the wall: W z /
    arm / hooks there.

    The panel turns about its lowest corner, or its lowest foot; the arm reaches up to its highest
    clips. Infinite without a joint.
    """
    panel, plan = known.layout.by_name[name], known.plan_of(name)
    low = lowest(panel, plan)
    inset = plan.cell.apothem - plan.clip.leg_in_u
    arm, hooks = 0.0, 1
    for edge, _, _ in known.layout.neighbours[name]:
        spots = [
            panel.to_wall(turn((inset, at), 2 * math.pi * edge / panel.cell.sides))[1] - low
            for at in plan.clip.places
        ]
        for height in spots:
            if height > arm + 1e-6:
                arm, hooks = height, 1
            elif height > arm - 1e-6:
                hooks += 1
    return weight_n * z / arm / hooks if arm > 0 else math.inf


@dataclass(frozen=True)
class State:
    """A group on chosen screws: loads in the order of the choice, and the rules it breaks."""

    chosen: tuple[int, ...]
    loads: Loads
    pulls: tuple[float, ...]
    use: float  # busiest screw: share of its limit that is used, factor included; 1 is all
    margin: float
    tilt_deg: float
    broken: tuple[str, ...]
    # along the wall, the most that each screw carries when one hole is off
    uneven: tuple[float, ...] = ()


def state(group: HangGroup, chosen: Sequence[int]) -> State:
    """Loads of a non-empty choice and every cheap rule that it breaks."""
    spots = [group.places[k] for k in chosen]
    points = [(p.x, p.y) for p in spots]
    z_c = group.centre[2]
    broken = []
    if len(group.names) > 1 and len(chosen) < 2:
        broken.append("two")
    picked = set(chosen)
    if any(not picked.intersection(ball) for ball in group.balls) or not group.own_screw <= picked:
        broken.append("reach")
    loads, margin, tilt = _in_the_wall(group, points)
    if margin < _margin_asked(group, chosen) - SLACK:
        broken.append("centre")
    if loads is None:  # nothing holds the moment: `centre` is broken
        loads = Loads((group.weight / len(chosen),) * len(chosen), (0.0,) * len(chosen))
    if any(up < -SLACK * max(group.weight, 1.0) for up in loads.up):
        broken.append("uplift")
    whole = pull_loads([p.y - group.low_y for p in spots], group.weight, z_c)
    own = [
        max(up, 0.0) * z_c / (p.y - p.low_y) if p.y > p.low_y else math.inf
        for up, p in zip(loads.up, spots, strict=True)
    ]
    pulls = tuple(max(a, b) for a, b in zip(whole, own, strict=True))
    uneven = loads.shear
    if group.upright:
        most_up = column_uneven(len(chosen), group.weight, group.screw_n_mm, group.drill_mm)
        uneven = tuple(
            math.hypot(max(up, most_up), side)
            for up, side in zip(loads.up, loads.side, strict=True)
        )
    elif "uplift" not in broken and "centre" not in broken:
        xs = [x for x, _ in points]
        most = uneven_loads(xs, group.weight, group.centre[0], group.screw_n_mm, group.drill_mm)
        uneven = tuple(map(max, uneven, most))
    use = max(
        group.factor * (shear / group.shear_limit + pull / group.pull_limit)
        for shear, pull in zip(uneven, pulls, strict=True)
    )
    if use > 1 + SLACK:
        broken.append("screw-load")
    return State(tuple(chosen), loads, pulls, use, margin, tilt, tuple(broken), uneven)


def _in_the_wall(group: HangGroup, points: Sequence[Point]) -> tuple[Loads | None, float, float]:
    """Loads, margin of the centre of mass, tilt."""
    x_c, y_c, _ = group.centre
    xs = [x for x, _ in points]
    if len(points) == 1:
        over = points[0][1] - y_c
        tilt = math.degrees(math.atan2(abs(x_c - xs[0]), over)) if over > 0 else 180.0
        return Loads((group.weight,), (0.0,)), over, tilt
    if group.upright:
        ys = [y for _, y in points]
        off = max(abs(x - x_c) for x in xs)
        return bolt_loads(points, group.weight, x_c), max(ys) - min(ys) - off, 0.0
    return row_loads(xs, group.weight, x_c), min(x_c - min(xs), max(xs) - x_c), 0.0


def _margin_asked(group: HangGroup, chosen: Sequence[int]) -> float:
    """One screw: above the centre of mass at all; else the margin to both outer screws."""
    return ALONE_MM if len(chosen) == 1 else CENTRE_MARGIN_MM
