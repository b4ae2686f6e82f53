"""Does the wall hang safely? The reckoning lives in the wall room; here it is held against limits."""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping

from fab.checks.model import Verdict, Word, at_least, at_most
from fab.errors import InputError
from fab.layout.model import Layout
from fab.params.job import HangParams
from fab.params.shop import Filament, WallType
from fab.parts.keyhole import rest_spans
from fab.parts.plan import Plan
from fab.units import fixed
from fab.wall.choose import choose
from fab.wall.model import CENTRE_MARGIN_MM, TILT_LIMIT_DEG, Hanger, Hung, JointStrength, PanelMass
from fab.wall.order import hanging_order
from fab.wall.strength import keyhole_use, safe_shear, safe_stress
from fab.wall.tiling import Tiling

CAUTION = (
    "What hangs over heads can hurt: the plug must suit the wall, local codes come first, and in doubt a tradesperson "
    "looks at it."
)
HEAD_OVERHANG_MM = 1.0  # of the head over the slot, per side; common practice, no source
OWN_WAY = "elementary statics"


def hang_checks(
    layout: Layout,
    plans: Mapping[str, Plan],
    hung: Hung,
    masses: Mapping[str, PanelMass],
    hang: HangParams,
    wall: WallType,
    filament: Filament,
    *,
    joint: JointStrength | None = None,
    wanted: Collection[int] = (),
    inlets: Mapping[str, int] | None = None,
) -> tuple[Verdict, ...]:
    """Verdicts `hang.*` of a hung wall.

    `joint`: what clips bear (the same as was given to `choose`); `wanted`: joints whose header the power needs;
    `inlets` as given to `choose`.
    """
    strength = joint or JointStrength()

    def again(reach: int) -> Hung | None:
        try:
            other = HangParams(**{**vars(hang), "reach": reach})
            return choose(layout, plans, masses, other, wall, strength, inlets=inlets)
        except InputError:
            return None

    closer = None
    if _joint_use(hung, strength) > 1 + 1e-9:
        closer = next(
            (r for r in range(hang.reach - 1, -1, -1) if (h := again(r)) and _joint_use(h, strength) <= 1 + 1e-9), None
        )
    return (
        _screw_load(hung, hang, wall),
        _uplift(hung),
        *_centre(hung),
        _reach(hung, hang),
        _fewest(hung),
        *_joints(layout, hung, strength, closer),
        *_keyholes(layout, plans, hung, filament),
        *_heads(layout, plans, hung, filament),
        _room(layout, plans, inlets or {}),
        _order(layout, plans, hung, masses, wanted),
    )


def use(hanger: Hanger, hang: HangParams, wall: WallType) -> float:
    """Share of a screw's limit, factor included: the worse of the stiff and the yielding wall."""
    shear = max(hanger.shear_n, hanger.soft_n)
    return hang.factor * (shear / wall.shear_n + hanger.pull_n / wall.pull_n)


def _screw_load(hung: Hung, hang: HangParams, wall: WallType) -> Verdict:
    worst = max(hung.hangers, key=lambda h: (round(use(h, hang, wall), 9), h.panel))
    share = use(worst, hang, wall)
    shear = max(worst.shear_n, worst.soft_n)
    says = (
        f"The screw of panel {worst.panel} carries {fixed(shear, 1)} N along and {fixed(worst.pull_n, 1)} N out of the "
        f"wall; with factor {fixed(hang.factor, 1)} that is {fixed(share * 100, 0)} % of what a screw in {hang.wall} "
        f"may. {CAUTION}"
    )
    key = f"shop.wall.{hang.wall}"
    best = math.floor(hang.factor / share * 10) / 10 if share > 0 else hang.factor
    shear_n, pull_n = math.ceil(wall.shear_n * share), math.ceil(wall.pull_n * share)
    cure = (
        f"With plugs that bear it by their maker's figures halved, set {key}.shear_n = {shear_n} and "
        f"{key}.pull_n = {pull_n}"
    )
    cure += f", or hang.factor = {fixed(best, 1)}." if best >= 1.0 else "; or hang fewer or lighter panels."
    source = f"{key}, hang.factor; linear interaction of shear and pull, the cautious line for anchors, from memory"
    return at_most("hang.screw-load", f"screw {worst.panel}", share * 100, 100.0, "%", says, remedy=cure, source=source)


