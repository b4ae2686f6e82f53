"""The checks of a job: those of plan and wiring at once, those that need solids or take long as
makers of products.
"""

from __future__ import annotations

import dataclasses
import json
from collections.abc import Callable, Iterable, Mapping, Sequence
from contextlib import suppress
from typing import TYPE_CHECKING, Any

from fab.checks.model import Verdict
from fab.colours import reflectance
from fab.decisions import Design, Outlined, decide, plans_of
from fab.errors import PanejigError
from fab.layout.model import BaseKind
from fab.params.job import Job, LightParams
from fab.params.shop import Printer
from fab.parts.features import features
from fab.parts.plan import Plan
from fab.products import Made, PartSpec

if TYPE_CHECKING:
    from fab.checks.prints import Measured
    from fab.outputs.prepared import Prepared
    from fab.parts.assembly import Printed
    from fab.power.cables import CableRun

DIM = ("power.brightness", "power.zone-supply")  # what a wall fails whose middle no inlet reaches


def early_verdicts(design: Design, *, tried: bool = True, ways: bool = True) -> tuple[Verdict, ...]:
    """The checks that need neither solid nor nest: known a moment after a file is saved.

    `tried`: remedies are tried on the whole job before they are told; `ways`: see
    electric_verdicts.
    """
    electric = electric_verdicts(design, ways=ways)
    found = (*plan_verdicts(design), *electric, *hang_verdicts(design))
    if tried and any(verdict.verdict == "fail" for verdict in found):
        from fab.ways_out import asked

        return told(asked(design), found)
    return found


def told(job: Job, found: Sequence[Verdict]) -> tuple[Verdict, ...]:
    """The verdicts of a job with remedies that were tried on the whole job, light included."""
    from fab.mend import with_tried

    lit_before = () if any(one.id.startswith("light.") for one in found) else light_of(job)
    return with_tried(job, (*found, *lit_before), judge_all, _with_remedies)[: len(found)]


def judge_all(job: Job) -> tuple[Verdict, ...]:
    """What fails of a job, light included also where other checks fail; see judge_job."""
    found = judge_job(job, quick=True)
    return (*found, *light_of(job))


def light_of(job: Job) -> tuple[Verdict, ...]:
    """The light of a job by coarse figures where these are clear; nothing of a design that can't be
    built.
    """
    with suppress(PanejigError):
        return light_verdicts(job, plans_of(job), remedies=False, coarse=True)
    return ()


def _with_remedies(job: Job) -> tuple[Verdict, ...]:
    return judge_job(job, light=True)


def judge_job(job: Job, *, light: bool = False, quick: bool = False) -> tuple[Verdict, ...]:
    """Every check of a job that needs no solid, panels weighed roughly and light by coarse figures
    where these are clear; those of a design that can't be built stand alone. `quick`: to know what
    fails, without the remedies of wiring and light. Raises PanejigError when the job can't be laid
    out or wired.
    """
    from fab.checks.plan import plan_checks
    from fab.weigh import rough_masses

    plans = plans_of(job)
    found = tuple(one for name, plan in plans.items() for one in plan_checks(name, plan))
    if not any(one.verdict == "fail" for one in found):
        found = early_verdicts(decide(job, rough_masses), tried=False, ways=not quick)
    if light and not any(one.verdict == "fail" for one in found):
        found += light_verdicts(job, plans, remedies=not quick, coarse=True)
    return found


def tried_light(
    design: Design, early: Sequence[Verdict], light: Sequence[Verdict]
) -> tuple[Verdict, ...]:
    """Light checks with remedies that were tried on the whole job, light included; where other
    checks fail, those come first and these stay as they are.
    """
    if not any(one.verdict == "fail" for one in light) or any(
        one.verdict == "fail" for one in early
    ):
        return tuple(light)
    from fab.ways_out import asked

    return told(asked(design), (*early, *light))[len(early) :]


def light_verdicts(
    job: Job, plans: Mapping[str, Plan], *, remedies: bool = True, coarse: bool = False
) -> tuple[Verdict, ...]:
    """The light of each design that has any, calculated now; `remedies`: look for them, which
    takes seconds where a check fails; `coarse`: see fab.checks.light.
    """
    bright = [(name, plan) for name, plan in plans.items() if not plan.params.board.none]
    return tuple(
        one
        for name, plan in bright
        for one in lit(
            plan,
            reflectance(job, plan.params),
            job.light,
            name,
            remedies=remedies,
            coarse=coarse,
        )
    )


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


def plan_verdicts(design: Design) -> list[Verdict]:
    """Values that fit each other, and snaps; nothing is made for it."""
    from fab.checks import snap
    from fab.checks.art import art_checks
    from fab.checks.broken import faults
    from fab.checks.brought import brought_checks
    from fab.checks.edges import edge_checks
    from fab.checks.jumpers import jumper_checks, opened_check, pair_checks
    from fab.checks.plan import plan_checks

    found: list[Verdict] = []
    for name, plan in design.plans.items():
        kinds = [kind for (owner, _), kind in design.kinds.items() if owner == name]
        found += plan_checks(name, plan, kinds)
        found += jumper_checks(name, plan, kinds)
        found += brought_checks(name, plan, kinds, faults)
        found += snap.checks(plan, design.job.shop, name)
    found += edge_checks(design.layout, design.plans)
    found += pair_checks(design.layout, design.plans, design.table.jumpers)
    found += opened_check(design.layout, design.uses, design.table.jumpers)
    if design.job.art or any(plan.params.art for plan in design.plans.values()):
        found += art_checks(design.job.art, design.layout, design.plans)
    return found


