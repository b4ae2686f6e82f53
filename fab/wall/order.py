"""In which order panels are put together and hung, so that every header that can be mated is.

A header's pins are straight and lie along the joint's normal, so two pieces meet only by a push
along that normal. Panels lie face down for it (the clips go in from behind), and

    a push    moves one piece of the wall against another, mates every joint between them whose
              normal is the push,
              and must not run into anything on its way; joints between them that face another way
              stay without a header
    a lift    brings a finished piece to the wall, `travel` higher than it will hang, over its
              screws, and down

Three hexagons round a corner are the plain case: the third panel can be pushed against one of the
two, not both. A piece that comes down onto its screws may also mate headers with what hangs below
it, if the way down is longer than the pins reach.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

from fab.layout.groups import connected
from fab.layout.joint_table import Mate
from fab.layout.model import Layout
from fab.outlines.contour import around
from fab.parts.plan import Plan
from fab.units import some
from fab.wall.header_bound import most_headers
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
class Assembly:
    """The order in which the wall is put together, and the joints that get a header by it; chosen
    before inlets and hangers are.
    """

    mode: str  # "one": put together face down and hung as one piece; "pieces": hung piece by piece
    parts: tuple[tuple[str, ...], ...]  # what is lifted, in this order
    blocked: tuple[str, ...]  # pieces that find no free way onto their screws, by their first panel
    # joints closed on the wall, where no clip and no jumper can be brought in
    seams: tuple[int, ...]
    pushes: tuple[Push, ...]
    proven: bool  # no order of pushes joins more boards, or mates more headers
    mates: Mapping[int, Mate]  # joints whose header a push or a lift mates
    most: int = 0  # headers that no order mates more of


@dataclass(frozen=True)
class HangingOrder:
    """Everything from the table to the wall."""

    mode: str  # as of the assembly
    pushes: tuple[Push, ...]
    lifts: tuple[Lift, ...]
    seams: tuple[int, ...]
    blocked: tuple[str, ...]
    says: str


def pins_reach(plan: Plan) -> float:
    """Return how far two panels must be apart before a header of one is out of the other."""
    header = plan.params.header
    return header.body / 2 + header.pin - plan.params.gap / 2 + CLEAR_MM


def assemble(
    layout: Layout,
    plans: Mapping[str, Plan],
    wanted: Collection[int] = (),
    *,
    pieces: bool = False,
    headers: bool = True,
) -> Assembly:
    """The order of pushes: most boards joined, then most `wanted` headers mated (indices of
    joints), then most of all.

    `pieces`: in pieces that go up one by one, where the wall has joints that close on the way down
    (`can_part`). `headers`: False where jumpers stand in for all of them.
    """
    reach, travel = _reach(layout, plans), _travel(layout, plans)
    bare = bare_joints(layout, plans) if headers else frozenset(range(len(layout.joints)))
    parts = _pieces(layout) if pieces else layout.groups
    piece_of = {name: k for k, piece in enumerate(parts) for name in piece}
    seams = tuple(
        k for k, joint in enumerate(layout.joints) if piece_of[joint.a] != piece_of[joint.b]
    )
    planned = best_pushes(layout, parts, reach, wanted, seams, bare)
    ordered, blocked = _sorted_parts(layout, parts, travel)
    mates = {
        k: Mate(
            "push",
            number,
            layout.joints[k].a if layout.joints[k].a in set(push.moving) else layout.joints[k].b,
            float(push.heading_deg or 0.0),
        )
        for number, push in enumerate(planned.pushes, 1)
        for k in push.joints
    }
    step_of = {name: number for number, piece in enumerate(ordered, 1) for name in piece}
    for k in seams:
        if k not in bare:
            joint = layout.joints[k]
            upper = joint.a if layout.by_name[joint.a].y > layout.by_name[joint.b].y else joint.b
            mates[k] = Mate("lift", step_of[upper], upper, 270.0)
    most = len(mates) if planned.proven else most_headers(layout, bare)
    proven = planned.proven or most == len(mates)
    return Assembly(
        "pieces" if pieces else "one", ordered, blocked, seams, planned.pushes, proven, mates, most
    )


def can_part(layout: Layout, plans: Mapping[str, Plan]) -> bool:
    """Are there joints that close on the way down, and is that way longer than the pins reach?"""
    return _travel(layout, plans) >= _reach(layout, plans) - 1e-9 and len(_pieces(layout)) > len(
        layout.groups
    )


def bare_joints(layout: Layout, plans: Mapping[str, Plan]) -> frozenset[int]:
    """Joints that have no header anyway: a panel without a board is one of the two."""
    blank = {panel.name for panel in layout.panels if plans[panel.design].params.board.none}
    return frozenset(
        k for k, joint in enumerate(layout.joints) if joint.a in blank or joint.b in blank
    )


def _reach(layout: Layout, plans: Mapping[str, Plan]) -> float:
    return max(pins_reach(plans[design]) for design in {panel.design for panel in layout.panels})


def _travel(layout: Layout, plans: Mapping[str, Plan]) -> float:
    return min(plans[panel.design].params.hanger.travel for panel in layout.panels)


def handy(layout: Layout, grams: Mapping[str, float]) -> bool:
    """True when two people can lift every group in one piece."""
    return all(_handy(layout, grams, group) for group in layout.groups)


def stands(layout: Layout, assembly: Assembly, hung: Hung, grams: Mapping[str, float]) -> bool:
    """Could every piece hang on its own screws, the joints around it open?"""
    return all(_stands(layout, hung, grams, piece) for piece in assembly.parts)


def hanging_order(
    layout: Layout,
    plans: Mapping[str, Plan],
    assembly: Assembly,
    hung: Hung,
    grams: Mapping[str, float],
) -> HangingOrder:
    """The pushes and lifts of an assembly, on the screws that it hangs on.

    `grams` by name of panel.
    """
    travel = _travel(layout, plans)
    lifts = tuple(
        _lift(
            layout,
            hung,
            grams,
            piece,
            travel,
            tuple(
                k for k, mate in assembly.mates.items() if mate.by == "lift" and mate.step == number
            ),
        )
        for number, piece in enumerate(assembly.parts, 1)
    )
    longer = 0.0
    if assembly.mode == "one" and len(_pieces(layout)) > len(layout.groups):
        longer = max(_reach(layout, plans) - travel, 0.0)
    says = _says(assembly.mode, lifts, travel, travel + longer if longer else 0.0)
    if not assembly.proven:
        says += (
            f" Headers: {len(assembly.mates)}, the best order found; no order mates more than"
            f" {assembly.most} of {len(layout.joints)}."
        )
    return HangingOrder(
        assembly.mode, assembly.pushes, lifts, assembly.seams, assembly.blocked, says
    )


def _says(mode: str, lifts: Sequence[Lift], travel: float, longer: float) -> str:
    if mode == "pieces":
        text = (
            f"Hang {some(len(lifts), 'piece')}, the lowest first, each {travel:g} mm down onto its"
            " screws and the piece below."
        )
    elif len(lifts) > 1:
        text = (
            f"Put each of the {len(lifts)} groups together face down and hang it as one piece, the"
            " lower ones first."
        )
    else:
        text = "Put the wall together face down and hang it as one piece."
    if any(not lift.handy for lift in lifts):
        text += " A piece is too heavy for two people: lift with more people."
        if longer:
            text += (
                f" hanger.travel = {math.ceil(longer * 10) / 10:g} mm would let headers mate on the"
                " wall."
            )
    return text


def _pieces(layout: Layout) -> tuple[tuple[str, ...], ...]:
    """Return what must be joined on the table: all but joints with an upright normal."""
    firm = [joint for joint in layout.joints if abs(line_of(joint) - 90.0) > 1e-4]
    names = [panel.name for panel in layout.panels]
    return connected(names, [(joint.a, joint.b) for joint in firm])


def _stands(layout: Layout, hung: Hung, grams: Mapping[str, float], piece: Sequence[str]) -> bool:
    """Could a piece hang on its own screws, the joints around it open?"""
    screws = [hung.by_panel[name] for name in piece if name in hung.by_panel]
    weight = sum(newtons(grams[name]) for name in piece)
    x_c = (
        sum(newtons(grams[name]) * layout.by_name[name].x for name in piece) / weight
        if weight > 0
        else 0.0
    )
    if len(screws) < min(2, len(piece)):
        return False
    if len(piece) == 1:
        return True
    xs = [screw.x for screw in screws]
    if min(x_c - min(xs), max(xs) - x_c) < CENTRE_MARGIN_MM:
        return False
    loads = row_loads(xs, weight, x_c)
    return loads is not None and min(loads.up) >= -1e-9


def _handy(layout: Layout, grams: Mapping[str, float], names: Sequence[str]) -> bool:
    width, height = _size(layout, names)
    return (
        math.fsum(grams[name] for name in names) <= HANDY_GRAMS and max(width, height) <= HANDY_MM
    )


def _size(layout: Layout, names: Sequence[str]) -> tuple[float, float]:
    x0, y0, x1, y1 = around(c for name in names for c in layout.by_name[name].corners)
    return (x1 - x0, y1 - y0)


def _lift(
    layout: Layout,
    hung: Hung,
    grams: Mapping[str, float],
    names: Sequence[str],
    travel: float,
    below: tuple[int, ...],
) -> Lift:
    width, height = _size(layout, names)
    weight = math.fsum(grams[name] for name in names)
    screws = tuple(name for name in names if name in hung.by_panel)
    return Lift(
        tuple(names), screws, weight, width, height, travel, below, _handy(layout, grams, names)
    )


def _sorted_parts(
    layout: Layout, parts: Sequence[tuple[str, ...]], travel: float
) -> tuple[tuple[tuple[str, ...], ...], tuple[str, ...]]:
    """Lower pieces before those whose hanging would leave them no way down; pieces in a ring are
    named.
    """
    piece_of = {name: k for k, part in enumerate(parts) for name in part}
    # piece to pieces that hang before it
    after: dict[int, set[int]] = {k: set() for k in range(len(parts))}
    for i, j in near_pairs(layout.panels, travel):
        a, b = layout.panels[i], layout.panels[j]
        for low, high in ((a, b), (b, a)):
            here, there = piece_of[low.name], piece_of[high.name]
            if here != there and swept_overlap(low, high, (0.0, travel)):
                after[there].add(here)
    order: list[int] = []
    left = sorted(after, key=lambda k: (min(layout.by_name[n].y for n in parts[k]), k))
    while left:
        ready = next((k for k in left if not after[k] - set(order)), None)
        if ready is None:
            return tuple(parts[k] for k in (*order, *left)), tuple(parts[k][0] for k in left)
        order.append(ready)
        left.remove(ready)
    return tuple(parts[k] for k in order), ()