def _uplift(hung: Hung) -> Verdict:
    least = min(hung.hangers, key=lambda h: (round(h.least_n, 9), h.panel))
    says = (
        f"The keyhole of panel {least.panel} would be lifted off its screw by {fixed(-least.least_n, 2)} N."
        if least.least_n < 0
        else f"No keyhole is lifted off: the least loaded, of panel {least.panel}, keeps {fixed(least.least_n, 2)} N."
    )
    cure = "Let more panels have hangers: take names out of hang.avoid, or zones out of hang.zones."
    subject = f"screw {least.panel}"
    weight = sum(group.weight_n for group in hung.groups)
    return at_least(
        "hang.uplift", subject, least.least_n, 0.0, "N", says, remedy=cure, source=OWN_WAY, tolerance=1e-6 * weight
    )


def _centre(hung: Hung) -> list[Verdict]:
    narrow = min(hung.groups, key=lambda g: (round(g.margin, 9), g.panels[0]))
    first, alone, inside = narrow.panels[0], len(narrow.panels) == 1, fixed(narrow.margin, 1)
    says = (
        f"Panel {first} hangs on one screw, {inside} mm over its centre of mass."
        if alone
        else f"The centre of mass of the group of panel {first} lies {inside} mm inside the outer screws."
    )
    limit = 0.5 if alone else CENTRE_MARGIN_MM
    cure = (
        "Leave panel.hanger.offset out, so that the rest lies as high as it can."
        if alone
        else "Add a panel on the light side to hang.must, or take one there out of hang.avoid."
    )
    found = [at_least("hang.centre", f"group {first}", narrow.margin, limit, "mm", says, remedy=cure, source=OWN_WAY)]
    for group in hung.groups:
        if group.tilt_deg > TILT_LIMIT_DEG:
            name, tilt = group.panels[0], group.tilt_deg
            found.append(
                at_most(
                    "hang.centre", f"panel {name}", tilt, TILT_LIMIT_DEG, "deg",
                    f"Alone on one screw, panel {name} hangs {fixed(tilt, 1)} degrees out of level.",
                    remedy="Put a dot of putty behind its lower edge, or give the inlet another edge.",
                    source="common practice, no source", otherwise="warn",
                )
            )  # fmt: skip
    return found


def _reach(hung: Hung, hang: HangParams) -> Verdict:
    panel, steps = max(hung.far.items(), key=lambda item: item[1])
    says = f"Panel {panel} is {steps} joint{'' if steps == 1 else 's'} from the nearest hanger, the furthest of all."
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
    told = {"exhaustive": "by trying every choice", "programme": "by an integer programme", "search": "by its bound"}
    if hung.broken:
        says = f"{count} screws for {panels} panels: no choice keeps every rule, this one comes nearest."
    elif hung.gap == 0:
        says = f"{count} screws hold {panels} panels; fewer are impossible, proven {told[hung.method]}."
    else:
        says = f"{count} screws hold {panels} panels; at most {hung.gap} could be saved."
    cure = "Nothing has to be done; hang.must and hang.avoid can steer the search."
    return at_most("hang.fewest", "wall", float(count), float(hung.least), "screws", says, remedy=cure,
                   source="proven lower bound", otherwise="warn")  # fmt: skip


def _joint_use(hung: Hung, strength: JointStrength) -> float:
    return max(
        (max(load.across_n / strength.across_n, load.along_n / strength.along_n) for load in hung.joints), default=0.0
    )


def _joints(layout: Layout, hung: Hung, strength: JointStrength, closer: int | None) -> list[Verdict]:
    if not hung.joints:
        return []
    cure = (
        f"Set hang.reach = {closer}."
        if closer is not None
        else "Take names out of hang.avoid, or a stronger clip: clip.width, clip.leg."
    )
    found = []
    for word, limit, what in (
        ("across_n", strength.across_n, "is pulled apart with"), ("along_n", strength.along_n, "is sheared with"),
        ("lift_n", strength.lift_n, "is lifted off the wall with"),
    ):  # fmt: skip
        worst = max(hung.joints, key=lambda load: (round(getattr(load, word), 9), -load.joint))
        joint = layout.joints[worst.joint]
        force = getattr(worst, word)
        says = f"The busiest clip between panels {joint.a} and {joint.b} {what} {fixed(force, 2)} N."
        found.append(
            at_most(
                "hang.joint", f"joint {joint.a}-{joint.b}", force, limit, "N", says, remedy=cure, source=strength.source
            )
        )
    return found


