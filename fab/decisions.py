"""From a job to everything that is decided before anything is made: plans, layout, wiring, hangers,
base kinds.

A panel's weight decides where it hangs, and weights come from the solids' volumes; those are asked
of the store, so the CAD kernel is loaded here only for a design whose parts were never made.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Collection, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from functools import cached_property

from fab.colours import roll_of
from fab.errors import Fault, InputError
from fab.layout.find import find_layout
from fab.layout.joint_table import JointTable
from fab.layout.kinds import base_uses
from fab.layout.model import BaseKind, BaseUse, Layout, PlacedPanel
from fab.layout.place import requests
from fab.outlines.contour import turn
from fab.params.job import HangParams, Job, PowerParams
from fab.params.shop import Filament, WallType
from fab.parts.edge_parts import edge_values
from fab.parts.footsizes import FOOT_R, feet_at
from fab.parts.given import alike_in_every_turn
from fab.parts.jumpersizes import wire_length
from fab.parts.plan import Plan, cell_of
from fab.parts.planning import plan
from fab.power.cables import Behind
from fab.power.links import Links, poles_of
from fab.power.model import Wired
from fab.power.route import DataRoute, data_route
from fab.products import PartSpec
from fab.remembered import remembering
from fab.wall.lifting import LiftPlan, lift_plans
from fab.wall.model import Hung, JointStrength, PanelMass, newtons
from fab.wall.order import Assembly, HangingOrder, hanging_order
from fab.wall.strength import joint_strength

REMEMBERED = 4  # last walls whose wiring, and whose hangers, are not decided again


@dataclass(frozen=True)
class Counts:
    """Numbers of all parts, as the manifest and the lists state them."""

    panels: int
    joints: int
    open_edges: int
    headers: int
    jumpers: int
    clips: int
    caps: int
    diffusers: int
    bases: Mapping[str, int]
    shells: int
    inlets: int
    hangers: int


@dataclass(frozen=True)
class Outlined:
    """The decisions made before anything is weighed: enough for all that is cut from sheets."""

    # brightness is a number, also where "auto" was asked for, and so is every value that was left
    # out
    job: Job
    # by design name; "panel" is the main one; only designs that the layout uses
    plans: Mapping[str, Plan]
    layout: Layout
    wired: Wired
    assembly: Assembly

    @cached_property
    def route(self) -> DataRoute:
        """The way of the data line through the boards."""
        return data_route(self.layout, self.table, self.wired.blank, self.job.power.control)

    @property
    def table(self) -> JointTable:
        """The connector of each joint, who mates it, when and in which direction: the one source of
        every list and picture.
        """
        return self.wired.table

    @cached_property
    def opened(self) -> Mapping[str, tuple[int, ...]]:
        """Panel to its edges, in its own frame, whose base has an opening for a jumper; only panels
        that have any.
        """
        if self.job.joint.openings != "all":
            return self.table.jumper_edges
        lit = [
            panel for panel in self.layout.panels if not self.plans[panel.design].params.board.none
        ]
        inlets = self.wired.inlets
        return {
            p.name: tuple(k for k in range(p.cell.sides) if k != inlets.get(p.name)) for p in lit
        }


@dataclass(frozen=True)
class Design(Outlined):
    """A wall with every choice made."""

    masses: Mapping[str, PanelMass]
    hung: Hung
    order: HangingOrder
    uses: tuple[BaseUse, ...]  # in the layout's order

    @cached_property
    def use_of(self) -> Mapping[str, BaseUse]:
        """The use of each panel's base, by the panel's name."""
        return {use.panel: use for use in self.uses}

    @cached_property
    def kinds(self) -> Mapping[tuple[str, str], BaseKind]:
        """(design, key) to the kind, in the layout's order of first use."""
        return {(use.kind.design, use.kind.key): use.kind for use in self.uses}

    @cached_property
    def panels_of(self) -> Mapping[str, int]:
        """Panels per design."""
        return Counter(panel.design for panel in self.layout.panels)

    def same_as(self, part: str, design: str) -> str:
        """The first design whose clip, cap or foot is the same part: they share one file.

        A cap is seen, so it has the colour of its base.
        """
        return self._alike[part, design]

    @cached_property
    def _alike(self) -> Mapping[tuple[str, str], str]:
        """(part, design) to the first design whose part is the same."""
        found: dict[tuple[str, str], str] = {}
        for part in ("clip", "cap", "foot"):
            first: dict[tuple[object, ...], str] = {}
            for name, made in self.plans.items():
                colour = roll_of(part, made.params) if part == "cap" else ""
                found[part, name] = first.setdefault((*edge_values(part, made), colour), name)
        return found

    def roll_of(self, spec: PartSpec) -> str:
        """Name of the roll of filament that a part is printed from."""
        return roll_of(spec.part, self.plans[spec.design].params)

    @cached_property
    def caps_of(self) -> Mapping[str, int]:
        """Caps per design that makes them, one for every edge that has a window but no header and
        no inlet.
        """
        of_panel = {panel.name: self.same_as("cap", panel.design) for panel in self.layout.panels}
        return Counter(of_panel[name] for name, edges in self.capped.items() for _ in edges)

    @cached_property
    def with_rows(self) -> frozenset[str]:
        """Designs whose boards get pin rows for jumpers: those of which a base has an opening."""
        return frozenset(panel.design for panel in self.layout.panels if panel.name in self.opened)

    @cached_property
    def cables(self) -> Mapping[tuple[str, str, float, bool], int]:
        """Jumpers by the two designs that they join, the length of their wires in mm, and whether
        they carry supply.
        """
        found: Counter[tuple[str, str, float, bool]] = Counter()
        for k in self.table.jumpers:
            joint = self.layout.joints[k]
            a, b = sorted(self.layout.by_name[name].design for name in (joint.a, joint.b))
            found[a, b, wire_length(self.plans[a], self.plans[b]), self.table.rows[k].supply] += 1
        return dict(sorted(found.items()))

    @cached_property
    def blank(self) -> frozenset[str]:
        """Panels without electronics: no windows, no header, no cap."""
        return frozenset(
            panel.name for panel in self.layout.panels if self.plans[panel.design].params.board.none
        )

    @cached_property
    def capped(self) -> Mapping[str, tuple[int, ...]]:
        """Panel to its edges that a cap closes: open ones less the inlet's, and those that face a
        blank cover.
        """
        found: dict[str, list[int]] = {panel.name: [] for panel in self.layout.panels}
        for edge in self.layout.open_edges:
            behind = self.plans[self.layout.by_name[edge.panel].design].inlet.behind
            if behind or self.wired.inlets.get(edge.panel) != edge.edge:
                found[edge.panel].append(edge.edge)
        for joint in self.layout.joints:
            if joint.b in self.blank:
                found[joint.a].append(joint.edge_a)
            if joint.a in self.blank:
                found[joint.b].append(joint.edge_b)
        return {
            name: () if name in self.blank else tuple(sorted(edges))
            for name, edges in found.items()
        }

    @cached_property
    def clips_of(self) -> Mapping[str, int]:
        """Clips per design that makes them; a joint takes those of its first panel (the edge
        interface is one).

        Joints that close on the wall get none: nobody reaches behind it.
        """
        seams = set(self.order.seams)
        of_panel = {panel.name: self.same_as("clip", panel.design) for panel in self.layout.panels}
        found: Counter[str] = Counter()
        for joint in (joint for k, joint in enumerate(self.layout.joints) if k not in seams):
            found[of_panel[joint.a]] += self.plans[of_panel[joint.a]].params.clips_per_edge
        return found

    @cached_property
    def printed(self) -> tuple[tuple[PartSpec, int], ...]:
        """Every printed part with its count."""
        rows: list[tuple[PartSpec, int]] = []
        per_kind = Counter((use.kind.design, use.kind.key) for use in self.uses)
        rows += [
            (PartSpec("base", design, kind), per_kind[design, key])
            for (design, key), kind in self.kinds.items()
        ]
        rows += [(PartSpec("shell", design), count) for design, count in self.panels_of.items()]
        rows += [
            (PartSpec("clip", design), count) for design, count in self.clips_of.items() if count
        ]
        rows += [
            (PartSpec("cap", design), count) for design, count in self.caps_of.items() if count
        ]
        feet: Counter[str] = Counter()
        for design, count in self.panels_of.items():
            feet[self.same_as("foot", design)] += count * len(feet_at(self.plans[design]))
        rows += [(PartSpec("foot", design), count) for design, count in feet.items() if count]
        return tuple(rows)

    @cached_property
    def lifting(self) -> tuple[LiftPlan, ...]:
        """The moves that bring each piece from the table to the wall."""
        weights = {name: newtons(mass.grams) for name, mass in self.masses.items()}
        shop = self.job.shop
        return lift_plans(
            self.layout,
            self.plans,
            self.order.lifts,
            self.table.headers,
            weights,
            joint_strength(self.plans, shop.filament),
            shop.filament,
            self.job.hang.lift,
        )

    @cached_property
    def behind(self) -> Behind | None:
        """The room behind bases on feet; None for bases that lie on the wall."""
        plans, layout = self.plans, self.layout
        if not any(plan.inlet.behind for plan in plans.values()):
            return None
        posts = [
            (panel.to_wall(spot), FOOT_R)
            for panel in layout.panels
            for spot in feet_at(plans[panel.design])
        ]
        for name, at in self.hung.marks:
            posts.append((at, plans[layout.by_name[name].design].params.hanger.screw_d / 2))
        starts = {}
        for name, edge in self.wired.inlets.items():
            panel = layout.by_name[name]
            plan = plans[panel.design]
            bay = (plan.cell.apothem - plan.inlet.end_u, 0.0)
            starts[name] = panel.to_wall(turn(bay, 2 * math.pi * edge / panel.cell.sides))
        return Behind(
            tuple(posts), starts, max(plan.params.inlet.cable_d for plan in plans.values())
        )

    @cached_property
    def counts(self) -> Counts:
        """The counts of the whole wall, as the manifest and the lists state them."""
        layout = self.layout
        bases: Counter[str] = Counter()
        for use in self.uses:
            bases[
                use.kind.key if use.kind.design == "panel" else f"{use.kind.design}-{use.kind.key}"
            ] += 1
        return Counts(
            panels=len(layout.panels),
            joints=len(layout.joints),
            open_edges=len(layout.open_edges),
            headers=len(self.table.headers),
            jumpers=len(self.table.jumpers),
            clips=sum(self.clips_of.values()),
            caps=sum(self.caps_of.values()),
            diffusers=len(layout.panels),
            bases=dict(bases),
            shells=len(layout.panels),
            inlets=len(self.wired.inlets),
            hangers=len(self.hung.hangers),
        )


