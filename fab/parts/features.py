"""Openings and additions of a design as flat shapes on the surfaces that they sit on.

Free of the kernel.

surface   the floor of the base, seen from the front in (x, y); or the wall of base or shell at one
          edge, seen from
          outside in (t, z): t to the right along the edge from its middle, z over the wall
feature   one opening or addition on one surface: its shapes there, and how far it goes in or stands
          out
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from itertools import pairwise

from fab.outlines.contour import Contour, Outline, Point, circle, polygon, turn
from fab.outlines.shapes import rectangle, slot
from fab.outlines.strokes import strokes
from fab.params.features import AdditionParams, OpeningParams
from fab.parts.art import printed_art
from fab.parts.plan import Plan

FLOOR = None  # the surface of a base that has no edge


@dataclass(frozen=True)
class Feature:
    """One opening or addition on one surface, mm."""

    key: str  # "opening[0]", for messages
    what: str  # "opening", "boss", "rib", "letters", "art", "air slots"
    part: str  # base or shell
    edge: int | None  # FLOOR: the base's floor
    shapes: tuple[Contour | Outline, ...]  # on the surface
    through: bool  # cut through the wall
    out: float = 0.0  # how far it stands out; negative: sunk by this
    hole: Contour | None = None  # pilot hole in a boss
    back: bool = False  # on the back of the floor
    name: str = ""  # what its maker says it is for

    @property
    def told(self) -> str:
        """Its name in a message."""
        key = self.key if self.what == "opening" else f"{self.what} {self.key}"
        return f'{key} "{self.name}"' if self.name else key

    def turned_back(self, steps: int, sides: int) -> Feature:
        """The same feature of the panel, in the frame of a base that is mounted `steps` edges
        round.
        """
        if not steps:
            return self
        if self.edge is not None:
            return replace(self, edge=(self.edge - steps) % sides)
        angle = -2 * math.pi * steps / sides
        hole = self.hole.turned(angle) if self.hole is not None else None
        shapes = tuple(shape.turned(angle) for shape in self.shapes)
        return replace(self, shapes=shapes, hole=hole)


def features(plan: Plan) -> tuple[Feature, ...]:
    """All openings and additions of a design, an opening through both parts as two.

    Raises BrokenGeometry.
    """
    found: list[Feature] = []
    for k, opening in enumerate(plan.params.opening):
        shape = (_opening(opening),)
        for part in ("base", "shell") if opening.part == "both" else (opening.part,):
            found.append(
                Feature(
                    f"opening[{k}]", "opening", part, opening.edge, shape, True, name=opening.name
                )
            )
    for k, addition in enumerate(plan.params.addition):
        found.append(replace(_addition(plan, f"addition[{k}]", addition), name=addition.name))
    for k, art in enumerate(plan.params.art):
        if art.on != "diffuser":
            out = art.depth if art.work == "raised" else -art.depth
            edge = art.edge if art.on == "shell" else FLOOR
            shapes, back = printed_art(plan, art)[0], art.back and art.on == "base"
            found.append(Feature(f"art[{k}]", "art", art.on, edge, shapes, False, out, None, back))
    return tuple(found)


def _opening(opening: OpeningParams) -> Contour:
    """The shape of an opening in its surface."""
    wide, high = opening.size or (opening.d or 1.0, opening.d or 1.0)
    if opening.kind == "round":
        return circle(opening.at, (opening.d or 1.0) / 2)
    if opening.kind == "rect":
        shape = rectangle(wide, high, (0.0, 0.0), min(opening.radius, 0.499 * min(wide, high)))
    elif opening.kind == "slot":
        length, width = max(wide, high), min(wide, high)
        reach = (length - width) / 2
        if reach < 1e-3:
            return circle(opening.at, width / 2)
        across = (reach, 0.0) if wide >= high else (0.0, reach)
        shape = slot((-across[0], -across[1]), across, width)
    else:
        shape = polygon(opening.points)
        shape = shape.reversed() if shape.is_hole else shape
    return _placed(shape, opening.turn_deg, opening.at)


def _addition(plan: Plan, key: str, item: AdditionParams) -> Feature:
    if item.kind == "boss":
        hole = circle(item.at, item.hole / 2) if item.hole > 0 else None
        shape = (
            circle(item.at, item.d / 2) if item.edge is None else rectangle(item.d, item.d, item.at)
        )
        return Feature(key, "boss", item.part, item.edge, (shape,), False, item.height, hole)
    if item.kind == "rib":
        return Feature(key, "rib", item.part, item.edge, (_rib(item),), False, item.height)
    if item.kind == "vent":
        return Feature(key, "air slots", item.part, item.edge, _slots(plan, item), True)
    out = -item.depth if item.sunk else item.depth
    back = item.back and item.edge is None
    return Feature(
        key,
        "letters",
        item.part,
        item.edge,
        _letters(plan, item, back=back),
        False,
        out,
        None,
        back,
    )


def _rib(item: AdditionParams) -> Contour:
    """A straight bar with square ends, its ends at `at` and `to`."""
    a, b = item.at, item.to or (item.at[0] + 10.0, item.at[1])
    length = math.dist(a, b)
    nx, ny = -(b[1] - a[1]) / length * item.width / 2, (b[0] - a[0]) / length * item.width / 2
    return polygon(
        [
            (a[0] - nx, a[1] - ny),
            (b[0] - nx, b[1] - ny),
            (b[0] + nx, b[1] + ny),
            (a[0] + nx, a[1] + ny),
        ]
    )


def _slots(plan: Plan, item: AdditionParams) -> tuple[Contour, ...]:
    """Upright slots side by side, bars as wide as the slots between them: each bridges no more than
    its width.
    """
    wide, high = item.area
    bar = max(item.width, 2 * plan.printer.extrusion_width)
    many = max(math.floor((wide + bar) / (item.width + bar) + 1e-9), 1)
    reach = max(high - item.width, 0.0) / 2
    found = []
    for k in range(many):
        x = (k - (many - 1) / 2) * (item.width + bar)
        shape = (
            slot((x, -reach), (x, reach), item.width)
            if reach > 1e-3
            else circle((x, 0.0), item.width / 2)
        )
        found.append(_placed(shape, item.turn_deg, item.at))
    return tuple(found)


def _letters(plan: Plan, item: AdditionParams, *, back: bool) -> tuple[Contour, ...]:
    """Bars two printed lines wide that write the letters about their middle; mirrored on the back
    of the floor.
    """
    line = 2 * plan.printer.extrusion_width
    bars = []
    for stroke in strokes(item.letters, item.size, "middle"):
        for a, b in pairwise(stroke):
            if math.dist(a, b) > 1e-3:
                bar = slot(_down(a, item.size), _down(b, item.size), line)
                bars.append(_placed(bar.mirrored() if back else bar, item.turn_deg, item.at))
    return tuple(bars)


def _down(point: Point, size: float) -> Point:
    """From the foot of a line of letters to its middle."""
    return (point[0], point[1] - size / 2)


def _placed(shape: Contour, turn_deg: float, at: Point) -> Contour:
    turned = shape.turned(math.radians(turn_deg)) if turn_deg else shape
    return turned.moved(*at)


def on_edge(plan: Plan, point: Point, edge: int) -> Point:
    """A point of the floor as (distance towards an edge, offset along it)."""
    return turn(point, -2 * math.pi * edge / plan.cell.sides)
