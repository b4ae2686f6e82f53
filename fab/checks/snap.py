"""Checks of snaps: strains and forces of clip, shell tongues and cap by published formulas."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from functools import partial

from fab.checks.broken import faults
from fab.checks.model import Verdict, at_least, at_most
from fab.checks.remedy import Turn, remedy
from fab.checks.rules import RULES
from fab.errors import PanejigError
from fab.params.designs import is_main
from fab.params.shop import Filament, Shop
from fab.parts import fits, snap
from fab.parts.plan import Plan
from fab.units import fixed

GUIDE = "Snap-Fit Joints for Plastics - A Design Guide, table 1 and p. 16"
PRINTED = (
    "snap-fit notes for printed parts: a third of the yield strain, x 0.6 for repeated use, x 0.5"
    " across layers"
)
HAND_N = 60.0  # what two thumbs push without pain; common practice, no source
CARRY = 2.0  # times the weight that hangs on a snap, for a jerk; common practice, no source

CLIP_TURNS = (Turn("clip.leg_length", 0.1), Turn("clip.hook", -0.05), Turn("clip.leg", -0.05))
CLIP_HOLD = (
    Turn("clips_per_edge", 1.0),
    Turn("clip.return_deg", 1.0),
    Turn("clip.width", 0.5),
    Turn("clip.leg", 0.05),
)
CLIP_PUSH = (Turn("clip.lead_in_deg", -1.0), Turn("clip.width", -0.5), Turn("clip.hook", -0.05))
TONGUE_BEND = (
    Turn("shell.snap_engage", -0.05),
    Turn("shell.snap_tongue", -0.05),
    Turn("board.height", 0.5),
)
TONGUE_HOLD = (
    Turn("shell.screws", 1.0),
    Turn("shell.snap_engage", 0.05),
    Turn("shell.snap_tongue", 0.05),
)
TONGUE_PUSH = (
    Turn("shell.screws", -1.0),
    Turn("shell.snap_engage", -0.05),
    Turn("shell.snap_tongue", -0.05),
)
PRESS_MORE = (Turn("shop.printer.clearance.press", -0.01),)
PRESS_LESS = (Turn("shop.printer.clearance.press", 0.01),)

Row = tuple[str, str, bool, Callable[[Plan], tuple[float, float]], str, str, tuple[Turn, ...], str]


def checks(plan: Plan, shop: Shop, design_name: str = "panel") -> tuple[Verdict, ...]:
    """Verdicts `snap.*` of one design.

    Strain in per cent at full bend and at rest against what the filament may take again and again;
    force in N to push in against a hand, force to pull out against the load. Friction is known to
    +-50 %, so are the forces.
    """
    rows, found = _rows(plan, shop.filament), []
    for row in rows:
        check, subject, most, measure, unit, says, turns, source = row
        measured, limit = measure(plan)
        cure = ""
        if not _holds(row, plan):
            cure = remedy(
                design_name,
                plan,
                turns,
                all_faults,
                check,
                partial(_holds, row),
                named=named_turns(plan),
            )
        judge = at_most if most else at_least
        shown = "unlimited" if math.isinf(measured) else f"{fixed(measured, 2)} {unit}".strip()
        bound = f"{'maximum' if most else 'minimum'} {fixed(limit, 2)} {unit}".strip()
        where = subject if is_main(design_name) else f"{subject} of {design_name}"
        found.append(
            judge(
                check,
                where,
                measured,
                limit,
                unit,
                f"{says}: {shown} ({bound}).",
                remedy=cure,
                source=source,
            )
        )
    return tuple(found)


def named_turns(plan: Plan) -> dict[str, Sequence[Turn]]:
    """Return what to turn for each rule of a plan and each snap, by its id."""
    turns: dict[str, Sequence[Turn]] = {rule.id: rule.turns for rule in RULES}
    return turns | {row[0]: row[6] for row in _rows(plan, plan.filament)}


def all_faults(plan: Plan) -> frozenset[str]:
    """Ids of the rules and snaps that a plan breaks; what can't be calculated is broken."""
    return faults(plan) | {row[0] for row in _rows(plan, plan.filament) if _fails(row, plan)}


def _fails(row: Row, plan: Plan) -> bool:
    try:
        return not _holds(row, plan)
    except (PanejigError, ValueError, ZeroDivisionError):
        return True


def _rows(plan: Plan, filament: Filament) -> list[Row]:
    tongues = _tongue_rows(filament) if plan.params.shell.fixing == "snap" else []
    return _clip_rows(filament) + tongues + _cap_rows(filament)


