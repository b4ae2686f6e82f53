"""Checks of a jumper's room in a design and in each base with an opening, from the plan."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from fab.checks.model import Verdict, at_least, at_most, judge
from fab.checks.remedy import SIZE, Turn, in_full
from fab.checks.rule import PRACTICE, Rule, judged
from fab.layout.model import BaseKind, BaseUse, Layout
from fab.outlines.contour import turn
from fab.params.designs import called
from fab.parts.apart import boxes_apart
from fab.parts.board_source import board_layout, edge_of, seen_from_edge
from fab.parts.footsizes import FOOT_R, recesses
from fab.parts.given import given, has_own_board
from fab.parts.jumpersizes import (
    LED_AIR,
    JumperSizes,
    jumper_sizes,
    rim_corners,
    row_corners,
    wire_length,
    wire_range,
)
from fab.parts.keyhole import inlet_shapes, obstacles
from fab.parts.plan import Plan
from fab.parts.spaces import to_box
from fab.units import fixed

CLEAR_MM = 0.2  # between a rim and what stands on the floor beside it
ROW_MM = 0.2  # a given board's row may sit out of its place by this
# no cure where a given board says where things are
FIXED_BY_BOARD = (SIZE, "led.pitch", "led.margin")
HIGHER, LARGER = Turn("board.height", 0.1), Turn(SIZE, 1.0)


def _size(plan: Plan) -> JumperSizes:
    return jumper_sizes(plan)


def _corner(plan: Plan) -> float:
    """Between the rims of two neighbouring edges, at half."""
    size, angle = jumper_sizes(plan), math.pi / plan.cell.sides
    inner = plan.cell.apothem - size.u1 - size.rim_t
    return inner * math.sin(angle) - (size.open_t + size.rim_t) * math.cos(angle)


def _beside(plan: Plan) -> float:
    """From the rim to the nearest standoff, shell screw's head, foot or clip pocket."""
    rim = rim_corners(plan, 0)
    (x0, y0), (x1, y1) = rim[0], rim[2]
    box = (x0, y0, x1, y1)
    head = plan.params.screw_head_d / 2 + plan.fit("lap")
    gaps = [to_box(hole, box) - plan.fixings.post_d / 2 for hole in plan.fixings.posts_at_an_edge]
    gaps += [to_box(screw, box) - head for screw in plan.fixings.shell_screws]
    gaps += [to_box(foot, box) - FOOT_R for foot in recesses(plan)]
    gaps += [boxes_apart(rim, shape) for shape in obstacles(plan, inlet=False)]
    return min(gaps)


def _to_clip(plan: Plan) -> float:
    return plan.clip.offset - plan.clip.slot_w / 2 - jumper_sizes(plan).channel_w / 2


def _slack(plan: Plan) -> float:
    """Stray of the length of the wires to its limit, the nearer way."""
    shortest, longest = wire_range(plan, plan)
    made = wire_length(plan, plan)
    return min(made - shortest, longest - made)


