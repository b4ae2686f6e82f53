"""In which order panels are put together and hung, so that every header that can be mated is.

A header's pins are straight and lie along the joint's normal, so two pieces meet only by a push along that normal.
Panels lie face down for it (the clips go in from behind), and

    a push    moves one piece of the wall against another, mates every joint between them whose normal is the push,
              and must not run into anything on its way; joints between them that face another way stay without a header
    a lift    brings a finished piece to the wall, `travel` higher than it will hang, over its screws, and down

Three hexagons round a corner are the plain case: the third panel can be pushed against one of the two, not both.
A piece that comes down onto its screws may also mate headers with what hangs below it, if the way down is longer than
the pins reach.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace

from fab.layout.model import Layout
from fab.parts.plan import Plan
from fab.wall.model import CENTRE_MARGIN_MM, Hung, newtons
from fab.wall.pushes import Push, best_pushes, line_of, near_pairs, swept_overlap
from fab.wall.statics import row_loads

HANDY_GRAMS = 10_000.0  # two people lift this overhead with care; common practice, no source
HANDY_MM = 1_600.0  # and this width
CLEAR_MM = 0.5  # pins are out of the neighbour by this before it moves sideways


@dataclass(frozen=True)
class Lift:
    """One piece goes onto its screws: `raise_mm` higher, against the wall, down."""

    panels: tuple[str, ...]
    screws: tuple[str, ...]
    grams: float
    width: float
    height: float
    raise_mm: float
    joints: tuple[int, ...]  # headers that mate with the piece below on the way down
    handy: bool  # two people manage it


@dataclass(frozen=True)
class HangingOrder:
    """Everything from the table to the wall."""

    mode: str  # "one": put together face down and hung as one piece; "pieces": hung piece by piece
    pushes: tuple[Push, ...]
    lifts: tuple[Lift, ...]
    unmated: tuple[int, ...]  # joints that can have no header, though both panels have a board
    seams: tuple[int, ...]  # joints closed on the wall, where no clip can be pushed in
    blocked: tuple[str, ...]  # pieces that find no free way onto their screws
    says: str


def pins_reach(plan: Plan) -> float:
    """How far two panels must be apart before a header of one is out of the other."""
    header = plan.params.header
    return header.body / 2 + header.pin - plan.params.gap / 2 + CLEAR_MM


def hanging_order(
    layout: Layout, plans: Mapping[str, Plan], hung: Hung, grams: Mapping[str, float], wanted: Collection[int] = ()
) -> HangingOrder:
    """The order with most `wanted` headers mated (indices of joints), then most of all.

    `grams` by name of panel. In one piece where two people can lift it, or where no piece could hang for itself.
    """
    reach = max(pins_reach(plans[design]) for design in {panel.design for panel in layout.panels})
    travel = min(plans[panel.design].params.hanger.travel for panel in layout.panels)
    wishes = set(wanted)
    whole = [_lift(layout, hung, grams, group, travel, ()) for group in layout.groups]
    pieces = _pieces(layout) if any(not lift.handy for lift in whole) and travel >= reach - 1e-9 else ()
    if pieces and len(pieces) > len(layout.groups) and all(_stands(layout, hung, grams, piece) for piece in pieces):
        piece_of = {name: k for k, piece in enumerate(pieces) for name in piece}
        seams = tuple(k for k, joint in enumerate(layout.joints) if piece_of[joint.a] != piece_of[joint.b])
        mode = "pieces"
        parts, lifted = pieces, [_lift(layout, hung, grams, piece, travel, seams) for piece in pieces]
    else:
        mode, seams, parts, lifted = "one", (), layout.groups, whole
    pushes = best_pushes(layout, parts, reach, wishes, set(seams))
    lifts, blocked = _sorted_lifts(layout, lifted, travel)
    bare = _bare(layout, plans)
    pushes = [replace(push, joints=tuple(k for k in push.joints if k not in bare)) for push in pushes]
    lifts = tuple(replace(lift, joints=tuple(k for k in lift.joints if k not in bare)) for lift in lifts)
    mated = {k for push in pushes for k in push.joints} | {k for lift in lifts for k in lift.joints}
    done = mated | bare
    unmated = tuple(k for k in range(len(layout.joints)) if k not in done)
    longer = reach if travel < reach and len(_pieces(layout)) > len(layout.groups) else 0.0
    says = _says(mode, lifts, unmated, travel, longer)
    return HangingOrder(mode, tuple(pushes), lifts, unmated, seams, blocked, says)


def _bare(layout: Layout, plans: Mapping[str, Plan]) -> frozenset[int]:
    """Joints that have no header anyway: a panel without a board is one of the two."""
    blank = {panel.name for panel in layout.panels if plans[panel.design].params.board.none}
    return frozenset(k for k, joint in enumerate(layout.joints) if joint.a in blank or joint.b in blank)


def _says(mode: str, lifts: Sequence[Lift], unmated: Sequence[int], travel: float, longer: float) -> str:
    if mode == "pieces":
        text = (
            f"Hang {len(lifts)} pieces, the lowest first, each {travel:g} mm down onto its screws and the piece below."
        )
    elif len(lifts) > 1:
        text = f"Put each of the {len(lifts)} groups together face down and hang it as one piece, the lower ones first."
    else:
        text = "Put the wall together face down and hang it as one piece."
    if any(not lift.handy for lift in lifts):
        text += " A piece is over what two people lift with care: take more hands."
        if mode == "one" and longer:
            text += f" hanger.travel = {math.ceil(longer * 10) / 10:g} mm would let headers mate on the wall."
    if unmated:
        count = f"{len(unmated)} joint{'s' if len(unmated) > 1 else ''}"
        text += f" {count} can have no header: straight pins do not go in there."
    return text


def _pieces(layout: Layout) -> tuple[tuple[str, ...], ...]:
    """What must be joined on the table: all but joints with an upright normal."""
    links: dict[str, list[str]] = {panel.name: [] for panel in layout.panels}
    for joint in layout.joints:
        if abs(line_of(joint) - 90.0) > 1e-4:
            links[joint.a].append(joint.b)
            links[joint.b].append(joint.a)
    seen: set[str] = set()
    found = []
    for panel in layout.panels:
        if panel.name in seen:
            continue
        piece, stack = {panel.name}, [panel.name]
        while stack:
            for name in links[stack.pop()]:
                if name not in piece:
                    piece.add(name)
                    stack.append(name)
        seen |= piece
        found.append(tuple(p.name for p in layout.panels if p.name in piece))
    return tuple(found)


def _stands(layout: Layout, hung: Hung, grams: Mapping[str, float], piece: Sequence[str]) -> bool:
    """Could a piece hang on its own screws, the joints around it open?"""
    screws = [hung.by_panel[name] for name in piece if name in hung.by_panel]
    weight = sum(newtons(grams[name]) for name in piece)
    x_c = sum(newtons(grams[name]) * layout.by_name[name].x for name in piece) / weight if weight > 0 else 0.0
    if len(screws) < min(2, len(piece)):
        return False
    if len(piece) == 1:
        return True
    xs = [screw.x for screw in screws]
    if min(x_c - min(xs), max(xs) - x_c) < CENTRE_MARGIN_MM:
        return False
    loads = row_loads(xs, weight, x_c)
    return loads is not None and min(loads.up) >= -1e-9


def _lift(
    layout: Layout, hung: Hung, grams: Mapping[str, float], names: Sequence[str], travel: float, seams: Sequence[int]
) -> Lift:
    inside = set(names)
    corners = [corner for name in names for corner in layout.by_name[name].corners]
    width = max(x for x, _ in corners) - min(x for x, _ in corners)
    height = max(y for _, y in corners) - min(y for _, y in corners)
    weight = math.fsum(grams[name] for name in names)
    below = []
    for k in seams:
        joint = layout.joints[k]
        upper = joint.a if layout.by_name[joint.a].y > layout.by_name[joint.b].y else joint.b
        if upper in inside:
            below.append(k)
    screws = tuple(name for name in names if name in hung.by_panel)
    handy = weight <= HANDY_GRAMS and max(width, height) <= HANDY_MM
    return Lift(tuple(names), screws, weight, width, height, travel, tuple(below), handy)


def _sorted_lifts(layout: Layout, lifts: Sequence[Lift], travel: float) -> tuple[tuple[Lift, ...], tuple[str, ...]]:
    """Lower pieces before those whose hanging would leave them no way down; pieces in a ring are named."""
    piece_of = {name: k for k, lift in enumerate(lifts) for name in lift.panels}
    after: dict[int, set[int]] = {k: set() for k in range(len(lifts))}  # piece to pieces that hang before it
    for i, j in near_pairs(layout.panels, travel):
        a, b = layout.panels[i], layout.panels[j]
        for low, high in ((a, b), (b, a)):
            here, there = piece_of[low.name], piece_of[high.name]
            if here != there and swept_overlap(low, high, (0.0, travel)):
                after[there].add(here)
    order: list[int] = []
    left = sorted(after, key=lambda k: (min(layout.by_name[n].y for n in lifts[k].panels), k))
    while left:
        ready = next((k for k in left if not after[k] - set(order)), None)
        if ready is None:
            return tuple(lifts[k] for k in (*order, *left)), tuple(lifts[k].panels[0] for k in left)
        order.append(ready)
        left.remove(ready)
    return tuple(lifts[k] for k in order), ()
