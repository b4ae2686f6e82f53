"""Limits of a hung wall: screws, clips, centre of mass. The calculation lives in the wall room."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace

from fab.checks.hang_order import jig_check, order_check
from fab.checks.hanger import bend_check, head_checks, keyhole_checks, room_check
from fab.checks.model import Verdict, at_least, at_most
from fab.errors import InputError
from fab.layout.joint_table import JointTable
from fab.layout.model import Joint, Layout
from fab.params.designs import table_of
from fab.params.job import HangParams
from fab.params.shop import Filament, WallType
from fab.parts.plan import Plan
from fab.units import fixed, some
from fab.wall.choose import choose
from fab.wall.model import (
    ALONE_MM,
    CENTRE_MARGIN_MM,
    TILT_LIMIT_DEG,
    Hanger,
    Hung,
    JointStrength,
)
from fab.wall.order import HangingOrder
from fab.wall.to_hang import WallToHang

CAUTION = (
    "A falling panel can injure people: the wall plug must suit the wall, local codes come first,"
    " and in doubt ask a tradesperson."
)
OWN_WAY = "elementary statics"


def hang_checks(
    known: WallToHang,
    hung: Hung,
    filament: Filament,
    *,
    order: HangingOrder,
    table: JointTable | None = None,
) -> tuple[Verdict, ...]:
    """Verdicts `hang.*` of a wall and its hangers, as `choose` gave them.

    `order` of hanging; `table` of joints: every board must be joined.
    """
    layout, plans, hang, strength = known.layout, known.plans, known.hang, known.joint

    def again(reach: int) -> Hung | None:
        try:
            found = choose(known.under(replace(hang, reach=reach)), reasons=False)
            return None if found.lacking else found
        except InputError:
            return None

    closer = None
    if _joint_use(hung, strength) > 1 + 1e-9:
        closer = next(
            (
                r
                for r in range(hang.reach - 1, -1, -1)
                if (h := again(r)) and _joint_use(h, strength) <= 1 + 1e-9
            ),
            None,
        )
    return (
        _screw_load(hung, hang, known.wall),
        _uplift(hung, hang),
        *_centre(hung, hang),
        *_places(hung),
        _reach(hung, hang),
        _fewest(hung),
        *_joints(layout, plans, hung, hang, strength, closer),
        *keyhole_checks(layout, plans, hung, filament),
        *head_checks(layout, plans, hung, filament),
        *bend_check(layout, plans, hung, hang.factor),
        room_check(known),
        order_check(layout, plans, order, table),
        *jig_check(hung, hang),
    )


def use(hanger: Hanger, hang: HangParams, wall: WallType) -> float:
    """Share of a screw's limit, factor included: the worse of the stiff and the yielding wall."""
    shear = hanger.load_n
    return hang.factor * (shear / wall.shear_n + hanger.pull_n / wall.pull_n)


def busiest(hung: Hung, hang: HangParams, wall: WallType) -> Hanger:
    """The screw that uses the largest share of its limit."""
    return max(hung.hangers, key=lambda h: (round(use(h, hang, wall), 9), h.panel))


def _screw_load(hung: Hung, hang: HangParams, wall: WallType) -> Verdict:
    worst = busiest(hung, hang, wall)
    share = use(worst, hang, wall)
    shear = worst.load_n
    says = (
        f"The screw of panel {worst.panel} carries {fixed(shear, 1)} N along and"
        f" {fixed(worst.pull_n, 1)} N out of the wall; with a safety factor of"
        f" {fixed(hang.factor, 1)} that is {fixed(share * 100, 0)} % of the permissible load of a"
        f" screw in {hang.wall}. {CAUTION}"
    )
    key = f"shop.wall.{hang.wall}"
    best = math.floor(hang.factor / share * 10) / 10 if share > 0 else hang.factor
    shear_n, pull_n = math.ceil(wall.shear_n * share), math.ceil(wall.pull_n * share)
    cure = (
        f"With wall plugs that carry this load at half their maker's figures, set {key}.shear_n ="
        f" {shear_n} and {key}.pull_n = {pull_n}"
    )
    cure += (
        f", or hang.factor = {fixed(best, 1)}."
        if best >= 1.0
        else "; or hang fewer or lighter panels."
    )
    source = (
        f"{key}, hang.factor; linear interaction of shear and pull, a cautious rule for anchors,"
        " from memory"
    )
    return at_most(
        "hang.screw-load",
        f"screw {worst.panel}",
        share * 100,
        100.0,
        "%",
        says,
        remedy=cure,
        source=source,
    )


