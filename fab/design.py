"""A wall with every choice made, as values: what is made of a job reads nothing else."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

from fab.colours import roll_of
from fab.layout.joint_table import JointTable
from fab.layout.model import BaseKind, BaseUse, Layout
from fab.outlines.contour import turn
from fab.params.job import Job
from fab.parts.edge_parts import edge_values
from fab.parts.footsizes import FOOT_R, feet_at
from fab.parts.jumpersizes import wire_length
from fab.parts.plan import Plan
from fab.power.cables import Behind, CableRun, cable_runs
from fab.power.model import Wired
from fab.power.route import DataRoute, data_route
from fab.products import PartSpec
from fab.wall.lifting import LiftPlan, lift_plans
from fab.wall.model import Hung, PanelMass, newtons
from fab.wall.order import Assembly, HangingOrder
from fab.wall.strength import joint_strength
from fab.wall.to_hang import WallToHang, wall_type


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

    @property
    def lit_designs(self) -> list[str]:
        """The names of the designs that have a board."""
        return [name for name, plan in self.plans.items() if not plan.params.board.none]

    @cached_property
    def opened(self) -> Mapping[str, tuple[int, ...]]:
        """Panel to its edges (panel frame) with an opening for a jumper; only panels with any."""
        if self.job.joint.openings != "all":
            return self.table.jumper_edges
        lit = [
            panel for panel in self.layout.panels if not self.plans[panel.design].params.board.none
        ]
        inlets = self.wired.inlets
        return {
            p.name: tuple(k for k in range(p.cell.sides) if k != inlets.get(p.name)) for p in lit
        }

    def to_hang(self, masses: Mapping[str, PanelMass]) -> WallToHang:
        """The wall as the choice of its hangers takes it; `masses` by name of panel. Raises
        InputError for an unknown kind of wall.
        """
        shop, hang = self.job.shop, self.job.hang
        return WallToHang(
            self.layout,
            self.plans,
            masses,
            hang,
            wall_type(shop.wall, hang.wall),
            joint_strength(self.plans, shop.filament),
            self.wired.inlets,
            self.opened,
        )


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
        """Caps per making design, one for each edge with a window but no header and no inlet."""
        of_panel = {panel.name: self.same_as("cap", panel.design) for panel in self.layout.panels}
        return Counter(of_panel[name] for name, edges in self.capped.items() for _ in edges)

    @cached_property
    def with_rows(self) -> frozenset[str]:
        """Designs whose boards get pin rows for jumpers: those of which a base has an opening."""
        return frozenset(panel.design for panel in self.layout.panels if panel.name in self.opened)

    @cached_property
    def cables(self) -> Mapping[tuple[str, str, float, bool], int]:
        """Jumpers by their two designs, length of wires in mm, and whether they carry supply."""
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
        """Panel to its capped edges: open ones less the inlet's, and those facing a blank."""
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
        """Clips per design that makes them; a joint takes its first panel's (edges are alike).

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
        feet: Counter[str] = Counter()
        for design, count in self.panels_of.items():
            feet[self.same_as("foot", design)] += count * len(feet_at(self.plans[design]))
        per_kind = Counter((use.kind.design, use.kind.key) for use in self.uses)
        bases = [(PartSpec("base", at[0], kind), per_kind[at]) for at, kind in self.kinds.items()]
        others = {"shell": self.panels_of, "clip": self.clips_of, "cap": self.caps_of, "foot": feet}
        return (
            *bases,
            *(
                (PartSpec(part, design), count)
                for part, counts in others.items()
                for design, count in counts.items()
                if count
            ),
        )

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
    def runs(self) -> tuple[CableRun, ...]:
        """The supply cables on the wall, one a zone."""
        params = {name: plan.params for name, plan in self.plans.items()}
        return cable_runs(self.layout, self.wired, self.job.power, params, self.behind)

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
        posts += [
            (at, plans[layout.by_name[name].design].params.hanger.screw_d / 2)
            for name, at in self.hung.marks
        ]
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
        kinds = [use.kind for use in self.uses]
        bases = Counter(
            kind.key if kind.design == "panel" else f"{kind.design}-{kind.key}" for kind in kinds
        )
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
