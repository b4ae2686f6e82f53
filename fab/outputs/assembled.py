"""The pieces of the assemblies' STEP, each in its place: made and bought parts of every panel and
every joint.

Each solid is drawn once for a design and shared by all panels that have it.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from functools import partial
from typing import Any

from fab.outlines.contour import Point, turn
from fab.outputs.models import AssemblyJoint, AssemblyPanel, Standings
from fab.parts import bought
from fab.parts.cap import cap_seated
from fab.parts.clip import clip_in_place
from fab.parts.diffuser import diffuser
from fab.parts.footsizes import feet_at
from fab.parts.given import shell_is_worked
from fab.parts.jumper import half_cable
from fab.parts.keyhole import keyhole_of
from fab.parts.plan import Plan
from fab.products import Made, PartSpec
from fab.solids.assembled import Pieces, PlacedSolid, assembly_step
from fab.solids.kernel import group, moved

# Okabe-Ito palette (published, safe for the colour-blind), lightened where a face is large.
COLOURS: Mapping[str, tuple[float, float, float]] = {
    "base": (0.55, 0.62, 0.70),
    "board": (0.20, 0.55, 0.42),
    "shell": (0.86, 0.80, 0.68),
    "diffuser": (0.55, 0.78, 0.95),
    "clip": (0.90, 0.62, 0.0),
    "cap": (0.80, 0.47, 0.65),
    "foot": (0.0, 0.45, 0.70),
    "header": (0.10, 0.10, 0.10),
    "jumper": (0.83, 0.37, 0.0),
    "screw": (0.60, 0.60, 0.62),
    "inlet": (0.95, 0.90, 0.25),
}
NOT_SHOWN = ("plug",)  # it is the cable's, not the wall's

Draw = Callable[[], Any]


class _Drawn:
    """Solids by what they are, each drawn when first asked for."""

    def __init__(self, solids: Mapping[PartSpec, Any]) -> None:
        self.solids = solids
        self.drawn: dict[tuple[object, ...], Any] = {}

    def once(self, key: tuple[object, ...], draw: Draw) -> Any:
        if key not in self.drawn:
            self.drawn[key] = draw()
        return self.drawn[key]


def pieces(wall: Standings, solids: Mapping[PartSpec, Any]) -> list[Pieces]:
    """A group a panel, and one of all joints where there are any."""
    drawn = _Drawn(solids)
    found = [Pieces(one.name, _panel(wall, one, drawn)) for one in wall.panels]
    joined = [piece for joint in wall.joints for piece in _joint(wall, joint, drawn)]
    return [*found, Pieces("joints", joined)] if joined else found


def _panel(wall: Standings, one: AssemblyPanel, drawn: _Drawn) -> list[PlacedSolid]:
    """Base (turned to its mounting), board, shell, diffuser, caps and feet of one panel, its halves
    of jumpers, its inlet and its screws, in the wall frame.
    """
    plan, design = wall.plans[one.design], one.design
    n, blank = plan.cell.sides, plan.params.board.none
    mounted = 360.0 * one.steps / n
    found: list[PlacedSolid] = []

    def put(
        part: str, look: str, solid: Any, turn_deg: float = 0.0, name: str = "", at: Point = (0, 0)
    ) -> None:
        x, y = turn(at, math.radians(one.turn_deg))
        says = f"{one.name} {name or part}"
        place = (one.turn_deg + turn_deg, one.x + x, one.y + y)
        found.append(PlacedSolid(part, says, solid, COLOURS[look], *place))

    put(one.base.name, "base", drawn.solids[one.base], mounted, "base")
    front = drawn.once(
        ("shell", design),
        lambda: moved(drawn.solids[PartSpec("shell", design)], 0.0, 0.0, plan.floor.shell_z),
    )
    # a shell that nothing is worked into turns with the base, as its screws do
    put("shell", "shell", front, 0.0 if shell_is_worked(plan.params) else mounted)
    if one.stencil is None:
        put("diffuser", "diffuser", drawn.solids[PartSpec("diffuser", design)])
    else:
        item, holes = one.stencil
        put(item, "diffuser", drawn.once(("sheet", item), lambda: diffuser(plan, holes)))
    if not blank:
        put("board", "board", drawn.solids[PartSpec("board", design)])
        driven, into = plan.fixings.board_screws, plan.fixings.screw_holes
        spread = [into[k * len(into) // driven] for k in range(driven)]
        _screws(put, "board screw", spread, plan, drawn, 0.0)
    _screws(put, "shell screw", plan.fixings.shell_screws, plan, drawn, mounted)
    for edge in one.jumpers:
        half = drawn.once(("jumper", design), lambda: group(half_cable(plan)))
        put("jumper half", "jumper", half, 360.0 * edge / n, f"jumper half {edge}")
    for edge in one.caps:
        made = drawn.solids[wall.caps[design]]
        cap = drawn.once(("cap", design), partial(cap_seated, plan, made))
        put("cap", "cap", cap, 360.0 * edge / n, f"cap {edge}")
    if design in wall.feet:
        spec = wall.feet[design]
        low = drawn.once(
            ("foot", design), lambda: moved(drawn.solids[spec], 0.0, 0.0, -plan.params.base.feet)
        )
        for k, at in enumerate(feet_at(plan)):
            put("foot", "foot", low, name=f"foot {k}", at=at)
    kind = one.base.kind
    if kind is not None and kind.inlet:
        for part, solid in drawn.once(("inlet", design), lambda: bought.receptacle(plan)):
            if part not in NOT_SHOWN:
                put(part, "screw" if part == "inlet screw" else "inlet", solid, mounted)
    hole = keyhole_of(plan, kind) if kind is not None else None
    if hole is not None:
        put("wall screw", "screw", bought.wall_screw(plan, hole.rest), mounted)
    return found


def _screws(
    put: Callable[..., None],
    part: str,
    at: Sequence[Point],
    plan: Plan,
    drawn: _Drawn,
    turn_deg: float,
) -> None:
    """One solid, drawn in the first place and moved to the others."""
    if not at:
        return
    make = bought.board_screws if part == "board screw" else bought.shell_screws
    solid = drawn.once((part, id(plan)), lambda: make(plan)[0])
    for k, (x, y) in enumerate(at):
        away = turn((x - at[0][0], y - at[0][1]), math.radians(turn_deg))
        put(part, "screw", solid, turn_deg, f"{part} {k}", away)


def _joint(wall: Standings, joint: AssemblyJoint, drawn: _Drawn) -> list[PlacedSolid]:
    """The clips of a joint, and its header where it has one."""
    one = wall.panels[joint.panel]
    plan, design = wall.plans[one.design], one.design
    angle = one.turn_deg + 360.0 * joint.edge / plan.cell.sides
    assert wall.clip is not None
    made = drawn.solids[wall.clip]
    clip = drawn.once(("clip", design), lambda: clip_in_place(plan, made, 0.0))
    found: list[PlacedSolid] = []
    for at in plan.clip.places:
        x, y = turn((0.0, at), math.radians(angle))
        says = f"{joint.name} clip {len(found)}"
        found.append(PlacedSolid("clip", says, clip, COLOURS["clip"], angle, one.x + x, one.y + y))
    if joint.header:
        header = drawn.once(("header", design), lambda: bought.header_in_joint(plan))
        says = f"{joint.name} header"
        found.append(PlacedSolid("header", says, header, COLOURS["header"], angle, one.x, one.y))
    return found


def wall_file(name: str, wall: Standings, *parts: Made) -> bytes:
    """All panels and what joins them in the wall frame as STEP; `parts` as `wall.specs` names
    them.
    """
    solids = {spec: part.solid for spec, part in zip(wall.specs, parts, strict=True)}
    return assembly_step(name, pieces(wall, solids))