def _uplift(hung: Hung, hang: HangParams) -> Verdict:
    least = min(hung.hangers, key=lambda h: (round(h.least_n, 9), h.panel))
    says = (
        f"The keyhole of panel {least.panel} would lift off its screw with"
        f" {fixed(-least.least_n, 2)} N."
        if least.least_n < 0
        else (
            f"No keyhole lifts off its screw: the least loaded, of panel {least.panel}, carries"
            f" {fixed(least.least_n, 2)} N."
        )
    )
    cure = _more_places(hang)
    subject = f"screw {least.panel}"
    weight = sum(group.weight_n for group in hung.groups)
    return at_least(
        "hang.uplift",
        subject,
        least.least_n,
        0.0,
        "N",
        says,
        remedy=cure,
        source=OWN_WAY,
        tolerance=1e-6 * weight,
    )


def _more_places(hang: HangParams) -> str:
    """Return where more screws could come from: of the rules that the job has, those that forbid
    places; words, because which of them a maker can do without only he knows.
    """
    ways = [
        words
        for given, words in (
            (hang.avoid, "take names out of hang.avoid"),
            (hang.zones, "take zones out of hang.zones"),
            (hang.studs, "screw a board across the studs and take hang.studs out"),
            (hang.rails, "screw an upright board on the battens and take hang.rails out"),
        )
        if given
    ]
    return f"More places for screws: {', or '.join(ways)}." if ways else ""


def _centre(hung: Hung, hang: HangParams) -> list[Verdict]:
    narrow = min(hung.groups, key=lambda g: (round(g.margin, 9), g.panels[0]))
    first, alone, inside = narrow.panels[0], len(narrow.panels) == 1, fixed(narrow.margin, 1)
    says = (
        f"Panel {first} hangs on one screw, {inside} mm over its centre of mass."
        if alone
        else (
            f"The screws of the group of panel {first} stand over each other: they lie {inside} mm"
            " further apart than its centre of mass lies beside them."
            if narrow.upright
            else f"The centre of mass of the group of panel {first} lies {inside} mm inside the"
            " outer screws."
        )
    )
    limit = ALONE_MM if alone else CENTRE_MARGIN_MM
    told = " ".join(dict.fromkeys(fault.works for fault in hung.lacking))
    cure = told if alone else _more_places(hang) or "Add panels on the light side."
    found = [
        at_least(
            "hang.centre",
            f"group {first}",
            narrow.margin,
            limit,
            "mm",
            says,
            remedy=cure,
            source=OWN_WAY,
        )
    ]
    for group in hung.groups:
        if group.tilt_deg > TILT_LIMIT_DEG:
            name, tilt = group.panels[0], group.tilt_deg
            found.append(
                at_most(
                    "hang.centre",
                    f"panel {name}",
                    tilt,
                    TILT_LIMIT_DEG,
                    "deg",
                    f"Alone on one screw, panel {name} hangs {fixed(tilt, 1)} degrees out of"
                    " level.",
                    remedy=(
                        "Put a dot of putty behind its lower edge, or put the inlet at another"
                        " edge."
                    ),
                    source="common practice, no source",
                    otherwise="warn",
                )
            )
    return found


def _places(hung: Hung) -> list[Verdict]:
    """Rules that leave no choice of screws which holds the wall; silent where none does."""
    count = float(len(hung.lacking))
    return [
        Verdict(
            "hang.places",
            "fail",
            "wall",
            count,
            0.0,
            "rules",
            f"{fault.key} {fault.says}.",
            fault.works,
            "own rule",
        )
        for fault in hung.lacking
    ]


