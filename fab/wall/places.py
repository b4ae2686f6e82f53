"""Possible places of screws, and what forbids them there."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import cache, partial

from fab.errors import Fault, InputError
from fab.layout.model import Layout, PlacedPanel
from fab.outlines.contour import Point, turn
from fab.params.job import HangParams
from fab.params.shop import WallType
from fab.parts.footsizes import feet_at
from fab.parts.keyhole import Interval, Keyhole, keyhole_for, rest_spans
from fab.parts.plan import Plan
from fab.wall.model import Place
from fab.wall.to_hang import MountedBase, WallToHang, mounted_base

MOST_SHIFTS = 100  # of those that bring a stud under a keyhole, the smallest
SHIFT_MM = 10.0  # step in which studs are moved to see whether that helps
ASIDE_MM = 5.0  # step in which a keyhole is tried aside
ROOM_MM = 1.0
ASIDE_HELPS = frozenset(("zones", "studs", "rails", "room"))

Room = tuple[float, Interval]  # an x, and the lowest and highest y there


@dataclass(frozen=True)
class Wish:
    """A preference for some places of screws, of all places that are allowed."""

    at: Callable[[PlacedPanel, float], float]  # how little a screw of a panel is liked at an x
    low: Callable[[PlacedPanel], bool] = lambda _: False  # as low as can be, not as high
    column: bool = False  # only screws that stand over each other are taken


def places(known: WallToHang, prefer: Wish | None = None) -> tuple[Place, ...]:
    """One place per panel, in the layout's order: in the middle where no rule forbids it, else as
    near to it as can be; where a wish is given, the allowed one that it likes best.

    A base is turned so that its inlet is at its edge 0; the keyhole keeps clear of inlet and
    openings. Raises InputError for names in `hang` that no panel has, and for a panel both asked
    for and forbidden.
    """
    _refuse_names(known.layout, known.hang)

    @cache
    def keyhole(base: MountedBase) -> Keyhole | None:
        return keyhole_for(known.mounted(base), base.up_deg, base.opened, inlet=base.inlet)

    @cache
    def spans(base: MountedBase, aside: float) -> tuple[Interval, ...]:
        plan = known.mounted(base)
        return rest_spans(plan, base.up_deg, base.opened, aside, inlet=base.inlet)

    found = []
    for panel in known.layout.panels:
        base = known.base_of(panel)
        plan, hole = known.mounted(base), keyhole(base)
        up = (90.0 - panel.turn_deg) % 360.0
        place = Place(panel.name, panel.x, panel.y, up, None, lowest(panel, plan), ("room",))
        if hole is not None:
            x, y = rest_in_wall(panel, hole.rest, base.steps)
            stops = stops_at(panel.name, (x, y), known.hang, known.wall)
            place = replace(place, x=x, y=y, keyhole=hole, stops=stops)
        movable = plan.params.hanger.offset is None and known.layout.neighbours[panel.name]
        wanted = prefer is not None or bool(set(place.stops) & ASIDE_HELPS)
        if movable and wanted and "avoid" not in place.stops:
            place = _aside(known, panel, place, partial(spans, base), prefer) or place
        found.append(place)
    return tuple(found)


def rest_over_centre(
    panel: PlacedPanel, plan: Plan, edge: int | None, opened: Sequence[int] = ()
) -> float:
    """Return how high over its centre the screw of a panel rests whose inlet is at an edge, or that
    has none, in mm; -inf where its floor has no room for the keyhole.
    """
    base = mounted_base(panel, edge, opened)
    hole = keyhole_for(plan.mounted(base.steps), base.up_deg, base.opened, inlet=base.inlet)
    return rest_in_wall(panel, hole.rest, base.steps)[1] - panel.y if hole else -math.inf


def _aside(
    known: WallToHang,
    panel: PlacedPanel,
    place: Place,
    spans: Callable[[float], tuple[Interval, ...]],
    prefer: Wish | None,
) -> Place | None:
    """The place that the wish likes best, without one the nearest to the middle, then the highest
    or the lowest, of those that no rule forbids; None when the floor has none. `spans`: heights
    that are free for a rest so far aside. A panel that hangs alone stays on its middle, so that it
    hangs level.
    """
    base, hang, wall = known.base_of(panel), known.hang, known.wall
    plan, angle = known.mounted(base), math.radians(base.up_deg)
    order, low_first = _asides(panel, plan, hang, wall), False
    if prefer is not None:
        order = sorted(order, key=lambda aside: prefer.at(panel, panel.x + aside))
        low_first = prefer.low(panel)
    for aside in order:
        free = spans(aside) if low_first else reversed(spans(aside))
        for low, high in free:
            for rest in _heights(low, high, panel, hang, wall, low_first=low_first):
                x, y = rest_in_wall(panel, turn((rest, -aside), angle), base.steps)
                if not stops_at(panel.name, (x, y), hang, wall):
                    hole = keyhole_for(
                        plan, base.up_deg, base.opened, aside, rest, inlet=base.inlet
                    )
                    return replace(
                        place, x=x, y=y, keyhole=hole, stops=(), aside_mm=aside, rest_mm=rest
                    )
    return None


def _asides(panel: PlacedPanel, plan: Plan, hang: HangParams, wall: WallType) -> list[float]:
    """Return how far aside a keyhole may be tried, the least first: on both sides and the middle of
    every stud, and in steps over the floor.
    """
    reach = plan.rings.base_inner.facet
    steps = [sign * ASIDE_MM * k for k in range(int(reach / ASIDE_MM) + 1) for sign in (1, -1)]
    half = max(hang.stud_half - wall.drill / 2, 0.0)
    for stud in hang.studs:
        near = min(max(panel.x, stud - half), stud + half) - panel.x
        # off the very rim of the stud, where there is room
        inwards = ROOM_MM if near < 0 else -ROOM_MM
        steps += [round(near, 1), round(near - inwards * min(1.0, half), 1)]
        far = max(half - ROOM_MM, 0.0)
        steps += [round(stud + at - panel.x, 1) for at in (-far, 0.0, far)]
    found = sorted(
        {round(one, 1) for one in steps if abs(one) < reach}, key=lambda one: (abs(one), one)
    )
    if not hang.studs:
        return found
    return [one for one in found if off_stud(panel.x + one, hang, wall) <= 1e-9]


def _heights(
    low: float,
    high: float,
    panel: PlacedPanel,
    hang: HangParams,
    wall: WallType,
    *,
    low_first: bool,
) -> list[float]:
    """Heights of the rest over the panel's centre that may be tried, high or low ones first."""
    top = max(math.floor(high * 10 + 1e-6) / 10, low)
    found = [top]
    while hang.zones and found[-1] - ASIDE_MM > low:
        found.append(found[-1] - ASIDE_MM)
    half = max(hang.rail_half - wall.drill / 2, 0.0)
    for rail in hang.rails:
        near = min(max(panel.y + top, rail - half), rail + half) - panel.y
        found.append(round(min(max(near, low), high), 3))
    if low_first:
        found.append(min(math.ceil(low * 10 - 1e-6) / 10, high))
    return sorted(dict.fromkeys(found), reverse=not low_first)


