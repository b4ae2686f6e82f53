"""Checks that the values of a design fit each other, from the plan, before any solid is made."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Sequence
from dataclasses import replace

from fab.checks import room
from fab.checks.broken import faults
from fab.checks.brought import unbuildable
from fab.checks.model import Verdict, at_least, judge
from fab.checks.remedy import SILENT, Turn, in_full, remedy
from fab.checks.rule import PRACTICE, judged
from fab.checks.rules import RULES
from fab.checks.snap import all_faults, named_turns
from fab.errors import InputError
from fab.layout.model import BaseKind
from fab.params.designs import called
from fab.parts.edgemark import edge_mark
from fab.parts.keyhole import Keyhole, keyhole_of, rest_spans
from fab.parts.label import label_size, least_height
from fab.parts.leds import led_grid
from fab.parts.plan import Plan
from fab.units import fixed

LINES = {"print.wall-lines": "base.wall", "print.shell-lines": "shell.wall"}
OFF_LINES = 0.05  # of a line; common practice, no source


def plan_checks(
    design_name: str, plan: Plan, kinds: Sequence[BaseKind] = ()
) -> tuple[Verdict, ...]:
    """Verdicts `fit.*` and `print.*` of one design; when none fails, its solids can be built.

    `kinds` are the bases that the layout asks for: each keyhole must exist and its label must have
    room. The remedy of a failed check names a parameter and a value at which that check passes
    (tried, not guessed) and no other one starts to fail, where there is such a value.
    """
    verdicts, named = [], named_turns(plan)
    for rule in RULES:
        if not rule.when(plan):
            continue
        verdict = judged(design_name, plan, rule, all_faults, named)
        if rule.id in LINES and verdict.verdict == "pass":
            verdict = _in_lines(design_name, plan, verdict)
        verdicts.append(verdict)
        if rule.gate and verdict.verdict == "fail":
            return tuple(verdicts)
    verdicts += unbuildable(design_name, plan)
    if any(verdict.verdict == "fail" for verdict in verdicts):
        return tuple(verdicts)
    if not plan.params.board.none:
        verdicts.append(_leds(design_name, plan))
    known: dict[object, Room] = {}
    marks: dict[BaseKind, int] = {}
    for kind in kinds:
        verdicts += _edge_mark(design_name, plan, kind, marks)
        if kind.up_deg is not None:
            verdicts += _hanger(design_name, plan, kind, known)
    return tuple(verdicts)


def _in_lines(design: str, plan: Plan, passed: Verdict) -> Verdict:
    """A warning in place of a verdict on a wall that is no whole number of printed lines: slicers
    with lines of one width leave a slit in it.
    """
    key, line = LINES[passed.id], plan.printer.extrusion_width
    wall = getattr(plan.params, key.partition(".")[0]).wall
    lines = wall / line
    if room.off_lines(wall, plan.printer) <= OFF_LINES:
        return passed
    near = " or ".join(fixed(count * line, 4) for count in (math.floor(lines), math.ceil(lines)))
    says = (
        f"{passed.says} That is {fixed(lines, 2)} lines of {fixed(line, 3)} mm; lines of one width"
        " leave a gap."
    )
    cure = f"Set {in_full(design, key, plan)} = {near}, or slice with lines of variable width."
    return replace(passed, verdict="warn", says=says, remedy=cure)


def _leds(design: str, plan: Plan) -> Verdict:
    """There is at least one LED, and all of them have room."""
    try:
        count, why = len(led_grid(plan)), ""
    except InputError as error:
        count, why = 0, " ".join(f"{fault.says} {fault.works}" for fault in error.faults)
    cure = why or f"Make {in_full(design, 'led.margin', plan)} smaller, or the panel larger."
    return judge(
        "fit.leds",
        called(design),
        at_least(count, 1, ""),
        f"Number of LEDs that have room on the board: {count}.",
        remedy=cure,
    )


# a keyhole, the room that it has, and what helps where it has none
Room = tuple[Keyhole | None, float, str]


def _hanger(design: str, plan: Plan, kind: BaseKind, known: dict[object, Room]) -> list[Verdict]:
    """The keyhole of one kind of base, and the label under it.

    `known`: rooms of kinds that differ by the name alone.
    """
    up = kind.up_deg or 0.0
    alike = (kind.steps, up, kind.inlet, kind.jumpers, kind.aside_mm, kind.rest_mm)
    if alike not in known:
        known[alike] = _room(design, plan, kind)
    hole, room, cure = known[alike]
    subject = f"{called(design)} base {kind.key}"
    says = f"A keyhole with its screw's travel has {'room' if hole else 'no room'} in this base."
    verdicts = [
        judge("fit.keyhole", subject, at_least(room if hole else -1.0, 0.0), says, remedy=cure)
    ]
    if hole is not None and kind.label and plan.params.base.label:
        tall = label_size(plan, kind.label, up, hole, kind.jumpers, inlet=kind.inlet)
        least = least_height(plan)
        verdicts.append(
            judge(
                "print.label",
                subject,
                at_least(tall, least),
                (
                    f"Height of the letters {kind.label!r}: {fixed(tall, 1)} mm."
                    if tall
                    else f"There is no room to raise {kind.label!r} inside."
                ),
                remedy="Write the name on by hand."
                if len(kind.label) == 1
                else "Give the panel a shorter name, or write the name on by hand.",
                source=PRACTICE,
                otherwise="warn",
            )
        )
    return verdicts


def _room(design: str, plan: Plan, kind: BaseKind) -> Room:
    """The keyhole of a base, and the room for it."""
    hole = keyhole_of(plan, kind)
    spans = rest_spans(
        plan.mounted(kind.steps), kind.up_deg or 0.0, kind.jumpers, kind.aside_mm, inlet=kind.inlet
    )
    room = max((high - low for low, high in spans), default=-1.0)
    offset = plan.params.hanger.offset
    if hole is None and spans and offset is not None:
        near = min((end for span in spans for end in span), key=lambda end: abs(end - offset))
        cure = f"Set {in_full(design, 'hanger.offset', plan)} = {fixed(near, 1)}, or leave it out."
    else:
        cure = (
            remedy(
                design,
                plan,
                (Turn("size", 1.0), Turn("hanger.travel", -0.5), Turn("hanger.head_d", -0.1)),
                lambda p: faults(p) | (frozenset() if _hangs(p, kind) else {"fit.keyhole"}),
                "fit.keyhole",
            )
            or "Put this hanger at another panel (hang.avoid)."
        )
    return hole, room, cure


def _edge_mark(
    design: str, plan: Plan, kind: BaseKind, known: dict[BaseKind, int]
) -> list[Verdict]:
    """The figure of edge 0 inside one kind of base.

    `known`: its shapes in kinds that differ by the letters of the name alone.
    """
    if plan.params.board.none:
        return []
    alike = dataclasses.replace(kind, key="", label="A" if kind.label else "")
    if alike not in known:
        known[alike] = len(edge_mark(plan.mounted(kind.steps), kind))
    there = known[alike]
    return [
        judge(
            "print.edge-mark",
            f"{called(design)} base {kind.key}",
            at_least(there, 2, "shapes"),
            (
                "The figure and arrow of edge 0 are sunk into the floor."
                if there
                else "There is no room for the figure of edge 0."
            ),
            remedy=(
                "Write 0 on the floor by hand, at the edge that the book's picture of the marks"
                " shows."
            ),
            source=PRACTICE,
            otherwise="warn",
        )
    ]


def _hangs(plan: Plan, kind: BaseKind) -> bool:
    try:
        return keyhole_of(plan, kind) is not None
    except SILENT:
        return False