def _holds(row: Row, plan: Plan) -> bool:
    measured, limit = row[3](plan)
    return measured <= limit + 1e-9 if row[2] else measured >= limit - 1e-9


def _clip_rows(filament: Filament) -> list[Row]:
    allowed = fits.repeated_strain(filament) * 100

    leg = snap.clip_leg

    def push(plan: Plan) -> tuple[float, float]:
        one = leg(plan)
        return (
            2
            * one.side_force(one.holds, filament.modulus)
            * snap.wedge_factor(filament.friction, one.in_deg),
            HAND_N,
        )

    def pull(plan: Plan) -> tuple[float, float]:
        one = leg(plan)
        held = (
            plan.params.clips_per_edge
            * one.side_force(one.holds, filament.modulus)
            * snap.wedge_factor(filament.friction, one.out_deg)
        )
        return held, CARRY * snap.panel_weight_n(plan, filament)

    return [
        (
            "snap.clip-strain",
            "clip",
            True,
            lambda p: (leg(p).strain(leg(p).overhang) * 100, allowed),
            "%",
            "Strain of a clip leg, its whole hook bent away",
            CLIP_TURNS,
            f"{GUIDE}; {PRINTED}",
        ),
        (
            "snap.clip-rest",
            "clip",
            True,
            lambda p: (leg(p).strain(leg(p).preload) * 100, 0.1 * allowed),
            "%",
            "Strain of a clip leg at rest",
            (Turn("shop.printer.clearance.snap", 0.02),),
            GUIDE,
        ),
        (
            "snap.clip-push",
            "clip",
            True,
            push,
            "N",
            "Force to push one clip into both panels",
            CLIP_PUSH,
            GUIDE,
        ),
        (
            "snap.clip-pull",
            "clip",
            False,
            pull,
            "N",
            "Pull at which the clips of a joint release a panel",
            CLIP_HOLD,
            GUIDE,
        ),
    ]


def _tongue_rows(filament: Filament) -> list[Row]:
    allowed = fits.repeated_strain(filament) * fits.ACROSS_LAYERS * 100

    def force(plan: Plan) -> float:
        one = snap.tongue(plan)
        each = one.side_force(one.holds, filament.modulus) * snap.wedge_factor(
            filament.friction, one.out_deg
        )
        return len(plan.fixings.fixing_corners) * each

    return [
        (
            "snap.shell-strain",
            "base",
            True,
            lambda p: (snap.tongue(p).strain(snap.tongue(p).overhang) * 100, allowed),
            "%",
            "Strain of a base tongue across its layers, its whole hook bent away",
            TONGUE_BEND,
            f"{GUIDE}; {PRINTED}",
        ),
        (
            "snap.shell-rest",
            "base",
            True,
            lambda p: (snap.tongue(p).strain(snap.tongue(p).preload) * 100, 0.1 * allowed),
            "%",
            "Strain of a base tongue at rest",
            (Turn("shop.printer.clearance.snap", 0.02),),
            GUIDE,
        ),
        (
            "snap.shell-push",
            "shell",
            True,
            lambda p: (force(p), HAND_N),
            "N",
            "Force to push the shell on",
            TONGUE_PUSH,
            GUIDE,
        ),
        (
            "snap.shell-pull",
            "shell",
            False,
            lambda p: (force(p), CARRY * snap.shell_weight_n(p, filament)),
            "N",
            "Pull at which the shell comes off",
            TONGUE_HOLD,
            GUIDE,
        ),
    ]


def _cap_rows(filament: Filament) -> list[Row]:
    return [
        (
            "snap.cap-squeeze",
            "cap",
            False,
            lambda p: (snap.cap_press(p).squeeze, 0.02),
            "mm",
            "Overlap of a crush rib of the cap with the side of the window",
            PRESS_MORE,
            "common practice, no source",
        ),
        (
            "snap.cap-crush",
            "cap",
            True,
            lambda p: (snap.cap_press(p).squeeze / snap.cap_press(p).stands_out, 0.5),
            "",
            (
                "Crushed share of a crush rib's height (ribs yield on first use; at half the height"
                " the plug does not jam yet)"
            ),
            PRESS_LESS,
            "common practice, no source",
        ),
        (
            "snap.cap-push",
            "cap",
            True,
            lambda p: (snap.cap_press(p).hold_force(filament), HAND_N),
            "N",
            "Estimated force to push a cap in or out",
            PRESS_LESS,
            "estimate from the squeezed chord, from memory, +-50 %",
        ),
    ]
