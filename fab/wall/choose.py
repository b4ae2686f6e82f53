"""Where to hang: the fewest screws that hold the wall safely, and what each of them and each joint then carries."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace

from fab.errors import Fault, InputError
from fab.layout.model import Layout
from fab.params.job import HangParams
from fab.params.shop import WallType
from fab.parts.plan import Plan
from fab.wall.frame import FrameModel, clips_of
from fab.wall.model import GroupLoad, Hanger, Hung, JointLoad, JointStrength, PanelMass
from fab.wall.pick import TRY_ALL, Pick, try_all
from fab.wall.places import places
from fab.wall.problem import Group, groups_of, state
from fab.wall.programme import by_programme
from fab.wall.refuse import refusal
from fab.wall.search import by_search

PROGRAMME = 300  # panels of a group up to which the integer programme is asked
FALLBACKS = (("joint",), ("screw-load",), ("screw-load", "joint"), ("uplift", "screw-load", "joint"))
METHODS = ("exhaustive", "programme", "search")


def wall_type(kinds: Mapping[str, WallType], name: str) -> WallType:
    """The wall type behind `hang.wall`; refused with the names that there are."""
    if name in kinds:
        return kinds[name]
    known = ", ".join(sorted(kinds)) or "none: add a [shop.wall.NAME] table"
    raise InputError([Fault("", "hang.wall", f'no kind of wall is named "{name}"', f"The shop has: {known}.")])


def choose(
    layout: Layout,
    plans: Mapping[str, Plan],
    masses: Mapping[str, PanelMass],
    hang: HangParams,
    wall: WallType,
    joint: JointStrength | None = None,
    *,
    inlets: Mapping[str, int] | None = None,
    jumpers: Mapping[str, Sequence[int]] | None = None,
) -> Hung:
    """The fewest hangers for a wall.

    `plans` by name of design; `masses` by name of panel; `inlets`: panel to the open edge its inlet leaves by;
    `jumpers`: panel to its edges whose base has an opening for a jumper.
    Raises InputError when no choice can be made (every place forbidden, or a panel named for a screw that it can't
    have). Where strength or places are wanting, the wall is hung as well as can be: `broken` names the rules and
    `lacking` tells why no choice keeps them; their checks fail.
    """
    strength = joint or JointStrength()
    spots = places(layout, plans, hang, wall, inlets or {}, jumpers)
    groups = groups_of(layout, plans, masses, spots, hang, wall, strength)
    models = [FrameModel(group, clips_of(layout, plans, group), strength) for group in groups]
    faults = [fault for group in groups for fault in refusal(group, hang, wall)]
    if any(fault.key == "hang.must" for fault in faults) or not all(group.open_to() for group in groups):
        raise InputError(faults)
    picks = [_pick_or_fall_back(group, model) for group, model in zip(groups, models, strict=True)]
    return replace(_hung(layout, groups, models, picks), lacking=tuple(faults))


def hung_on(
    layout: Layout,
    plans: Mapping[str, Plan],
    masses: Mapping[str, PanelMass],
    hang: HangParams,
    wall: WallType,
    panels: Sequence[str],
    joint: JointStrength | None = None,
    *,
    inlets: Mapping[str, int] | None = None,
    jumpers: Mapping[str, Sequence[int]] | None = None,
) -> Hung:
    """The wall on screws in exactly these `panels` (at least one in every group), whatever rules that breaks."""
    strength = joint or JointStrength()
    spots = places(layout, plans, hang, wall, inlets or {}, jumpers)
    groups = groups_of(layout, plans, masses, spots, hang, wall, strength)
    models = [FrameModel(group, clips_of(layout, plans, group), strength) for group in groups]
    picks = []
    for group in groups:
        chosen = tuple(k for k, name in enumerate(group.names) if name in set(panels))
        picks.append(Pick(chosen, 1, "exhaustive", state(group, chosen).broken))
    return _hung(layout, groups, models, picks)


def pick(group: Group, model: FrameModel, ignored: frozenset[str] = frozenset()) -> Pick | None:
    """Fewest screws of one group that keep every rule but the ignored ones; None when no choice does."""
    open_to = group.open_to()
    if len(open_to) - len(group.must) <= TRY_ALL:
        return try_all(group, model, open_to, ignored)
    if len(group.names) <= PROGRAMME:
        return by_programme(group, model, open_to, ignored)
    return by_search(group, model, open_to, ignored)


def _pick_or_fall_back(group: Group, model: FrameModel) -> Pick:
    """The best choice; where strength is wanting, all places are used: every screw then carries least."""
    found = pick(group, model)
    if found is not None:
        return found
    open_to = group.open_to()
    whole = set(state(group, open_to).broken)
    for ignored in FALLBACKS:
        if "screw-load" in ignored and not whole - set(ignored):
            return Pick(open_to, len(open_to), "exhaustive", ignored)
        found = pick(group, model, frozenset(ignored))
        if found is not None:
            return Pick(found.chosen, found.least, found.method, ignored)
    return Pick(open_to, len(open_to), "exhaustive", tuple(sorted(whole)))


def _hung(layout: Layout, groups: Sequence[Group], models: Sequence[FrameModel], picks: Sequence[Pick]) -> Hung:
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
                Hanger(place.panel, place.x, place.y, place.up_deg, hole, found.loads.shear[order],
                       found.pulls[order], math.hypot(*soft), min(soft[1], found.loads.up[order]))
            )  # fmt: skip
        x, y, z = group.centre
        loads.append(GroupLoad(group.names, group.weight, x, y, z, group.upright, found.margin, found.tilt_deg))
        steps = _steps(group, choice.chosen)
        far.update(zip(group.names, steps, strict=True))
        if frame:
            _joint_loads(group, model, choice.chosen, frame.across, frame.along, joints)
    order_of = {panel.name: k for k, panel in enumerate(layout.panels)}
    method = max((choice.method for choice in picks), key=METHODS.index)
    return Hung(
        tuple(sorted(hangers, key=lambda h: order_of[h.panel])), tuple(loads), tuple(joints[k] for k in sorted(joints)),
        {panel.name: far[panel.name] for panel in layout.panels}, sum(choice.least for choice in picks), method,
        tuple(sorted(broken)),
    )  # fmt: skip


def _joint_loads(
    group: Group,
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
            clip.joint, max(before.across_n, pull, 0.0), max(before.along_n, abs(shear)), max(before.lift_n, lift)
        )


def _steps(group: Group, chosen: Sequence[int]) -> list[int]:
    """Joints between each panel and the nearest chosen one."""
    steps = [len(group.names)] * len(group.names)
    edge = list(chosen)
    for k in edge:
        steps[k] = 0
    while edge:
        following = []
        for k in edge:
            for n in group.links[k]:
                if steps[n] > steps[k] + 1:
                    steps[n] = steps[k] + 1
                    following.append(n)
        edge = following
    return steps