RULES = (
    Rule(
        "fit.jumper-bend",
        "Free height for the bend of a jumper's wires under its plug",
        lambda p: (_size(p).drop - p.params.jumper.straight, _size(p).least_r),
        (HIGHER, Turn("jumper.bend", -0.1)),
        gate=True,
    ),
    Rule(
        "fit.jumper-row",
        "Free height for a jumper's pin row between the board's underside and the floor",
        lambda p: (p.heights.board_z - p.floor.top_z - p.params.jumper.row_height, 0.5),
        (HIGHER,),
        gate=True,
    ),
    Rule(
        "fit.jumper-wall",
        "Gap between the base wall and the rim of a jumper's opening",
        lambda p: (_size(p).u0 - _size(p).rim_t - p.edge.wall_u, CLEAR_MM),
        (Turn("header.socket_depth", 0.1),),
        gate=True,
    ),
    Rule(
        "fit.jumper-corner",
        "Half the gap between the rims of neighbouring edges",
        lambda p: (_corner(p), CLEAR_MM / 2),
        (LARGER,),
    ),
    Rule(
        "fit.jumper-clear",
        "Gap between the rim of a jumper's opening and standoffs, screws, feet and clip pockets",
        lambda p: (_beside(p), CLEAR_MM),
        (LARGER,),
    ),
    Rule(
        "fit.jumper-clip",
        "Remaining floor between the channels of jumper and clip",
        lambda p: (_to_clip(p), 2 * p.printer.extrusion_width),
        (Turn("jumper.pitch", -0.05), LARGER),
        source=PRACTICE,
    ),
    Rule(
        "fit.jumper-floor",
        "Remaining floor thickness over a jumper's channel",
        lambda p: (p.floor.top_z - _size(p).channel_d, 3 * p.printer.layer),
        (Turn("base.floor", 0.1), Turn("jumper.wire_d", -0.05)),
        source=PRACTICE,
    ),
    Rule(
        "fit.jumper-length",
        "Permissible deviation of the wires from their stated length",
        lambda p: (_slack(p), p.params.jumper.slack),
        (Turn("jumper.slack", -0.05), HIGHER),
    ),
    Rule(
        "fit.jumper-led",
        "Gap between a tail of the pin row and an LED",
        lambda p: (min(_size(p).led_gap, 99.0), LED_AIR),
        (Turn("jumper.tail", -0.6), Turn("led.margin", 0.5), Turn("led.pitch", 0.5)),
        when=lambda p: p.params.jumper.tail > 0,
    ),
    Rule(
        "print.jumper-bridge",
        "Width of a jumper's channel, which the floor bridges",
        lambda p: (_size(p).channel_w, p.printer.bridge),
        (Turn("shop.printer.bridge", 0.5), Turn("jumper.pitch", -0.05)),
        most=True,
    ),
)


def jumper_checks(design: str, plan: Plan, kinds: Sequence[BaseKind]) -> tuple[Verdict, ...]:
    """Return the verdicts on jumpers of one design; none when no base has an opening."""
    used = [kind for kind in kinds if kind.jumpers]
    if not used:
        return ()
    subject = called(design)
    found = []
    for rule in RULES:
        if rule.when(plan):
            found.append(_judged(design, plan, rule))
            if rule.gate and found[-1].verdict == "fail":
                return tuple(found)
    found += _own_rows(
        design, subject, plan, sorted({edge for kind in used for edge in kind.jumpers})
    )
    found += [
        verdict for kind in used if kind.inlet for verdict in _inlet(design, subject, plan, kind)
    ]
    return tuple(found)


def _broken(plan: Plan) -> frozenset[str]:
    """Return the ids of all rules that a plan breaks, those of its parts among them."""
    from fab.checks.broken import faults

    return faults(plan) | {rule.id for rule in RULES if not rule.is_kept(plan)}


def _judged(design: str, plan: Plan, rule: Rule) -> Verdict:
    if has_own_board(plan.params):
        turns = tuple(turn for turn in rule.turns if turn.key not in FIXED_BY_BOARD)
        rule = replace(rule, turns=turns)
    verdict = judged(design, plan, rule, _broken)
    if verdict.verdict == "pass" or verdict.remedy:
        return verdict
    cure = 'Set joint.jumper = "never" and joint.openings = "needed", or use a larger panel.'
    return replace(verdict, remedy=cure)


