"""The reason why no choice of hangers can be made, told by the rule that leaves no way.

More screws never break the rules looked at here (two, reach, centre), so a way exists exactly when
all allowed places together keep them. Each rule that forbids places is lifted in turn to see
whether it is the one.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from fab.errors import Fault
from fab.params.job import HangParams
from fab.params.shop import WallType
from fab.wall.model import CENTRE_MARGIN_MM
from fab.wall.places import ASIDE_MM, SHIFT_MM, Room, off_rail, off_stud, shifted, shifts
from fab.wall.problem import HangGroup, state

PLACE_RULES = ("avoid", "zones", "studs", "rails")
WANTING = {
    "two": "fewer than two screws are left for the panels of this group",
    "reach": "panel {panel} is more joints away from every allowed screw than hang.reach allows",
    "own": "panel {panel} needs a screw of its own, because clips alone do not keep it from tipping"
    " off the wall, and none is allowed there",
    "centre": "the centre of mass is not between two allowed screws",
    "none": "no screw is left",
}


MOST_MOVES = 8  # moves of a wall that are tried in full


@dataclass(frozen=True)
class Elsewhere:
    """The places of a wall's keyholes if what is in the wall lay elsewhere."""

    rooms: Callable[[], Mapping[str, Sequence[Room]]]  # of each panel
    # a group under another hanging, in each way of placing its screws
    under: Callable[[HangGroup, HangParams], Iterable[HangGroup]]
    # changes that give these panels a keyhole, in words; True: over the centre of mass
    roomier: Callable[[Sequence[str], bool], str]


def may_hang(group: HangGroup) -> bool:
    """True when a screw can be set at all, and every one that is asked for."""
    return bool(group.open_to()) and group.must <= set(group.open_to())


def lacks(group: HangGroup) -> bool:
    """True when all allowed places together leave a rule broken that more screws never break."""
    return bool(_lacking(group, group.open_to()))


def refusal(
    group: HangGroup, hang: HangParams, wall: WallType, elsewhere: Elsewhere | None
) -> tuple[Fault, ...]:
    """Faults that leave no way for this group; empty when there is one. Without `elsewhere`, no
    move of the wall is looked for.
    """
    faults = _must_faults(group, hang, wall)
    if faults:
        return tuple(faults)
    lacking = _lacking(group, group.open_to())
    if not lacking:
        return ()
    where = (
        f"the group of panel {group.names[0]}"
        if len(group.names) > 1
        else f"panel {group.names[0]}"
    )
    why = "; ".join(_say(group, rule, group.open_to()) for rule in lacking)
    faults = []
    for rule in PLACE_RULES:
        eased = group.without(frozenset({rule}))
        open_to = eased.open_to()
        if len(open_to) > len(group.open_to()) and not _lacking(eased, open_to):
            freed = [group.names[k] for k in open_to if k not in group.open_to()]
            faults.append(
                Fault(
                    f"hang.{rule}",
                    f"makes it impossible to hang {where}: {why}",
                    _cure(group, rule, freed, hang, wall, elsewhere),
                )
            )
    if faults:
        return tuple(faults)
    everywhere = tuple(k for k, place in enumerate(group.places) if place.keyhole is not None)
    whole = group.without(frozenset(PLACE_RULES))
    if whole.open_to() and not _lacking(whole, whole.open_to()):
        together = [
            f"hang.{rule}"
            for rule in PLACE_RULES
            if any(rule in place.stops for place in group.places)
        ]
        return (
            Fault(
                " and ".join(together),
                f"together make it impossible to hang {where}: {why}",
                "Relax more than one of them.",
            ),
        )
    if "reach" in lacking and everywhere and not set(_lacking(group, everywhere)) - {"reach"}:
        return (
            Fault(
                "hang.reach",
                f"makes it impossible to hang {where}: {why}",
                _more_reach(group, everywhere),
            ),
        )
    room = [place.panel for place in group.places if place.keyhole is None]
    if room:
        says = (
            f"no room for the keyhole in the base of {_listed(room)}, so it is impossible to hang"
            f" {where}"
        )
        cure = elsewhere.roomier(room, len(group.names) == 1) if elsewhere else ""
        return (Fault("panel.hanger", says, cure),)
    if len(group.names) == 1:
        says = (
            f"no room in the base of {where} for a keyhole over its centre of mass: it would turn"
            " over on its screw"
        )
        cure = elsewhere.roomier(group.names, True) if elsewhere else ""
        return (Fault("panel.hanger", says, cure),)
    return (
        Fault(
            "layout",
            f"it is impossible to hang {where}: {why}",
            "Add panels on the light side, or turn the layout.",
        ),
    )


def _must_faults(group: HangGroup, hang: HangParams, wall: WallType) -> list[Fault]:
    faults = []
    for k in sorted(group.must):
        place = group.places[k]
        says = {
            "room": "its base has no room for the keyhole",
            "zones": (
                f"its screw at x {place.x:.1f}, y {place.y:.1f} mm would be in a zone of hang.zones"
            ),
            "studs": f"its screw at x {place.x:.1f} mm meets no stud of hang.studs",
            "rails": f"its screw at y {place.y:.1f} mm meets no batten of hang.rails",
        }
        faults += [
            Fault(
                "hang.must",
                f'panel "{place.panel}" must have a hanger, but {says[rule]}',
                "Remove it, or move the wall.",
            )
            for rule in place.stops
            if rule in says
        ]
    return faults


