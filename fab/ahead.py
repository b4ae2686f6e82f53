"""What a build will ask the store for, told in good time, so that helpers make it while this process is at other work."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from fab.decisions import Design
from fab.params.job import Job
from fab.parts.plan import Plan
from fab.products import Made, PartSpec, body_task, plain_base, task
from fab.store import Store, Task
from fab.verdicts import light_tasks
from fab.verdicts import tasks as verdict_tasks

if TYPE_CHECKING:
    from fab.outputs.prepared import Prepared

LONGEST = ("fit checks",)  # what takes longest of all that may be asked for


def of_plans(job: Job, plans: Mapping[str, Plan], store: Store) -> None:
    """Before anything is weighed: the parts that every layout of these designs needs."""
    found: list[Task] = []
    for name, plan in plans.items():
        specs = [plain_base(name), PartSpec("clip", name), PartSpec("shell", name)]
        found += [task(store, plan, spec) for spec in specs]
    rest = [PartSpec("cap", next(iter(plans)))] + [PartSpec("diffuser", name) for name in plans]
    rest += [PartSpec("board", name) for name, plan in plans.items() if not plan.params.board.none]
    found += [task(store, plans[spec.design], spec) for spec in rest]
    if len(plans) == 1:  # of several designs, who knows which one gets an inlet
        found += [body_task(plan, inlet=True) for plan in plans.values() if not plan.params.board.none]
    store.ahead([*found, *light_tasks(job, plans)])


def of_parts(design: Design, specs: Sequence[PartSpec], store: Store) -> None:
    """Before the parts are made. Every base stands on a body: those whose body is there go to helpers first, while the
    others' bodies are made here."""
    plans = design.plans
    bases = dict.fromkeys((spec.design, spec.kind.steps, spec.kind.inlet) for spec in specs if spec.kind is not None)
    bodies = {base: body_task(plans[base[0]].mounted(base[1]), base[2]) for base in bases}
    ready = {base: store.there(body) for base, body in bodies.items()}
    ordered = sorted(
        specs,
        key=lambda spec: spec.kind is not None and ready[spec.design, spec.kind.steps, spec.kind.inlet],
    )
    found = [task(store, plans[spec.design], spec) for spec in ordered]
    store.ahead([*bodies.values(), *light_tasks(design.job, plans), *found])


def of_files(
    design: Design, made: Mapping[PartSpec, Made], prepared: Prepared, wanted: Sequence[str], store: Store
) -> None:
    """Before the checks: they, the prints and the exact solids, in the order in which this process comes to them. At the
    end, where helpers begin, stand the longest checks and before them the pictures, without which no book is composed."""
    from fab.book import drawings, lightpictures
    from fab.outputs import models, prints

    found = verdict_tasks(design, made)
    if "print" in wanted:
        found += prints.tasks(design, made, prepared.plates)
    if "model" in wanted:
        found += models.tasks(design, made)
    if "book" in wanted:
        found += [*drawings.tasks(design, made), *lightpictures.tasks(design)]
    store.ahead(sorted(found, key=lambda one: one.name in LONGEST))
