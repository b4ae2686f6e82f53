"""Checks of snaps: strains and forces of clip, shell tongues and cap by published formulas."""

from __future__ import annotations

from collections.abc import Sequence

from fab.checks.broken import faults
from fab.checks.model import Verdict
from fab.checks.remedy import Turn
from fab.checks.rule import PRACTICE, Rule, judged
from fab.checks.rules import RULES
from fab.params.shop import Filament
from fab.parts import fits, snap
from fab.parts.plan import Plan

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


def checks(plan: Plan, design_name: str = "panel") -> tuple[Verdict, ...]:
    """Verdicts `snap.*` of one design.

    Strain in per cent at full bend and at rest against what the filament may take again and again;
    force in N to push in against a hand, force to pull out against the load. Friction is known to
    +-50 %, so are the forces.
    """
    named = named_turns(plan)
    return tuple(judged(design_name, plan, rule, all_faults, named) for rule in _rules(plan))


def named_turns(plan: Plan) -> dict[str, Sequence[Turn]]:
    """Return what to turn for each rule of a plan and each snap, by its id."""
    return {rule.id: rule.turns for rule in (*RULES, *_rules(plan))}


def all_faults(plan: Plan) -> frozenset[str]:
    """Ids of the rules and snaps that a plan breaks; what can't be calculated is broken."""
    return faults(plan) | {rule.id for rule in _rules(plan) if not rule.is_kept(plan)}


def _rules(plan: Plan) -> list[Rule]:
    filament = plan.filament
    tongues = _tongue_rules(filament) if plan.params.shell.fixing == "snap" else []
    return [*_clip_rules(filament), *tongues, *_cap_rules(filament)]


def _clip_rules(filament: Filament) -> list[Rule]:
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
        Rule(
            "snap.clip-strain",
            "Strain of a clip leg, its whole hook bent away",
            lambda p: (leg(p).strain(leg(p).overhang) * 100, allowed),
            CLIP_TURNS,
            most=True,
            unit="%",
            source=f"{GUIDE}; {PRINTED}",
            part="clip",
        ),
        Rule(
            "snap.clip-rest",
            "Strain of a clip leg at rest",
            lambda p: (leg(p).strain(leg(p).preload) * 100, 0.1 * allowed),
            (Turn("shop.printer.clearance.snap", 0.02),),
            most=True,
            unit="%",
            source=GUIDE,
            part="clip",
        ),
        Rule(
            "snap.clip-push",
            "Force to push one clip into both panels",
            push,
            CLIP_PUSH,
            most=True,
            unit="N",
            source=GUIDE,
            part="clip",
        ),
        Rule(
            "snap.clip-pull",
            "Pull at which the clips of a joint release a panel",
            pull,
            CLIP_HOLD,
            unit="N",
            source=GUIDE,
            part="clip",
        ),
    ]


def _tongue_rules(filament: Filament) -> list[Rule]:
    allowed = fits.repeated_strain(filament) * fits.ACROSS_LAYERS * 100

    def force(plan: Plan) -> float:
        one = snap.tongue(plan)
        each = one.side_force(one.holds, filament.modulus) * snap.wedge_factor(
            filament.friction, one.out_deg
        )
        return len(plan.fixings.fixing_corners) * each

    return [
        Rule(
            "snap.shell-strain",
            "Strain of a base tongue across its layers, its whole hook bent away",
            lambda p: (snap.tongue(p).strain(snap.tongue(p).overhang) * 100, allowed),
            TONGUE_BEND,
            most=True,
            unit="%",
            source=f"{GUIDE}; {PRINTED}",
            part="base",
        ),
        Rule(
            "snap.shell-rest",
            "Strain of a base tongue at rest",
            lambda p: (snap.tongue(p).strain(snap.tongue(p).preload) * 100, 0.1 * allowed),
            (Turn("shop.printer.clearance.snap", 0.02),),
            most=True,
            unit="%",
            source=GUIDE,
            part="base",
        ),
        Rule(
            "snap.shell-push",
            "Force to push the shell on",
            lambda p: (force(p), HAND_N),
            TONGUE_PUSH,
            most=True,
            unit="N",
            source=GUIDE,
            part="shell",
        ),
        Rule(
            "snap.shell-pull",
            "Pull at which the shell comes off",
            lambda p: (force(p), CARRY * snap.shell_weight_n(p, filament)),
            TONGUE_HOLD,
            unit="N",
            source=GUIDE,
            part="shell",
        ),
    ]


def _cap_rules(filament: Filament) -> list[Rule]:
    return [
        Rule(
            "snap.cap-squeeze",
            "Overlap of a crush rib of the cap with the side of the window",
            lambda p: (snap.cap_press(p).squeeze, 0.02),
            PRESS_MORE,
            source=PRACTICE,
            part="cap",
        ),
        Rule(
            "snap.cap-crush",
            "Crushed share of a crush rib's height (ribs yield on first use; at half the height"
            " the plug does not jam yet)",
            lambda p: (snap.cap_press(p).squeeze / snap.cap_press(p).stands_out, 0.5),
            PRESS_LESS,
            most=True,
            unit="",
            source=PRACTICE,
            part="cap",
        ),
        Rule(
            "snap.cap-push",
            "Estimated force to push a cap in or out",
            lambda p: (snap.cap_press(p).hold_force(filament), HAND_N),
            PRESS_LESS,
            most=True,
            unit="N",
            source="estimate from the squeezed chord, from memory, +-50 %",
            part="cap",
        ),
    ]