def plans_of(job: Job) -> dict[str, Plan]:
    """Plans of the designs that the layout uses, the main one first."""
    used = {request.wanted.design or "panel" for request in requests(job.layout, job.panel.sides)}
    names = [name for name in ("panel", *job.designs) if name in used]
    unknown = sorted({name for name in used if name != "panel" and name not in job.designs})
    if unknown:
        known = ", ".join(["panel", *job.designs])
        raise InputError(
            [
                Fault("", "layout.panel", f'unknown design "{name}"', f"Designs: {known}.")
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
    """The job with a number behind every value of its designs that was left out: what files and
    proof read.
    """
    given = {name: made.params for name, made in plans.items()}
    main = given.get("panel") or plan(job.panel, job.shop).params
    return replace(
        job, panel=main, designs=job.designs | {k: p for k, p in given.items() if k != "panel"}
    )


def _cost(wired: Wired) -> tuple[int, int, float]:
    """The figures to be as small as they can be: inlets, jumpers, and last the voltage that is
    lost.
    """
    return len(wired.zones), len(wired.table.jumpers), -round(wired.lowest[1], 6)


def decide(
    job: Job, weigh: Callable[[Mapping[str, Plan], Layout], Mapping[str, PanelMass]]
) -> Design:
    """All choices of a job. `weigh` gives the mass of each panel (it may have to make solids).

    In one piece where two people can lift it, or where no piece could hang for itself.
    """
    from fab.wall.choose import wall_type
    from fab.wall.order import can_part, handy, stands

    known = outline(job)
    plans, layout = known.plans, known.layout
    masses = weigh(plans, layout)
    wall, strength = (
        wall_type(job.shop.wall, job.hang.wall),
        joint_strength(plans, job.shop.filament),
    )
    grams = {name: mass.grams for name, mass in masses.items()}

    def hung_as(some: Outlined) -> Hung:
        return _hung(
            layout, plans, masses, job.hang, wall, strength, some.wired.inlets, some.opened
        )

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
def _hung(
    layout: Layout,
    plans: Mapping[str, Plan],
    masses: Mapping[str, PanelMass],
    hang: HangParams,
    wall: WallType,
    strength: JointStrength,
    inlets: Mapping[str, int],
    jumpers: Mapping[str, Sequence[int]],
) -> Hung:
    """The fewest hangers."""
    from fab.wall.choose import choose

    return choose(layout, plans, masses, hang, wall, strength, inlets=inlets, jumpers=jumpers)
