"""Products of the files that solids and meshes go into: STL, plates as 3MF, STEP."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from fab.design import Design
from fab.graph.product import Product
from fab.outputs import assembled, models, prints
from fab.products import PartSpec
from fab.recipe.parts import PartProducts


def stl(parts: PartProducts, spec: PartSpec) -> Product[bytes]:
    """The part's STL in print orientation."""
    return Product("stl", prints.stl_file, (spec.name,), (parts.part(spec),), prints.is_stl, 0.2)


def plate(parts: PartProducts, design: Design, plate: Any) -> Product[bytes]:
    """A plate as 3MF, all its copies named and placed."""
    names, placed = prints.spots(plate)
    specs = {spec.name: spec for spec, _ in design.printed}
    needs = tuple(parts.part(specs[name]) for name in names)
    values = (parts.job.job, names, placed)
    return Product("plate", prints.plate_file, values, needs, prints.is_3mf, 1.0)


def step(parts: PartProducts, spec: PartSpec) -> Product[bytes]:
    """The part's exact solid as STEP."""
    needs, name = (parts.part(spec),), f"step {spec.part}"
    return Product(name, models.part_file, (spec.name,), needs, models.is_step)


def stencil(parts: PartProducts, one: Any) -> Product[bytes]:
    """One sheet part as STEP, with the holes that art cuts into it."""
    values = (one.item, parts.plan(one.design), tuple(one.art.holes))
    return Product("step diffuser", models.sheet_file, values, (), models.is_step)


def assembly(parts: PartProducts, design: Design, name: str, *, whole: bool) -> Product[bytes]:
    """An assembly as STEP: one panel of each design, or the whole wall."""
    wall = models.standings(design, whole=whole)
    needs = tuple(parts.part(spec) for spec in wall.specs)
    cost = 7.0 if whole else 2.0
    return Product(f"step {name}", assembled.wall_file, (name, wall), needs, models.is_step, cost)


def steps(
    parts: PartProducts, design: Design, specs: Sequence[PartSpec]
) -> dict[str, Product[bytes]]:
    """A STEP file a part by name; a diffuser with a stencil replaces the plain one."""
    found = {spec.name: step(parts, spec) for spec in specs}
    found |= {one.item: stencil(parts, one) for one in models.stencils(design)}
    found = dict(sorted(found.items()))
    return found | {
        "assembly-panel": assembly(parts, design, "assembly-panel", whole=False),
        "assembly": assembly(parts, design, "assembly", whole=True),
    }
