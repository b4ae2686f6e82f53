"""Tall parts of a board: floor and clips below, diffuser and ledge above, base wall beside."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace

from fab.checks import room
from fab.checks.boardmodel import (
    CLEAR_MM,
    DEEPER,
    HIGHER,
    LARGER,
    NEAR_MM,
    Finding,
    at,
    named,
    no_less,
)
from fab.outlines.contour import turn
from fab.outlines.shapes import cut_corner_points
from fab.parts.apart import boxes_apart, point_to_box
from fab.parts.board_source import BoardItem, BoardLayout, edge_of
from fab.parts.given import has_own_board
from fab.parts.keyhole import inlet_shapes, obstacles
from fab.parts.plan import Plan
from fab.parts.spaces import to_box
from fab.units import fixed

DOT_MM = 0.1  # side of a part whose size is not told


def tall(plan: Plan, layout: BoardLayout, inlets: Sequence[int]) -> Iterator[Finding]:
    """Parts under the board against floor, clips and cradle; parts on it against diffuser, ledge,
    ribs and shell.

    `inlets`: the edges of the panel at which a base of this design has one.
    """
    parts = [
        _footed(part) for part in layout.parts if part.height > 0 or min(part.width, part.depth) > 0
    ]
    if not parts:
        return
    rows = [(*_beside(plan, layout, part), part) for part in parts]
    gap, what, part = min(rows, key=lambda item: item[0])
    yield Finding(
        "board.part-wall",
        no_less(gap, NEAR_MM),
        f"Gap, {named(part)} to {what}: {fixed(gap)} mm, at {at(part.at)}.",
        f"Move it {fixed(max(NEAR_MM - gap, 0.0))} mm towards the board's centre.",
        (LARGER,),
    )
    under = [(*_below(plan, part, inlets), part) for part in parts if part.side != "front"]
    if under:
        gap, what, part = min(under, key=lambda item: item[0])
        yield Finding(
            "board.part-floor",
            no_less(gap, CLEAR_MM),
            f"Gap, {named(part)} under the board to {what}: {fixed(gap)} mm, at {at(part.at)}.",
            f"Use a part that is {fixed(max(CLEAR_MM - gap, 0.0))} mm lower.",
            (HIGHER,),
        )
    over = [(*_above(plan, part), part) for part in parts if part.side != "back"]
    if over:
        gap, what, part = min(over, key=lambda item: item[0])
        yield Finding(
            "board.part-top",
            no_less(gap, CLEAR_MM),
            f"Gap, {named(part)} on the board to {what}: {fixed(gap)} mm, at {at(part.at)}.",
            f"Use a part that is {fixed(max(CLEAR_MM - gap, 0.0))} mm lower.",
            (DEEPER,),
        )


def _footed(part: BoardItem) -> BoardItem:
    """A part whose list tells no size still stands where it is: a dot."""
    return replace(part, width=max(part.width, DOT_MM), depth=max(part.depth, DOT_MM))


def _beside(plan: Plan, layout: BoardLayout, part: BoardItem) -> tuple[float, str]:
    """From a part to the base wall and to sockets on its side of the board."""
    ring = plan.rings.base_inner
    sides = cut_corner_points(ring.sides, ring.apothem, ring.facet)
    gaps = [(min(-point_to_box(corner, sides) for corner in part.corners), "the base wall")]
    if part.side != "front":
        gaps += [
            (
                boxes_apart(part.corners, socket.corners),
                f"the socket of edge {edge_of(plan, socket.at)}",
            )
            for socket in layout.sockets
        ]
    return min(gaps, key=lambda item: item[0])


def posts_at_inlets(plan: Plan, inlets: Sequence[int]) -> Iterator[Finding]:
    """The standoffs of a board that was given, where an inlet needs the floor."""
    n = plan.cell.sides
    gaps = [
        (
            to_box(turn(hole, -2 * math.pi * edge / n), room.inlet_box(plan))
            - plan.fixings.post_d / 2,
            edge,
            hole,
        )
        for edge in inlets
        for hole in plan.fixings.board_holes
    ]
    if gaps and has_own_board(plan.params):
        gap, edge, hole = min(gaps)
        yield Finding(
            "board.post-inlet",
            no_less(gap, 0.0),
            f"Gap, standoff at {at(hole)} to the inlet at edge {edge}: {fixed(gap)} mm.",
            "Move that mounting hole, or put the inlet at another panel (power.inlet).",
        )


def _below(plan: Plan, part: BoardItem, inlets: Sequence[int]) -> tuple[float, str]:
    """From the lowest point of a part under the board to what lies under it."""
    low = plan.heights.board_z - part.height
    gaps = [(low - plan.floor.top_z, "the floor")]
    boxes = obstacles(plan, inlet=False)
    if any(boxes_apart(part.corners, box) < 0 for box in boxes):
        gaps.append((low - plan.clip.top_z, "a clip"))
    shapes = inlet_shapes(plan)
    turns = [2 * math.pi * edge / plan.cell.sides for edge in inlets]
    if any(
        boxes_apart(part.corners, [turn(corner, angle) for corner in shape]) < 0
        for angle in turns
        for shape in shapes
    ):
        gaps.append((low - room.inlet_top(plan), "the inlet"))
    for hole in plan.fixings.board_holes:
        if point_to_box(hole, part.corners) < plan.fixings.post_d / 2:
            gaps.append((-part.height, "a standoff"))
    return min(gaps, key=lambda item: item[0])


def _above(plan: Plan, part: BoardItem) -> tuple[float, str]:
    """From a part's highest point on the board to what lies over it when the shell is pressed."""
    top, pressed = plan.heights.board_top_z + part.height, plan.floor.press_room
    gaps = [(plan.heights.ledge_z - pressed - top, "the diffuser")]
    angles = [2 * math.pi * edge / plan.cell.sides for edge in range(plan.cell.sides)]
    far = max(
        x * math.cos(angle) + y * math.sin(angle) for x, y in part.corners for angle in angles
    )
    if far > plan.rings.ledge_apothem:
        rise = (far - plan.rings.ledge_apothem) / (
            plan.rings.rebate_apothem - plan.rings.ledge_apothem
        )
        lip = plan.heights.ledge_z - plan.heights.ledge_lip
        gaps.append(
            (lip - min(rise, 1.0) * (lip - plan.heights.ledge_foot_z) - pressed - top, "the ledge")
        )
    if plan.params.switch.on and far > plan.cell.apothem - plan.press.rib_tip_u:
        gaps.append((plan.press.rib_foot_z - pressed - top, "a press rib"))
    return min(gaps, key=lambda item: item[0])