def _lacking(group: HangGroup, open_to: Sequence[int]) -> tuple[str, ...]:
    if not open_to:
        return ("none",)
    return tuple(
        rule for rule in state(group, open_to).broken if rule in ("two", "reach", "centre")
    )


def _say(group: HangGroup, rule: str, open_to: Sequence[int]) -> str:
    far = _far(group, open_to)
    lost = far or sorted(group.own_screw - set(open_to)) or [0]
    why = "own" if rule == "reach" and not far else rule
    return WANTING[why].format(panel=group.names[lost[0]])


def _far(group: HangGroup, open_to: Sequence[int]) -> list[int]:
    """Panels that are more joints away from every allowed screw than the reach."""
    return [k for k, ball in enumerate(group.balls) if not set(open_to).intersection(ball)]


def _cure(
    group: HangGroup,
    rule: str,
    freed: Sequence[str],
    hang: HangParams,
    wall: WallType,
    elsewhere: Elsewhere | None,
) -> str:
    if rule in ("studs", "rails"):
        return _lines_cure(group, rule, hang, wall, elsewhere) if elsewhere else ""
    return f"Without this rule {_listed(freed)} could have a hanger."


def _lines_cure(
    group: HangGroup, rule: str, hang: HangParams, wall: WallType, elsewhere: Elsewhere
) -> str:
    """Return how far the wall must move, tried on its screws; or that no move that was tried does
    it.
    """
    able = [place for place in group.places if place.keyhole]
    free = [place for place in able if not set(place.stops) - {rule}]
    upright = rule == "studs"
    near = min(
        (off_stud(p.x, hang, wall) if upright else off_rail(p.y, hang, wall) for p in free),
        default=0.0,
    )
    line, ways, axis = (
        ("stud", ("left", "right"), "x") if upright else ("batten", ("down", "up"), "y")
    )
    miss = f"The nearest screw is {near:.1f} mm beside its {line}. " if near > 0.05 else ""
    zones = f" and every {axis} of hang.zones" if hang.zones else ""
    moves = shifts(able, hang, rule)
    tried = 0
    for shift in moves:
        moved = shifted(hang, rule, shift)
        if not _might(group, elsewhere.rooms(), moved, wall):
            continue
        if tried == MOST_MOVES:
            break
        tried += 1
        if not all(lacks(there) for there in elsewhere.under(group, moved)):
            told = (
                f"Hung {abs(shift):.1f} mm further {'to the ' * upright}{ways[shift < 0]} it would"
                " work"
            )
            return f"{miss}{told}: add {shift:+.1f} to every {line}{zones}."
    across = "a board across the studs" if upright else "an upright board on the battens"
    reach = ", or set hang.reach higher" * bool(_far(group, group.open_to()))
    far = max((abs(shift) for shift in moves), default=0.0)
    none = (
        f"No position of the wall up to {far:.0f} mm away works, in steps of {SHIFT_MM:g} mm"
        if tried < MOST_MOVES
        else f"None of {tried} other positions of the wall that were tried works"
    )
    return f"{miss}{none}: fix {across} and remove hang.{rule}{reach}."


def _might(
    group: HangGroup, rooms: Mapping[str, Sequence[Room]], hang: HangParams, wall: WallType
) -> bool:
    """False when a moved wall can't hang: quick, zones left aside, each screw as far out as can be,
    or all over each other near the centre of mass.
    """
    centre, half = group.centre[0], max(hang.rail_half - wall.drill / 2, 0.0)
    found, near = [], []
    for place in group.places:
        able = [
            (x, low, high)
            for x, (low, high) in rooms[place.panel]
            # the lines of a floor stand so far apart: the next place may be in between
            if not (hang.studs and off_stud(x, hang, wall) > ASIDE_MM)
            and (not hang.rails or any(low - half <= y <= high + half for y in hang.rails))
            and place.panel not in hang.avoid
        ]
        x, _, y = max(able, key=lambda at: abs(at[0] - centre), default=(place.x, 0.0, place.y))
        found.append(replace(place, x=x, y=y, stops=() if able else ("room",)))
        near += able
    moved = replace(group, places=tuple(found))
    lacking = _lacking(moved, moved.open_to())
    if not (hang.studs and near and lacking == ("centre",)):
        return not lacking
    tall = max(high for _, _, high in near) - min(low for _, low, _ in near)
    return tall - min(abs(x - centre) for x, _, _ in near) >= CENTRE_MARGIN_MM


def _more_reach(group: HangGroup, open_to: Sequence[int]) -> str:
    allowed = set(open_to)
    seen, edge, steps = set(allowed), sorted(allowed), 0
    while edge and len(seen) < len(group.names):
        edge = sorted({n for k in edge for n in group.links[k]} - seen)
        seen |= set(edge)
        steps += 1
    return (
        f"hang.reach = {steps} would work."
        if not group.own_screw - allowed
        else "Remove the panels named above from hang.avoid."
    )


def _listed(names: Sequence[str]) -> str:
    shown = ", ".join(names[:8]) + (" ..." if len(names) > 8 else "")
    return f"panel{'s' if len(names) > 1 else ''} {shown}"
