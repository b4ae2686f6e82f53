"""STEP: one file a part, one assembled panel, and the whole wall as shared parts in their places.

What is raised, sunk or cut through is in the solids; engraving takes next to no material and is in the cut files alone.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import partial
from typing import Any

from fab.decisions import Design
from fab.outputs.art import Diffuser, diffusers
from fab.outputs.model import OutFile
from fab.parts.diffuser import diffuser
from fab.parts.footsizes import feet_at
from fab.parts.given import shell_is_worked
from fab.parts.plan import Plan
from fab.products import ROOMS, Made, PartSpec, depends
from fab.store import Store, Task

STEP_ROOMS = (*ROOMS, "outputs", "layout")
ASSEMBLIES = ("assembly-panel", "assembly")


def files(design: Design, made: Mapping[PartSpec, Made], store: Store) -> list[OutFile]:
    """model/*. A file whose parts did not change comes from the store."""
    names = [*_part_tasks(design, made), *ASSEMBLIES]
    found = zip(names, tasks(design, made), strict=True)
    return [OutFile(f"model/{name}.step", "model", store.read(task, _is_step), name, 1) for name, task in found]


def _is_step(data: bytes) -> bytes:
    """The data, when it begins and ends as a STEP file (ISO 10303-21)."""
    if not (data.startswith(b"ISO-10303-21;") and data.rstrip().endswith(b"END-ISO-10303-21;")):
        raise ValueError("this is no STEP")
    return data


def tasks(design: Design, made: Mapping[PartSpec, Made]) -> list[Task]:
    """What `files` will ask the store for, in its order."""
    found = list(_part_tasks(design, made).values())
    values = [
        sorted((spec.name, repr(depends(design.plans[spec.design], spec))) for spec in made),
        [(p.name, p.design, p.x, p.y, p.turn_deg) for p in design.layout.panels],
        [(use.panel, use.kind.key, use.steps) for use in design.uses],
        [(one.panels, repr(one.art.holes)) for one in stencils(design)],
        sorted(design.table.jumper_edges.items()),
    ]
    for name, maker in zip(ASSEMBLIES, (_panel, _wall), strict=True):
        found.append(Task(f"step {name}", values, STEP_ROOMS, partial(_assembly, maker, design, made, name)))
    return found


def stencils(design: Design) -> list[Diffuser]:
    """Kinds of diffusers that something is cut through."""
    return [one for one in diffusers(design) if one.art.holes]


def sheet_solid(plan: Plan, one: Diffuser) -> Any:
    """A diffuser with its stencil, in the panel frame."""
    return diffuser(plan, one.art.holes)


def _part_tasks(design: Design, made: Mapping[PartSpec, Made]) -> dict[str, Task]:
    """A file a part by name; a diffuser with a stencil in place of the plain one, or beside it when it has its own name."""
    found = {
        spec.name: Task(f"step {spec.part}", depends(design.plans[spec.design], spec), STEP_ROOMS, partial(_one, made[spec], spec))
        for spec in _sorted(made)
    }
    for one in stencils(design):
        plan = design.plans[one.design]
        values = [one.item, repr(depends(plan, PartSpec("diffuser", one.design))), repr(one.art.holes)]
        found[one.item] = Task("step diffuser", values, STEP_ROOMS, partial(_sheet, plan, one))
    return dict(sorted(found.items()))


def _sheet(plan: Plan, one: Diffuser) -> bytes:
    from fab.solids.step import step

    return step([(one.item, sheet_solid(plan, one))], one.item)


def _sorted(made: Mapping[PartSpec, Made]) -> list[PartSpec]:
    return sorted(made, key=lambda spec: spec.name)


def _assembly(maker: Callable[..., Any], design: Design, made: Mapping[PartSpec, Made], name: str) -> bytes:
    from fab.solids.step import step

    return step([(name, maker(design, made))], name)


def _one(part: Made, spec: PartSpec) -> bytes:
    from fab.solids.step import step

    return step([(spec.name, part.solid)], spec.name)


def _panel(design: Design, made: Mapping[PartSpec, Made]) -> Any:
    """The first panel, assembled, in its own frame."""
    return _assembled(design, made, design.layout.panels[0].name, _sheets(design), {})


def _wall(design: Design, made: Mapping[PartSpec, Made]) -> Any:
    """All panels and clips in the wall frame."""
    from fab.parts.clip import clip_in_place
    from fab.solids.kernel import group, moved, turned

    shared: dict[str, Any] = {}
    sheets = _sheets(design)
    placed = []
    for panel in design.layout.panels:
        one = _assembled(design, made, panel.name, sheets, shared)
        placed.append(moved(turned(one, panel.turn_deg), panel.x, panel.y, 0.0))
    for joint in design.layout.joints:
        panel = design.layout.by_name[joint.a]
        plan = design.plans[panel.design]
        solid = shared.setdefault("clip", made[PartSpec("clip", design.same_as("clip", panel.design))].solid)
        for side in (-1, 1):
            at_edge = turned(clip_in_place(plan, solid, side), 360.0 * joint.edge_a / panel.cell.sides)
            placed.append(moved(turned(at_edge, panel.turn_deg), panel.x, panel.y, 0.0))
    return group(placed)


def _sheets(design: Design) -> dict[str, Diffuser]:
    """Panels whose sheet has a stencil."""
    return {panel: one for one in stencils(design) for panel in one.panels}


def _assembled(
    design: Design, made: Mapping[PartSpec, Made], name: str, sheets: Mapping[str, Diffuser], shared: dict[str, Any]
) -> Any:
    """Base (turned to its mounting), board, shell, diffuser and caps of one panel in the panel frame."""
    from fab.parts.cap import cap_in_place
    from fab.parts.jumper import half_cable
    from fab.solids.kernel import group, moved, turned

    panel, use = design.layout.by_name[name], design.use_of[name]
    plan, n = design.plans[panel.design], panel.cell.sides

    def solid(spec: PartSpec) -> Any:
        return shared.setdefault(spec.name, made[spec].solid)

    def sheet() -> Any:
        one = sheets.get(name)
        if one is None:
            return solid(PartSpec("diffuser", panel.design))
        word = f"stencil {one.item}"  # "diffuser" alone is the plain one
        return shared[word] if word in shared else shared.setdefault(word, sheet_solid(plan, one))

    turn_deg = 360.0 * use.steps / n
    front = moved(solid(PartSpec("shell", panel.design)), 0.0, 0.0, plan.shell_z)
    parts = [
        turned(solid(PartSpec("base", panel.design, use.kind)), turn_deg),
        front if shell_is_worked(plan.params) else turned(front, turn_deg),  # its screws turn with the base's
        sheet(),
    ]
    if not plan.params.board.none:
        parts.append(solid(PartSpec("board", panel.design)))
    for edge in sorted((edge - use.steps) % n for edge in design.table.jumper_edges.get(name, ())):
        word = f"jumper {panel.design}"
        half = shared[word] if word in shared else shared.setdefault(word, group(half_cable(plan)))
        parts.append(turned(half, turn_deg + 360.0 * edge / n))
    if plan.params.base.feet > 0:
        one = solid(PartSpec("foot", design.same_as("foot", panel.design)))
        parts += [moved(one, x, y, -plan.params.base.feet) for x, y in feet_at(plan)]
    capped = design.capped[name]
    if capped:
        word = f"cap in place {panel.design}"
        plug = shared[word] if word in shared else shared.setdefault(word, cap_in_place(plan))
        parts += [turned(plug, 360.0 * edge / n) for edge in capped]
    return group(parts)
