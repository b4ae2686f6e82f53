"""Every check of a job, in one list: those of the plan first, those measured on solids last.

Verdicts that need solids or long reckoning are kept in the store under what they depend on.
"""

from __future__ import annotations

import dataclasses
import json
from collections.abc import Callable, Mapping, Sequence
from functools import partial
from typing import TYPE_CHECKING, Any

from fab.checks.model import Verdict
from fab.decisions import Design, Outlined
from fab.params.job import Job
from fab.params.shop import Printer
from fab.parts.features import features
from fab.parts.plan import Plan
from fab.products import ROOMS, Made, PartSpec, depends
from fab.store import Store, Task

if TYPE_CHECKING:
    from fab.outputs.prepared import Prepared
    from fab.power.cables import CableRun

DIM = ("power.brightness", "power.zone-supply")  # what a wall fails whose middle no inlet reaches
CHECK_ROOMS = (*ROOMS, "checks", "layout", "verdicts")


def all_verdicts(
    design: Design, made: Mapping[PartSpec, Made], prepared: Prepared, store: Store, early: Sequence[Verdict] | None = None
) -> tuple[Verdict, ...]:  # fmt: skip
    """All checks; the order is that of the rooms, so that two runs tell the same. `early`: those that are there."""
    from fab.checks.hang import template_checks

    return (
        *(early_verdicts(design) if early is None else early), *template_checks(prepared.template.tiling),
        *kept(store, light_tasks(design.job, design.plans)), *cut_verdicts(prepared),
        *kept(store, print_tasks(design, made)), *kept(store, fit_tasks(design, made)),
    )  # fmt: skip


def early_verdicts(design: Design) -> tuple[Verdict, ...]:
    """The checks that need neither solid nor nest: known a moment after a file is saved."""
    return (*plan_verdicts(design), *electric_verdicts(design), *hang_verdicts(design))


def task(name: str, values: Any, rooms: tuple[str, ...], judge: Callable[[], Sequence[Verdict]]) -> Task:
    """Verdicts as a product."""
    return Task(name, values, rooms, partial(_packed, judge))


def _packed(judge: Callable[[], Sequence[Verdict]]) -> bytes:
    return json.dumps([dataclasses.astuple(verdict) for verdict in judge()]).encode()


def kept(store: Store, tasks: Sequence[Task]) -> list[Verdict]:
    """Verdicts from the store, or judged now."""
    return [verdict for one in tasks for verdict in store.read(one, _unpacked)]


def _unpacked(data: bytes) -> list[Verdict]:
    found = [Verdict(*row) for row in json.loads(data)]
    if any(one.verdict not in ("pass", "warn", "fail") or not isinstance(one.measured + one.limit, int | float) for one in found):
        raise ValueError("these are no verdicts")
    return found


def tasks(design: Design, made: Mapping[PartSpec, Made]) -> list[Task]:
    """What `all_verdicts` will ask the store for."""
    return [*light_tasks(design.job, design.plans), *print_tasks(design, made), *fit_tasks(design, made)]


def plan_verdicts(design: Design) -> list[Verdict]:
    """Values that fit each other, and snaps; nothing is made for it."""
    from fab.checks import snap
    from fab.checks.art import art_checks
    from fab.checks.brought import brought_checks
    from fab.checks.edges import edge_checks
    from fab.checks.jumpers import jumper_checks, opened_check, pair_checks
    from fab.checks.plan import faults, plan_checks

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


