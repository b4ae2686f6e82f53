"""Parts that move: the shell sinks over its press edges, and comes off towards the viewer. Shown on the solids."""

from __future__ import annotations

from collections.abc import Sequence

from fab.checks.model import Verdict, at_most
from fab.parts.assembly import Named
from fab.parts.plan import Plan
from fab.units import VOLUME_TOL_MM3, fixed

STEP = 0.03  # mm: how near a stop is looked at from both sides
FAULT = "This is a fault of the program or of a changed part: please report it."


def press(plan: Plan, parts: Sequence[Named], subject: str) -> list[Verdict]:
    """Free play, then the switch's travel, then the stop: the shell solid is moved down and what it meets is asked."""
    plungers = [one for one in parts if one.part == "plunger"]
    if not plungers:
        return []
    shell = _one(parts, "shell")
    rest = [one for one in parts if one.part not in ("shell", "plunger", "diffuser", "shell screw", "way")]
    switch = plan.params.switch
    stop = switch.free + switch.travel + switch.extra
    found = [
        _meets("fit.press-free", subject, shell, plungers, switch.free, "a press rib meets its plunger"),
        _clear("fit.press-travel", subject, shell, rest, switch.free + switch.travel,
               "on the way through free play and travel nothing but the plungers"),
        _meets("fit.press-stop", subject, shell, [one for one in rest if one.part == "base"], stop, "the shell stops on the base"),
        _clear("fit.press-lap", subject, shell, rest, stop, "all the way down the lap binds nowhere: but for the plungers nothing"),
    ]  # fmt: skip
    sheet = _one(parts, "diffuser")
    found.append(
        _clear("fit.press-diffuser", subject, sheet, [one for one in rest if one.part != "base"], stop, "under the diffuser nothing")
    )
    return found


def shell_off(plan: Plan, parts: Sequence[Named], subject: str) -> list[Verdict]:
    """The shell with its diffuser lifts off past header, caps, clips, screws and plug (its own screws out, its tongues
    bent aside)."""
    from fab.parts.base import snap_hooks
    from fab.solids import kernel

    shell = _one(parts, "shell")
    rest = [one.solid for one in parts if one.part not in ("shell", "diffuser", "shell screw", "base", "way")]
    base = _one(parts, "base").solid
    hooks = snap_hooks(plan)
    if hooks:
        grown = 0.02  # a hair more than the noses, so that nothing thin is left of them
        base = kernel.carved(base, [kernel.moved(hook, 0.0, 0.0, dz) for hook in hooks for dz in (0.0, grown)])
    everything = kernel.group([base, *rest])
    most = max(one.box[5] for one in parts if one.part not in ("shell", "diffuser")) - shell.box[2]
    worst, at = 0.0, 0.0
    for share in (0.02, 0.15, 0.4, 0.75):
        lift = share * most
        shared = kernel.overlap_mm3(shell.moved(dz=lift).solid, everything)
        if shared > worst:
            worst, at = shared, lift
    says = "the shell lifts off past everything that stays on the wall"
    if worst > VOLUME_TOL_MM3:
        says = f"lifted by {fixed(at, 1)} mm the shell cuts {fixed(worst, 2)} mm3 into what stays on the wall"
    return [at_most("fit.shell-off", subject, worst, VOLUME_TOL_MM3, "mm3", says, remedy=FAULT)]


def _meets(check: str, subject: str, mover: Named, others: Sequence[Named], at: float, says: str) -> Verdict:
    """Nothing just before `at`, something just after."""
    before, after = (_shared(mover, others, at + step) for step in (-STEP, STEP))
    wrong = STEP if before > VOLUME_TOL_MM3 else -STEP if after <= VOLUME_TOL_MM3 else 0.0
    when = {0.0: "after", STEP: "before", -STEP: "only beyond"}[wrong]
    return at_most(check, subject, abs(wrong), 0.0, "mm", f"{says} {when} {fixed(at, 2)} mm", remedy=FAULT)


def _clear(check: str, subject: str, mover: Named, others: Sequence[Named], to: float, says: str) -> Verdict:
    """Nothing is met on the way down to `to`."""
    shared = max(_shared(mover, others, down) for down in (to / 2, to - STEP))
    words = f"{says} is met in {fixed(to, 2)} mm" if shared <= VOLUME_TOL_MM3 else f"{fixed(shared, 2)} mm3 are in the way within {fixed(to, 2)} mm"
    return at_most(check, subject, shared, VOLUME_TOL_MM3, "mm3", words, remedy=FAULT)


def _shared(mover: Named, others: Sequence[Named], down: float) -> float:
    from fab.solids import kernel

    if not others or down <= 0:
        return 0.0
    return kernel.overlap_mm3(mover.moved(dz=-down).solid, kernel.group([one.solid for one in others]))


def _one(parts: Sequence[Named], part: str) -> Named:
    return next(one for one in parts if one.part == part)
