"""Limits of a hung wall: screws, clips, centre of mass. The calculation lives in the wall room."""

from __future__ import annotations

import math
from dataclasses import replace

from fab.checks.hang_joints import joint_checks, joint_use, more_places
from fab.checks.hang_order import jig_check, order_check
from fab.checks.hanger import bend_check, head_checks, keyhole_checks, room_check
from fab.checks.model import Verdict, at_least, at_most, judge
from fab.errors import InputError
from fab.layout.joint_table import JointTable
from fab.params.job import HangParams
from fab.params.shop import Filament, WallType
from fab.units import fixed, some
from fab.wall.choose import choose
from fab.wall.model import ALONE_MM, CENTRE_MARGIN_MM, TILT_LIMIT_DEG, Hanger, Hung
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
    if joint_use(hung, strength) > 1 + 1e-9:
        closer = next(
            (
                r
                for r in range(hang.reach - 1, -1, -1)
                if (h := again(r)) and joint_use(h, strength) <= 1 + 1e-9
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
        *joint_checks(layout, plans, hung, hang, strength, closer),
        *keyhole_checks(layout, plans, hung, filament),
        *head_checks(layout, plans, hung, filament),
        *bend_check(layout, plans, hung, hang.factor),
        room_check(known, hung),
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
    return judge(
        "hang.screw-load",
        f"screw {worst.panel}",
        at_most(share * 100, 100.0, "%"),
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
    cure = more_places(hang)
    subject = f"screw {least.panel}"
    weight = sum(group.weight_n for group in hung.groups)
    return judge(
        "hang.uplift",
        subject,
        at_least(least.least_n, 0.0, "N", tolerance=1e-6 * weight),
        says,
        remedy=cure,
        source=OWN_WAY,
    )


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
    cure = told if alone else more_places(hang) or "Add panels on the light side."
    found = [
        judge(
            "hang.centre",
            f"group {first}",
            at_least(narrow.margin, limit),
            says,
            remedy=cure,
            source=OWN_WAY,
        )
    ]
    for group in hung.groups:
        if group.tilt_deg > TILT_LIMIT_DEG:
            name, tilt = group.panels[0], group.tilt_deg
            found.append(
                judge(
                    "hang.centre",
                    f"panel {name}",
                    at_most(tilt, TILT_LIMIT_DEG, "deg"),
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
    return judge(
        "hang.reach",
        f"panel {panel}",
        at_most(float(steps), float(hang.reach), "joints"),
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
    return judge(
        "hang.fewest",
        "wall",
        at_most(float(count), float(hung.least), "screws"),
        says,
        remedy=cure,
        source="proven lower bound",
        otherwise="warn",
    )
