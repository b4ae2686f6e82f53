"""Parts that move: the shell sinks over its press edges, and comes off towards the viewer. Shown on the solids."""

from __future__ import annotations

from collections.abc import Sequence

from fab.checks.model import Verdict, at_least, at_most
from fab.checks.regions import blocked_upwards
from fab.parts.assembly import Named
from fab.parts.plan import Plan
from fab.solids.mesh import Mesh
from fab.units import VOLUME_TOL_MM3, fixed

AREA_TOL_MM2 = 0.02  # slivers along faces that touch
STEP = 0.03  # mm: how near a stop is looked at from both sides
FAULT = "This is a fault of the program or of a changed part: please report it."


def press(plan: Plan, parts: Sequence[Named], subject: str) -> list[Verdict]:
    """Free play, then the switch's travel, then the stop: the shell solid is moved down and what it meets is asked."""
    plungers = [one for one in parts if one.part == "plunger"]
    if not plungers:
        return []
    shell, sheet = _one(parts, "shell"), _one(parts, "diffuser")
    rest = [one for one in parts if one.part not in ("shell", "plunger", "diffuser", "shell screw", "way")]
    switch = plan.params.switch
    stop = switch.free + switch.travel + switch.extra
    under = max(one.box[5] for one in parts if one.part in ("board", "led", "switch", "plunger", "board screw"))
    return [
        _meets("fit.press-free", subject, shell, plungers, switch.free, "a press rib meets its plunger"),
        _clear("fit.press-lap", subject, shell, rest, stop, "all the way down the lap binds nowhere: but for the plungers nothing"),
        _meets("fit.press-stop", subject, shell, [one for one in rest if one.part == "base"], stop, "the shell stops on the base"),
        at_least("fit.press-order", subject, stop, switch.free + switch.travel, "mm",
                 f"free play {fixed(switch.free, 2)}, travel {fixed(switch.travel, 2)}, stop after {fixed(stop, 2)} mm", remedy=FAULT),
        at_least("fit.press-diffuser", subject, sheet.box[2] - stop - under, 0.0, "mm",
                 f"pressed down, the diffuser stays {fixed(sheet.box[2] - stop - under, 2)} mm over all that is on the board",
                 remedy=f"Set panel.depth = {fixed(plan.params.depth + under + stop - sheet.box[2], 1)}."),
    ]  # fmt: skip


def shell_off(plan: Plan, parts: Sequence[Named], subject: str) -> list[Verdict]:
    """The shell with its diffuser lifts off past header, caps, clips, screws and plug (its own screws out, its tongues
    bent aside). Shown at every height: nothing that stays lies in the shadow of the shell."""
    shell, base = _one(parts, "shell"), _one(parts, "base")
    stays = [one.mesh for one in parts if one.part not in ("shell", "diffuser", "shell screw", "base", "way", "led")]
    worst, at = blocked_upwards(shell.mesh, [_without_noses(plan, base.mesh), *stays])
    says = "the shell lifts off past everything that stays on the wall"
    if worst > AREA_TOL_MM2:
        says = f"lifting off, the shell meets {fixed(worst, 2)} mm2 of what stays on the wall, {fixed(at, 1)} mm over the wall"
    return [at_most("fit.shell-off", subject, worst, AREA_TOL_MM2, "mm2", says, remedy=FAULT)]


def _without_noses(plan: Plan, base: Mesh) -> Mesh:
    """The base with its tongues bent aside: what stands out of the face of a tongue is pushed back to it."""
    import numpy as np

    if plan.params.shell.fixing != "snap":
        return base
    corners = base.vertices.copy()
    for corner in plan.fixing_corners:
        angle = (2 * corner + 1) * np.pi / plan.cell.sides
        way = np.array([np.cos(angle), np.sin(angle)])
        out = corners[:, :2] @ way - plan.base_outer.facet
        aside = np.abs(corners[:, 1] * way[0] - corners[:, 0] * way[1])
        nose = (out > 1e-6) & (aside <= plan.snap_w / 2 + 1e-6) & (corners[:, 2] > plan.floor_z + 0.5)
        corners[nose, :2] -= out[nose, None] * way
    return Mesh(corners, base.triangles)


def _meets(check: str, subject: str, mover: Named, others: Sequence[Named], at: float, says: str) -> Verdict:
    """Nothing just before `at`, something just after."""
    before, after = (_shared(mover, others, at + step) for step in (-STEP, STEP))
    wrong = STEP if before > VOLUME_TOL_MM3 else -STEP if after <= VOLUME_TOL_MM3 else 0.0
    when = {0.0: "after", STEP: "before", -STEP: "only beyond"}[wrong]
    return at_most(check, subject, abs(wrong), 0.0, "mm", f"{says} {when} {fixed(at, 2)} mm", remedy=FAULT)


def _clear(check: str, subject: str, mover: Named, others: Sequence[Named], to: float, says: str) -> Verdict:
    """Nothing is met on the way down to `to`."""
    shared = max(_shared(mover, others, down) for down in (to / 2, to - STEP))
    words = f"{says} is met in {fixed(to, 2)} mm"
    if shared > VOLUME_TOL_MM3:
        who = ", ".join(one.name for one in others if _shared(mover, [one], to - STEP) > VOLUME_TOL_MM3)
        words = f"within {fixed(to, 2)} mm {fixed(shared, 2)} mm3 are in the way ({who})"
    return at_most(check, subject, shared, VOLUME_TOL_MM3, "mm3", words, remedy=FAULT)


def _shared(mover: Named, others: Sequence[Named], down: float) -> float:
    from fab.solids import kernel

    if not others or down <= 0:
        return 0.0
    return kernel.overlap_mm3(mover.moved(dz=-down).solid, kernel.group([one.solid for one in others]))


def _one(parts: Sequence[Named], part: str) -> Named:
    return next(one for one in parts if one.part == part)
