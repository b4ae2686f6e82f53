"""Products of the book's pictures that take long: shaded parts, sections, light, meshes to view."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Any

from fab import judges
from fab.book import couponart, drawings, lightpictures, pagestore, panelart, shadedart, viewparts
from fab.book import jumpers as jumper_pictures
from fab.design import Design
from fab.graph.product import Product
from fab.products import PartSpec, lighting
from fab.recipe.parts import PartProducts

if TYPE_CHECKING:
    from fab.outlines.page import Page


def _drawn(
    parts: PartProducts,
    name: str,
    draw: Callable[..., Any],
    values: Sequence[Any],
    specs: Sequence[PartSpec] = (),
    others: Sequence[Product[Any]] = (),
) -> Product[Any]:
    needs = (*(parts.part(spec) for spec in specs), *others)
    return Product(
        f"drawing {name}", shadedart.art_bytes, (draw, *values), needs, shadedart.art, 2.0
    )


def _step_drawn(
    parts: PartProducts, design: Design, name: str, step: tuple[str, Callable[..., Any], str]
) -> Product[Any]:
    """A picture of a design's parts: its name, what draws it, and the words of the parts, last the
    view where bought things are among them.
    """
    key, draw, words = step
    base = drawings.base_of(design, name)
    named = words.split()
    seen = [viewed(parts, design, name)] if named[-1] == "view" else []
    specs = [
        base if word == "base" else PartSpec(word, name) for word in named[: len(named) - len(seen)]
    ]
    return _drawn(parts, key, draw, (parts.plan(name),), specs, seen)


def exploded(parts: PartProducts, design: Design, name: str) -> Product[Any]:
    """The exploded view of one panel as a page."""
    words = f"base shell diffuser {panelart.carried(parts.plans[name])}"
    return _step_drawn(parts, design, name, ("exploded", drawings.exploded, words))


def viewed(parts: PartProducts, design: Design, name: str) -> Product[Any]:
    """Bought parts of a design for the view in three dimensions."""
    kinds = [kind for (owner, _), kind in design.kinds.items() if owner == name]
    opened = next((kind for kind in kinds if kind.jumpers), None)
    hangs = any(kind.up_deg is not None for kind in kinds)
    values = (parts.plan(name, opened), hangs, opened is not None)
    return Product("view", viewparts.view_bytes, values, (), viewparts.view_meshes, 0.5)


def sections(parts: PartProducts, design: Design, name: str) -> Product[tuple[Page, ...]]:
    """The sections of one panel as pages, titled by the design's name in the job."""
    values = parts.plan(name), parts.plans[name].params.name
    panel = judges.panel_specs(design, drawings.base_of(design, name))
    needs = tuple(parts.part(spec) for spec in panel)
    return Product("sections", drawings.section_bytes, values, needs, pagestore.pages_of, 2.0)


def shown(parts: PartProducts, design: Design) -> dict[tuple[str, str], Product[Any]]:
    """Every picture that takes long, by what it shows and of which part or design."""
    found = _of_parts(parts, design)
    hung = panelart.hanging_base(design)
    plan, seen = parts.plan(hung.design, hung.kind), viewed(parts, design, hung.design)
    found["hanging", ""] = _drawn(parts, "hanging", panelart.hanging, (plan,), (hung,), [seen])
    for name in parts.plans:
        for key, (draw, words) in panelart.steps_of(design, name).items():
            found[key, name] = _step_drawn(parts, design, name, (key, draw, words))
    found |= {("exploded", name): exploded(parts, design, name) for name in parts.plans}
    found |= {("view", name): viewed(parts, design, name) for name in parts.plans}
    lit = design.lit_designs
    found |= {("sections", name): sections(parts, design, name) for name in lit}
    return found | _of_light(parts, design, lit)


def _of_parts(parts: PartProducts, design: Design) -> dict[tuple[str, str], Product[Any]]:
    """Shaded pictures of single parts, of parts that meet, and of coupons."""
    found: dict[tuple[str, str], Product[Any]] = {}
    for spec in drawings.pictured(design):
        found["part", spec.name] = _drawn(parts, f"part {spec.part}", drawings.lying, (), (spec,))
    for name in drawings.with_inlet(design):
        base = drawings.base_of(design, name, inlet=True)
        found["inlet", name] = _drawn(parts, "inlet", drawings.inlet, (parts.plan(name),), (base,))
    for name in drawings.joined(design):
        joined = (drawings.base_of(design, name), PartSpec("clip", design.same_as("clip", name)))
        found["clips", name] = _drawn(parts, "clips", drawings.clips, (parts.plan(name),), joined)
    for name in drawings.capped(design):
        cap = PartSpec("cap", design.same_as("cap", name))
        closed = (drawings.base_of(design, name), PartSpec("shell", name), cap)
        found["cap", name] = _drawn(parts, "cap", drawings.plugged, (parts.plan(name),), closed)
    for name in jumper_pictures.shown(design):
        base = judges.opened(design, name)
        values, back = (parts.plan(name, base.kind),), jumper_pictures.back_view
        found["jumper", name] = _drawn(parts, "jumper", back, values, (base,))
    first = next(iter(parts.plans))
    of, clip, body = (
        (parts.plan(first),),
        PartSpec("clip", first),
        parts.body(first, inlet=False, steps=0),
    )
    found["coupon", "fit"] = _drawn(parts, "coupon fit", couponart.fit, of)
    found["coupon", "snap"] = _drawn(parts, "coupon snap", couponart.snap, of, (clip,), [body])
    return found


def _of_light(
    parts: PartProducts, design: Design, lit: Sequence[str]
) -> dict[tuple[str, str], Product[Any]]:
    """The lit wall, by night and by day, and the light of each design that has any."""
    job, light = design.job, lightpictures
    bright = job.power.brightness or 1.0
    plans = {name: lighting(plan) for name, plan in parts.plans.items()}
    found: dict[tuple[str, str], Product[Any]] = {}
    faces = []
    for name in lit:
        faces.append(parts.face(name))
        more = (plans[name], parts.reflectance(name), bright, job.light)
        read = light.design_pictures
        found["light", name] = Product(
            "light pictures", light.light_bytes, more, (faces[-1],), read, 5.0
        )
    for key, room_lx in (("light", 0.0), ("daylight", light.DAY_LX)) if lit else ():
        wall, needs = (design.layout, plans, bright, room_lx), tuple(faces)
        found[key, ""] = Product(
            f"{key} wall", light.wall_bytes, wall, needs, light.wall_picture, 1.0
        )
    return found