def rooms(known: WallToHang) -> dict[str, tuple[Room, ...]]:
    """Panel to where its floor has room for a keyhole, whatever forbids a screw there: upright
    lines in steps over the floor, each an x and the lowest and highest y of a rest, wall frame.
    """

    @cache
    def free(base: MountedBase) -> list[tuple[float, Interval]]:
        plan = known.mounted(base)
        offset = plan.params.hanger.offset
        count = int(plan.rings.base_inner.facet / ASIDE_MM) if offset is None else 0
        return [
            (ASIDE_MM * k, span if offset is None else (offset, offset))
            for k in range(-count, count + 1)
            for span in rest_spans(plan, base.up_deg, base.opened, ASIDE_MM * k, inlet=base.inlet)
            if offset is None or span[0] - 1e-9 <= offset <= span[1] + 1e-9
        ]

    return {
        panel.name: tuple(
            (panel.x + aside, (panel.y + low, panel.y + high))
            for aside, (low, high) in free(known.base_of(panel))
        )
        for panel in known.layout.panels
    }


def lowest(panel: PlacedPanel, plan: Plan) -> float:
    """Return the height in the wall frame that a panel turns about when its screw gives: its lowest
    corner, or with feet the middle of its lowest foot (a little too high, so the arm a little too
    short).
    """
    feet = [panel.to_wall(spot)[1] for spot in feet_at(plan)]
    return min(feet) if feet else min(y for _, y in panel.corners)


