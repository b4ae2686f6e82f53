"""STEP: one file a part, one assembled panel, and the whole wall as shared parts in their places."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import partial
from typing import Any

from fab.decisions import Design
from fab.outputs.model import OutFile
from fab.parts.given import shell_is_worked
from fab.products import ROOMS, Made, PartSpec, depends
from fab.store import Store, Task

STEP_ROOMS = (*ROOMS, "outputs", "layout")
ASSEMBLIES = ("assembly-panel", "assembly")


def files(design: Design, made: Mapping[PartSpec, Made], store: Store) -> list[OutFile]:
    """model/*. A file whose parts did not change comes from the store."""
    names = [spec.name for spec in _sorted(made)] + list(ASSEMBLIES)
    found = zip(names, tasks(design, made), strict=True)
    return [OutFile(f"model/{name}.step", "model", store.run(task), name, 1) for name, task in found]


def tasks(design: Design, made: Mapping[PartSpec, Made]) -> list[Task]:
    """What `files` will ask the store for, in its order."""
    found = [
        Task(f"step {spec.part}", depends(design.plans[spec.design], spec), STEP_ROOMS, partial(_one, made[spec], spec))
        for spec in _sorted(made)
    ]
    values = [
        sorted((spec.name, repr(depends(design.plans[spec.design], spec))) for spec in made),
        [(p.name, p.design, p.x, p.y, p.turn_deg) for p in design.layout.panels],
        [(use.panel, use.kind.key, use.steps) for use in design.uses],
    ]
    for name, maker in zip(ASSEMBLIES, (_panel, _wall), strict=True):
        found.append(Task(f"step {name}", values, STEP_ROOMS, partial(_assembly, maker, design, made, name)))
    return found


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
    return _assembled(design, made, design.layout.panels[0].name, {})


def _wall(design: Design, made: Mapping[PartSpec, Made]) -> Any:
    """All panels and clips in the wall frame."""
    from fab.parts.clip import clip_in_place
    from fab.solids.kernel import group, moved, turned

    shared: dict[str, Any] = {}
    placed = []
    for panel in design.layout.panels:
        one = _assembled(design, made, panel.name, shared)
        placed.append(moved(turned(one, panel.turn_deg), panel.x, panel.y, 0.0))
    for joint in design.layout.joints:
        panel = design.layout.by_name[joint.a]
        plan = design.plans[panel.design]
        solid = shared.setdefault("clip", made[PartSpec("clip", design.same_as("clip", panel.design))].solid)
        for side in (-1, 1):
            at_edge = turned(clip_in_place(plan, solid, side), 360.0 * joint.edge_a / panel.cell.sides)
            placed.append(moved(turned(at_edge, panel.turn_deg), panel.x, panel.y, 0.0))
    return group(placed)


def _assembled(design: Design, made: Mapping[PartSpec, Made], name: str, shared: dict[str, Any]) -> Any:
    """Base (turned to its mounting), board, shell, diffuser and caps of one panel in the panel frame."""
    from fab.parts.cap import cap_in_place
    from fab.solids.kernel import group, moved, turned

    panel, use = design.layout.by_name[name], design.use_of[name]
    plan, n = design.plans[panel.design], panel.cell.sides

    def solid(spec: PartSpec) -> Any:
        return shared.setdefault(spec.name, made[spec].solid)

    turn_deg = 360.0 * use.steps / n
    front = moved(solid(PartSpec("shell", panel.design)), 0.0, 0.0, plan.shell_z)
    parts = [
        turned(solid(PartSpec("base", panel.design, use.kind)), turn_deg),
        front if shell_is_worked(plan.params) else turned(front, turn_deg),  # its screws turn with the base's
        solid(PartSpec("diffuser", panel.design)),
    ]
    if not plan.params.board.none:
        parts.append(turned(solid(PartSpec("board", panel.design)), turn_deg))
    capped = design.capped[name]
    if capped:
        name = f"cap in place {panel.design}"
        plug = shared[name] if name in shared else shared.setdefault(name, cap_in_place(plan))
        parts += [turned(plug, 360.0 * edge / n) for edge in capped]
    return group(parts)
