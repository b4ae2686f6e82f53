"""Checks that the parts of a panel fit, measured on solids and meshes in place, not on the plan.

overlap      no two parts share room (a cap's crush ribs apart)
clearances   every fit of the table, measured between the faces it belongs to, within 0.01 mm of its
             class
travel       a press edge has its free play, its travel and its stop, in that order; the shell comes
             off
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from fab.checks import base_fits, fits_measured, joint_measured, jumper_measured, motion
from fab.checks.fit_stated import the_part
from fab.checks.model import Verdict, at_least, at_most, judge
from fab.checks.nearness import near_pairs
from fab.layout.model import BaseKind
from fab.params.designs import called
from fab.parts.assembly import joint_parts, panel_parts
from fab.parts.cap import RIB_R, rib_z
from fab.parts.placed import Named, Printed
from fab.parts.plan import Plan
from fab.solids import kernel
from fab.units import VOLUME_TOL_MM3, fixed

FAULT = "This is an internal error or comes from a changed part: please report it."


def checks(
    plan: Plan,
    kind: BaseKind,
    made: Printed,
    design_name: str = "panel",
    joined: Sequence[int] = (1,),
) -> tuple[Verdict, ...]:
    """Verdicts `fit.*` of one panel with one kind of base; edges `joined` carry header and clips,
    the others caps.

    `made` are its parts as printed. Loads the CAD kernel.
    """
    subject = f"{called(design_name)} with base {kind.key}"
    return panel_verdicts(plan, panel_parts(plan, kind, made, joined), subject)


def base_checks(
    plan: Plan, kind: BaseKind, made: Printed, design_name: str = "panel"
) -> tuple[Verdict, ...]:
    """The few verdicts in which bases of one design differ: keyhole with its screw, inlet, and what
    stands in their way.

    For the further kinds of a design whose first one had all `checks`; a tenth of their time.
    """
    subject = f"{called(design_name)} with base {kind.key}"
    near = (
        "base",
        "board",
        "socket",
        "tall",
        "inlet board",
        "receptacle",
        "cable",
        "plug",
        "wall screw",
        "way",
        "pin row",
        "jumper plug",
        "wire",
    )
    parts = [one for one in panel_parts(plan, kind, made, joined=()) if one.part in near]
    return (
        _overlap_verdict(_pairs(parts), subject, set()),
        *base_fits.of_base(plan, parts, subject),
        *heights(plan, parts, subject),
    )


def panel_verdicts(plan: Plan, parts: Sequence[Named], subject: str) -> tuple[Verdict, ...]:
    """Verdicts `fit.*` of one panel, for parts in place."""
    return (
        *overlaps(plan, parts, subject),
        *fits_measured.clearances(plan, parts, subject),
        *fits_measured.diffuser(plan, parts, subject),
        *heights(plan, parts, subject),
        *motion.press(plan, parts, subject),
        *motion.shell_off(plan, parts, subject),
    )


def joint_checks(
    plan_a: Plan,
    made_a: Printed,
    plan_b: Plan,
    made_b: Printed,
    names: tuple[str, str] = ("panel", "panel"),
) -> tuple[Verdict, ...]:
    """Verdicts `fit.*` of two panels at a joint, one for each pair of designs that meet on the
    wall.
    """
    subject = f"joint of {names[0]} and {names[1]}"
    return joint_verdicts(plan_a, plan_b, joint_parts(plan_a, made_a, plan_b, made_b), subject)


def joint_verdicts(
    plan_a: Plan, plan_b: Plan, parts: Sequence[Named], subject: str
) -> tuple[Verdict, ...]:
    """The same for parts in place: no overlap, pins in both sockets, clips alike in both bases, one
    axis.
    """
    across = [
        (a, b) for a, b in _pairs(parts) if a.name[0] != b.name[0] or "header" in (a.part, b.part)
    ]
    return (
        _overlap_verdict(across, subject, set()),
        *joint_measured.header(plan_a, plan_b, parts, subject),
        *joint_measured.clips(plan_a, plan_b, parts, subject),
    )


def jumper_verdicts(
    plan_a: Plan, plan_b: Plan, parts: Sequence[Named], subject: str
) -> tuple[Verdict, ...]:
    """Verdicts `fit.*` of a joint with a jumper, for parts in place: nothing of it shares room with
    anything else.
    """
    own = ("pin row", "tail", "jumper plug", "wire")
    across = [(a, b) for a, b in _pairs(parts) if a.part in own or b.part in own]
    return (
        _overlap_verdict(across, subject, set()),
        *jumper_measured.jumper(plan_a, plan_b, parts, subject),
    )


def overlaps(plan: Plan, parts: Sequence[Named], subject: str) -> list[Verdict]:
    """No two parts share room, but for the squeeze of caps and feet."""
    caps = [one for one in parts if one.part == "cap"]
    found = [
        _overlap_verdict(
            _pairs(parts), subject, {frozenset(("cap", "base")), frozenset(("foot", "base"))}
        )
    ]
    if caps:
        base = the_part(parts, "base")
        shared = kernel.overlap_mm3(base.solid, kernel.group([cap.solid for cap in caps])) / len(
            caps
        )
        squeeze = -plan.fit("cap")
        long = rib_z(plan)[1] - rib_z(plan)[0]
        # two ribs, each in a box
        most = 2 * long * squeeze * 2 * math.sqrt(2 * RIB_R * max(squeeze, 0.0))
        found.append(
            judge(
                "fit.cap-overlap",
                subject,
                at_most(shared, most, "mm3"),
                f"Overlap of a cap and the base: {fixed(shared)} mm3; the squeeze of the cap's"
                f" ribs is at most {fixed(most)} mm3.",
                remedy=FAULT,
            )
        )
    return found


def _pairs(parts: Sequence[Named]) -> list[tuple[Named, Named]]:
    """Pairs of different things whose boxes overlap."""
    found = []
    for k, a in enumerate(parts):
        for b in parts[k + 1 :]:
            if a.group and a.group == b.group:
                continue
            if all(
                a.box[i] < b.box[i + 3] - 1e-6 and b.box[i] < a.box[i + 3] - 1e-6 for i in range(3)
            ):
                found.append((a, b))
    return found


def _overlap_verdict(
    pairs: Sequence[tuple[Named, Named]], subject: str, meant: set[frozenset[str]]
) -> Verdict:
    """All pairs at once where one part, or several alike, meet the same others; one by one only
    when something was found.
    """
    left = near_pairs([(a, b) for a, b in pairs if frozenset((a.part, b.part)) not in meant])
    total, clashes = 0.0, []
    while left:
        known = {one.name: one for pair in left for one in pair}
        meets: dict[str, set[str]] = {name: set() for name in known}
        for a, b in left:
            meets[a.name].add(b.name)
            meets[b.name].add(a.name)
        others = meets[max(meets, key=lambda name: len(meets[name]))]
        hubs = [name for name in meets if meets[name] == others]
        left = [(a, b) for a, b in left if a.name not in hubs and b.name not in hubs]
        if (
            kernel.overlap_mm3(
                *(
                    kernel.group([known[name].solid for name in side])
                    for side in (hubs, sorted(others))
                )
            )
            <= VOLUME_TOL_MM3
        ):
            continue
        for one, other in ((known[a], known[b]) for a in hubs for b in sorted(others)):
            shared = kernel.overlap_mm3(one.solid, other.solid)
            if shared > VOLUME_TOL_MM3:
                total += shared
                clashes.append(f"{one.name} and {other.name} overlap by {fixed(shared, 2)} mm3.")
    says = (
        "; ".join(clashes)
        if clashes
        else f"Of {len(pairs)} pairs of neighbouring parts none overlaps."
    )
    return judge("fit.overlap", subject, at_most(total, VOLUME_TOL_MM3, "mm3"), says, remedy=FAULT)


def heights(plan: Plan, parts: Sequence[Named], subject: str) -> list[Verdict]:
    """Heights measured on the parts in place."""
    found = []
    board = next((one for one in parts if one.part == "board"), None)
    clips = [one for one in parts if one.part == "clip"]
    if clips and board is not None:  # a blank cover has none
        left = _low(board) - max(_high(one) for one in clips)
        found.append(
            judge(
                "fit.clip-top",
                subject,
                at_least(left, 0.3, tolerance=1e-4),
                f"Gap, top of the clips to board: {fixed(left, 2)} mm.",
                remedy=f"Set panel.board.height = {fixed(plan.heights.board_z + 0.3 - left, 1)}.",
            )
        )
    screws = [one for one in parts if one.part == "wall screw"]
    if screws and board is not None:
        left = _low(board) - _high(screws[0])
        found.append(
            judge(
                "fit.screw-top",
                subject,
                at_least(left, 0.3, tolerance=1e-4),
                f"Gap, head of the wall screw to board: {fixed(left, 2)} mm.",
                remedy=f"Set panel.board.height = {fixed(plan.heights.board_z + 0.3 - left, 1)}.",
            )
        )
    lit = [one for one in parts if one.part == "led"]
    if lit:
        left = _low(the_part(parts, "diffuser")) - _high(lit[0])
        found.append(
            judge(
                "fit.led-top",
                subject,
                at_least(left, plan.heights.throw - 0.01),
                f"Distance, LEDs to diffuser: {fixed(left, 2)} mm; the light was calculated for"
                f" {fixed(plan.heights.throw, 2)} mm.",
                remedy=FAULT,
            )
        )
    for cap in (one for one in parts if one.part == "cap"):
        edge = int(cap.name.split()[-1])
        angle = 2 * math.pi * edge / plan.cell.sides
        face, body = _furthest(cap, angle), _face_at_port(plan, the_part(parts, "shell"), angle)
        found.append(
            judge(
                "fit.cap-flush",
                f"{subject}, {cap.name}",
                at_most(abs(face - body), 0.01),
                f"The face of the cap lies {fixed(face - body)} mm outside the face of the shell.",
                remedy=FAULT,
            )
        )
    return found


def _face_at_port(plan: Plan, shell: Named, angle: float) -> float:
    """The shell's face at the sides of its port, mm out: raised letters beside it are none."""
    import numpy as np

    points = shell.mesh.vertices
    out = points[:, 0] * math.cos(angle) + points[:, 1] * math.sin(angle)
    along = points[:, 1] * math.cos(angle) - points[:, 0] * math.sin(angle)
    here = (
        (np.abs(along) <= plan.edge.port_w / 2 + 0.05)
        & (points[:, 2] <= plan.heights.port_top_z + 0.05)
        & (out > 0)
    )
    return float(out[here].max()) if here.any() else _furthest(shell, angle)


def _low(one: Named) -> float:
    return one.mesh.box[0][2]


def _high(one: Named) -> float:
    return one.mesh.box[1][2]


def _furthest(one: Named, angle: float) -> float:
    import numpy as np

    return float((one.mesh.vertices[:, :2] @ np.array([math.cos(angle), math.sin(angle)])).max())
