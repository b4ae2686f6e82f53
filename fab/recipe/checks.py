"""Products of the checks: light, prints, and all that is measured on assembled solids."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from fab import judges
from fab.book import drawings
from fab.checks.model import Verdict
from fab.design import Design
from fab.graph.product import Product
from fab.light.facestore import can_be_lit
from fab.parts.base_name import name_height
from fab.products import PartSpec, lighting
from fab.recipe.parts import PartProducts


def _judged(
    parts: PartProducts,
    name: str,
    judge: Callable[..., Any],
    values: Sequence[Any],
    specs: Sequence[PartSpec],
    cost: float,
) -> Product[list[Verdict]]:
    needs = tuple(parts.part(spec) for spec in specs)
    return Product(f"{name} checks", judges.judged, (judge, *values), needs, judges.verdicts, cost)


def light(parts: PartProducts, design: str) -> Product[list[Verdict]]:
    """Verdicts on evenness of one design."""
    lit = lighting(parts.plans[design]), parts.reflectance(design)
    needs = (parts.face(design),) if can_be_lit(*lit) else ()
    values = (judges.lit, *lit, parts.job.light, design)
    return Product("light checks", judges.judged, values, needs, judges.verdicts)


def on_bed(parts: PartProducts, spec: PartSpec) -> Product[list[Verdict]]:
    """Verdicts on printing a part: overhangs, bridges, walls.

    A base that differs from another by its name alone is measured once; only the name is added.
    """
    printer, shared = parts.job.shop.printer, parts.nameless(spec)
    if shared is None:
        return _judged(parts, "print", judges.on_bed, (spec.name, printer), (spec,), 2.0)
    plan = parts.plans[spec.design]
    values = (judges.named_on_bed, spec.name, printer, (plan.floor.top_z, name_height(plan)))
    needs, read = (parts.part(shared),), judges.as_measured
    known = Product("print measures", judges.measures, (printer,), needs, read, 2.0)
    whole = (parts.part(spec), known)
    return Product("print checks", judges.judged, values, whole, judges.verdicts, 0.3)


def fits(parts: PartProducts, design: Design, spec: PartSpec) -> Product[list[Verdict]]:
    """Verdicts on parts that touch in one panel; a further base is measured where it differs."""
    further, panel = judges.is_further(design, spec), judges.panel_specs(design, spec)
    values = (*_of_base(parts, spec), further)
    return _judged(parts, "fit", judges.fits, values, panel, 2.0 if further else 14.0)


def leaks(parts: PartProducts, design: Design, spec: PartSpec) -> Product[list[Verdict]]:
    """Verdicts on light that leaves a panel past its diffuser."""
    panel = judges.panel_specs(design, spec)
    return _judged(parts, "leak", judges.leaks, _of_base(parts, spec), panel, 5.0)


def joint(parts: PartProducts, design: Design, pair: tuple[str, str]) -> Product[list[Verdict]]:
    """Verdicts on a joint of these two designs: gap, header, clips."""
    one, two = (judges.panel_specs(design, drawings.base_of(design, name)) for name in pair)
    plans = tuple(parts.plan(name) for name in pair)
    return _judged(parts, "joint", judges.joints, (plans, pair, len(one)), (*one, *two), 5.0)


def jumper(parts: PartProducts, design: Design, pair: tuple[str, str]) -> Product[list[Verdict]]:
    """Verdicts on a jumper's room between two designs, bases with an opening for it."""
    bases = [judges.opened(design, name) for name in pair]
    kinds = [base.kind for base in bases if base.kind is not None]
    one, two = (judges.panel_specs(design, base) for base in bases)
    plans = tuple(parts.plan(name, kind) for name, kind in zip(pair, kinds, strict=True))
    edges = tuple(kind.jumpers[0] for kind in kinds)
    return _judged(
        parts, "jumper", judges.jumpers, (plans, pair, edges, len(one)), (*one, *two), 5.0
    )


def _of_base(parts: PartProducts, spec: PartSpec) -> tuple[Any, ...]:
    return parts.plan(spec.design, spec.kind), spec.kind, spec.design


def judged(parts: PartProducts, design: Design) -> list[list[Product[list[Verdict]]]]:
    """All checks that are products: light, prints, then measures on assembled solids."""
    measured: list[Product[list[Verdict]]] = []
    for spec in judges.proven_bases(design):
        measured += [fits(parts, design, spec), leaks(parts, design, spec)]
    measured += [joint(parts, design, pair) for pair in judges.joined_pairs(design)]
    measured += [
        jumper(parts, design, pair) for pair in judges.joined_pairs(design, design.table.jumpers)
    ]
    lit = [light(parts, name) for name, plan in design.plans.items() if not plan.params.board.none]
    return [lit, [on_bed(parts, spec) for spec, _ in design.printed], measured]
