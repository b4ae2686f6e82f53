"""STEP: one file a part, one assembled panel, and the whole wall as shared parts in their places,
each with its name and colour.

What is raised, sunk or cut through is in the solids; engraving takes next to no material and is in
the cut files alone.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from fab.design import Design
from fab.outlines.contour import Contour
from fab.outputs.art import Diffuser, diffusers
from fab.parts.diffuser import diffuser
from fab.parts.plan import Plan
from fab.products import Made, PartSpec, shaping


def is_step(data: bytes) -> bytes:
    """The data, when it begins and ends as a STEP file (ISO 10303-21)."""
    if not (data.startswith(b"ISO-10303-21;") and data.rstrip().endswith(b"END-ISO-10303-21;")):
        raise ValueError("this is no STEP")
    return data


@dataclass(frozen=True)
class AssemblyPanel:
    """One panel as it stands in the wall: its place, its base with its turn, and what is at its
    edges.
    """

    name: str
    design: str
    base: PartSpec
    x: float
    y: float
    turn_deg: float
    steps: int  # edges by which the base is turned in the panel
    jumpers: tuple[int, ...]  # edges of the panel with a jumper
    caps: tuple[int, ...]  # edges of the panel with a cap
    # its sheet, when something is cut through that
    stencil: tuple[str, tuple[Contour, ...]] | None = None


@dataclass(frozen=True)
class AssemblyJoint:
    """A joint: the panel that it is drawn from, by number, and its edge."""

    name: str  # "B/4-D/1"
    panel: int
    edge: int
    header: bool


@dataclass(frozen=True)
class Standings:
    """A wall as its model sees it."""

    plans: Mapping[str, Plan]
    panels: tuple[AssemblyPanel, ...]
    joints: tuple[AssemblyJoint, ...]
    caps: Mapping[str, PartSpec]  # by design, those that have any
    feet: Mapping[str, PartSpec]
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
        for some in (self.caps, self.feet):
            found += [some[one.design] for one in self.panels if one.design in some]
        return tuple(dict.fromkeys([*found, *([self.clip] if self.clip else [])]))


def standings(design: Design, *, whole: bool) -> Standings:
    """The wall, or its first panel alone at the origin, of shaping values only."""
    sheets = stencilled(design)
    number = {panel.name: k for k, panel in enumerate(design.layout.panels)}
    shown = design.layout.panels if whole else design.layout.panels[:1]
    panels = []
    for panel in shown:
        use, sheet = design.use_of[panel.name], sheets.get(panel.name)
        panels.append(
            AssemblyPanel(
                panel.name,
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
    capped = dict.fromkeys(one.design for one in panels if one.caps)
    caps = {name: PartSpec("cap", design.same_as("cap", name)) for name in capped}
    feet = {
        name: PartSpec("foot", design.same_as("foot", name))
        for name in used
        if plans[name].params.base.feet > 0
    }
    joints = tuple(
        AssemblyJoint(
            f"{joint.a}/{joint.edge_a}-{joint.b}/{joint.edge_b}",
            number[joint.a],
            joint.edge_a,
            row.is_header,
        )
        for joint, row in zip(design.layout.joints, design.table.rows, strict=True)
        if whole
    )
    first = (
        PartSpec("clip", design.same_as("clip", shown[joints[0].panel].design)) if joints else None
    )
    return Standings(plans, tuple(panels), joints, caps, feet, first)


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
