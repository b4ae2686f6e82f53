"""Possible places of screws, and what forbids them there."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

from fab.errors import Fault, InputError
from fab.layout.model import Layout, PlacedPanel
from fab.outlines.contour import Point, turn
from fab.params.job import HangParams
from fab.params.shop import WallType
from fab.parts.footsizes import feet_at
from fab.parts.keyhole import Interval, Keyhole, keyhole_for, rest_spans
from fab.parts.plan import Plan
from fab.wall.model import Place

MOST_SHIFTS = 100  # of those that bring a stud under a keyhole, the smallest
SHIFT_MM = 10.0  # step in which studs are moved to see whether that helps
# design, how it is mounted, up in its frame, inlet, openings
Base = tuple[str, int, float, bool, tuple[int, ...]]
Room = tuple[float, Interval]  # an x, and the lowest and highest y there

ASIDE_MM = 5.0  # step in which a keyhole is tried aside
ROOM_MM = 1.0
ASIDE_HELPS = frozenset(("zones", "studs", "rails", "room"))


@dataclass(frozen=True)
class Wish:
    """A preference for some places of screws, of all places that are allowed."""

    at: Callable[[PlacedPanel, float], float]  # how little a screw of a panel is liked at an x
    low: Callable[[PlacedPanel], bool] = lambda _: False  # as low as can be, not as high
    column: bool = False  # only screws that stand over each other are taken


def places(
    layout: Layout,
    plans: Mapping[str, Plan],
    hang: HangParams,
    wall: WallType,
    inlets: Mapping[str, int],
    jumpers: Mapping[str, Sequence[int]] | None = None,
    prefer: Wish | None = None,
) -> tuple[Place, ...]:
    """One place per panel, in the layout's order: in the middle where no rule forbids it, else as
    near to it as can be; where a wish is given, the allowed one that it likes best.

    `plans` by name of design; `inlets` maps a panel to the open edge that its inlet leaves by: its
    base is turned so that the inlet is at the base's edge 0, and the keyhole keeps clear of it.
    `jumpers`: panel to its edges whose base has an opening for a jumper; the keyhole keeps clear of
    those too. Raises InputError for names in `hang` that no panel has, and for a panel both asked
    for and forbidden.
    """
    _refuse_names(layout, hang)
    found = []
    known: dict[Base, Keyhole | None] = {}
    free: dict[tuple[Base, float], tuple[Interval, ...]] = {}
    for panel in layout.panels:
        up = (90.0 - panel.turn_deg) % 360.0
        edge = inlets.get(panel.name)
        steps = edge or 0
        up_base = round((up - steps * 360.0 / panel.cell.sides) % 360.0, 9) % 360.0
        opened = edges_in_base((jumpers or {}).get(panel.name, ()), steps, panel.cell.sides)
        key = (panel.design, steps, up_base, edge is not None, opened)
        plan = plans[panel.design].mounted(steps)
        if key not in known:
            known[key] = keyhole_for(plan, up_base, opened, inlet=edge is not None)
        hole, low = known[key], lowest(panel, plan)
        place = Place(panel.name, panel.x, panel.y, up, None, low, ("room",))
        if hole is not None:
            x, y = rest_in_wall(panel, hole.rest, steps)
            stops = stops_at(panel.name, (x, y), hang, wall)
            place = Place(panel.name, x, y, up, hole, low, stops)
        movable = plan.params.hanger.offset is None and layout.neighbours[panel.name]
        wanted = prefer is not None or bool(set(place.stops) & ASIDE_HELPS)
        if movable and wanted and "avoid" not in place.stops:

            def spans(aside: float, at: Base = key) -> tuple[Interval, ...]:
                if (at, aside) not in free:
                    free[at, aside] = rest_spans(
                        plans[at[0]].mounted(at[1]), at[2], at[4], aside, inlet=at[3]
                    )
                return free[at, aside]

            order = _asides(panel, plan, hang, wall)
            low_first = False
            if prefer is not None:
                order = _liked(order, panel, prefer)
                low_first = prefer.low(panel)
            place = (
                _aside(place, panel, plan, key, steps, spans, order, hang, wall, low_first) or place
            )
        found.append(place)
    return tuple(found)


def rest_over_centre(
    panel: PlacedPanel, plan: Plan, edge: int | None, opened: Sequence[int] = ()
) -> float:
    """Return how high over its centre the screw of a panel rests whose inlet is at an edge, or that
    has none, in mm; -inf where its floor has no room for the keyhole.
    """
    steps = edge or 0
    up = round((90.0 - panel.turn_deg - steps * 360.0 / panel.cell.sides) % 360.0, 9) % 360.0
    jumpers = edges_in_base(opened, steps, panel.cell.sides)
    hole = keyhole_for(plan.mounted(steps), up, jumpers, inlet=edge is not None)
    return rest_in_wall(panel, hole.rest, steps)[1] - panel.y if hole is not None else -math.inf


def _liked(asides: Sequence[float], panel: PlacedPanel, prefer: Wish) -> list[float]:
    return sorted(asides, key=lambda aside: prefer.at(panel, panel.x + aside))


def _aside(
    place: Place,
    panel: PlacedPanel,
    plan: Plan,
    base: Base,
    steps: int,
    spans: Callable[[float], tuple[Interval, ...]],
    order: Sequence[float],
    hang: HangParams,
    wall: WallType,
    low_first: bool,
) -> Place | None:
    """The first place in `order`, then the highest or the lowest, that no rule forbids; None when
    the floor has none. A panel that hangs alone stays on its middle, so that it hangs level.
    """
    _, _, up_base, inlet, opened = base
    angle = math.radians(up_base)
    for aside in order:
        free = spans(aside) if low_first else reversed(spans(aside))
        for low, high in free:
            for rest in _heights(low, high, panel, hang, wall, low_first):
                x, y = rest_in_wall(panel, turn((rest, -aside), angle), steps)
                if not stops_at(panel.name, (x, y), hang, wall):
                    hole = keyhole_for(plan, up_base, opened, aside, rest, inlet=inlet)
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
    low: float, high: float, panel: PlacedPanel, hang: HangParams, wall: WallType, low_first: bool
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


def rooms(
    layout: Layout,
    plans: Mapping[str, Plan],
    inlets: Mapping[str, int],
    jumpers: Mapping[str, Sequence[int]] | None = None,
) -> dict[str, tuple[Room, ...]]:
    """Panel to where its floor has room for a keyhole, whatever forbids a screw there: upright
    lines in steps over the floor, each an x and the lowest and highest y of a rest, wall frame.
    """
    free: dict[Base, list[tuple[float, Interval]]] = {}
    found = {}
    for panel in layout.panels:
        steps = inlets.get(panel.name) or 0
        up = round((90.0 - panel.turn_deg - steps * 360.0 / panel.cell.sides) % 360.0, 9) % 360.0
        opened = edges_in_base((jumpers or {}).get(panel.name, ()), steps, panel.cell.sides)
        key = (panel.design, steps, up, panel.name in inlets, opened)
        plan = plans[panel.design].mounted(steps)
        if key not in free:
            offset = plan.params.hanger.offset
            count = int(plan.rings.base_inner.facet / ASIDE_MM) if offset is None else 0
            free[key] = [
                (ASIDE_MM * k, span if offset is None else (offset, offset))
                for k in range(-count, count + 1)
                for span in rest_spans(plan, up, opened, ASIDE_MM * k, inlet=key[3])
                if offset is None or span[0] - 1e-9 <= offset <= span[1] + 1e-9
            ]
        found[panel.name] = tuple(
            (panel.x + aside, (panel.y + low, panel.y + high)) for aside, (low, high) in free[key]
        )
    return found


def located(hang: HangParams, layout: Layout) -> HangParams:
    """The hanging with its studs in the wall frame, wherever their x was counted from."""
    x0, _, x1, _ = layout.box
    start = {"origin": 0.0, "left": x0, "middle": (x0 + x1) / 2}[hang.studs_from]
    return replace(hang, studs=tuple(start + stud for stud in hang.studs), studs_from="origin")


def lowest(panel: PlacedPanel, plan: Plan) -> float:
    """Return the height in the wall frame that a panel turns about when its screw gives: its lowest
    corner, or with feet the middle of its lowest foot (a little too high, so the arm a little too
    short).
    """
    feet = [panel.to_wall(spot)[1] for spot in feet_at(plan)]
    return min(feet) if feet else min(y for _, y in panel.corners)


def edges_in_base(edges: Sequence[int], steps: int, sides: int) -> tuple[int, ...]:
    """Return edges of a panel as edges of its base, which is mounted `steps` edges round,
    sorted.
    """
    return tuple(sorted((edge - steps) % sides for edge in edges))


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
            "",
            f"hang.{key}",
            f'unknown panel "{name}"',
            "Panels: " + ", ".join(list(known)[:20]) + ".",
        )
        for key, names in (("must", hang.must), ("avoid", hang.avoid))
        for name in names
        if name not in known
    ]
    faults += [
        Fault(
            "", "hang.avoid", f'panel "{name}" is in hang.must too', "Remove it from one of them."
        )
        for name in hang.must
        if name in hang.avoid
    ]
    faults += [
        Fault(
            "",
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
