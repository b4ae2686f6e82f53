"""Shaded pictures of the steps by which one panel is put together, and of the boards alone."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from typing import Any

from fab.book.drawings import EYE, FROM_BACK, OUT_MM, lifted, on_board
from fab.book.shadedart import shape
from fab.design import Design
from fab.parts.footsizes import feet_at
from fab.parts.placed import Pose
from fab.parts.plan import Plan
from fab.products import Made, PartSpec
from fab.solids.mesh import Mesh
from fab.solids.shaded import Shaded, shaded

COLUMNS = 440  # dots across


def steps_of(design: Design, name: str) -> Mapping[str, tuple[Callable[..., Shaded], str]]:
    """Pictures of a design by their keys: what draws each, and the parts that it is given."""
    plan = design.plans[name]
    found: dict[str, tuple[Callable[..., Shaded], str]] = {
        "sheet in": (sheet_in, "shell diffuser"),
        "closed": (closing, f"base shell diffuser {carried(plan)}"),
    }
    if not plan.params.board.none:
        found |= {"board": (board_alone, "board view"), "board in": (board_in, "base board view")}
    if feet_at(plan):
        found["feet"] = (feet_on, "base")
    return found


def carried(plan: Plan) -> str:
    """The words for a board and what sits on it: none for a blank cover."""
    return "" if plan.params.board.none else "board view"


def hanging_base(design: Design) -> PartSpec:
    """A base that hangs on a screw, without an inlet where there is such a one."""
    kinds = [(name, kind) for (name, _), kind in design.kinds.items() if kind.up_deg is not None]
    name, kind = min(kinds, key=lambda one: (bool(one[1].inlet), one[0], one[1].key))
    return PartSpec("base", name, kind)


def board_alone(plan: Plan, *carried: Any) -> Shaded:
    """The board with all that sits on it."""
    return shaded(list(on_board(plan, carried)), EYE, columns=COLUMNS)


def board_in(plan: Plan, base: Made, *carried: Any) -> Shaded:
    """The board over the base that it goes into."""
    over = on_board(plan, carried, base, OUT_MM)
    return shaded([shape(base.mesh, "base"), *over], EYE, columns=COLUMNS)


def sheet_in(plan: Plan, shell: Made, diffuser: Made) -> Shaded:
    """The diffuser over its shell."""
    own = lifted(shell.mesh, plan.floor.shell_z)
    over = lifted(diffuser.mesh, OUT_MM)
    return shaded([shape(own, "shell"), shape(over, "diffuser")], EYE, columns=COLUMNS)


def closing(plan: Plan, base: Made, shell: Made, diffuser: Made, *carried: Any) -> Shaded:
    """The shell with its diffuser over the base with its board."""
    rise = plan.params.depth
    shapes = [
        shape(base.mesh, "base"),
        *on_board(plan, carried, base),
        shape(lifted(shell.mesh, plan.floor.shell_z + rise), "shell"),
        shape(lifted(diffuser.mesh, rise), "diffuser"),
    ]
    return shaded(shapes, EYE, columns=COLUMNS)


def feet_on(plan: Plan, base: Made) -> Shaded:
    """A base from the back, its feet over their recesses."""
    from fab.parts.feet import foot
    from fab.solids.meshing import mesh

    one = mesh(foot(plan), "foot")
    shapes = [shape(base.mesh, "base")]
    for x, y in feet_at(plan):
        shapes.append(shape(Pose(shift=(x, y, -plan.params.base.feet - OUT_MM)).mesh(one), "foot"))
    return shaded(shapes, FROM_BACK, (0.0, 1.0, 0.0), columns=COLUMNS)


def hanging(plan: Plan, base: Made, bought: Mapping[str, Mesh]) -> Shaded:
    """A base from the back, the screw of the room wall before its keyhole."""
    from fab.parts.keyhole import keyhole_of

    assert base.spec.kind is not None
    hole = keyhole_of(plan, base.spec.kind)
    assert hole is not None
    screw = Pose(shift=(*hole.rest, -OUT_MM)).mesh(bought["wall screw"])
    up = math.radians(base.spec.kind.up_deg or 0.0)
    shapes = [shape(base.mesh, "base"), shape(screw, "wall screw")]
    return shaded(shapes, FROM_BACK, (math.cos(up), math.sin(up), 0.0), columns=COLUMNS)
