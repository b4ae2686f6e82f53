"""The checks of a job that need no solid: of its plan and wiring, light, hangers, cut sheets."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping, Sequence
from contextlib import suppress
from typing import TYPE_CHECKING

from fab.checks.model import Verdict
from fab.colours import reflectance
from fab.decisions import decide, plans_of
from fab.design import Design, Outlined
from fab.errors import PanejigError
from fab.judges import lit
from fab.params.job import Job
from fab.parts.plan import Plan

if TYPE_CHECKING:
    from fab.outputs.prepared import Prepared
    from fab.power.cables import CableRun

LOAD = "hang.screw-load"
DIM = ("power.brightness", "power.zone-supply")  # what a wall fails whose middle no inlet reaches


def early_verdicts(design: Design, *, tried: bool = True, ways: bool = True) -> tuple[Verdict, ...]:
    """The checks that need neither solid nor nest: known a moment after a file is saved.

    `tried`: remedies are tried on the whole job before they are told; `ways`: see
    electric_verdicts.
    """
    electric = electric_verdicts(design, ways=ways)
    found = (*plan_verdicts(design), *electric, *hang_verdicts(design))
    if ways:
        found = tuple(_lighter(design, one, found) if one.id == LOAD else one for one in found)
    if tried and any(verdict.verdict == "fail" for verdict in found):
        from fab.ways_out import asked

        return told(asked(design), found)
    return found


def _lighter(design: Design, load: Verdict, found: Sequence[Verdict]) -> Verdict:
    """The verdict on the load of a screw with smaller panels as a way out, where that helps."""
    if load.verdict != "fail":
        return load
    from fab.mend import works
    from fab.ways_out import asked, smaller_panels

    before = (*found, *light_of(asked(design)))
    told = smaller_panels(design, lambda job: works(load, before, judge_all(job)))
    return dataclasses.replace(load, remedy=f"{load.remedy} {told}".strip())


def told(job: Job, found: Sequence[Verdict]) -> tuple[Verdict, ...]:
    """The verdicts of a job with remedies that were tried on the whole job, light included."""
    from fab.mend import with_tried

    lit_before = () if any(one.id.startswith("light.") for one in found) else light_of(job)
    return with_tried(job, (*found, *lit_before), judge_all, _with_remedies)[: len(found)]


def judge_all(job: Job) -> tuple[Verdict, ...]:
    """The checks of a job, light included also where other checks fail; see judge_job."""
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
            plan, reflectance(job, plan.params), job.light, name, remedies=remedies, coarse=coarse
        )
    )


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
        found += snap.checks(plan, name)
    found += edge_checks(design.layout, design.plans)
    found += pair_checks(design.layout, design.plans, design.table.jumpers)
    found += opened_check(design.layout, design.uses, design.table.jumpers)
    if design.job.art or any(plan.params.art for plan in design.plans.values()):
        found += art_checks(design.job.art, design.layout, design.plans)
    return found


def electric_verdicts(design: Design, *, ways: bool = True) -> list[Verdict]:
    """Supply, pins, volts, plugs, heat. `ways`: look for ways out, each wired anew."""
    found = _electric(design, design.runs)
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
    """Verdicts on the plan and the wiring, hangers apart."""
    from fab.checks.heat import heat_checks
    from fab.checks.inlet_place import inlet_jumper_check
    from fab.checks.power import power_checks
    from fab.checks.supply import supply_checks
    from fab.power.fed_wall import FedWall
    from fab.power.heat import panel_heat

    job, layout = known.job, known.layout
    params = {name: plan.params for name, plan in known.plans.items()}
    wall = FedWall(known.wired, layout, job.power, params)
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
        *power_checks(wall, runs),
        *supply_checks(wall, known.route),
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

    filament = design.job.shop.filament
    known = design.to_hang(design.masses)
    found = hang_checks(known, design.hung, filament, order=design.order, table=design.table)
    return (*found, *lift_checks(design.layout, design.lifting))


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
