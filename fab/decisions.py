"""From a job to everything that is decided before anything is made: plans, layout, wiring, hangers, base kinds.

A panel's weight decides where it hangs, and weights come from the solids' volumes; those are asked of the store,
so the CAD kernel is loaded here only for a design whose parts were never made.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from fab.errors import Fault, InputError
from fab.layout.find import find_layout
from fab.layout.kinds import base_uses
from fab.layout.model import BaseKind, BaseUse, Layout
from fab.params.job import Job
from fab.parts.edge_parts import edge_values
from fab.parts.given import uneven
from fab.parts.jumpersizes import wire_length
from fab.parts.plan import Plan, cell_of, plan
from fab.power.model import Wired
from fab.products import PartSpec
from fab.wall.model import Hung, PanelMass
from fab.wall.order import HangingOrder, hanging_order


@dataclass(frozen=True)
class Counts:
    """How many of everything, as the manifest and the lists state them."""

    panels: int
    joints: int
    open_edges: int
    headers: int
    clips: int
    caps: int
    diffusers: int
    bases: Mapping[str, int]
    shells: int
    inlets: int
    hangers: int


@dataclass(frozen=True)
class Outlined:
    """What is decided before anything is weighed: enough for all that is cut from sheets."""

    job: Job
    plans: Mapping[str, Plan]  # by design name; "panel" is the main one; only designs that the layout uses
    layout: Layout
    wired: Wired
    jumpers: tuple[int, ...]  # joints that carry a jumper, by index
    opened: Mapping[str, tuple[int, ...]]  # panel to its edges whose base has an opening for a jumper


@dataclass(frozen=True)
class Design(Outlined):
    """A wall with every choice made."""

    masses: Mapping[str, PanelMass]
    hung: Hung
    order: HangingOrder
    uses: tuple[BaseUse, ...]  # in the layout's order

    @cached_property
    def use_of(self) -> Mapping[str, BaseUse]:
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
        """The first design whose clip or cap is the same part: they share one file."""
        values = edge_values(part, self.plans[design])
        return next(name for name, made in self.plans.items() if edge_values(part, made) == values)

    @cached_property
    def caps_of(self) -> Mapping[str, int]:
        """Caps per design that makes them, one for every edge that has a window but no header and no inlet."""
        of_panel = {panel.name: self.same_as("cap", panel.design) for panel in self.layout.panels}
        return Counter(of_panel[name] for name, edges in self.capped.items() for _ in edges)

    @cached_property
    def with_rows(self) -> frozenset[str]:
        """Designs whose boards get pin rows for jumpers: those of which a base has an opening."""
        return frozenset(panel.design for panel in self.layout.panels if panel.name in self.opened)

    @cached_property
    def jumper_edges(self) -> Mapping[str, tuple[int, ...]]:
        """Panel to its edges with a jumper, in the panel's frame; panels without one are left out."""
        found: dict[str, list[int]] = {}
        for joint in (self.layout.joints[k] for k in self.jumpers):
            found.setdefault(joint.a, []).append(joint.edge_a)
            found.setdefault(joint.b, []).append(joint.edge_b)
        return {name: tuple(sorted(edges)) for name, edges in found.items()}

    @cached_property
    def cables(self) -> Mapping[tuple[str, str, float], int]:
        """Jumpers by the two designs that they join and the length of their wires in mm, with their number."""
        found: Counter[tuple[str, str, float]] = Counter()
        for joint in (self.layout.joints[k] for k in self.jumpers):
            a, b = sorted(self.layout.by_name[name].design for name in (joint.a, joint.b))
            found[a, b, wire_length(self.plans[a], self.plans[b])] += 1
        return dict(sorted(found.items()))

    @cached_property
    def blank(self) -> frozenset[str]:
        """Panels without electronics: no windows, no header, no cap."""
        return frozenset(panel.name for panel in self.layout.panels if self.plans[panel.design].params.board.none)

    @cached_property
    def capped(self) -> Mapping[str, tuple[int, ...]]:
        """Panel to its edges that a cap closes: open ones less the inlet's, and those that face a blank cover."""
        found: dict[str, list[int]] = {panel.name: [] for panel in self.layout.panels}
        for edge in self.layout.open_edges:
            if self.wired.inlets.get(edge.panel) != edge.edge:
                found[edge.panel].append(edge.edge)
        for joint in self.layout.joints:
            if joint.b in self.blank:
                found[joint.a].append(joint.edge_a)
            if joint.a in self.blank:
                found[joint.b].append(joint.edge_b)
        return {name: () if name in self.blank else tuple(sorted(edges)) for name, edges in found.items()}

    @cached_property
    def clips_of(self) -> Mapping[str, int]:
        """Clips per design that makes them; a joint takes those of its first panel (the edge interface is one).

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
        rows += [(PartSpec("base", design, kind), per_kind[design, key]) for (design, key), kind in self.kinds.items()]
        rows += [(PartSpec("shell", design), count) for design, count in self.panels_of.items()]
        rows += [(PartSpec("clip", design), count) for design, count in self.clips_of.items() if count]
        rows += [(PartSpec("cap", design), count) for design, count in self.caps_of.items() if count]
        return tuple(rows)

    @cached_property
    def headers(self) -> tuple[int, ...]:
        """Joints that carry a header, by index: all but those of blank covers and those that no straight push can mate."""
        none = {*self.order.unmated, *self.jumpers}
        return tuple(k for k, joint in enumerate(self.layout.joints) if k not in none and not {joint.a, joint.b} & self.blank)

    @cached_property
    def counts(self) -> Counts:
        layout = self.layout
        bases: Counter[str] = Counter()
        for use in self.uses:
            bases[use.kind.key if use.kind.design == "panel" else f"{use.kind.design}-{use.kind.key}"] += 1
        return Counts(
            panels=len(layout.panels), joints=len(layout.joints), open_edges=len(layout.open_edges),
            headers=len(self.headers), clips=sum(self.clips_of.values()), caps=sum(self.caps_of.values()),
            diffusers=len(layout.panels), bases=dict(bases), shells=len(layout.panels),
            inlets=len(self.wired.inlets), hangers=len(self.hung.hangers),
        )  # fmt: skip


def plans_of(job: Job) -> dict[str, Plan]:
    """Plans of the designs that the layout uses, the main one first."""
    asked = [placed.design or "panel" for placed in job.layout.panel]
    used = (["panel"] if job.layout.cells else []) + asked
    names = [name for name in ("panel", *job.designs) if name in used]
    unknown = sorted({name for name in used if name != "panel" and name not in job.designs})
    if unknown:
        known = ", ".join(["panel", *job.designs])
        raise InputError([Fault("", "layout.panel", f'no design is named "{name}"', f"Designs: {known}.") for name in unknown])
    return {name: plan(job.design(name), job.shop) for name in names}


def lay_out(job: Job) -> Layout:
    """The layout of a job, before anything is known of parts."""
    return find_layout(job.layout, lambda name: cell_of(job.design(name)))


def outline(job: Job) -> Outlined:
    """The choices that need no weight, and so no solid."""
    from fab.power.loads import loads
    from fab.power.wire import wire

    plans = plans_of(job)
    layout = lay_out(job)
    wired = wire(layout, loads(layout, plans), job.power, {name: made.params for name, made in plans.items()})
    jumpers = _jumpers(job, layout, plans)
    return Outlined(job, plans, layout, wired, jumpers, _opened(job, layout, plans, jumpers, wired.inlets))


def decide(job: Job, weigh: Callable[[Mapping[str, Plan], Layout], Mapping[str, PanelMass]]) -> Design:
    """All choices of a job. `weigh` gives the mass of each panel (it may have to make solids)."""
    from fab.wall.choose import choose, wall_type
    from fab.wall.strength import joint_strength

    known = outline(job)
    plans, layout, wired = known.plans, known.layout, known.wired
    masses = weigh(plans, layout)
    wall, strength = wall_type(job.shop.wall, job.hang.wall), joint_strength(plans, job.shop.filament)
    hung = choose(layout, plans, masses, job.hang, wall, strength, inlets=wired.inlets, jumpers=known.opened)
    grams = {name: mass.grams for name, mass in masses.items()}
    needed = [wiring.joint for wiring in wired.wiring if wiring.needed]
    order = hanging_order(layout, plans, hung, grams, needed)
    labels = any(made.params.base.label for made in plans.values())
    odd = {name: kept for name, made in plans.items() if (kept := uneven(made.params)) is not None}
    uses = base_uses(layout, wired.inlets, hung.up, labels=labels, uneven=odd, jumpers=known.opened)
    return Design(job, plans, layout, wired, known.jumpers, known.opened, masses, hung, order, uses)


def _jumpers(job: Job, layout: Layout, plans: Mapping[str, Plan]) -> tuple[int, ...]:
    """Return the joints that carry a jumper, by index."""
    if job.joint.jumper != "all":
        return ()
    blank = {panel.name for panel in layout.panels if plans[panel.design].params.board.none}
    return tuple(k for k, joint in enumerate(layout.joints) if not {joint.a, joint.b} & blank)


def _opened(
    job: Job, layout: Layout, plans: Mapping[str, Plan], jumpers: Sequence[int], inlets: Mapping[str, int]
) -> Mapping[str, tuple[int, ...]]:
    """Return each panel's edges, in its own frame, whose base has an opening for a jumper; only panels that have any."""
    found: dict[str, set[int]] = {panel.name: set() for panel in layout.panels}
    if job.joint.openings == "all":
        for panel in layout.panels:
            if not plans[panel.design].params.board.none:
                found[panel.name] = set(range(panel.cell.sides)) - {inlets.get(panel.name)}
    for joint in (layout.joints[k] for k in jumpers):
        found[joint.a].add(joint.edge_a)
        found[joint.b].add(joint.edge_b)
    return {name: tuple(sorted(edges)) for name, edges in found.items() if edges}
