"""The way to put together, hang and drill a wall: order of hanging, marks of the template, jig."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from fab.checks.model import Verdict, Word, at_most, judge
from fab.layout.joint_table import BLANK, JointTable
from fab.layout.model import Joint, Layout
from fab.params.job import HangParams
from fab.parts.plan import Plan
from fab.units import fixed, some
from fab.wall.model import Hung
from fab.wall.order import HangingOrder
from fab.wall.tiling import Tiling


def order_check(
    layout: Layout, plans: Mapping[str, Plan], order: HangingOrder, table: JointTable | None
) -> Verdict:
    """`hang.order`: all can be put together and hung, with every board joined to the others."""
    apart = 0
    if table is not None:
        live = [panel.name for panel in layout.panels if not plans[panel.design].params.board.none]
        able = [
            joint for joint, row in zip(layout.joints, table.rows, strict=True) if row.why != BLANK
        ]
        joined = [layout.joints[k] for k in table.joined]
        apart = len(_together(live, joined)) - len(_together(live, able))
    word: Word = (
        "fail"
        if apart or order.blocked
        else "warn"
        if any(not lift.handy for lift in order.lifts)
        else "pass"
    )
    says, cure = order.says, ""
    if apart:
        says = (
            f"No straight push mates a header at some joints: the wall falls into {apart}"
            f" part{'s' if apart > 1 else ''} too many. {says}"
        )
        cure = 'Set joint.jumper = "needed".'
    elif order.blocked:
        says = (
            f"The piece with panel {order.blocked[0]} has no free path down onto its screws. {says}"
        )
        travel = min(plans[panel.design].params.hanger.travel for panel in layout.panels)
        cure = (
            f"Move that group {fixed(travel)} mm (hanger.travel) away from the group above, or"
            " join the two."
        )
    elif word == "warn":
        cure = 'Lift with more people, or make two walls with layout.groups = "separate".'
    return Verdict(
        "hang.order",
        word,
        "wall",
        float(apart + len(order.blocked)),
        0.0,
        "steps",
        says,
        cure,
        "elementary statics",
    )


def _together(names: Sequence[str], joints: Sequence[Joint]) -> list[set[str]]:
    """Panels that hang together by some joints."""
    parts = {name: {name} for name in names}
    for joint in joints:
        one, other = parts[joint.a], parts[joint.b]
        if one is not other:
            one |= other
            for name in other:
                parts[name] = one
    return list({id(part): part for part in parts.values()}.values())


def template_checks(tiling: Tiling) -> tuple[Verdict, ...]:
    """`hang.template`: no screw mark on a seam."""
    count = len(tiling.on_seams)
    says = (
        "Every screw mark lies on one page and clear of the cuts"
        f" ({some(len(tiling.tiles), 'page')})."
    )
    if count:
        says = (
            f"{count} screw marks lie on a cut between two pages. The first is that of panel"
            f" {tiling.on_seams[0]}."
        )
    return (
        judge(
            "hang.template",
            "pages",
            at_most(float(count), 0.0, "marks"),
            says,
            otherwise="warn",
            remedy=(
                'Set shop.paper.size = "A3" or use a roll of paper; or measure these marks from'
                " wall/holes.csv."
            ),
            source="own rule",
        ),
    )


def jig_check(hung: Hung, hang: HangParams) -> tuple[Verdict, ...]:
    """`hang.jig`: screws stand as the guide holes do, one panel apart; silent without a jig."""
    if not hang.jig:
        return ()
    aside = [hanger.panel for hanger in hung.hangers if hanger.panel in hung.spots]
    says = "Every screw stands one panel from the next, as the guide holes of the jig do."
    if aside:
        says = (
            f"{some(len(aside), 'screw')} aside of the place that the jig guides to. The first is"
            f" that of panel {aside[0]}."
        )
    return (
        judge(
            "hang.jig",
            "jig",
            at_most(float(len(aside)), 0.0, "screws"),
            says,
            otherwise="warn",
            remedy="Drill these through the template, or set hang.jig = false.",
            source="keyholes aside for hang.studs, hang.rails and hang.zones",
        ),
    )