def electric_verdicts(design: Design, *, ways: bool = True) -> list[Verdict]:
    """Supply, pins, volts, room for plugs, heat. `ways`: look for ways out of a dim wall, each of
    which wires it anew.
    """
    from fab.power.cables import cable_runs

    params = {name: plan.params for name, plan in design.plans.items()}
    found = _electric(
        design, cable_runs(design.layout, design.wired, design.job.power, params, design.behind)
    )
    if ways and any(verdict.id in DIM and verdict.verdict != "pass" for verdict in found):
        from fab.ways_out import ways_out

        told = " Or: ".join(
            ways_out(design, _outlined, lambda some: any(_dim(verdict) for verdict in some))
        )
        found = [
            (
                dataclasses.replace(v, remedy=f"{v.remedy} {told}".strip())
                if v.id in DIM and v.verdict != "pass"
                else v
            )
            for v in found
        ]
    return found


def _electric(known: Outlined, runs: Sequence[CableRun]) -> list[Verdict]:
    """What the plan and the wiring tell, hangers apart."""
    from fab.checks.heat import heat_checks
    from fab.checks.inlet_place import inlet_jumper_check
    from fab.checks.power import power_checks
    from fab.checks.supply import supply_checks
    from fab.power.heat import panel_heat

    job, layout = known.job, known.layout
    params = {name: plan.params for name, plan in known.plans.items()}
    heats = panel_heat(
        layout,
        known.wired.loads,
        known.plans,
        job.shop.filament,
        supply_v=job.power.supply_v,
        brightness=known.wired.brightness,
        ambient_c=job.power.ambient_c,
    )
    jumpers = known.table.jumper_edges
    clash = [name for name, edge in known.wired.inlets.items() if edge in jumpers.get(name, ())]
    return [
        *inlet_jumper_check(clash),
        *power_checks(known.wired, layout, job.power, params, runs=runs),
        *supply_checks(known.wired, layout, job.power, params, known.route),
        *heat_checks(
            heats, layout, known.plans, job.shop.filament, job.power, known.wired.possible
        ),
    ]


def _outlined(known: Outlined) -> list[Verdict]:
    """The checks of another wall, hangers and solids apart."""
    from fab.checks.plan import plan_checks

    found = _electric(known, ())
    for name, plan in known.plans.items():
        found += plan_checks(name, plan, [])
    return found


def _dim(verdict: Verdict) -> bool:
    return verdict.verdict == "fail" or (verdict.id in DIM and verdict.verdict != "pass")


def hang_verdicts(design: Design) -> tuple[Verdict, ...]:
    """Screws, joints, keyholes, order of hanging."""
    from fab.checks.hang import hang_checks
    from fab.checks.hang_lift import lift_checks
    from fab.wall.choose import wall_type
    from fab.wall.strength import joint_strength

    job = design.job
    wall = wall_type(job.shop.wall, job.hang.wall)
    found = hang_checks(
        design.layout,
        design.plans,
        design.hung,
        design.masses,
        job.hang,
        wall,
        job.shop.filament,
        order=design.order,
        table=design.table,
        joint=joint_strength(design.plans, job.shop.filament),
        inlets=design.wired.inlets,
        jumpers=design.opened,
    )
    return (*found, *lift_checks(design.layout, design.lifting))


def lit(
    plan: Plan,
    reflectance: float,
    limits: LightParams,
    name: str,
    *,
    remedies: bool = True,
    coarse: bool = False,
) -> tuple[Verdict, ...]:
    """Evenness, dots and rim of a design."""
    from fab.checks import light

    return light.checks(plan, reflectance, limits, name, remedies=remedies, coarse=coarse)


def cut_verdicts(prepared: Prepared) -> list[Verdict]:
    """Bridges, radii, kerf, bed and crowding of the cut sheets."""
    from fab.checks import cut

    nested = prepared.nested
    found: list[Verdict] = []
    for kind in nested.kinds(""):
        found += cut.checks(
            kind.name, kind.layup, kind.stock.pieces, nested.laser, kind.stock.stock
        )
    return found


def on_bed(name: str, printer: Printer, part: Made) -> tuple[Verdict, ...]:
    """A printed part as it stands on the bed."""
    from fab.checks.prints import checks

    return checks(name, part.mesh, printer)


def measures(printer: Printer, part: Made) -> bytes:
    """What takes long to measure of a printed part, for the parts that differ from it by a name."""
    from fab.checks.prints import measured

    return json.dumps(dataclasses.asdict(measured(part.mesh, printer))).encode()


def as_measured(data: bytes) -> Measured:
    """The measures that were kept. Raises for bytes that are none."""
    from fab.checks.prints import Measured

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
    from fab.checks.prints import checks, with_name

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
    """Whether only the rest of a base is to be proven.

    A base without an inlet has at edge 0 what one with an inlet has at its other edges: after that
    one only the rest of it is proven, unless the maker added something.
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
    """The parts of one panel that the fit proof wants; cap and clip also where this layout prints
    none.
    """
    name = base.design
    found = [base, *(PartSpec(part, name) for part in ("shell", "diffuser"))]
    found += [PartSpec(part, design.same_as(part, name)) for part in ("clip", "cap")]
    if design.plans[name].params.base.feet > 0:
        found.append(PartSpec("foot", design.same_as("foot", name)))
    return found


def printed_of(parts: Sequence[Made]) -> Printed:
    """Parts that were made, by what they are, with the meshes that are known already."""
    from fab.parts.assembly import Printed

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
