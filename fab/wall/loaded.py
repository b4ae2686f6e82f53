"""The wall on its chosen screws: the load of each of them, of each group and of each joint."""

from __future__ import annotations

import math
from collections.abc import Sequence

from fab.layout.model import Layout
from fab.wall.frame import FrameModel
from fab.wall.model import GroupLoad, Hanger, Hung, JointLoad
from fab.wall.pick import Pick
from fab.wall.problem import HangGroup, state
from fab.wall.search import steps_to

METHODS = ("exhaustive", "programme", "search")  # from the strongest to the weakest


def loaded(
    layout: Layout, groups: Sequence[HangGroup], models: Sequence[FrameModel], picks: Sequence[Pick]
) -> Hung:
    """Return the wall on the chosen screws of each group, with the load of each screw and joint."""
    hangers: list[Hanger] = []
    loads: list[GroupLoad] = []
    joints: dict[int, JointLoad] = {}
    far: dict[str, int] = {}
    broken: set[str] = set()
    for group, model, choice in zip(groups, models, picks, strict=True):
        found = state(group, choice.chosen)
        broken |= set(found.broken) | set(choice.broken)
        singular = len(group.names) > 1 and len(choice.chosen) < 2
        frame = None if singular else model.solve(choice.chosen)
        for order, k in enumerate(choice.chosen):
            place, hole = group.places[k], group.places[k].keyhole
            assert hole is not None  # a place without a keyhole is never open
            soft = frame.screws[order] if frame else (0.0, found.loads.up[order])
            hangers.append(
                Hanger(
                    place.panel,
                    place.x,
                    place.y,
                    place.up_deg,
                    hole,
                    found.loads.shear[order],
                    found.pulls[order],
                    math.hypot(*soft),
                    found.uneven[order],
                    min(soft[1], found.loads.up[order]),
                    place.aside_mm,
                    place.rest_mm,
                )
            )
        x, y, z = group.centre
        loads.append(
            GroupLoad(
                group.names, group.weight, x, y, z, group.upright, found.margin, found.tilt_deg
            )
        )
        steps = steps_to(group, choice.chosen)
        far.update(zip(group.names, steps, strict=True))
        if frame:
            _joint_loads(group, model, choice.chosen, frame.across, frame.along, joints)
    order_of = {panel.name: k for k, panel in enumerate(layout.panels)}
    method = max((choice.method for choice in picks), key=METHODS.index)
    return Hung(
        tuple(sorted(hangers, key=lambda h: order_of[h.panel])),
        tuple(loads),
        tuple(joints[k] for k in sorted(joints)),
        {panel.name: far[panel.name] for panel in layout.panels},
        sum(choice.least for choice in picks),
        method,
        tuple(sorted(broken)),
        proven=all(choice.proven for choice in picks),
    )


def _joint_loads(
    group: HangGroup,
    model: FrameModel,
    chosen: Sequence[int],
    across: Sequence[float],
    along: Sequence[float],
    joints: dict[int, JointLoad],
) -> None:
    hung = set(chosen)
    for clip, pull, shear in zip(model.clips, across, along, strict=True):
        before = joints.get(clip.joint, JointLoad(clip.joint, 0.0, 0.0, 0.0))
        lift = max((group.tipping[k] for k in (clip.a, clip.b) if k not in hung), default=0.0)
        joints[clip.joint] = JointLoad(
            clip.joint,
            max(before.across_n, pull, 0.0),
            max(before.along_n, abs(shear)),
            max(before.lift_n, lift),
        )
