"""Products of the parts: bodies, bases, shells, clips ..., their figures and counts of layers."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from functools import partial
from typing import TYPE_CHECKING, Any

from fab import colours, products
from fab.graph.product import Product
from fab.layout.model import BaseKind
from fab.light import facestore
from fab.params.job import Job
from fab.parts.base_name import on_free_floor
from fab.parts.plan import Plan
from fab.prints import counting
from fab.products import Figures, Made, PartSpec, bare_kind, lighting, shaping

if TYPE_CHECKING:
    from fab.light.face import Face


COSTS = {"shell": 7.0, "clip": 4.0, "board": 2.0}


class PartProducts:
    """The parts of a job; `plans` are set once they are known to be such that can be built."""

    def __init__(self, job: Job) -> None:
        self.job = job
        self.plans: Mapping[str, Plan] = {}
        self._parts: dict[PartSpec, Product[Made]] = {}  # each is needed by many
        self._plans: dict[tuple[str, bool], Plan] = {}

    def plan(self, design: str, kind: BaseKind | None = None) -> Plan:
        """The plan that shapes the solids of a design."""
        at = design, kind is not None and bool(kind.jumpers)
        return self._plans.get(at) or self._plans.setdefault(at, shaping(self.plans[design], kind))

    def body(self, design: str, *, inlet: bool, steps: int) -> Product[bytes]:
        """The base without openings and name as a BREP, mounted `steps` edges further."""
        plan = self.plan(design)
        blank = Product("base blank", products.blank, (plan,), (), products.is_brep, 3.0)
        values = (plan.mounted(steps), inlet)
        return Product("base body", products.body, values, (blank,), products.is_brep, 4.0)

    def part(self, spec: PartSpec) -> Product[Made]:
        """A part with mesh and exact solid."""
        return self._parts.get(spec) or self._parts.setdefault(spec, self._part(spec))

    def _part(self, spec: PartSpec) -> Product[Made]:
        name, read = f"part {spec.part}", partial(products.made, spec)
        plan, kind = self.plan(spec.design, spec.kind), spec.kind
        if kind is None:
            cost = COSTS.get(spec.part, 1.0)
            return Product(name, products.part, (plan, spec.part), read=read, cost=cost)
        shared, values = self.nameless(spec), (plan, bare_kind(kind))
        if shared is not None:
            return Product(name, products.named_base, values, (self.part(shared),), read, 2.0)
        body = self.body(spec.design, inlet=kind.inlet, steps=kind.steps)
        return Product(name, products.base_on, values, (body,), read, 5.0)

    def nameless(self, spec: PartSpec) -> PartSpec | None:
        """The base that this one is but for its name; None for all that are made whole."""
        kind = spec.kind
        if kind is None or not kind.label or not on_free_floor(self.plans[spec.design]):
            return None
        return PartSpec("base", spec.design, dataclasses.replace(bare_kind(kind), label=""))

    def figures(self, spec: PartSpec) -> Product[Figures]:
        """The same part; its figures alone are read."""
        whole, read = self.part(spec), partial(products.figures, spec)
        return Product(whole.name, whole.make, whole.values, whole.needs, read, whole.cost)

    def face(self, design: str) -> Product[Face]:
        """The lit face of a design at full white."""
        values = lighting(self.plans[design]), self.reflectance(design)
        return Product("lit face", facestore.face_bytes, values, (), facestore.face_of, 6.0)

    def reflectance(self, design: str) -> float:
        """Share of the light that the inside of a design's walls throws back."""
        return colours.reflectance(self.job, self.plans[design].params)

    def layers(self, spec: PartSpec) -> Product[Any]:
        """Layers, line lengths and stops of a printed part, from which grams and hours follow."""
        printer = products.only(self.job.shop.printer, counting.LINES)
        needs = (self.part(spec),)
        return Product("layer count", counting.counted, (printer,), needs, counting.layers, 5.0)
