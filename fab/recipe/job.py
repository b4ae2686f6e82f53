"""The recipe of one job in one run: asked by commands, each for what it wants.

`check`, `build`, `watch`, `sweep`, `compare` and `pictures` ask it for different things. What takes
long is a product of the graph and begun as soon as it is known.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from contextlib import suppress
from functools import cached_property
from typing import TYPE_CHECKING, Any, TypeVar

from fab import verdicts, weigh
from fab.built import CHECKS
from fab.checks.model import Verdict
from fab.decisions import decide
from fab.design import Design
from fab.graph.product import Product
from fab.graph.run import Run
from fab.outputs import prints
from fab.params.job import Job
from fab.products import Figures, Made, PartSpec, plain_base
from fab.recipe import checks, files, pictures
from fab.recipe.parts import PartProducts

if TYPE_CHECKING:
    from fab.outputs.assemble import Listed
    from fab.outputs.model import OutFile
    from fab.outputs.nested import Search
    from fab.outputs.prepared import Prepared
    from fab.parts.plan import Plan

K = TypeVar("K")
T = TypeVar("T")
Refuse = Callable[[Mapping[str, "Plan"]], None]


class Recipe:
    """Everything that can be made of one job in one run; `wants` is begun in good time."""

    def __init__(
        self,
        job: Job,
        run: Run,
        wants: Sequence[str],
        refuse: Refuse,
        search: Callable[[], Search | None] = lambda: None,
    ) -> None:
        self.given, self.run, self.wants = job, run, frozenset(wants)
        self.search = search  # asked while others make the first parts: it loads much
        self.refuse = refuse  # raises for plans that can't be built, before a solid is asked for
        self.parts = PartProducts(job)
        self._drawn: dict[str, list[OutFile]] = {}

    # -- choices, and what they make known

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
        self.parts.plans = plans
        weighed = [
            spec
            for name in plans
            for spec in (plain_base(name), PartSpec("shell", name), PartSpec("clip", name))
        ]
        lit = [name for name, plan in plans.items() if not plan.params.board.none]
        self.run.begin([self.parts.layers(spec) for spec in weighed])
        self.run.begin(checks.light(self.parts, name) for name in lit)
        self.run.begin(
            self.parts.part(PartSpec(part, name)) for name in plans for part in ("diffuser", "cap")
        )
        self.run.begin(self.parts.part(PartSpec("board", name)) for name in lit)

        def counted(spec: PartSpec) -> weigh.Counted:
            return self.run.value(self.parts.figures(spec)), self.run.value(self.parts.layers(spec))

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
        """All checks that are products: light, prints, then measures on assembled solids."""
        return checks.judged(self.parts, self.design)

    @cached_property
    def steps(self) -> dict[str, Product[bytes]]:
        """A STEP file a part by name, and the assemblies."""
        return files.steps(self.parts, self.design, self.specs)

    @property
    def shown(self) -> dict[tuple[str, str], Product[Any]]:
        """Every picture that takes long, by what it shows and of which part or design."""
        return pictures.shown(self.parts, self.design)

    @property
    def wanted(self) -> list[Product[Any]]:
        """Everything known of the design that will be asked for."""
        found: list[Product[Any]] = []
        if CHECKS in self.wants:
            found += [self.parts.figures(spec) for spec in self.specs]
            found += [self.parts.layers(spec) for spec in self.counted]
            found += [one for some in self.judged for one in some]
        if "print" in self.wants:
            found += [files.stl(self.parts, spec) for spec, _ in self.design.printed]
        if "model" in self.wants:
            found += self.steps.values()
        if "book" in self.wants:
            found += self.shown.values()
        return found

    # -- what is asked for

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
        return self._each({one: self.parts.figures(one) for one in (*self.specs, *self.counted)})

    @cached_property
    def prepared(self) -> Prepared:
        """Nest, plates, template, and what each part uses up."""
        from fab.outputs.prepared import prepare

        layers = self._each({spec: self.parts.layers(spec) for spec in self.counted})
        found = prepare(self.design, self.made, layers, self.search())
        if "print" in self.wants:
            self.run.begin(self._plate(plate) for plate in found.plates)
        return found

    @cached_property
    def checks(self) -> tuple[Verdict, ...]:
        """All checks; the order is that of the rooms, so that two runs tell the same."""
        from fab.checks.hang_order import template_checks

        template = template_checks(self.prepared.template.tiling)
        sheets = verdicts.cut_verdicts(self.prepared)
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

    def draw(self, kinds: Sequence[str]) -> None:
        """Draw the files that need values alone, while other processes measure.

        A fault comes again when the files are asked for: after the checks, which say more of it.
        """
        if self.run.workers > 1 and all(one.verdict != "fail" for one in self.early):
            for kind in kinds:
                if kind not in ("print", "model", "book"):
                    with suppress(Exception):
                        self.files(kind)

    def files(self, kind: str) -> list[OutFile]:
        """All files of a kind but the book's, read back."""
        from fab.outputs.assemble import drawn
        from fab.outputs.model import OutFile

        if kind == "print":
            plates = self.prepared.plates
            printed = [files.stl(self.parts, spec) for spec, _ in self.design.printed]
            printed += [self._plate(plate) for plate in plates]
            names = prints.names(self.design, plates)
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
        if kind not in self._drawn:
            self._drawn[kind] = drawn(kind, self.design, self.prepared, self.listed)
        return self._drawn[kind]

    def _plate(self, plate: Any) -> Product[bytes]:
        return files.plate(self.parts, self.design, plate)

    def pictures(self) -> dict[tuple[str, str], Any]:
        """Every picture that takes long, for the book."""
        return self._each(self.shown)

    def meshes(self, specs: Sequence[PartSpec]) -> dict[PartSpec, Made]:
        """Parts with mesh and solid."""
        return self._each({spec: self.parts.part(spec) for spec in specs})

    def _each(self, wanted: Mapping[K, Product[T]]) -> dict[K, T]:
        """The values of products, under the same keys."""
        return dict(zip(wanted, self.run.values(list(wanted.values())), strict=True))
