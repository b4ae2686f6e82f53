"""Limits of a hung wall's joints: pull, shear and lift on its clips."""

from __future__ import annotations

import math
from collections.abc import Mapping

from fab.checks.model import Verdict, at_most, judge
from fab.layout.model import Joint, Layout
from fab.params.designs import table_of
from fab.params.job import HangParams
from fab.parts.plan import Plan
from fab.units import fixed
from fab.wall.model import Hung, JointStrength


def more_places(hang: HangParams) -> str:
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


def joint_use(hung: Hung, strength: JointStrength) -> float:
    """The largest share of its limit that a clip carries across or along its joint."""
    return max(
        (
            max(load.across_n / strength.across_n, load.along_n / strength.along_n)
            for load in hung.joints
        ),
        default=0.0,
    )


def joint_checks(
    layout: Layout,
    plans: Mapping[str, Plan],
    hung: Hung,
    hang: HangParams,
    strength: JointStrength,
    closer: int | None,
) -> list[Verdict]:
    """Verdicts `hang.joint` on the clips that carry most.

    `closer`: the reach at which no clip carries too much, where there is one.
    """
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
        cure = cure or _stronger(layout, plans, joint, word, force / limit, more_places(hang))
        says = (
            f"The most loaded clip between panels {joint.a} and {joint.b} {what}"
            f" {fixed(force, 2)} N."
        )
        found.append(
            judge(
                "hang.joint",
                f"joint {joint.a}-{joint.b}",
                at_most(force, limit, "N"),
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