def _own_rows(design: str, subject: str, plan: Plan, edges: Sequence[int]) -> Iterator[Verdict]:
    """A given board's row at each edge with an opening: square, in its middle, clear of parts."""
    if not has_own_board(plan.params):
        return
    size, rows = jumper_sizes(plan), given(plan.params, "jumper")
    worst, where = 0.0, edges[0]
    for edge in edges:
        seen = [
            seen_from_edge(plan, (row.x, row.y), edge)
            for row in rows
            if edge_of(plan, (row.x, row.y)) == edge
        ]
        off = min(
            (math.hypot(x - (plan.cell.apothem - size.row_u), t) for x, t in seen), default=99.0
        )
        if off > worst:
            worst, where = off, edge
    at = turn((plan.cell.apothem - size.row_u, 0.0), 2 * math.pi * where / plan.cell.sides)
    yield judge(
        "board.jumper",
        subject,
        at_most(worst, ROW_MM),
        f"Distance of the board's pin row at edge {where} from its place:"
        f" {fixed(min(worst, 99.0), 2)} mm (maximum {ROW_MM} mm).",
        remedy=(
            f'Put a row of kind "jumper" at x {fixed(at[0], 2)}, y {fixed(at[1], 2)} mm, in'
            f" {in_full(design, 'board.positions', plan)}."
        ),
    )
    layout = board_layout(plan)
    below = (
        [part for part in (*layout.parts, *layout.sockets) if part.side != "front"]
        if layout is not None
        else []
    )
    gaps = [
        boxes_apart(row_corners(plan, edge), part.corners)
        for edge in edges
        for part in below
        if min(part.width, part.depth) > 0
    ]
    left = min(gaps, default=99.0)
    yield judge(
        "board.jumper",
        subject,
        at_least(left, CLEAR_MM),
        f"Gap between a pin row and the nearest part under the board: {fixed(left, 2)} mm (minimum"
        f" {CLEAR_MM} mm).",
        remedy=f"Move that part, or the row, in {in_full(design, 'board.positions', plan)}.",
    )


def _inlet(design: str, subject: str, plan: Plan, kind: BaseKind) -> Iterator[Verdict]:
    """The inlet's cradle against the rims."""
    left = min(
        boxes_apart(shape, rim_corners(plan, edge))
        for shape in inlet_shapes(plan)
        for edge in kind.jumpers
    )
    yield judge(
        "fit.jumper-inlet",
        f"{subject} base {kind.key}",
        at_least(left, CLEAR_MM),
        f"Gap between the inlet and the rim of a jumper's opening: {fixed(left, 2)} mm (minimum"
        f" {CLEAR_MM} mm).",
        remedy=(
            f"Set {in_full(design, SIZE, plan)} larger, or put the inlet at another panel"
            " (power.inlet)."
        ),
    )


def pair_checks(
    layout: Layout, plans: Mapping[str, Plan], jumpers: Sequence[int]
) -> Iterator[Verdict]:
    """A verdict a pair of designs that a jumper joins: rows, plugs and channels are alike."""
    pairs = {
        (min(names), max(names))
        for names in (
            [layout.by_name[name].design for name in (joint.a, joint.b)]
            for joint in (layout.joints[k] for k in jumpers)
        )
        if names[0] != names[1]
    }
    for a, b in sorted(pairs):
        one, two = plans[a].params.jumper, plans[b].params.jumper
        keys = ("pitch", "row_height", "row_depth", "row_end", "stack", "wire_d")
        off = {key: abs(getattr(one, key) - getattr(two, key)) for key in keys}
        key = max(off, key=lambda name: off[name])
        yield judge(
            "fit.jumper-pair",
            f"joint of {a} and {b}",
            at_most(off[key], 0.01),
            f"Difference of jumper.{key} between {a} and {b}: {fixed(off[key], 2)} mm (maximum 0.01"
            " mm).",
            remedy=f"Set {in_full(b, f'jumper.{key}', plans[b])} = {fixed(getattr(one, key), 2)}.",
        )


def opened_check(
    layout: Layout, uses: Sequence[BaseUse], jumpers: Sequence[int]
) -> Iterator[Verdict]:
    """Every jumper of the joints has an opening in both bases; none without jumpers."""
    if not jumpers:
        return
    use_of = {use.panel: use for use in uses}
    lacking = [
        f"{name}/{edge}"
        for joint in (layout.joints[k] for k in jumpers)
        for name, edge in ((joint.a, joint.edge_a), (joint.b, joint.edge_b))
        if (edge - use_of[name].steps) % layout.by_name[name].cell.sides
        not in use_of[name].kind.jumpers
    ]
    says = f"Openings for jumpers that are missing in a base: {len(lacking)} (maximum 0)."
    if lacking:
        says += f" First: panel {lacking[0]}; the cable of its inlet leaves by that edge."
    cure = (
        f"Put the inlet of panel {lacking[0].split('/')[0]} at another panel (power.inlet)."
        if lacking
        else ""
    )
    yield judge("fit.jumper-opened", "joints", at_most(len(lacking), 0, ""), says, remedy=cure)
