"""The name of a base, raised on its floor."""

from __future__ import annotations

from functools import lru_cache
from typing import Any

from fab.layout.model import BaseKind
from fab.outlines.contour import Point
from fab.outlines.shapes import slot
from fab.parts.features import features
from fab.parts.keyhole import keyhole_of
from fab.parts.label import Line, label_lines, label_width, letters
from fab.parts.plan import Plan
from fab.solids import kernel
from fab.solids.kernel import GROW, Solid


def on_free_floor(plan: Plan) -> bool:
    """True when a name is all that is raised on the floor of a base, or sunk into it, beside the
    things that every base has.
    """
    return not any(item.part == "base" and item.edge is None for item in features(plan))


def name_feet(plan: Plan, kind: BaseKind) -> list[Any]:
    """The faces on which the name of a base stands on its floor; none without a name, or without
    room for it.
    """
    width, found = label_width(plan), []
    for group in letters(_name_lines(plan, kind), width):
        ((x, y), _), *_ = group
        shape = tuple(
            tuple((round(p[0] - x, 7), round(p[1] - y, 7)) for p in line) for line in group
        )
        found += [kernel.copied(face, x, y, plan.floor.top_z) for face in _letter(shape, width)]
    return found


@lru_cache(maxsize=256)
def _letter(lines: tuple[tuple[Point, ...], ...], width: float) -> tuple[Any, ...]:
    """The faces of one letter: they recur from name to name, and putting strokes together takes
    long.
    """
    return tuple(kernel.flat([slot(a, b, width) for a, b in lines], 0.0))


def name_height(plan: Plan) -> float:
    """Height of a name over the floor, mm."""
    return 3 * plan.printer.layer


def _name_lines(plan: Plan, kind: BaseKind) -> list[Line]:
    up, plan = kind.up_deg, plan.mounted(kind.steps)
    hole = keyhole_of(plan, kind)
    if up is None or hole is None or not kind.label or not plan.params.base.label:
        return []
    return label_lines(plan, kind.label, up, hole, kind.jumpers, inlet=kind.inlet)


def fused_name(plan: Plan, kind: BaseKind, solid: Solid) -> Solid:
    """A base with its name by a boolean, for a floor that is worked on or is in pieces."""
    bars = [slot(a, b, label_width(plan)) for a, b in _name_lines(plan, kind)]
    if not bars:
        return solid
    return kernel.fused(
        [solid, *kernel.prisms(bars, plan.floor.top_z - GROW, plan.floor.top_z + name_height(plan))]
    )
