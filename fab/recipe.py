"""The recipe of a build: everything that is made of a job, declared once, each with what it needs.

    plans -> parts, light                     known as soon as the job is read
    weights -> design -> bases, checks, STL, STEP, pictures
    sizes -> plates, nest, template (`prepared`) -> 3MF

`check`, `build`, `watch`, `sweep`, `compare` and `pictures` ask it for different things. What takes
long is a product of the graph and begun as soon as it is known; what is decided in a moment is a
plain call.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Mapping, Sequence
from functools import cached_property, partial
from typing import TYPE_CHECKING, Any

from fab import colours, products, verdicts, weigh
from fab.book import couponart, drawings, lightpictures, pagestore, panelart, shadedart, viewparts
from fab.book import jumpers as jumper_pictures
from fab.built import CHECKS
from fab.checks.model import Verdict
from fab.decisions import Design, decide
from fab.graph.product import Product
from fab.graph.run import Run
from fab.layout.model import BaseKind
from fab.outputs import assembled, models, prints
from fab.params.job import Job
from fab.parts.base import name_height, on_free_floor
from fab.prints import counting
from fab.products import Figures, Made, PartSpec, bare_kind, lighting, plain_base, shaping

if TYPE_CHECKING:
    from fab.outlines.page import Page
    from fab.outputs.assemble import Listed
    from fab.outputs.cut import Search
    from fab.outputs.model import OutFile
    from fab.outputs.prepared import Prepared
    from fab.parts.plan import Plan

Refuse = Callable[[Mapping[str, "Plan"]], None]


class Recipe:
    """What can be made of one job in one run.

    `wants`: what will be asked for, so that it is begun in good time.
    """

    def __init__(
        self, job: Job, run: Run, wants: Sequence[str], refuse: Refuse, search: Search | None = None
    ) -> None:
        self.given, self.run, self.wants, self.search = job, run, frozenset(wants), search
        self.refuse = refuse  # raises for plans that can't be built, before a solid is asked for
        self.plans: Mapping[str, Plan] = {}
        self._parts: dict[PartSpec, Product[Made]] = {}  # each is needed by many
        self._plans: dict[tuple[str, bool], Plan] = {}

    def plan(self, design: str, kind: BaseKind | None = None) -> Plan:
        """What shapes the solids of a design."""
        at = design, kind is not None and bool(kind.jumpers)
        return self._plans.get(at) or self._plans.setdefault(at, shaping(self.plans[design], kind))

    # -- parts
    # ---------------------------------------------------------------------------------------------

    def body(self, design: str, inlet: bool, steps: int) -> Product[bytes]:
        """The base without openings and name, as a BREP: mounted `steps` edges further, with an
        inlet or not.
        """
        plan = self.plan(design)
        blank = Product("base blank", products.blank, (plan,), (), products.is_brep, 3.0)
        values = (plan.mounted(steps), inlet)
        return Product("base body", products.body, values, (blank,), products.is_brep, 2.0)

    def part(self, spec: PartSpec) -> Product[Made]:
        """A part with mesh and exact solid."""
        return self._parts.get(spec) or self._parts.setdefault(spec, self._part(spec))

    def _part(self, spec: PartSpec) -> Product[Made]:
        name, read, plan = (
            f"part {spec.part}",
            partial(products.made, spec),
            self.plan(spec.design, spec.kind),
        )
        if spec.kind is None:
            return Product(name, products.part, (plan, spec.part), read=read, cost=2.0)
        shared, values = self.nameless(spec), (plan, bare_kind(spec.kind))
        if shared is not None:
            return Product(name, products.named_base, values, (self.part(shared),), read, 0.5)
        return Product(
            name,
            products.base_on,
            values,
            (self.body(spec.design, spec.kind.inlet, spec.kind.steps),),
            read,
            2.0,
        )

    def nameless(self, spec: PartSpec) -> PartSpec | None:
        """The base that this one is but for its name; None for all that are made whole."""
        kind = spec.kind
        if kind is None or not kind.label or not on_free_floor(self.plans[spec.design]):
            return None
        return PartSpec("base", spec.design, dataclasses.replace(bare_kind(kind), label=""))

    def figures(self, spec: PartSpec) -> Product[Figures]:
        """The same part; its figures alone are read."""
        whole = self.part(spec)
        return Product(
            whole.name,
            whole.make,
            whole.values,
            whole.needs,
            partial(products.figures, spec),
            whole.cost,
        )

    def layers(self, spec: PartSpec) -> Product[Any]:
        """Layers, line lengths and stops of a printed part, from which grams and hours follow."""
        printer = products.only(self.given.shop.printer, counting.LINES)
        return Product(
            "layer count", counting.counted, (printer,), (self.part(spec),), counting.layers, 1.0
        )

    # -- checks
    # --------------------------------------------------------------------------------------------

    def _judged(
        self,
        name: str,
        judge: Callable[..., Any],
        values: Sequence[Any],
        specs: Sequence[PartSpec],
        cost: float,
    ) -> Product[list[Verdict]]:
        needs = tuple(self.part(spec) for spec in specs)
        return Product(
            f"{name} checks", verdicts.judged, (judge, *values), needs, verdicts.verdicts, cost
        )

    def light(self, design: str) -> Product[list[Verdict]]:
        """Verdicts on evenness of one design."""
        job, plan = self.given, lighting(self.plans[design])
        inside = colours.reflectance(job, self.plans[design].params)
        return self._judged("light", verdicts.lit, (plan, inside, job.light, design), (), 3.0)

    def on_bed(self, spec: PartSpec) -> Product[list[Verdict]]:
        """Verdicts on printing a part: overhangs, bridges, walls.

        A base that differs from another by its name alone is measured once; only the name is added.
        """
        printer, shared = self.given.shop.printer, self.nameless(spec)
        if shared is None:
            return self._judged("print", verdicts.on_bed, (spec.name, printer), (spec,), 1.0)
        plan = self.plans[spec.design]
        values = (verdicts.named_on_bed, spec.name, printer, (plan.floor.top_z, name_height(plan)))
        known = Product(
            "print measures",
            verdicts.measures,
            (printer,),
            (self.part(shared),),
            verdicts.as_measured,
        )
        return Product(
            "print checks",
            verdicts.judged,
            values,
            (self.part(spec), known),
            verdicts.verdicts,
            0.3,
        )

    def fits(self, spec: PartSpec) -> Product[list[Verdict]]:
        """Verdicts on every pair of parts that touch in one panel; a further base of a design is
        measured where it differs.
        """
        further, values = verdicts.is_further(self.design, spec), self._of_base(spec)
        return self._judged(
            "fit", verdicts.fits, (*values, further), self._panel(spec), 2.0 if further else 9.0
        )

    def leaks(self, spec: PartSpec) -> Product[list[Verdict]]:
        """Verdicts on light that leaves a panel past its diffuser."""
        return self._judged("leak", verdicts.leaks, self._of_base(spec), self._panel(spec), 3.0)

    def joint(self, pair: tuple[str, str]) -> Product[list[Verdict]]:
        """Verdicts on two panels side by side: gap, header, clips, over a joint of these two
        designs.
        """
        one, two = (self._panel(drawings.base_of(self.design, name)) for name in pair)
        plans = tuple(self.plan(name) for name in pair)
        return self._judged("joint", verdicts.joints, (plans, pair, len(one)), (*one, *two), 3.0)

    def jumper(self, pair: tuple[str, str]) -> Product[list[Verdict]]:
        """Verdicts on a jumper's room between two designs, bases with an opening for it."""
        bases = [verdicts.opened(self.design, name) for name in pair]
        kinds = [base.kind for base in bases if base.kind is not None]
        one, two = (self._panel(base) for base in bases)
        plans = tuple(self.plan(name, kind) for name, kind in zip(pair, kinds, strict=True))
        edges = tuple(kind.jumpers[0] for kind in kinds)
        return self._judged(
            "jumper", verdicts.jumpers, (plans, pair, edges, len(one)), (*one, *two), 3.0
        )

    def _of_base(self, spec: PartSpec) -> tuple[Any, ...]:
        return self.plan(spec.design, spec.kind), spec.kind, spec.design

    def _panel(self, base: PartSpec) -> list[PartSpec]:
        return verdicts.panel_specs(self.design, base)

    # -- files
    # ---------------------------------------------------------------------------------------------

    def stl(self, spec: PartSpec) -> Product[bytes]:
        """The part's STL in print orientation."""
        return Product("stl", prints.stl_file, (spec.name,), (self.part(spec),), prints.is_stl, 0.5)

    def plate(self, plate: Any) -> Product[bytes]:
        """A plate as 3MF, all its copies named and placed."""
        names, placed = prints.spots(plate)
        parts = {spec.name: spec for spec, _ in self.design.printed}
        needs = tuple(self.part(parts[name]) for name in names)
        return Product(
            "plate", prints.plate_file, (self.given.job, names, placed), needs, prints.is_3mf, 1.0
        )

    def step(self, spec: PartSpec) -> Product[bytes]:
        """The part's exact solid as STEP."""
        return Product(
            f"step {spec.part}",
            models.part_file,
            (spec.name,),
            (self.part(spec),),
            models.is_step,
            0.5,
        )

    def stencil(self, one: Any) -> Product[bytes]:
        """One sheet part as STEP, with the holes that art cuts into it."""
        plan = self.plan(one.design)
        return Product(
            "step diffuser",
            models.sheet_file,
            (one.item, plan, tuple(one.art.holes)),
            (),
            models.is_step,
        )

    def assembly(self, name: str, whole: bool) -> Product[bytes]:
        """An assembly as STEP: one panel of each design, or the whole wall."""
        wall = models.standings(self.design, whole=whole)
        needs = tuple(self.part(spec) for spec in wall.specs)
        return Product(
            f"step {name}", assembled.wall_file, (name, wall), needs, models.is_step, 2.0
        )

    # -- pictures of the book
    # ------------------------------------------------------------------------------

    def _drawn(
        self,
        name: str,
        draw: Callable[..., Any],
        values: Sequence[Any],
        specs: Sequence[PartSpec],
        *others: Product[Any],
    ) -> Product[Any]:
        needs = (*(self.part(spec) for spec in specs), *others)
        return Product(
            f"drawing {name}", shadedart.art_bytes, (draw, *values), needs, shadedart.art, 2.0
        )

    def _step_drawn(
        self, name: str, draw: Callable[..., Any], design: str, words: str
    ) -> Product[Any]:
        """A picture of a design's parts; `words` name them, last the view where things that are
        bought are among them.
        """
        *parts, last = words.split()
        viewed = [self.viewed(design)] if last == "view" else []
        base = drawings.base_of(self.design, design)
        specs = [
            base if word == "base" else PartSpec(word, design)
            for word in (parts if viewed else (*parts, last))
        ]
        return self._drawn(name, draw, (self.plan(design),), specs, *viewed)

    def exploded(self, design: str) -> Product[Any]:
        """The exploded view of one panel as a page."""
        words = f"base shell diffuser {panelart.carried(self.plans[design])}"
        return self._step_drawn("exploded", drawings.exploded, design, words)

    def viewed(self, design: str) -> Product[Any]:
        """Bought parts of a design for the view in three dimensions."""
        kinds = [kind for (name, _), kind in self.design.kinds.items() if name == design]
        opened = next((kind for kind in kinds if kind.jumpers), None)
        hangs = any(kind.up_deg is not None for kind in kinds)
        values = (self.plan(design, opened), hangs, opened is not None)
        return Product("view", viewparts.view_bytes, values, (), viewparts.view_meshes, 1.0)

    def sections(self, design: str) -> Product[tuple[Page, ...]]:
        """The sections of one panel as pages, titled by the design's name in the job."""
        plan, base = self.plan(design), drawings.base_of(self.design, design)
        plan = dataclasses.replace(
            plan, params=dataclasses.replace(plan.params, name=self.plans[design].params.name)
        )
        needs = tuple(self.part(spec) for spec in self._panel(base))
        return Product("sections", drawings.section_bytes, (plan,), needs, pagestore.pages_of, 2.0)

    @property
    def shown(self) -> dict[tuple[str, str], Product[Any]]:
        """Every picture that takes long, by what it shows and of which part or design."""
        design, found = self.design, dict[tuple[str, str], Product[Any]]()
        for spec in drawings.pictured(design):
            found["part", spec.name] = self._drawn(f"part {spec.part}", drawings.lying, (), (spec,))
        for name in drawings.with_inlet(design):
            base = drawings.base_of(design, name, inlet=True)
            found["inlet", name] = self._drawn("inlet", drawings.inlet, (self.plan(name),), (base,))
        for name in drawings.joined(design):
            joined = (
                drawings.base_of(design, name),
                PartSpec("clip", design.same_as("clip", name)),
            )
            found["clips", name] = self._drawn("clips", drawings.clips, (self.plan(name),), joined)
        for name in drawings.capped(design):
            cap = PartSpec("cap", design.same_as("cap", name))
            closed = (drawings.base_of(design, name), PartSpec("shell", name), cap)
            found["cap", name] = self._drawn("cap", drawings.plugged, (self.plan(name),), closed)
        for name in jumper_pictures.shown(design):
            base = verdicts.opened(design, name)
            plan = self.plan(name, base.kind)
            found["jumper", name] = self._drawn(
                "jumper", jumper_pictures.back_view, (plan,), (base,)
            )
        first = self.plan(next(iter(self.plans)))
        for key, draw in couponart.DRAWN.items():
            found["coupon", key] = self._drawn(f"coupon {key}", draw, (first,), ())
        hung = panelart.hanging_base(design)
        found["hanging", ""] = self._drawn(
            "hanging",
            panelart.hanging,
            (self.plan(hung.design, hung.kind),),
            (hung,),
            self.viewed(hung.design),
        )
        for name in self.plans:
            for key, (draw, words) in panelart.steps_of(design, name).items():
                found[key, name] = self._step_drawn(key, draw, name, words)
        found |= {("exploded", name): self.exploded(name) for name in self.plans}
        found |= {("view", name): self.viewed(name) for name in self.plans}
        lit, job = lightpictures.lit(design), design.job
        found |= {("sections", name): self.sections(name) for name in lit}
        bright = job.power.brightness or 1.0
        inside = {name: colours.reflectance(job, plan.params) for name, plan in self.plans.items()}
        plans = {name: lighting(plan) for name, plan in self.plans.items()}
        faces = {
            name: Product(
                "lit face",
                lightpictures.face_bytes,
                (plans[name], inside[name]),
                (),
                lightpictures.face_of,
                2.0,
            )
            for name in lit
        }
        for name, face in faces.items():
            values = (plans[name], inside[name], bright, job.light)
            drawn, read = lightpictures.light_bytes, lightpictures.design_pictures
            found["light", name] = Product("light pictures", drawn, values, (face,), read, 2.0)
        if lit:
            make, seen = lightpictures.wall_bytes, lightpictures.wall_picture
            for key, room_lx in (("light", 0.0), ("daylight", lightpictures.DAY_LX)):
                wall = (design.layout, plans, bright, room_lx)
                needs = tuple(faces.values())
                found[key, ""] = Product(f"{key} wall", make, wall, needs, seen, 1.0)
        return found

    # -- choices, and what they make known
    # -----------------------------------------------------------------

    @cached_property
    def design(self) -> Design:
        """All choices of the job.

        What every wall of these designs needs is begun before they are made.
        """
        design = decide(self.given, self._weights)
        self.__dict__["design"] = design  # what is begun asks for it
        self.run.begin(self.wanted)
        return design

    def _weights(self, plans: Mapping[str, Plan], layout: Any) -> Any:
        self.refuse(plans)
        self.plans = plans
        weighed = [
            spec
            for name in plans
            for spec in (plain_base(name), PartSpec("shell", name), PartSpec("clip", name))
        ]
        lit = [name for name, plan in plans.items() if not plan.params.board.none]
        self.run.begin([self.layers(spec) for spec in weighed])
        self.run.begin(self.light(name) for name in lit)
        self.run.begin(
            self.part(PartSpec(part, name)) for name in plans for part in ("diffuser", "cap")
        )
        self.run.begin(self.part(PartSpec("board", name)) for name in lit)

        def counted(spec: PartSpec) -> weigh.Counted:
            return self.run.value(self.figures(spec)), self.run.value(self.layers(spec))

        return weigh.weigh_all(self.given.shop, plans, layout, counted)

    @cached_property
    def specs(self) -> list[PartSpec]:
        """Every part of the job: printed ones, sheets, boards."""
        plans = self.design.plans
        found = [spec for spec, _ in self.design.printed] + [
            PartSpec("diffuser", name) for name in plans
        ]
        return found + [
            PartSpec("board", name) for name, plan in plans.items() if not plan.params.board.none
        ]

    @cached_property
    def judged(self) -> list[list[Product[list[Verdict]]]]:
        """All checks that are products: light, prints, then what is measured on assembled
        solids.
        """
        design = self.design
        measured: list[Product[list[Verdict]]] = []
        for spec in verdicts.proven_bases(design):
            measured += [self.fits(spec), self.leaks(spec)]
        measured += [self.joint(pair) for pair in verdicts.joined_pairs(design)]
        measured += [
            self.jumper(pair) for pair in verdicts.joined_pairs(design, design.table.jumpers)
        ]
        lit = [
            self.light(name) for name, plan in design.plans.items() if not plan.params.board.none
        ]
        return [lit, [self.on_bed(spec) for spec, _ in design.printed], measured]

    @cached_property
    def steps(self) -> dict[str, Product[bytes]]:
        """A STEP file a part by name; a diffuser with a stencil in place of the plain one, or
        beside it.
        """
        found = {spec.name: self.step(spec) for spec in self.specs}
        found |= {one.item: self.stencil(one) for one in models.stencils(self.design)}
        found = dict(sorted(found.items()))
        return found | {
            "assembly-panel": self.assembly("assembly-panel", False),
            "assembly": self.assembly("assembly", True),
        }

    @property
    def wanted(self) -> list[Product[Any]]:
        """What is known of the design to be asked for."""
        found: list[Product[Any]] = []
        if CHECKS in self.wants:
            found += [self.figures(spec) for spec in self.specs]
            found += [self.layers(spec) for spec in self.counted]
            found += [one for some in self.judged for one in some]
        if "print" in self.wants:
            found += [self.stl(spec) for spec, _ in self.design.printed]
        if "model" in self.wants:
            found += self.steps.values()
        if "book" in self.wants:
            found += self.shown.values()
        return found

    # -- what is asked for
    # -----------------------------------------------------------------------------------

    @cached_property
    def early(self) -> tuple[Verdict, ...]:
        """The checks that need neither solid nor nest."""
        return verdicts.early_verdicts(self.design)

    @cached_property
    def counted(self) -> list[PartSpec]:
        """The parts whose layers are counted."""
        return list(dict.fromkeys(prints.counted_as(spec) for spec, _ in self.design.printed))

    @cached_property
    def made(self) -> dict[PartSpec, Figures]:
        """Figures of every part, and of those that stand for others."""
        specs = list(dict.fromkeys([*self.specs, *self.counted]))
        return dict(
            zip(specs, self.run.values([self.figures(spec) for spec in specs]), strict=True)
        )

    @cached_property
    def prepared(self) -> Prepared:
        """Nest, plates, template, and what each part uses up."""
        from fab.outputs.prepared import prepare

        layers = dict(
            zip(
                self.counted,
                self.run.values([self.layers(spec) for spec in self.counted]),
                strict=True,
            )
        )
        found = prepare(self.design, self.made, layers, self.search)
        if "print" in self.wants:
            self.run.begin(self.plate(plate) for plate in found.plates)
        return found

    @cached_property
    def checks(self) -> tuple[Verdict, ...]:
        """All checks; the order is that of the rooms, so that two runs tell the same."""
        from fab.checks.hang import template_checks

        template, sheets = (
            template_checks(self.prepared.template.tiling),
            verdicts.cut_verdicts(self.prepared),
        )
        light, prints_, fits = (
            [one for some in self.run.values(group) for one in some] for group in self.judged
        )
        lit = verdicts.tried_light(self.design, self.early, light)
        return (*self.early, *template, *lit, *sheets, *prints_, *fits)

    @cached_property
    def listed(self) -> Listed:
        """Counts and lists."""
        from fab.outputs.assemble import listed

        return listed(self.design, self.prepared)

    def files(self, kind: str) -> list[OutFile]:
        """All files of a kind but the book's, read back."""
        from fab.outputs.assemble import drawn
        from fab.outputs.model import OutFile

        if kind == "print":
            printed = [self.stl(spec) for spec, _ in self.design.printed]
            printed += [self.plate(plate) for plate in self.prepared.plates]
            names = prints.names(self.design, self.prepared.plates)
            data = self.run.values(printed)
            return [
                OutFile(path, role, one, part, count)
                for (path, role, part, count), one in zip(names, data, strict=True)
            ]
        if kind == "model":
            data = self.run.values(list(self.steps.values()))
            return [
                OutFile(f"model/{name}.step", "model", one, name, 1)
                for name, one in zip(self.steps, data, strict=True)
            ]
        return drawn(kind, self.design, self.prepared, self.listed)

    def pictures(self) -> dict[tuple[str, str], Any]:
        """Every picture that takes long, for the book."""
        found = self.shown
        return dict(zip(found, self.run.values(list(found.values())), strict=True))

    def meshes(self, specs: Sequence[PartSpec]) -> dict[PartSpec, Made]:
        """Parts with mesh and solid."""
        return dict(zip(specs, self.run.values([self.part(spec) for spec in specs]), strict=True))