def electric_verdicts(design: Design) -> list[Verdict]:
    """Supply, pins, volts, room for plugs, heat."""
    from fab.power.cables import cable_runs

    params = {name: plan.params for name, plan in design.plans.items()}
    found = _electric(design, cable_runs(design.layout, design.wired, design.job.power, params, design.behind))
    if any(verdict.id in DIM and verdict.verdict != "pass" for verdict in found):
        from fab.ways_out import ways_out

        ways = " Or: ".join(ways_out(design, _outlined, lambda some: any(_dim(verdict) for verdict in some)))
        found = [
            dataclasses.replace(v, remedy=f"{v.remedy} {ways}".strip()) if v.id in DIM and v.verdict != "pass" else v
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
        layout, known.wired.loads, known.plans, job.shop.filament, supply_v=job.power.supply_v,
        brightness=known.wired.brightness, ambient_c=job.power.ambient_c,
    )  # fmt: skip
    jumpers = known.table.jumper_edges
    clash = [name for name, edge in known.wired.inlets.items() if edge in jumpers.get(name, ())]
    return [
        *inlet_jumper_check(clash),
        *power_checks(known.wired, layout, job.power, params, runs=runs),
        *supply_checks(known.wired, layout, job.power, params, known.route),
        *heat_checks(heats, layout, known.plans, job.shop.filament, job.power, known.wired.possible),
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
        design.layout, design.plans, design.hung, design.masses, job.hang, wall, job.shop.filament,
        order=design.order, table=design.table, joint=joint_strength(design.plans, job.shop.filament),
        inlets=design.wired.inlets, jumpers=design.opened,
    )  # fmt: skip
    return (*found, *lift_checks(design.layout, design.lifting))


def light_tasks(job: Job, plans: Mapping[str, Plan]) -> list[Task]:
    """Evenness, dots and rim of each design."""
    return [
        task("light", [_light_depends(job, plan), dataclasses.asdict(job.light), name], (*CHECK_ROOMS, "light"),
             partial(_lit, plan, job.shop.filament.reflectance, job.light, name))
        for name, plan in plans.items() if not plan.params.board.none
    ]  # fmt: skip


def _lit(*values: Any) -> tuple[Verdict, ...]:
    from fab.checks import light

    return light.checks(*values)


def light_depends(design: Design, name: str) -> Any:
    """What the light of a design depends on."""
    return [*_light_depends(design.job, design.plans[name]), design.wired.brightness]


def _light_depends(job: Job, plan: Plan) -> Any:
    optics = (plan.stock.transmission, plan.stock.reflectance, plan.stock.half_angle_deg)
    return [depends(plan, PartSpec("shell", "")), optics, job.shop.filament.reflectance]


def cut_verdicts(prepared: Prepared) -> list[Verdict]:
    """Bridges, radii, kerf, bed and crowding of the cut sheets."""
    from fab.checks import cut

    nested = prepared.nested
    found: list[Verdict] = []
    for name, one, layup in nested.layups:
        found += cut.checks(name, layup, one.pieces, nested.laser, one.stock)
    return found


def print_tasks(design: Design, made: Mapping[PartSpec, Made]) -> list[Task]:
    """Each printed part as it stands on the bed."""
    printer = design.job.shop.printer
    return [
        task("print checks", [depends(design.plans[spec.design], spec), dataclasses.asdict(printer), spec.name], CHECK_ROOMS,
             partial(_on_bed, spec, made[spec], printer))
        for spec, _ in design.printed
    ]  # fmt: skip


def _on_bed(spec: PartSpec, part: Made, printer: Printer) -> tuple[Verdict, ...]:
    from fab.checks.prints import checks

    return checks(spec.name, part.mesh, printer)


def fit_tasks(design: Design, made: Mapping[PartSpec, Made]) -> list[Task]:
    """The assembled panel with and without inlet, and one joint of each pair of designs, measured on the solids.

    Bases differ by inlet, hanger and name; the hanger with its screw is part of the proof where there is one, and
    where it points is proven for every base on the plan (`fit.keyhole`). A base without an inlet has at edge 0 what one
    with an inlet has at its other edges: after that one only the rest of it is proven, unless the maker added something.
    """
    found: list[Task] = []
    specs = proven_bases(design)
    with_inlet = {spec.design for spec in specs if spec.kind is not None and spec.kind.inlet}
    for spec in specs:
        plan = design.plans[spec.design]
        further = spec.design in with_inlet and spec.kind is not None and not spec.kind.inlet and not features(plan)
        values = [depends(plan, spec), spec.design]
        found.append(task("fit checks", [*values, further], CHECK_ROOMS, partial(_fits, design, made, spec, further)))
        found.append(task("leak checks", values, CHECK_ROOMS, partial(_leaks, design, made, spec)))
    for pair in sorted({_pair(design, joint.a, joint.b) for joint in design.layout.joints}):
        both = [depends(design.plans[name], PartSpec("shell", name)) for name in pair]
        found.append(task("joint checks", [both, pair], CHECK_ROOMS, partial(_joints, design, made, pair)))
    for pair in sorted({_pair(design, joint.a, joint.b) for joint in (design.layout.joints[k] for k in design.table.jumpers)}):
        open_to = [_opened(design, name) for name in pair]
        sides = [depends(design.plans[spec.design], spec) for spec in open_to]
        found.append(task("jumper checks", [sides, pair], CHECK_ROOMS, partial(_jumpers, design, made, pair, open_to)))
    return found


