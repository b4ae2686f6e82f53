"""STEP: one file a part, one assembled panel, and the whole wall as shared parts in their places.

What is raised, sunk or cut through is in the solids; engraving takes next to no material and is in
the cut files alone.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from fab.decisions import Design
from fab.outlines.contour import Contour
from fab.outputs.art import Diffuser, diffusers
from fab.parts.diffuser import diffuser
from fab.parts.footsizes import feet_at
from fab.parts.given import shell_is_worked
from fab.parts.plan import Plan
from fab.products import Made, PartSpec, shaping


def is_step(data: bytes) -> bytes:
    """The data, when it begins and ends as a STEP file (ISO 10303-21)."""
    if not (data.startswith(b"ISO-10303-21;") and data.rstrip().endswith(b"END-ISO-10303-21;")):
        raise ValueError("this is no STEP")
    return data


@dataclass(frozen=True)
class Standing:
    """One panel as it stands in the wall: its place, its base with its turn, and what is at its
    edges.
    """

    design: str
    base: PartSpec
    x: float
    y: float
    turn_deg: float
    steps: int  # edges by which the base is turned in the panel
    jumpers: tuple[int, ...]  # edges of the panel with a jumper
    caps: tuple[int, ...]  # edges of the panel with a cap
    stencil: tuple[str, tuple[Contour, ...]] | None = (
        None  # its sheet, when something is cut through that
    )


@dataclass(frozen=True)
class Standings:
    """A wall as its model sees it.

    `clips`: number of the panel and its edge, for each joint with clips.
    """

    plans: Mapping[str, Plan]
    panels: tuple[Standing, ...]
    clips: tuple[tuple[int, int], ...]
    feet: Mapping[str, PartSpec]  # by design, those that have any
    clip: PartSpec | None

    @property
    def specs(self) -> tuple[PartSpec, ...]:
        """The parts that are shown, in one order."""
        found = [one.base for one in self.panels]
        for design in dict.fromkeys(one.design for one in self.panels):
            blank = self.plans[design].params.board.none
            found += [
                PartSpec(part, design)
                for part in ("shell", "diffuser", *([] if blank else ["board"]))
            ]
        found += [self.feet[one.design] for one in self.panels if one.design in self.feet]
        return tuple(dict.fromkeys([*found, *([self.clip] if self.clip else [])]))


def standings(design: Design, whole: bool) -> Standings:
    """The wall, or its first panel alone at the origin, of shaping values only."""
    sheets = stencilled(design)
    number = {panel.name: k for k, panel in enumerate(design.layout.panels)}
    shown = design.layout.panels if whole else design.layout.panels[:1]
    panels = []
    for panel in shown:
        use, sheet = design.use_of[panel.name], sheets.get(panel.name)
        panels.append(
            Standing(
                panel.design,
                PartSpec("base", panel.design, use.kind),
                *((panel.x, panel.y, panel.turn_deg) if whole else (0.0, 0.0, 0.0)),
                use.steps,
                tuple(design.table.jumper_edges.get(panel.name, ())),
                design.capped[panel.name],
                (sheet.item, tuple(sheet.art.holes)) if sheet is not None else None,
            )
        )
    used = dict.fromkeys(one.design for one in panels)
    plans = {name: _shown(design, name) for name in used}
    feet = {
        name: PartSpec("foot", design.same_as("foot", name))
        for name in used
        if plans[name].params.base.feet > 0
    }
    joints = design.layout.joints if whole else ()
    clips = tuple((number[joint.a], joint.edge_a) for joint in joints)
    first = PartSpec("clip", design.same_as("clip", shown[clips[0][0]].design)) if clips else None
    return Standings(plans, tuple(panels), clips, feet, first)


def _shown(design: Design, name: str) -> Plan:
    opened = next(
        (kind for (owner, _), kind in design.kinds.items() if owner == name and kind.jumpers), None
    )
    return shaping(design.plans[name], opened)


def stencils(design: Design) -> list[Diffuser]:
    """Kinds of diffusers that something is cut through."""
    return [one for one in diffusers(design) if one.art.holes]


def stencilled(design: Design) -> dict[str, Diffuser]:
    """Panels whose sheet has a stencil."""
    return {panel: one for one in stencils(design) for panel in one.panels}


def part_file(name: str, part: Made) -> bytes:
    """One part as STEP."""
    from fab.solids.step import step

    return step([(name, part.solid)], name)


def sheet_file(name: str, plan: Plan, holes: tuple[Contour, ...]) -> bytes:
    """A diffuser with its stencil as STEP."""
    from fab.solids.step import step

    return step([(name, diffuser(plan, holes))], name)


def wall_file(name: str, wall: Standings, *parts: Made) -> bytes:
    """All panels and clips in the wall frame as STEP; `parts` as `wall.specs` names them."""
    from fab.parts.clip import clip_in_place
    from fab.solids.kernel import group, moved, turned
    from fab.solids.step import step

    solids = {spec: part.solid for spec, part in zip(wall.specs, parts, strict=True)}
    shared: dict[str, Any] = {}
    placed = []
    for one in wall.panels:
        placed.append(
            moved(turned(_assembled(wall, one, solids, shared), one.turn_deg), one.x, one.y, 0.0)
        )
    for number, edge in wall.clips:
        one = wall.panels[number]
        plan = wall.plans[one.design]
        assert wall.clip is not None
        for at in plan.clip.places:
            at_edge = turned(
                clip_in_place(plan, solids[wall.clip], at), 360.0 * edge / plan.cell.sides
            )
            placed.append(moved(turned(at_edge, one.turn_deg), one.x, one.y, 0.0))
    return step([(name, group(placed))], name)


def panel_file(name: str, wall: Standings, *parts: Made) -> bytes:
    """One panel, assembled, in its own frame as STEP."""
    from fab.solids.step import step

    solids = {spec: part.solid for spec, part in zip(wall.specs, parts, strict=True)}
    return step([(name, _assembled(wall, wall.panels[0], solids, {}))], name)


def _assembled(
    wall: Standings, one: Standing, solids: Mapping[PartSpec, Any], shared: dict[str, Any]
) -> Any:
    """Base (turned to its mounting), board, shell, diffuser and caps of one panel in the panel
    frame.
    """
    from fab.parts.cap import cap_in_place
    from fab.parts.jumper import half_cable
    from fab.solids.kernel import group, moved, turned

    plan = wall.plans[one.design]
    n = plan.cell.sides

    def sheet() -> Any:
        if one.stencil is None:
            return solids[PartSpec("diffuser", one.design)]
        item, holes = one.stencil
        word = f"stencil {item}"
        return shared[word] if word in shared else shared.setdefault(word, diffuser(plan, holes))

    turn_deg = 360.0 * one.steps / n
    front = moved(solids[PartSpec("shell", one.design)], 0.0, 0.0, plan.floor.shell_z)
    parts = [
        turned(solids[one.base], turn_deg),
        (
            front if shell_is_worked(plan.params) else turned(front, turn_deg)
        ),  # its screws turn with the base's
        sheet(),
    ]
    if not plan.params.board.none:
        parts.append(solids[PartSpec("board", one.design)])
    for edge in sorted((edge - one.steps) % n for edge in one.jumpers):
        word = f"jumper {one.design}"
        half = shared[word] if word in shared else shared.setdefault(word, group(half_cable(plan)))
        parts.append(turned(half, turn_deg + 360.0 * edge / n))
    if one.design in wall.feet:
        foot = solids[wall.feet[one.design]]
        parts += [moved(foot, x, y, -plan.params.base.feet) for x, y in feet_at(plan)]
    if one.caps:
        word = f"cap in place {one.design}"
        plug = shared[word] if word in shared else shared.setdefault(word, cap_in_place(plan))
        parts += [turned(plug, 360.0 * edge / n) for edge in one.caps]
    return group(parts)