def _keyholes(layout: Layout, plans: Mapping[str, Plan], hung: Hung, filament: Filament) -> list[Verdict]:
    uses = [
        (h, keyhole_use(plans[layout.by_name[h.panel].design], h.keyhole, max(h.shear_n, h.soft_n), h.pull_n))
        for h in hung.hangers
    ]
    found = []
    for word, limit, what in (
        ("bearing", safe_stress(filament), "presses on the slot's end with"),
        ("shear_out", safe_shear(filament), "shears the strip over the slot with"),
    ):
        hanger, worst = max(uses, key=lambda pair: (round(getattr(pair[1], word), 9), pair[0].panel))
        stress = getattr(worst, word)
        floor = plans[layout.by_name[hanger.panel].design].floor_z
        says = f"The screw of panel {hanger.panel} {what} {fixed(stress, 2)} N/mm2."
        cure = f"Set {_key(layout, hanger)}.base.floor = {_up(floor * stress / limit)}."
        source = "modulus x repeated snap strain x 0.5, half of it in shear; from memory, on the low side"
        found.append(
            at_most("hang.keyhole", f"panel {hanger.panel}", stress, limit, "N/mm2", says, remedy=cure, source=source)
        )
    return found


def _heads(layout: Layout, plans: Mapping[str, Plan], hung: Hung, filament: Filament) -> list[Verdict]:
    def measure(hanger: Hanger) -> tuple[float, float, float]:
        made = keyhole_use(plans[layout.by_name[hanger.panel].design], hanger.keyhole, hanger.shear_n, hanger.pull_n)
        return made.overhang, made.seated, made.lip

    least = min(hung.hangers, key=lambda h: (round(measure(h)[0], 9), h.panel))
    short = min(hung.hangers, key=lambda h: (round(measure(h)[1], 9), h.panel))
    torn = max(hung.hangers, key=lambda h: (round(measure(h)[2], 9), h.panel))
    overhang, seated, lip = measure(least)[0], measure(short)[1], measure(torn)[2]
    limit = safe_shear(filament) * 0.5
    floor = plans[layout.by_name[torn.panel].design].floor_z
    travel = plans[layout.by_name[short.panel].design].params.hanger.travel
    wide = least.keyhole.slot_w + 2 * HEAD_OVERHANG_MM
    return [
        at_least(
            "hang.head", f"panel {least.panel}", overhang, HEAD_OVERHANG_MM, "mm",
            f"The screw's head stands {fixed(overhang, 2)} mm over the slot on each side: it can't slip through.",
            remedy=f"Set {_key(layout, least)}.hanger.head_d = {_up(wide)} and take such screws.",
            source="common practice, no source",
        ),
        at_least(
            "hang.head", f"panel {short.panel}", seated, 0.0, "mm",
            f"At rest the shank is {fixed(seated, 2)} mm past the entry: the head can't come out where it went in.",
            remedy=f"Set {_key(layout, short)}.hanger.travel = {_up(travel - seated)}.", source=OWN_WAY,
        ),
        at_most(
            "hang.head", f"panel {torn.panel}", lip, limit, "N/mm2",
            f"The head pulls on the rim of the slot with {fixed(lip, 3)} N/mm2.",
            remedy=f"Set {_key(layout, torn)}.base.floor = {_up(floor * lip / limit)}.",
            source="modulus x repeated snap strain x 0.5, a quarter of it across the layers; from memory, low",
        ),
    ]  # fmt: skip


def _up(value: float) -> str:
    """Rounded up to a tenth: still enough."""
    return fixed(math.ceil(value * 10 - 1e-9) / 10)


def _key(layout: Layout, hanger: Hanger) -> str:
    design = layout.by_name[hanger.panel].design
    return "panel" if design == "panel" else f"designs.{design}"