def proven_bases(design: Design) -> list[PartSpec]:
    """One base a design with inlet and one without, one with openings for jumpers and one without, each with a hanger
    if the layout has such a one."""
    best: dict[tuple[str, bool, bool], PartSpec] = {}
    for (name, _), kind in design.kinds.items():
        key = (name, kind.inlet, bool(kind.jumpers))
        known = best.get(key)
        if known is None or (known.kind is not None and known.kind.up_deg is None and kind.up_deg is not None):
            best[key] = PartSpec("base", name, kind)
    return list(best.values())


def _pair(design: Design, a: str, b: str) -> tuple[str, str]:
    one, two = sorted((design.layout.by_name[a].design, design.layout.by_name[b].design))
    return one, two


def printed_of(design: Design, made: Mapping[PartSpec, Made], base: PartSpec) -> Any:
    """The parts of one panel as the fit proof wants them, with the meshes that are known already."""
    from fab.parts.assembly import Printed

    name = base.design
    specs = {"base": base} | {part: PartSpec(part, name) for part in ("shell", "diffuser")}
    specs |= {part: PartSpec(part, design.same_as(part, name)) for part in ("clip", "cap")}
    if design.plans[name].params.base.feet > 0:
        specs["foot"] = PartSpec("foot", design.same_as("foot", name))
    there = {part: made[spec] for part, spec in specs.items() if spec in made}
    solids = {part: there[part].solid if part in there else _bare(design, specs[part]) for part in specs}
    steps = base.kind.steps if base.kind is not None else 0
    return Printed(**solids, meshes={part: one.mesh for part, one in there.items()}, steps=steps)


def _bare(design: Design, spec: PartSpec) -> Any:
    """A part that this layout does not print (no joint, no open edge), made for the proof alone."""
    from fab.products import solid_of

    return solid_of(design.plans[spec.design], spec)


def _fits(design: Design, made: Mapping[PartSpec, Made], spec: PartSpec, further: bool) -> tuple[Verdict, ...]:
    from fab.checks import fit

    assert spec.kind is not None
    prove = fit.base_checks if further else fit.checks
    return prove(design.plans[spec.design], spec.kind, printed_of(design, made, spec), spec.design)


def _leaks(design: Design, made: Mapping[PartSpec, Made], spec: PartSpec) -> tuple[Verdict, ...]:
    from fab.checks import leak

    assert spec.kind is not None
    return leak.checks(design.plans[spec.design], spec.kind, printed_of(design, made, spec), spec.design)


def _opened(design: Design, name: str) -> PartSpec:
    """The first base of a design that has an opening for a jumper."""
    kind = next(kind for (owner, _), kind in design.kinds.items() if owner == name and kind.jumpers)
    return PartSpec("base", name, kind)


def _jumpers(
    design: Design, made: Mapping[PartSpec, Made], pair: tuple[str, str], bases: Sequence[PartSpec]
) -> tuple[Verdict, ...]:
    from fab.checks import fit
    from fab.parts.assembly import jumper_parts

    plans = [design.plans[name] for name in pair]
    sides = [
        (plan, printed_of(design, made, spec), spec.kind.jumpers[0])
        for plan, spec in zip(plans, bases, strict=True)
        if spec.kind is not None
    ]
    parts = jumper_parts(*sides[0], *sides[1])
    return fit.jumper_verdicts(plans[0], plans[1], parts, f"jumper of {pair[0]} and {pair[1]}")


def _joints(design: Design, made: Mapping[PartSpec, Made], pair: tuple[str, str]) -> tuple[Verdict, ...]:
    from fab.checks import fit

    bases = [next(spec for spec in made if spec.part == "base" and spec.design == name) for name in pair]
    one, two = (printed_of(design, made, base) for base in bases)
    return fit.joint_checks(design.plans[pair[0]], one, design.plans[pair[1]], two, pair)
