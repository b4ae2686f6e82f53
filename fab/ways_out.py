"""Ways out for a wall whose middle no inlet reaches well: feet behind which a cable runs, or
smaller walls; and for one that is too heavy for its screws: smaller panels. Each is tried.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace

from fab.checks.model import Verdict
from fab.checks.remedy import SIZE, in_full
from fab.decisions import plans_of, wired_wall
from fab.design import Outlined
from fab.errors import PanejigError
from fab.layout.model import Layout, PlacedPanel
from fab.layout.subset import part_of
from fab.params.changing import with_values
from fab.params.job import Job
from fab.parts.plan import Plan
from fab.units import fixed, some

FEET_MM = (10.0, 12.0, 15.0, 18.0, 20.0, 25.0, 30.0, 40.0)
MOST_WALLS = 6
MOST_PANELS = 400  # larger walls get a remedy without figures: each try wires the wall anew
SHOWN = 6
LEAST_SHARE = 0.6  # of a panel's size that is tried for a lighter wall
Judge = Callable[[Outlined], Sequence[Verdict]]


def ways_out(
    known: Outlined, judge: Judge, fails: Callable[[Sequence[Verdict]], bool]
) -> tuple[str, ...]:
    """Return sentences, each a change with which `fails` says no to what `judge` finds on the plan
    of the wall.
    """
    layout = known.layout
    able = {edge.panel for edge in layout.open_edges}
    if len(able) == len(layout.panels) or len(layout.panels) > MOST_PANELS:
        return ()
    return tuple(filter(None, (_feet(known, judge, fails), _split(known, judge, fails))))


def smaller_panels(known: Outlined, holds: Callable[[Job], bool]) -> str:
    """Return a sentence with the largest panel, in whole mm, of a wall for which `holds` says yes;
    "" where none of those tried does, or several designs share their edges.
    """
    if len(known.plans) > 1:
        return ""
    ((name, plan),) = known.plans.items()
    key, now = in_full(name, SIZE, plan), plan.params.across_flats or plan.params.edge or 0.0
    low, high, best = math.ceil(now * LEAST_SHARE), math.ceil(now) - 1, 0
    while low <= high:
        half = (low + high) // 2
        try:
            fine = holds(with_values(asked(known), ((key, str(half)),)))
        except PanejigError:
            fine = False
        best, low, high = (half, half + 1, high) if fine else (best, low, half - 1)
    return f"Or set {key} = {best} for smaller panels." if best else ""


def asked(known: Outlined) -> Job:
    """The job as it was asked for, brightness "auto" and values that were left out included."""
    designs = {name: plan.asked or plan.params for name, plan in known.plans.items()}
    main = designs.pop("panel", known.job.panel)
    power = replace(known.job.power, brightness=known.wired.wished)
    return replace(known.job, power=power, panel=main, designs=known.job.designs | designs)


def _feet(known: Outlined, judge: Judge, fails: Callable[[Sequence[Verdict]], bool]) -> str:
    job = asked(known)
    if any(plan.params.base.feet > 0 for plan in known.plans.values()):
        return ""
    for feet in FEET_MM:
        panel = replace(job.panel, base=replace(job.panel.base, feet=feet))
        designs = {
            name: replace(one, base=replace(one.base, feet=feet))
            for name, one in job.designs.items()
        }
        raised = replace(job, panel=panel, designs=designs)
        if _holds(raised, known.layout, plans_of(raised), judge, fails):
            where = " in every design" if designs else ""
            return (
                f"Set panel.base.feet = {fixed(feet)}{where}: supply cables then run behind the"
                " bases."
            )
    return ""


def _split(known: Outlined, judge: Judge, fails: Callable[[Sequence[Verdict]], bool]) -> str:
    """The fewest walls that do, cut across the longer side."""
    job, layout = asked(known), known.layout
    x0, y0, x1, y1 = layout.box
    upright = x1 - x0 >= y1 - y0
    job = replace(
        job,
        power=replace(job.power, inlet=(), inlets=None),
        layout=replace(job.layout, groups="separate"),
    )
    for walls in range(2, MOST_WALLS + 1):
        cuts = _strips(layout, walls, upright=upright)
        if all(_holds(job, part_of(layout, names), known.plans, judge, fails) for names in cuts):
            told = "; ".join(_listed(names) for names in cuts)
            word = "columns" if upright else "rows"
            return f"Build {walls} separate walls, split between {word} of panels: {told}."
    return ""


def _strips(layout: Layout, walls: int, *, upright: bool) -> list[list[str]]:
    """Panels in strips of about as many panels each, whole columns or rows."""

    def along(panel: PlacedPanel) -> float:
        return round(panel.x if upright else -panel.y, 3)

    ordered = sorted(layout.panels, key=lambda panel: (along(panel), panel.name))
    lines = sorted({along(panel) for panel in ordered})
    per_wall, held = len(ordered) / walls, 0.0
    strips: list[list[str]] = [[] for _ in range(walls)]
    for line in lines:
        there = [panel.name for panel in ordered if along(panel) == line]
        middle = held + len(there) / 2
        strips[min(int(middle / per_wall), walls - 1)] += there
        held += len(there)
    at = {panel.name: k for k, panel in enumerate(layout.panels)}
    return [sorted(strip, key=at.__getitem__) for strip in strips if strip]


def _holds(
    job: Job,
    layout: Layout,
    plans: Mapping[str, Plan],
    judge: Judge,
    fails: Callable[[Sequence[Verdict]], bool],
) -> bool:
    try:
        return not fails(judge(wired_wall(job, plans, layout, pieces=False)))
    except PanejigError:
        return False


def _listed(names: Sequence[str]) -> str:
    more = f" ... {names[-1]}" if len(names) > SHOWN else ""
    return f"{some(len(names), 'panel')} ({', '.join(names[:SHOWN])}{more})"
