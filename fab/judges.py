"""The checks that take long, as makers of products: values and made parts in, verdicts out.

Which parts a check wants stands beside it; `fab/recipe/checks.py` declares the products.
"""

from __future__ import annotations

import dataclasses
import json
from collections.abc import Callable, Iterable, Sequence
from typing import TYPE_CHECKING, Any

from fab.checks.model import Verdict
from fab.design import Design
from fab.layout.model import BaseKind
from fab.params.job import LightParams
from fab.params.shop import Printer
from fab.parts.features import features
from fab.parts.plan import Plan
from fab.products import Made, PartSpec

if TYPE_CHECKING:
    from fab.checks.print_measured import Measured
    from fab.light.face import Face
    from fab.parts.placed import Printed


def judged(judge: Callable[..., Sequence[Verdict]], *values: Any) -> bytes:
    """The verdicts of a check as a product."""
    return json.dumps(
        {"verdicts": [dataclasses.astuple(verdict) for verdict in judge(*values)]}
    ).encode()


def verdicts(data: bytes) -> list[Verdict]:
    """The verdicts that were kept. Raises ValueError for bytes that are none."""
    rows = json.loads(data)["verdicts"]  # named: an empty map is no list of none
    found = [Verdict(*row) for row in rows]
    if any(
        one.verdict not in ("pass", "warn", "fail")
        or not isinstance(one.measured + one.limit, int | float)
        for one in found
    ):
        raise ValueError("these are no verdicts")
    return found


def lit(
    plan: Plan,
    reflectance: float,
    limits: LightParams,
    name: str,
    *face: Face,
    remedies: bool = True,
    coarse: bool = False,
) -> tuple[Verdict, ...]:
    """Evenness, dots and rim of a design; `face`: its lit face, where that was made before."""
    from fab.checks import light

    known = face[0].figures if face else None
    return light.checks(
        plan, reflectance, limits, name, remedies=remedies, coarse=coarse, known=known
    )


def on_bed(name: str, printer: Printer, part: Made) -> tuple[Verdict, ...]:
    """A printed part as it stands on the bed."""
    from fab.checks.prints import checks

    return checks(name, part.mesh, printer)


def measures(printer: Printer, part: Made) -> bytes:
    """The slow measures of a printed part, for the parts that differ from it by a name."""
    from fab.checks.print_measured import measured

    return json.dumps(dataclasses.asdict(measured(part.mesh, printer))).encode()


def as_measured(data: bytes) -> Measured:
    """The measures that were kept. Raises for bytes that are none."""
    from fab.checks.print_measured import Measured

    found = json.loads(data)
    places = {
        key: None if found[key] is None else tuple(found[key])
        for key in ("hanging_at", "bridge_at")
    }
    worst = {key: (found[key][0], tuple(found[key][1])) for key in ("wall", "gap")}
    return Measured(**{**found, **places, **worst})


def named_on_bed(
    name: str, printer: Printer, place: tuple[float, float], part: Made, plain: Measured
) -> tuple[Verdict, ...]:
    """A base with a name as it stands on the bed; `place`: the name's foot and its height."""
    from fab.checks.print_measured import with_name
    from fab.checks.prints import checks

    return checks(name, part.mesh, printer, with_name(plain, part.mesh, printer, *place))


def proven_bases(design: Design) -> list[PartSpec]:
    """One base a design with inlet and one without, one with openings for jumpers and one without,
    each with a hanger if the layout has such a one.
    """
    best: dict[tuple[str, bool, bool], PartSpec] = {}
    for (name, _), kind in design.kinds.items():
        key = (name, kind.inlet, bool(kind.jumpers))
        known = best.get(key)
        if known is None or (
            known.kind is not None and known.kind.up_deg is None and kind.up_deg is not None
        ):
            best[key] = PartSpec("base", name, kind)
    return list(best.values())


def is_further(design: Design, spec: PartSpec) -> bool:
    """True when only the rest of a base is to be proven. A base without an inlet has at edge 0 what
    one with an inlet has at its other edges: after that one only the rest of it is proven, unless
    the maker added something.
    """
    assert spec.kind is not None
    with_inlet = any(kind.inlet for (name, _), kind in design.kinds.items() if name == spec.design)
    return with_inlet and not spec.kind.inlet and not features(design.plans[spec.design])


def joined_pairs(design: Design, joints: Iterable[int] | None = None) -> list[tuple[str, str]]:
    """The pairs of designs that meet at these joints, each once; at all when none are named."""
    layout = design.layout
    some = layout.joints if joints is None else [layout.joints[k] for k in joints]
    found = set()
    for joint in some:
        one, two = sorted((layout.by_name[joint.a].design, layout.by_name[joint.b].design))
        found.add((one, two))
    return sorted(found)


def panel_specs(design: Design, base: PartSpec) -> list[PartSpec]:
    """Parts of a panel that the fit proof wants; cap and clip also where none are printed."""
    name = base.design
    found = [base, *(PartSpec(part, name) for part in ("shell", "diffuser"))]
    found += [PartSpec(part, design.same_as(part, name)) for part in ("clip", "cap")]
    if design.plans[name].params.base.feet > 0:
        found.append(PartSpec("foot", design.same_as("foot", name)))
    return found


def printed_of(parts: Sequence[Made]) -> Printed:
    """Parts that were made, by what they are, with the meshes that are known already."""
    from fab.parts.placed import Printed

    kind = next(one.spec.kind for one in parts if one.spec.part == "base")
    return Printed(
        **{one.spec.part: one.solid for one in parts},
        meshes={one.spec.part: one.mesh for one in parts},
        steps=kind.steps if kind is not None else 0,
    )


def fits(plan: Plan, kind: BaseKind, name: str, further: bool, *parts: Made) -> tuple[Verdict, ...]:
    """The assembled panel with one kind of base, measured on the solids."""
    from fab.checks import fit

    return (fit.base_checks if further else fit.checks)(plan, kind, printed_of(parts), name)


def leaks(plan: Plan, kind: BaseKind, name: str, *parts: Made) -> tuple[Verdict, ...]:
    """Light that gets out of a panel past its parts."""
    from fab.checks import leak

    return leak.checks(plan, kind, printed_of(parts), name)


def joints(
    plans: tuple[Plan, Plan], names: tuple[str, str], first: int, *parts: Made
) -> tuple[Verdict, ...]:
    """One joint of two designs; the first `first` parts are of the one, the others of the other."""
    from fab.checks import fit

    return fit.joint_checks(
        plans[0], printed_of(parts[:first]), plans[1], printed_of(parts[first:]), names
    )


def jumpers(
    plans: tuple[Plan, Plan],
    names: tuple[str, str],
    edges: tuple[int, int],
    first: int,
    *parts: Made,
) -> tuple[Verdict, ...]:
    """One joint of two designs with a jumper at these edges of their bases."""
    from fab.checks import fit
    from fab.parts.assembly import jumper_parts

    one, two = printed_of(parts[:first]), printed_of(parts[first:])
    placed = jumper_parts(plans[0], one, edges[0], plans[1], two, edges[1])
    return fit.jumper_verdicts(plans[0], plans[1], placed, f"jumper of {names[0]} and {names[1]}")


def opened(design: Design, name: str) -> PartSpec:
    """The first base of a design that has an opening for a jumper."""
    kind = next(kind for (owner, _), kind in design.kinds.items() if owner == name and kind.jumpers)
    return PartSpec("base", name, kind)
