"""Why no choice of hangers can be made, told by the rule that leaves no way.

More screws never break the rules looked at here (two, reach, centre), so a way exists exactly when
all allowed places together keep them. Each rule that forbids places is lifted in turn to see
whether it is the one.
"""

from __future__ import annotations

from collections.abc import Sequence

from fab.errors import Fault
from fab.params.job import HangParams
from fab.params.shop import WallType
from fab.wall.places import off_rail, off_stud, shifted, shifts, stops_at
from fab.wall.problem import Group, state

PLACE_RULES = ("avoid", "zones", "studs", "rails")
WANTING = {
    "two": "fewer than two screws are left for the panels of this group",
    "reach": "panel {panel} is more joints away from every allowed screw than hang.reach allows",
    "centre": "the centre of mass is not between two allowed screws",
    "none": "no screw is left",
}


def refusal(group: Group, hang: HangParams, wall: WallType) -> tuple[Fault, ...]:
    """Faults that leave no way for this group; empty when there is one."""
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
        open_to = group.open_to(frozenset({rule}))
        if len(open_to) > len(group.open_to()) and not _lacking(group, open_to):
            freed = [group.names[k] for k in open_to if k not in group.open_to()]
            faults.append(
                Fault(
                    "",
                    f"hang.{rule}",
                    f"makes it impossible to hang {where}: {why}",
                    _cure(group, rule, freed, hang, wall),
                )
            )
    if faults:
        return tuple(faults)
    everywhere = tuple(k for k, place in enumerate(group.places) if place.keyhole is not None)
    whole = frozenset(PLACE_RULES)
    if group.open_to(whole) and not _lacking(group, group.open_to(whole)):
        together = [
            f"hang.{rule}"
            for rule in PLACE_RULES
            if any(rule in place.stops for place in group.places)
        ]
        return (
            Fault(
                "",
                " and ".join(together),
                f"together make it impossible to hang {where}: {why}",
                "Relax more than one of them.",
            ),
        )
    if "reach" in lacking and everywhere and not set(_lacking(group, everywhere)) - {"reach"}:
        return (
            Fault(
                "",
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
        cure = (
            "Set a smaller hanger.head_d or hanger.travel, another layout.turn_deg, or a larger"
            " panel."
        )
        return (Fault("", "panel.hanger", says, cure),)
    return (
        Fault(
            "",
            "layout",
            f"it is impossible to hang {where}: {why}",
            "Add panels on the light side, or turn the layout.",
        ),
    )


def _must_faults(group: Group, hang: HangParams, wall: WallType) -> list[Fault]:
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
                "",
                "hang.must",
                f'panel "{place.panel}" must have a hanger, but {says[rule]}',
                "Remove it, or move the wall.",
            )
            for rule in place.stops
            if rule in says
        ]
    return faults


def _lacking(group: Group, open_to: Sequence[int]) -> tuple[str, ...]:
    if not open_to:
        return ("none",)
    return tuple(
        rule for rule in state(group, open_to).broken if rule in ("two", "reach", "centre")
    )


def _say(group: Group, rule: str, open_to: Sequence[int]) -> str:
    allowed = set(open_to)
    lost = [k for k, ball in enumerate(group.balls) if not allowed.intersection(ball)]
    lost += sorted(group.own_screw - allowed)
    panel = group.names[lost[0]] if lost else group.names[0]
    return WANTING[rule].format(panel=panel)


def _cure(group: Group, rule: str, freed: Sequence[str], hang: HangParams, wall: WallType) -> str:
    if rule in ("studs", "rails"):
        return _lines_cure(group, rule, hang, wall)
    return f"Without this rule {_listed(freed)} could have a hanger."


def _lines_cure(group: Group, rule: str, hang: HangParams, wall: WallType) -> str:
    """How far the wall must move, tried on its screws; or that no move does it."""
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
    for shift in shifts(able, hang, rule):
        moved = shifted(hang, rule, shift)
        stops = [stops_at(place.panel, (place.x, place.y), moved, wall) for place in group.places]
        open_to = [k for k, place in enumerate(group.places) if place.keyhole and not stops[k]]
        if not _lacking(group, open_to):
            told = (
                f"Hung {abs(shift):.1f} mm further {'to the ' * upright}{ways[shift < 0]} it would"
                " work"
            )
            return f"{miss}{told}: add {shift:+.1f} to every {line}{zones}."
    across = "a board across the studs" if upright else "an upright board on the battens"
    return (
        f"{miss}No other position of the wall works either: fix {across} and remove hang.{rule},"
        " or set hang.reach higher."
    )


def _more_reach(group: Group, open_to: Sequence[int]) -> str:
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
