"""The hold of each hanger in its base: keyhole, head and room. Part of `hang`."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace
from functools import cache

from fab.checks.model import Verdict, at_least, at_most, judge
from fab.layout.model import Layout
from fab.params.designs import table_of
from fab.params.shop import Filament
from fab.parts.keyhole import Interval, rest_spans
from fab.parts.plan import Plan
from fab.units import fixed
from fab.wall.model import Hanger, Hung
from fab.wall.strength import keyhole_use, safe_shear, safe_stress
from fab.wall.to_hang import MountedBase, WallToHang

STEEL_N_MM2 = 320.0  # yield of a plain steel screw, class 4.8; from memory
CORE_SHARE = 0.7  # core of a wood screw's thread over its nominal diameter; from memory
HEAD_OVERHANG_MM = 1.0  # of the head over the slot, per side; common practice, no source


def keyhole_checks(
    layout: Layout, plans: Mapping[str, Plan], hung: Hung, filament: Filament
) -> list[Verdict]:
    """Verdicts on the end of the slot that bears most and the strip over it that is sheared most.

    Stresses in N/mm2 under the loads of `wall/statics`; the remedy is a thicker floor.
    """
    uses = [
        (h, keyhole_use(plans[layout.by_name[h.panel].design], h.keyhole, h.load_n, h.pull_n))
        for h in hung.hangers
    ]
    found = []
    for word, limit, what in (
        ("bearing", safe_stress(filament), "presses on the end of the slot with"),
        ("shear_out", safe_shear(filament), "shears the strip over the slot with"),
    ):
        hanger, worst = max(
            uses, key=lambda pair: (round(getattr(pair[1], word), 9), pair[0].panel)
        )
        stress = getattr(worst, word)
        floor = plans[layout.by_name[hanger.panel].design].floor.top_z
        says = f"The screw of panel {hanger.panel} {what} {fixed(stress, 2)} N/mm2."
        cure = f"Set {_key(layout, hanger)}.base.floor = {_up(floor * stress / limit)}."
        source = (
            "modulus x repeated snap strain x 0.5, half of it in shear; from memory, on the low"
            " side"
        )
        found.append(
            judge(
                "hang.keyhole",
                f"panel {hanger.panel}",
                at_most(stress, limit, "N/mm2"),
                says,
                remedy=cure,
                source=source,
            )
        )
    return found


def head_checks(
    layout: Layout, plans: Mapping[str, Plan], hung: Hung, filament: Filament
) -> list[Verdict]:
    """Verdicts on the screw's head: overhang over the slot's lips (mm), the travel that stays
    seated (mm), and the shear in the lips that hold it (N/mm2). The worst hanger of each is told.
    """

    def measure(hanger: Hanger) -> tuple[float, float, float]:
        made = keyhole_use(
            plans[layout.by_name[hanger.panel].design],
            hanger.keyhole,
            hanger.shear_n,
            hanger.pull_n,
        )
        return made.overhang, made.seated, made.lip

    least = min(hung.hangers, key=lambda h: (round(measure(h)[0], 9), h.panel))
    short = min(hung.hangers, key=lambda h: (round(measure(h)[1], 9), h.panel))
    torn = max(hung.hangers, key=lambda h: (round(measure(h)[2], 9), h.panel))
    overhang, seated, lip = measure(least)[0], measure(short)[1], measure(torn)[2]
    limit = safe_shear(filament) * 0.5
    floor = plans[layout.by_name[torn.panel].design].floor.top_z
    travel = plans[layout.by_name[short.panel].design].params.hanger.travel
    wide = least.keyhole.slot_w + 2 * HEAD_OVERHANG_MM
    return [
        judge(
            "hang.head",
            f"panel {least.panel}",
            at_least(overhang, HEAD_OVERHANG_MM),
            f"The screw's head stands {fixed(overhang, 2)} mm over the slot on each side: the head"
            " cannot slip through.",
            remedy=f"Set {_key(layout, least)}.hanger.head_d = {_up(wide)} and take such screws.",
            source="common practice, no source",
        ),
        judge(
            "hang.head",
            f"panel {short.panel}",
            at_least(seated, 0.0),
            f"At rest the shank is {fixed(seated, 2)} mm past the entry hole: the head cannot come"
            " out again.",
            remedy=f"Set {_key(layout, short)}.hanger.travel = {_up(travel - seated)}.",
            source="keyhole geometry",
        ),
        judge(
            "hang.head",
            f"panel {torn.panel}",
            at_most(lip, limit, "N/mm2"),
            f"The head pulls on the rim of the slot with {fixed(lip, 3)} N/mm2.",
            remedy=f"Set {_key(layout, torn)}.base.floor = {_up(floor * lip / limit)}.",
            source=(
                "modulus x repeated snap strain x 0.5, a quarter of it across the layers; from"
                " memory, low"
            ),
        ),
    ]


def _up(value: float) -> str:
    """Rounded up to a tenth: still enough."""
    return fixed(math.ceil(value * 10 - 1e-9) / 10)


def _key(layout: Layout, hanger: Hanger) -> str:
    return table_of(layout.by_name[hanger.panel].design)


def bend_check(
    layout: Layout, plans: Mapping[str, Plan], hung: Hung, factor: float
) -> list[Verdict]:
    """With feet: the screw bends as a cantilever from the room wall to the middle of the base's
    floor.

    M = F (feet + floor / 2), stress = 32 M / (pi d^3) on the core of the thread. Elementary
    statics.
    """
    found = []
    for hanger in hung.hangers:
        plan = plans[layout.by_name[hanger.panel].design]
        if plan.params.base.feet > 0:
            arm = plan.params.base.feet + plan.floor.top_z / 2
            moment = hanger.load_n * arm * factor
            core = plan.params.hanger.screw_d * CORE_SHARE
            found.append((32 * moment / (math.pi * core**3), hanger, arm))
    if not found:
        return []
    stress, worst, arm = max(found, key=lambda one: (round(one[0], 9), one[1].panel))
    wide = plans[layout.by_name[worst.panel].design].params.hanger.screw_d * (
        stress / STEEL_N_MM2
    ) ** (1 / 3)
    return [
        judge(
            "hang.screw-bend",
            f"screw {worst.panel}",
            at_most(stress, STEEL_N_MM2, "N/mm2"),
            f"Bending stress of the screw of panel {worst.panel}, {fixed(arm, 1)} mm off the wall,"
            f" with a safety factor of {fixed(factor, 1)}: {fixed(stress, 0)} N/mm2 (maximum"
            f" {fixed(STEEL_N_MM2, 0)} N/mm2).",
            remedy=(
                f"Set {_key(layout, worst)}.hanger.screw_d = {_up(wide)} with a head_d that suits"
                " it, or use lower feet."
            ),
            source="yield of steel class 4.8, ISO 898-1, and a core of 0.7 d: from memory",
        )
    ]


def room_check(known: WallToHang, hung: Hung) -> Verdict:
    """`hang.keyhole-room`: the panels that could not have a hanger on their middle, and have none
    beside it.
    """

    @cache
    def spans(base: MountedBase) -> tuple[Interval, ...]:
        return rest_spans(known.mounted(base), base.up_deg, base.opened, inlet=base.inlet)

    layout, lacking = known.layout, []
    for panel in layout.panels:
        if panel.name in hung.by_panel:
            continue  # it has one, perhaps moved sideways
        base = known.base_of(panel)
        offset = known.plans[panel.design].params.hanger.offset
        fits = any(
            offset is None or low - 1e-9 <= offset <= high + 1e-9 for low, high in spans(base)
        )
        if not fits:
            lacking.append((panel, base))
    says = "Every base has room for a keyhole."
    cure = ""
    if lacking:
        panel, base = lacking[0]
        free = spans(base)
        says = (
            f"Bases without room for a keyhole: {len(lacking)} of {len(layout.panels)}. The first"
            f" is that of panel {panel.name}."
        )
        key_of = table_of(panel.design)
        low, high = free[-1] if free else (0.0, 0.0)
        if free:
            cure = (
                f"Set {key_of}.hanger.offset between {_up(low)} and"
                f" {fixed(math.floor(high * 10 + 1e-9) / 10)}."
            )
        else:
            cure = _smaller(known.mounted(base), base, key_of)
    return judge(
        "hang.keyhole-room",
        "bases",
        at_most(float(len(lacking)), 0.0, "bases"),
        says,
        remedy=cure,
        source="keep-outs of the base's floor",
        otherwise="warn",
    )


def _smaller(plan: Plan, base: MountedBase, key: str) -> str:
    """A shorter travel at which the keyhole fits, else words."""
    travel = plan.params.hanger.travel
    while travel > 5.0:
        travel = round(travel - 0.5, 1)
        hanger = replace(plan.params.hanger, travel=travel)
        shorter = replace(plan, params=replace(plan.params, hanger=hanger))
        if rest_spans(shorter, base.up_deg, base.opened, inlet=base.inlet):
            return f"Set {key}.hanger.travel = {fixed(travel)}."
    return (
        f"Use smaller screws ({key}.hanger.head_d, screw_d), another layout.turn_deg, or a larger"
        " panel."
    )
