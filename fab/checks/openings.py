"""Openings and additions of a design: do they stay clear of what base and shell need, and leave
walls that print?

Flat on each surface, by a general geometry library: shapes are faceted within 0.01 mm, so gaps are
good to that. Whether light gets out through an opening is for `light.leak`, which looks at the
solids.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Any

from fab.checks import room, surfaces
from fab.checks.model import Verdict, at_least, judge
from fab.checks.remedy import in_full
from fab.errors import BrokenGeometry
from fab.layout.model import BaseKind
from fab.outlines.crossings import crossing
from fab.outlines.shapes import slot
from fab.params.designs import called
from fab.parts.features import Feature, features
from fab.parts.given import base_is_worked, shell_is_worked
from fab.parts.jumpersizes import channel_corners, rim_corners
from fab.parts.keyhole import inlet_shapes, keyhole_of
from fab.parts.openings import FLAT_WORK
from fab.parts.plan import Plan
from fab.units import fixed, some

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry
else:
    BaseGeometry = Any

PRACTICE = "common practice, no source: two printed lines make a wall"
CLEAR_MM = 0.5  # additions keep this from parts that come later


def opening_checks(design: str, plan: Plan, kinds: Sequence[BaseKind] = ()) -> tuple[Verdict, ...]:
    """Verdicts `openings.*` of one design; none without openings and additions.

    `kinds`: the bases that the layout asks for; their keyholes and inlets must stay clear too.
    """
    if not base_is_worked(plan.params) and not shell_is_worked(plan.params):
        return ()
    subject = called(design)
    try:
        items = features(plan)
    except BrokenGeometry as error:
        return (
            judge(
                "openings.shape",
                subject,
                at_least(0, 1, ""),
                f"An opening or addition has no shape: {error}.",
            ),
        )
    verdicts = list(_shapes(design, subject, items))
    if any(verdict.verdict == "fail" for verdict in verdicts):
        return tuple(verdicts)
    for item in items:
        others = [
            other for other in items if other is not item and surfaces.same_surface(item, other)
        ]
        verdicts += _clear(design, subject, plan, item, others)
    verdicts += [verdict for kind in kinds for verdict in _kind(design, subject, plan, items, kind)]
    verdicts += _turns(design, subject, plan, kinds)
    return tuple(verdicts)


def _shapes(design: str, subject: str, items: Sequence[Feature]) -> Iterator[Verdict]:
    """Polygons that do not cross themselves."""
    for item in items:
        hit = next(
            (
                found
                for shape in item.shapes
                if (found := crossing(surfaces.loops(shape))) is not None
            ),
            None,
        )
        if hit is not None or not item.shapes:
            says = (
                f"The outline crosses itself at {surfaces.at(hit[1])}: {item.told}."
                if hit is not None
                else f"The outline encloses no area: {item.told}."
            )
            yield judge(
                "openings.shape",
                subject,
                at_least(0, 1, ""),
                says,
                remedy=f"Correct panel.{item.key}.",
            )


def _left(what: str, other: str, left: float) -> str:
    """Return the overlap of two things, or the material left between them, in mm."""
    if left < 0:
        return f"Overlap of {what} with {other}: {fixed(-left)} mm."
    return f"Material left between {what} and {other}: {fixed(left)} mm."


def _clear(
    design: str, subject: str, plan: Plan, item: Feature, others: Sequence[Feature]
) -> Iterator[Verdict]:
    """Inside its surface, clear of everything fixed there and of the other features."""
    key = in_full(design, item.key, plan)
    shape = surfaces.union(item.shapes)
    inside, edge_says = surfaces.surface(plan, item)
    room_left = surfaces.inset(inside, shape)
    wall = 2 * plan.printer.extrusion_width if item.out <= 0 or item.through else 0.0
    place = surfaces.middle(shape)
    says = _left(f"{item.told} at {surfaces.at(place)}", edge_says, room_left)
    yield judge(
        "openings.inside",
        subject,
        at_least(room_left, wall, tolerance=0.01),
        says,
        source=PRACTICE,
        remedy=f"Move {key} {fixed(wall - room_left, 2)} mm away from it, or make it smaller.",
    )
    keeps = [*surfaces.keeps(plan, item), *(surfaces.other(plan, other) for other in others)]
    gap, keep = min(
        ((surfaces.gap(shape, keep.shape) - keep.wall, keep) for keep in keeps),
        key=lambda row: row[0],
        default=(0.0, None),
    )
    if keep is not None:
        left = gap + keep.wall
        says = _left(f"{item.told} at {surfaces.at(place)}", keep.what, left)
        yield judge(
            "openings.clear",
            subject,
            at_least(left, keep.wall, tolerance=0.01),
            says,
            source=PRACTICE,
            remedy=f"Move {key} {fixed(max(-gap, 0.0), 2)} mm away from it.",
        )
    yield from _reach(subject, plan, item, key, shape)


def _reach(
    subject: str, plan: Plan, item: Feature, key: str, shape: BaseGeometry
) -> Iterator[Verdict]:
    """The most that an addition stands out before it meets the board, and depth of letters."""
    place = surfaces.at(surfaces.middle(shape))
    if item.through:
        return
    if item.what in FLAT_WORK and item.out < 0:
        thick = plan.floor.top_z if item.edge is None else plan.params.shell.wall
        left = thick + item.out
        yield judge(
            "openings.letters-depth",
            subject,
            at_least(
                left,
                2 * plan.printer.layer if item.edge is None else 2 * plan.printer.extrusion_width,
            ),
            f"Material left behind the sunk {item.told} at {place}: {fixed(left)} mm.",
            source=PRACTICE,
            remedy=f"Make {key}.depth smaller.",
        )
        return
    if item.edge is None:
        under = _under_board(plan, shape)
        left = under - plan.floor.top_z - item.out
        yield judge(
            "openings.height",
            subject,
            at_least(left, CLEAR_MM),
            f"Gap, {item.told} at {place} to board: {fixed(left)} mm.",
            remedy=f"Make {key}.height {fixed(CLEAR_MM - left, 2)} mm smaller.",
        )
    elif item.what not in FLAT_WORK:
        left = _beside_board(plan, item, shape)
        yield judge(
            "openings.height",
            subject,
            at_least(left, CLEAR_MM),
            f"Gap, {item.told} at {place} to board or base wall: {fixed(left)} mm.",
            remedy=f"Make {key}.height smaller, or move it away from the board.",
        )


def _under_board(plan: Plan, shape: BaseGeometry) -> float:
    """Lowest thing over a place of the floor."""
    from shapely.geometry import Polygon

    from fab.parts.board_source import board_layout

    layout, low = board_layout(plan), plan.heights.board_z
    for part in (*layout.sockets, *layout.parts) if layout is not None else ():
        if (
            part.side != "front"
            and min(part.width, part.depth) > 0
            and Polygon(part.corners).distance(shape) < CLEAR_MM
        ):
            low = min(low, plan.heights.board_z - part.height)
    return low if layout is not None else plan.heights.ledge_foot_z


def _beside_board(plan: Plan, item: Feature, shape: BaseGeometry) -> float:
    """Room between an addition on a wall and what comes down beside it."""
    z0, z1 = float(shape.bounds[1]), float(shape.bounds[3])
    slope = item.out / math.tan(math.radians(plan.printer.overhang_deg))
    if item.part == "shell":
        return min(
            z0 - slope - plan.heights.wall_top_z - plan.floor.press_room,
            plan.heights.ledge_foot_z - z1 + CLEAR_MM,
        )
    if plan.params.board.none or z1 < plan.heights.board_z - CLEAR_MM:
        return plan.heights.board_z - z1
    return plan.params.board.fit - item.out


def _kind(
    design: str, subject: str, plan: Plan, items: Sequence[Feature], kind: BaseKind
) -> Iterator[Verdict]:
    """Keyhole, screw and inlet of a base kind against what is on its floor and at edge 0."""
    from shapely.geometry import Polygon, box

    wall = 2 * plan.printer.extrusion_width
    floor: list[surfaces.Keep] = []
    inlet: list[surfaces.Keep] = []
    hole = keyhole_of(plan, kind)
    if hole is not None:
        floor.append(surfaces.Keep("the keyhole", surfaces.poly(hole.contour), wall))
        sweep = slot(hole.entry, hole.rest, plan.params.hanger.head_d)
        floor.append(
            surfaces.Keep("the path of the wall screw's head", surfaces.poly(sweep), CLEAR_MM)
        )
    for edge in kind.jumpers:
        floor.append(
            surfaces.Keep("the opening of a jumper", Polygon(rim_corners(plan, edge)), 0.0)
        )
        floor.append(
            surfaces.Keep("the channel of a jumper", Polygon(channel_corners(plan, edge)), wall)
        )
    if kind.inlet:
        floor += [surfaces.Keep("the inlet", Polygon(one), 0.0) for one in inlet_shapes(plan)]
        half = (
            max(plan.params.inlet.plug_w, plan.params.inlet.shell_w, plan.params.inlet.cable_d) / 2
        )
        inlet.append(
            surfaces.Keep(
                "the inlet",
                box(-half, plan.floor.top_z, half, plan.inlet.z + room.inlet_half(plan)),
                wall,
            )
        )
    for item in items:
        if item.part != "base" and not kind.inlet:
            continue
        placed = item.turned_back(kind.steps, plan.cell.sides)
        keeps = floor if placed.edge is None else inlet if placed.edge == 0 else []
        shape = surfaces.union(placed.shapes)
        for keep in keeps:
            left = surfaces.gap(shape, keep.shape)
            yield judge(
                "openings.kind",
                f"{subject} base {kind.key}",
                at_least(left, keep.wall, tolerance=0.01),
                _left(item.told, keep.what, left),
                source=PRACTICE,
                remedy=(
                    f"Move {in_full(design, item.key, plan)}"
                    f" {fixed(max(keep.wall - left, 0.0), 2)} mm away, or put hanger or inlet at"
                    " another panel."
                ),
            )


def _turns(design: str, subject: str, plan: Plan, kinds: Sequence[BaseKind]) -> Iterator[Verdict]:
    """A shell with openings stays while its base turns with the inlet: its fixings must meet."""
    if not shell_is_worked(plan.params):
        return
    n, corners = plan.cell.sides, set(plan.fixings.fixing_corners)
    for kind in kinds:
        met = {(corner + kind.steps) % n for corner in corners}
        says = (
            f"The base is mounted turned by {some(kind.steps, 'edge')}: of {len(corners)} fixings"
            f" of the shell, {len(met & corners)} meet those of the base."
        )
        yield judge(
            "openings.turned",
            f"{subject} base {kind.key}",
            at_least(len(met & corners), len(corners), ""),
            says,
            remedy=f"Set {in_full(design, 'shell.screws', plan)} = {n}.",
        )