def rest_in_wall(panel: PlacedPanel, rest: Point, steps: int) -> Point:
    """A point of a base, mounted `steps` edges round in the panel, in the wall frame."""
    return panel.to_wall(turn(rest, 2 * math.pi * steps / panel.cell.sides))


def off_stud(x: float, hang: HangParams, wall: WallType) -> float:
    """Return how far a hole at `x` is from lying wholly in a stud; 0 or less when it does."""
    return _off(x, hang.studs, hang.stud_half, wall)


def off_rail(y: float, hang: HangParams, wall: WallType) -> float:
    """The same for a hole at height `y` and the battens."""
    return _off(y, hang.rails, hang.rail_half, wall)


def _off(at: float, lines: Sequence[float], half: float, wall: WallType) -> float:
    return min(abs(at - line) for line in lines) - max(half - wall.drill / 2, 0.0)


def shifts(points: Sequence[Place], hang: HangParams, rule: str) -> list[float]:
    """Shifts of the studs to the right, or of the rails upwards, that may bring them under enough
    screws: those that bring one onto a keyhole, and even steps; the smallest first, mm.
    """
    upright = rule == "studs"
    lines = hang.studs if upright else hang.rails
    exact = {round((p.x if upright else p.y) - line, 3) for p in points for line in lines}
    first = sorted(exact, key=lambda shift: (abs(shift), shift))[:MOST_SHIFTS]
    far = max((abs(one) for one in first), default=0.0)
    even = {sign * SHIFT_MM * k for k in range(1, int(far / SHIFT_MM) + 2) for sign in (1, -1)}
    return sorted(even.union(first), key=lambda shift: (abs(shift), shift))


def shifted(hang: HangParams, rule: str, shift: float) -> HangParams:
    """All that is in the wall moved to the right, or upwards: what panels meet that are hung as far
    the other way.
    """
    dx, dy = (shift, 0.0) if rule == "studs" else (0.0, shift)
    return replace(
        hang,
        studs=tuple(stud + dx for stud in hang.studs),
        rails=tuple(rail + dy for rail in hang.rails),
        zones=tuple(tuple((x + dx, y + dy) for x, y in zone) for zone in hang.zones),
    )


def stops_at(name: str, point: Point, hang: HangParams, wall: WallType) -> tuple[str, ...]:
    """The rules that forbid a screw of a panel at a point."""
    return tuple(
        rule
        for rule, hit in (
            ("avoid", name in hang.avoid),
            ("zones", any(_near(zone, point, wall.drill / 2) for zone in hang.zones)),
            ("studs", bool(hang.studs) and off_stud(point[0], hang, wall) > 1e-9),
            ("rails", bool(hang.rails) and off_rail(point[1], hang, wall) > 1e-9),
        )
        if hit
    )


def _refuse_names(layout: Layout, hang: HangParams) -> None:
    known = layout.by_name
    faults = [
        Fault(
            f"hang.{key}", f'unknown panel "{name}"', "Panels: " + ", ".join(list(known)[:20]) + "."
        )
        for key, names in (("must", hang.must), ("avoid", hang.avoid))
        for name in names
        if name not in known
    ]
    faults += [
        Fault("hang.avoid", f'panel "{name}" is in hang.must too', "Remove it from one of them.")
        for name in hang.must
        if name in hang.avoid
    ]
    faults += [
        Fault(
            f"hang.zones[{k}]",
            f"a zone needs three corners, this one has {len(zone)}",
            "List its corners in order.",
        )
        for k, zone in enumerate(hang.zones)
        if len(zone) < 3
    ]
    if faults:
        raise InputError(faults)


def _near(zone: Sequence[Point], point: Point, radius: float) -> bool:
    """True when a disc about `point` touches the polygon."""
    x, y = point
    inside = False
    for k, (ax, ay) in enumerate(zone):
        bx, by = zone[(k + 1) % len(zone)]
        if (ay > y) != (by > y) and x < ax + (y - ay) * (bx - ax) / (by - ay):
            inside = not inside
        dx, dy = bx - ax, by - ay
        length = dx * dx + dy * dy
        share = min(max(((x - ax) * dx + (y - ay) * dy) / length, 0.0), 1.0) if length > 0 else 0.0
        if math.hypot(x - ax - share * dx, y - ay - share * dy) <= radius:
            return True
    return inside
