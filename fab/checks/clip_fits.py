"""The fits of a clip in its base, measured."""

from __future__ import annotations

import math
from collections.abc import Sequence

from fab.checks import gaps
from fab.checks.fit_stated import FAULT, as_stated, edge_way, the_part
from fab.checks.model import Verdict, at_least, at_most, judge
from fab.parts.placed import Named
from fab.parts.plan import Plan
from fab.solids import cuts
from fab.solids.cuts import cut_at
from fab.solids.mesh import Mesh
from fab.units import fixed


def clip_fits(plan: Plan, parts: Sequence[Named], clip: Named, subject: str) -> list[Verdict]:
    """Foot in the floor, leg in the pocket; the half of the clip that is in this base."""
    edge = int(clip.name.split()[-1][:-1])
    way = edge_way(plan, edge)
    base = the_part(parts, "base")
    return [
        clip_foot(plan, base, clip, way, subject, "fit.clip"),
        clip_leg(plan, base, clip, way, subject, "fit.clip-hook"),
        *_clip_holds(plan, base, clip, math.atan2(way[1], way[0]), subject),
    ]


def clip_foot(
    plan: Plan, base: Named, clip: Named, way: tuple[float, float], subject: str, check: str
) -> Verdict:
    """The play of a clip's foot in the floor against the clearance that its fit states.

    Measured between sections of both meshes at half the foot's height, towards the joint (`way`)
    and both ways along it.
    """
    z = (plan.clip.bar_top_z + plan.fit("clip") + plan.floor.top_z) / 2
    a, b = cut_at(clip.mesh, z), cut_at(base.mesh, z)
    side = (-way[1], way[0])
    readings = [
        ("towards the joint", gaps.travel(a, b, way)),
        ("along the joint", gaps.travel(a, b, side)),
        ("along the joint, the other way", gaps.travel(a, b, (-side[0], -side[1]))),
    ]
    return as_stated(
        check, f"{subject}, {clip.name}", readings, plan.fit("clip"), "a clip's foot in the floor"
    )


def clip_leg(
    plan: Plan, base: Named, clip: Named, way: tuple[float, float], subject: str, check: str
) -> Verdict:
    """The play of a clip's leg in its pocket, inwards, against the clearance that its fit states.

    Measured between sections of both meshes at half the leg's free height; `way` points to the
    joint.
    """
    z = (plan.floor.top_z + plan.clip.catch_z) / 2
    a, b = cut_at(clip.mesh, z), cut_at(base.mesh, z)
    reading = ("inwards", gaps.travel(a, b, (-way[0], -way[1])))
    return as_stated(
        check,
        f"{subject}, {clip.name}",
        [reading],
        plan.fit("clip-hook"),
        "a clip's leg in its pocket",
    )


def _clip_holds(plan: Plan, base: Named, clip: Named, angle: float, subject: str) -> list[Verdict]:
    """Pulled to the wall the hook meets the pocket's wall, soon and not at once; the wall stays
    behind the hook.
    """
    mean = float(_turned_mean(clip, angle))
    side = min(plan.clip.pockets, key=lambda at: abs(at - mean))
    a = cut_at(_upright(clip, angle), side + 0.017)
    b = cut_at(_upright(base, angle), side + 0.017)
    down = gaps.travel(a, b, (-1.0, 0.0))
    slope = math.radians(plan.params.clip.return_deg)
    rest = plan.fit("clip-hook")
    play = rest / math.tan(slope) + plan.clip.catch_z - plan.clip.pocket_z
    ways = [(-math.sin(slope), sign * math.cos(slope)) for sign in (-1.0, 1.0)]
    square = min(gaps.travel(a, b, way) for way in ways)
    return [
        judge(
            "fit.clip-face",
            f"{subject}, {clip.name}",
            at_least(min(square, 99.0), rest - 0.01),
            "Clearance of a clip's hook, square to its holding face:"
            f" {fixed(min(square, 99.0), 3)} mm.",
            remedy=FAULT,
        ),
        judge(
            "fit.clip-caught",
            f"{subject}, {clip.name}",
            at_most(min(down, 99.0), play + 0.15),
            "Travel of a clip pulled towards the room wall until its hook holds:"
            f" {fixed(min(down, 99.0), 2)} mm.",
            remedy=FAULT,
        ),
    ]


def _upright(one: Named, angle: float) -> Mesh:
    """Turned so that cuts at "height" t are planes across the edge; coordinates (z, outwards)."""
    return cuts.across_edge(one.mesh, angle)


def _turned_mean(one: Named, angle: float) -> float:
    x, y = one.mesh.vertices[:, 0], one.mesh.vertices[:, 1]
    return float((y * math.cos(angle) - x * math.sin(angle)).mean())
