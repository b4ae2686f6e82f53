"""From a job to its design: plans, layout, wiring, hangers and base kinds are decided here.

A panel's weight decides where it hangs, and weights come from the solids' volumes; those are asked
of the store, so the CAD kernel is loaded here only for a design whose parts were never made.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping
from contextlib import suppress
from dataclasses import replace

from fab.design import Design, Outlined
from fab.errors import Fault, InputError
from fab.layout.find import find_layout
from fab.layout.kinds import base_uses
from fab.layout.model import Layout, PlacedPanel
from fab.layout.place import requests
from fab.params.job import Job, PowerParams
from fab.params.shop import Filament
from fab.parts.given import alike_in_every_turn
from fab.parts.plan import Plan, cell_of
from fab.parts.planning import plan
from fab.power.links import Links, poles_of
from fab.power.model import Wired
from fab.remembered import remembering
from fab.wall.model import Hung, PanelMass
from fab.wall.order import Assembly, hanging_order
from fab.wall.to_hang import WallToHang

REMEMBERED = 4  # last walls whose wiring, and whose hangers, are not decided again


def plans_of(job: Job) -> dict[str, Plan]:
    """Plans of the designs that the layout uses, the main one first."""
    used = {request.wanted.design or "panel" for request in requests(job.layout, job.panel.sides)}
    names = [name for name in ("panel", *job.designs) if name in used]
    unknown = sorted({name for name in used if name != "panel" and name not in job.designs})
    if unknown:
        known = ", ".join(["panel", *job.designs])
        raise InputError(
            [
                Fault("layout.panel", f'unknown design "{name}"', f"Designs: {known}.")
                for name in unknown
            ]
        )
    return {name: plan(job.design(name), job.shop) for name in names}


def lay_out(job: Job) -> Layout:
    """The layout of a job, before anything is known of parts."""
    return find_layout(job.layout, lambda name: cell_of(job.design(name)))


def outline(job: Job) -> Outlined:
    """The choices that need no weight, and so no solid."""
    plans, layout = plans_of(job), lay_out(job)
    return wired_wall(job, plans, layout, pieces=False)


def wired_wall(job: Job, plans: Mapping[str, Plan], layout: Layout, *, pieces: bool) -> Outlined:
    """The order of pushes, and the wiring over the headers that it mates."""
    assembly, wired = _wired(
        layout, plans, job.power, job.joint.jumper, job.shop.filament, pieces=pieces
    )
    settled = replace(
        settled_job(job, plans), power=replace(job.power, brightness=wired.brightness)
    )
    return Outlined(settled, plans, layout, wired, assembly)


@remembering(REMEMBERED)
def _wired(
    layout: Layout,
    plans: Mapping[str, Plan],
    power: PowerParams,
    jumper: str,
    filament: Filament,
    *,
    pieces: bool,
) -> tuple[Assembly, Wired]:
    """The order of pushes, and the wiring over the headers that it mates.

    Where zones had to take jumpers, the order is planned anew for the headers that they want, and
    the better of both is kept: fewest inlets, then fewest jumpers.
    """
    from fab.power.corridor import edge_rooms
    from fab.power.facing import off_jumpers
    from fab.power.heat import aimed_cap
    from fab.power.loads import loads
    from fab.power.wire import wire
    from fab.wall.order import assemble, bare_joints

    known, params = loads(layout, plans), {name: made.params for name, made in plans.items()}
    heat = aimed_cap(layout, known, plans, filament, power)
    every = jumper == "all"
    able = (
        frozenset()
        if jumper == "never"
        else frozenset(range(len(layout.joints))) - bare_joints(layout, plans)
    )
    poles = poles_of(layout, plans) if able else {}
    rooms = edge_rooms(layout, params)

    def tried(wanted: Collection[int]) -> tuple[Assembly, Wired]:
        assembly = assemble(layout, plans, wanted, pieces=pieces, headers=not every)
        jumpable = able.difference(assembly.seams, assembly.mates)
        links = Links(assembly.mates, jumpable, poles, every)
        return assembly, wire(layout, known, power, params, rooms, links=links, heat=heat)

    assembly, wired = tried(())
    if wired.wishes:
        again = tried(wired.wishes)
        if _cost(again[1]) < _cost(wired):
            assembly, wired = again
    return assembly, off_jumpers(wired, layout, plans, rooms)


def settled_job(job: Job, plans: Mapping[str, Plan]) -> Job:
    """The job with a number for every design value left out: what files and proof read."""
    given = {name: made.params for name, made in plans.items()}
    main = given.get("panel") or plan(job.panel, job.shop).params
    return replace(
        job, panel=main, designs=job.designs | {k: p for k, p in given.items() if k != "panel"}
    )


def _cost(wired: Wired) -> tuple[int, int, float]:
    """The figures to be small: inlets, jumpers, and last the voltage that is lost."""
    return len(wired.zones), len(wired.table.jumpers), -round(wired.lowest[1], 6)


def decide(
    job: Job, weigh: Callable[[Mapping[str, Plan], Layout], Mapping[str, PanelMass]]
) -> Design:
    """All choices of a job. `weigh` gives the mass of each panel (it may have to make solids).

    In one piece where two people can lift it, or where no piece could hang for itself.
    """
    from fab.wall.order import can_part, handy, stands

    known = outline(job)
    plans, layout = known.plans, known.layout
    masses = weigh(plans, layout)
    grams = {name: mass.grams for name, mass in masses.items()}

    def hung_as(some: Outlined) -> Hung:
        return _hung(some.to_hang(masses))

    hung: Hung | None = None
    if job.joint.jumper != "all" and not handy(layout, grams) and can_part(layout, plans):
        parted = wired_wall(job, plans, layout, pieces=True)
        hung = hung_as(parted)
        if stands(layout, parted.assembly, hung, grams):
            known = parted
        else:
            hung = None
    if hung is None:
        known, hung = _hung_or_turned(known, hung_as)
    wired = known.wired
    order = hanging_order(layout, plans, known.assembly, hung, grams)
    labels = any(made.params.base.label for made in plans.values())
    alike = [name for name, made in plans.items() if alike_in_every_turn(made.params)]
    uses = base_uses(
        layout,
        wired.inlets,
        hung.up,
        labels=labels,
        alike=alike,
        jumpers=known.opened,
        spots=hung.spots,
    )
    return Design(known.job, plans, layout, wired, known.assembly, masses, hung, order, uses)


def _hung_or_turned(known: Outlined, hung_as: Callable[[Outlined], Hung]) -> tuple[Outlined, Hung]:
    """The wall on its hangers; where an inlet takes the only room for a keyhole, with that inlet at
    another edge. Raises InputError when it can't hang either way.
    """
    refused: InputError | None = None
    try:
        hung = hung_as(known)
    except InputError as error:
        refused = error
    if refused is None and not hung.lacking:
        return known, hung
    turned = _off_keyholes(known)
    if turned is not None:
        with suppress(InputError):
            other = hung_as(turned)
            if refused is not None or not other.lacking:
                return turned, other
    if refused is not None:
        raise refused
    return known, hung


def _off_keyholes(known: Outlined) -> Outlined | None:
    """The wall with inlets at the edges that leave a keyhole the highest rest, where that of now is
    no higher than the panel's centre; None where no other edge is better.
    """
    from fab.power.corridor import edge_rooms
    from fab.power.facing import able_edges, facing, steps_between
    from fab.wall.places import rest_over_centre

    layout, plans = known.layout, known.plans
    rooms = edge_rooms(layout, {name: made.params for name, made in plans.items()})
    better = {}
    for name, free in able_edges(known.wired, layout, plans, rooms).items():
        panel, now = layout.by_name[name], known.wired.inlets[name]

        def rest(edge: int, panel: PlacedPanel = panel, name: str = name) -> float:
            other = replace(known, wired=facing(known.wired, rooms, {name: edge}))
            opened = other.opened.get(name, ())
            return rest_over_centre(panel, plans[panel.design], edge, opened)

        if rest(now) <= 0 and free:
            best = max(free, key=lambda e: (rest(e), -steps_between(panel, e, now), -e))
            if rest(best) > rest(now):
                better[name] = best
    return replace(known, wired=facing(known.wired, rooms, better)) if better else None


@remembering(REMEMBERED)
def _hung(known: WallToHang) -> Hung:
    """The fewest hangers."""
    from fab.wall.choose import choose

    return choose(known)
