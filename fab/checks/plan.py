"""Do the values of a design fit each other? Worked out from the plan alone, before any solid is made."""

from __future__ import annotations

from collections.abc import Sequence

from fab.checks.brought import unbuildable
from fab.checks.model import Verdict, at_least, at_most
from fab.checks.remedy import Turn, in_full, remedy
from fab.checks.rules import PRACTICE, RULES, Rule
from fab.errors import InputError, PanejigError
from fab.layout.model import BaseKind
from fab.parts.edgemark import edge_mark
from fab.parts.keyhole import keyhole_for, rest_spans
from fab.parts.label import label_size, least_height
from fab.parts.leds import led_grid
from fab.parts.plan import Plan
from fab.units import fixed

_SILENT = (PanejigError, ValueError, ZeroDivisionError)


def plan_checks(design_name: str, plan: Plan, kinds: Sequence[BaseKind] = ()) -> tuple[Verdict, ...]:
    """Verdicts `fit.*` and `print.*` of one design; when none fails, its solids can be built.

    `kinds` are the bases that the layout asks for: each keyhole must exist and its label must have room.
    The remedy of a failed check names a parameter and a value at which that check passes (tried, not guessed) and
    no other one starts to fail, where there is such a value.
    """
    verdicts = []
    for rule in RULES:
        if not rule.when(plan):
            continue
        verdict = _judged(design_name, plan, rule)
        verdicts.append(verdict)
        if rule.gate and verdict.verdict == "fail":
            return tuple(verdicts)
    verdicts += unbuildable(design_name, plan)
    if any(verdict.verdict == "fail" for verdict in verdicts):
        return tuple(verdicts)
    if not plan.params.board.none:
        verdicts.append(_leds(design_name, plan))
    for kind in kinds:
        verdicts += _edge_mark(design_name, plan, kind)
        if kind.up_deg is not None:
            verdicts += _hanger(design_name, plan, kind)
    return tuple(verdicts)


def faults(plan: Plan) -> frozenset[str]:
    """Ids of the rules that a plan breaks; those that can't be reckoned behind a broken gate count as broken."""
    broken: set[str] = set()
    for index, rule in enumerate(RULES):
        if rule.when(plan) and not _holds(plan, rule):
            broken.add(rule.id)
            if rule.gate:
                return frozenset(broken | {later.id for later in RULES[index:]})
    return frozenset(broken)


def _holds(plan: Plan, rule: Rule) -> bool:
    try:
        return _enough(rule, *rule.measure(plan))
    except _SILENT:
        return False


def _enough(rule: Rule, measured: float, limit: float) -> bool:
    return measured <= limit + 1e-9 if rule.most else measured >= limit - 1e-9  # NaN is never enough


def _judged(design: str, plan: Plan, rule: Rule) -> Verdict:
    try:
        measured, limit = rule.measure(plan)
    except _SILENT:
        measured, limit = (1.0, 0.0) if rule.most else (-1.0, 0.0)  # it can't be reckoned at all
    cure = ""
    if not _enough(rule, measured, limit):
        cure = remedy(design, plan, rule.turns, faults, rule.id, lambda changed: not rule.when(changed) or _holds(changed, rule)) or _hint(design, plan, rule.turns)
    judge = at_most if rule.most else at_least
    return judge(
        rule.id, _subject(design), measured, limit, rule.unit, _sentence(rule, measured, limit), remedy=cure,
        source=rule.source,
    )  # fmt: skip


def _sentence(rule: Rule, measured: float, limit: float) -> str:
    if rule.bare:
        return rule.says
    shown = f"{fixed(measured, 2)} {rule.unit}".strip()
    bound = f"{fixed(limit, 2)} {rule.unit}".strip()
    return f"{rule.says} {shown} ({'at most ' if rule.most else ''}{bound} {'' if rule.most else 'needed'}".rstrip() + ")"


def _hint(design: str, plan: Plan, turns: Sequence[Turn]) -> str:
    """No single value cures: say at least where to turn."""
    keys = ", ".join(dict.fromkeys(in_full(design, turn.key, plan) for turn in turns))
    return f"No single value cures this; start with {keys}."


def _leds(design: str, plan: Plan) -> Verdict:
    """There is at least one LED, and all of them have room."""
    try:
        count, why = len(led_grid(plan)), ""
    except InputError as error:
        count, why = 0, " ".join(f"{fault.says} {fault.works}" for fault in error.faults)
    cure = why or f"Make {in_full(design, 'led.margin', plan)} smaller, or the panel larger."
    return at_least("fit.leds", _subject(design), count, 1, "", f"the board has room for {count} LEDs", remedy=cure)


def _hanger(design: str, plan: Plan, kind: BaseKind) -> list[Verdict]:
    """The keyhole of one kind of base, and the label under it."""
    up, plan = kind.up_deg or 0.0, plan.mounted(kind.steps)
    hole = keyhole_for(plan, up, kind.inlet, kind.jumpers)
    subject = f"{_subject(design)} base {kind.key}"
    spans = rest_spans(plan, up, kind.inlet, kind.jumpers)
    room = max((high - low for low, high in spans), default=-1.0)
    offset = plan.params.hanger.offset
    if hole is None and spans and offset is not None:
        near = min((end for span in spans for end in span), key=lambda end: abs(end - offset))
        cure = f"Set {in_full(design, 'hanger.offset', plan)} = {fixed(near, 1)}, or leave it out."
    else:
        cure = remedy(
            design, plan, (Turn("size", 1.0), Turn("hanger.travel", -0.5), Turn("hanger.head_d", -0.1)),
            lambda p: faults(p) | (frozenset() if _hangs(p, up, kind) else {"fit.keyhole"}), "fit.keyhole",
        ) or "Take another panel for this hanger (hang.avoid)."  # fmt: skip
    says = f"a keyhole with its screw's travel has {'room' if hole else 'no room'} in this base"
    verdicts = [at_least("fit.keyhole", subject, room if hole else -1.0, 0.0, "mm", says, remedy=cure)]
    if hole is not None and kind.label and plan.params.base.label:
        tall = label_size(plan, kind.label, up, hole, kind.inlet, kind.jumpers)
        least = least_height(plan)
        verdicts.append(
            at_least(
                "print.label", subject, tall, least, "mm", f"the letters of {kind.label!r} are {fixed(tall, 1)} mm high" if tall else f"there is no room to raise {kind.label!r} inside",
                remedy="Give the panel a shorter name, or write it on by hand.", source=PRACTICE, otherwise="warn",
            )
        )  # fmt: skip
    return verdicts


def _edge_mark(design: str, plan: Plan, kind: BaseKind) -> list[Verdict]:
    """The figure of edge 0 inside one kind of base."""
    if plan.params.board.none:
        return []
    there = len(edge_mark(plan.mounted(kind.steps), kind))
    return [
        at_least(
            "print.edge-mark", f"{_subject(design)} base {kind.key}", there, 2, "shapes",
            "figure and arrow of edge 0 are sunk into the floor" if there else "no room for the figure of edge 0",
            remedy="Write 0 on the floor by hand, at the edge that the book's picture of the marks names.",
            source=PRACTICE, otherwise="warn",
        )
    ]  # fmt: skip


def _hangs(plan: Plan, up_deg: float, kind: BaseKind) -> bool:
    try:
        return keyhole_for(plan, up_deg, kind.inlet, kind.jumpers) is not None
    except _SILENT:
        return False


def _subject(design: str) -> str:
    return "panel" if design in ("", "panel") else f"panel {design}"