def _reach(hung: Hung, hang: HangParams) -> Verdict:
    panel, steps = max(hung.far.items(), key=lambda item: item[1])
    says = (
        f"Panel {panel} is {steps} joint{'' if steps == 1 else 's'} from the nearest hanger, the"
        " longest such distance of this wall."
    )
    cure = f"Set hang.reach = {steps}."
    return at_most(
        "hang.reach",
        f"panel {panel}",
        float(steps),
        float(hang.reach),
        "joints",
        says,
        remedy=cure,
        source="hang.reach",
    )


def _fewest(hung: Hung) -> Verdict:
    count, panels = len(hung.hangers), sum(len(group.panels) for group in hung.groups)
    told = {
        "exhaustive": "every choice was tried",
        "programme": "by an integer programme",
        "search": "by its bound",
    }
    says = f"Screws: {count} for {some(panels, 'panel')}"
    if hung.broken:
        none = "no choice meets" if hung.proven else "no choice was found that meets"
        says = f"{says}; {none} every rule, and this choice comes nearest."
    elif hung.gap == 0:
        # where keyholes stand aside, fewer screws may do: only two a group are fewest anywhere
        fewest = sum(min(len(group.panels), 2) for group in hung.groups)
        where = "" if count <= fewest else " with each keyhole in its place"
        says = f"{says} (proven minimum{where}, {told[hung.method]})."
    else:
        says = f"{says}; at most {hung.gap} could be saved."
    cure = "No change is necessary; hang.must and hang.avoid can guide the search."
    return at_most(
        "hang.fewest",
        "wall",
        float(count),
        float(hung.least),
        "screws",
        says,
        remedy=cure,
        source="proven lower bound",
        otherwise="warn",
    )


def _joint_use(hung: Hung, strength: JointStrength) -> float:
    return max(
        (
            max(load.across_n / strength.across_n, load.along_n / strength.along_n)
            for load in hung.joints
        ),
        default=0.0,
    )


def _joints(
    layout: Layout,
    plans: Mapping[str, Plan],
    hung: Hung,
    hang: HangParams,
    strength: JointStrength,
    closer: int | None,
) -> list[Verdict]:
    if not hung.joints:
        return []
    found = []
    for word, limit, what in (
        ("across_n", strength.across_n, "is pulled apart with"),
        ("along_n", strength.along_n, "is sheared with"),
        ("lift_n", strength.lift_n, "is lifted off the wall with"),
    ):
        worst = max(hung.joints, key=lambda load: (round(getattr(load, word), 9), -load.joint))
        joint = layout.joints[worst.joint]
        force = getattr(worst, word)
        cure = f"Set hang.reach = {closer}." if closer is not None else ""
        cure = cure or _stronger(layout, plans, joint, word, force / limit, _more_places(hang))
        says = (
            f"The most loaded clip between panels {joint.a} and {joint.b} {what}"
            f" {fixed(force, 2)} N."
        )
        found.append(
            at_most(
                "hang.joint",
                f"joint {joint.a}-{joint.b}",
                force,
                limit,
                "N",
                says,
                remedy=cure,
                source=strength.source,
            )
        )
    return found


def _stronger(
    layout: Layout, plans: Mapping[str, Plan], joint: Joint, word: str, share: float, more: str
) -> str:
    """Clips that bear `share` times the load that they may carry now: what a clip bears grows with
    its width, in its channel with the thickness of its bar.
    """
    design = layout.by_name[joint.a].design
    clip, key = plans[design].params.clip, table_of(design)
    names = (
        ("bar",) if word == "along_n" else ("width", "leg") if word == "across_n" else ("width",)
    )
    told = ", or ".join(
        f"{key}.clip.{name} = {fixed(math.ceil(getattr(clip, name) * share * 10 - 1e-6) / 10, 1)}"
        for name in names
        if share > 1
    )
    return f"Set {told}. {more}".strip() if told else more