def _room(layout: Layout, plans: Mapping[str, Plan], inlets: Mapping[str, int]) -> Verdict:
    """How many panels could have a hanger at all."""
    lacking, spans = [], {}
    for panel in layout.panels:
        edge = inlets.get(panel.name)
        up = (90.0 - panel.turn_deg - (edge or 0) * 360.0 / panel.cell.sides) % 360.0
        key = (panel.design, round(up, 6), edge is not None)
        if key not in spans:
            spans[key] = rest_spans(plans[panel.design], up, edge is not None)
        offset = plans[panel.design].params.hanger.offset
        fits = any(offset is None or low - 1e-9 <= offset <= high + 1e-9 for low, high in spans[key])
        if not fits:
            lacking.append((panel, spans[key]))
    says = "Every base has room for a keyhole."
    cure = ""
    if lacking:
        panel, free = lacking[0]
        says = f"{len(lacking)} of {len(layout.panels)} bases have no room for a keyhole, panel {panel.name} first."
        key_of = "panel" if panel.design == "panel" else f"designs.{panel.design}"
        low, high = free[-1] if free else (0.0, 0.0)
        if free:
            cure = f"Set {key_of}.hanger.offset between {_up(low)} and {fixed(math.floor(high * 10 + 1e-9) / 10)}."
        else:
            cure = _smaller(plans[panel.design], panel.turn_deg, panel.name in inlets, key_of)
    return at_most("hang.keyhole-room", "bases", float(len(lacking)), 0.0, "bases", says, remedy=cure,
                   source="keep-outs of the base's floor", otherwise="warn")  # fmt: skip


def _smaller(plan: Plan, turn_deg: float, inlet: bool, key: str) -> str:
    """A shorter travel at which the keyhole fits, else words."""
    from dataclasses import replace

    up = (90.0 - turn_deg) % 360.0
    travel = plan.params.hanger.travel
    while travel > 5.0:
        travel = round(travel - 0.5, 1)
        hanger = replace(plan.params.hanger, travel=travel)
        if rest_spans(replace(plan, params=replace(plan.params, hanger=hanger)), up, inlet):
            return f"Set {key}.hanger.travel = {fixed(travel)}."
    return f"Take smaller screws ({key}.hanger.head_d, screw_d), another layout.turn_deg, or a larger panel."


def _order(
    layout: Layout, plans: Mapping[str, Plan], hung: Hung, masses: Mapping[str, PanelMass], wanted: Collection[int]
) -> Verdict:
    """Can all be put together and hung, with every header that is needed?"""
    order = hanging_order(layout, plans, hung, {name: mass.grams for name, mass in masses.items()}, wanted)
    lost = sorted(set(wanted) & set(order.unmated))
    word: Word = "fail" if lost or order.blocked else "warn" if any(not lift.handy for lift in order.lifts) else "pass"
    says, cure = order.says, ""
    if lost:
        joint = layout.joints[lost[0]]
        says = (
            f"{len(lost)} headers that the power needs can't be mated by a straight push, between {joint.a} and "
            f"{joint.b} first. {says}"
        )
        cure = "Name other panels in power.inlet, so that no zone needs them, or open the ring of panels there."
    elif order.blocked:
        says = f"The piece with panel {order.blocked[0]} finds no free way down onto its screws. {says}"
        travel = min(plans[panel.design].params.hanger.travel for panel in layout.panels)
        cure = f"Move that group {fixed(travel)} mm (hanger.travel) away from the one above, or join them."
    elif word == "warn":
        cure = 'More hands, or two walls with layout.groups = "separate".'
    return Verdict("hang.order", word, "wall", float(len(lost) + len(order.blocked)), 0.0, "steps", says, cure, OWN_WAY)


def template_checks(tiling: Tiling) -> tuple[Verdict, ...]:
    """`hang.template`: no screw mark on a seam."""
    count = len(tiling.on_seams)
    says = f"Every screw mark lies whole on one of {len(tiling.tiles)} pages, clear of the cuts."
    if count:
        says = f"{count} screw marks lie on a cut between two pages, that of panel {tiling.on_seams[0]} first."
    return (
        at_most("hang.template", "pages", float(count), 0.0, "marks", says, otherwise="warn",
                remedy='Set shop.paper.size = "A3" or a roll; or use wall/holes.csv for those.', source="own rule"),
    )  # fmt: skip
