"""Shaded pictures of the real parts for the book: a panel pulled apart, parts on the bed, clips,
caps and the inlet.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from typing import Any

from fab.book.facts import BookFacts
from fab.book.pagestore import to_plain
from fab.book.shadedart import ShadedArt, shaded_page, shape
from fab.design import Design
from fab.judges import printed_of
from fab.outlines.page import Page
from fab.parts.placed import Pose
from fab.parts.plan import Plan
from fab.products import Made, PartSpec
from fab.solids.mesh import Mesh
from fab.solids.shaded import Shaded, ShadedShape, shaded

EYE = (0.5, -1.0, 0.8)  # from the front, a little above and to the right
FROM_BACK = (-0.45, -0.8, -1.2)
FROM_INSIDE = (-0.75, -0.5, 1.1)  # edge 0 away from the eye: the near wall does not hide it
FROM_THE_EDGE = (1.0, -0.75, 0.75)  # edge 0 towards the eye
OUT_MM = 26.0  # how far a part is drawn off the place that it goes to


MOST_PARTS = 12  # pictures of parts: one for all bases of a design


def base_of(design: Design, name: str, *, inlet: bool = False) -> PartSpec:
    """A base of a design for a picture: with an inlet when asked and there is one; else the
    plainest.
    """
    kinds = [kind for (owner, _), kind in design.kinds.items() if owner == name]
    kinds.sort(key=lambda kind: (kind.inlet != inlet, bool(kind.label), kind.key))
    return PartSpec("base", name, kinds[0])


def pictured(design: Design) -> list[PartSpec]:
    """One printed part of each kind and design, the one with most to see: a base with hanger and
    inlet stands for all bases.
    """
    best: dict[tuple[str, str], PartSpec] = {}
    for spec, _ in design.printed:
        key = (spec.part, spec.design)
        if key not in best or _features(spec) > _features(best[key]):
            best[key] = spec
    return list(best.values())[:MOST_PARTS]


def _features(spec: PartSpec) -> tuple[bool, bool, bool]:
    kind = spec.kind
    return (kind.up_deg is not None, kind.inlet, bool(kind.jumpers)) if kind else (False,) * 3


def with_inlet(design: Design) -> list[str]:
    """The designs whose inlet is drawn."""
    asked = {use.kind.design for use in design.uses if use.kind.inlet}
    return [name for name in design.plans if name in asked]


def joined(design: Design) -> list[str]:
    """The design of which the clips are drawn, if any panels are joined."""
    return [design.layout.by_name[joint.a].design for joint in design.layout.joints[:1]]


def capped(design: Design) -> list[str]:
    """The design of which a cap is drawn, if any edge gets one."""
    return [panel.design for panel in design.layout.panels if design.capped[panel.name]][:1]


def exploded_page(facts: BookFacts, name: str, width: float = 130.0) -> Page:
    """Base, board, shell and diffuser of a design pulled apart along the axis, with their names in
    the parts list and how many of each the wall has.
    """
    count = sum(panel.design == name for panel in facts.design.layout.panels)
    return exploded_of(facts.pictures["exploded", name], width, count)


def exploded_of(art: ShadedArt, width: float, count: int = 0) -> Page:
    """The same from the bare picture."""
    times = f", {count} x" if count else ""
    words = {part: f"{part}{times}" for part in ("base", "board", "shell", "diffuser")}
    return shaded_page(
        art,
        width,
        150.0,
        "One panel pulled apart",
        "From the wall outwards: base, circuit board with LEDs, shell, diffuser.",
        words,
    )


def exploded(plan: Plan, base: Made, shell: Made, diffuser: Made, *carried: Any) -> Shaded:
    """Base, board, shell and diffuser pulled apart."""
    gap = plan.cell.circumradius * 0.55
    shapes = [
        shape(base.mesh, "base"),
        *on_board(plan, carried, base, gap * 0.8),
        shape(lifted(shell.mesh, plan.floor.shell_z + gap * 1.7), "shell"),
        shape(lifted(diffuser.mesh, gap * 2.6), "diffuser"),
    ]
    return shaded(shapes, EYE, columns=440)  # tall: its width takes half a page at most


ON_BOARD = {  # what sits on a board by its name in the view, and its colour
    "socket": "socket",
    "led": "LED",
    "switch": "switch",
    "tall part": "part",
}


def on_board(
    plan: Plan, carried: Sequence[Any], base: Made | None = None, by_mm: float = 0.0
) -> Iterator[ShadedShape]:
    """The board and all that sits on it, in the panel frame; lifted, and turned as it goes into a
    base.

    `carried`: the board as it was made and the meshes of the view; neither for a blank cover.
    """
    if not carried:
        return
    board, bought = carried
    steps = base.spec.kind.steps if base is not None and base.spec.kind is not None else 0
    up = Pose(shift=(0.0, 0.0, by_mm), turn_deg=-360.0 * steps / plan.cell.sides)
    yield shape(up.mesh(board.mesh), "board")
    for name, colour in ON_BOARD.items():
        if name in bought:
            yield shape(up.mesh(bought[name]), colour, named=False)


def lifted(flat: Mesh, by_mm: float) -> Mesh:
    """A mesh moved towards the viewer."""
    return Pose(shift=(0.0, 0.0, by_mm)).mesh(flat)


def section_bytes(plan: Plan, name: str, *parts: Made) -> bytes:
    """The sections of a design as a product, titled by its name."""
    from fab.parts.section import section_pages

    pages = [to_plain(page) for page in section_pages(plan, printed_of(parts), name)]
    return json.dumps({"pages": pages}).encode()


def part_page(facts: BookFacts, spec: PartSpec, width: float = 60.0) -> Page:
    """One printed part as it lies on the bed."""
    art = facts.pictures["part", spec.name]
    return shaded_page(
        art,
        width,
        60.0,
        spec.name,
        f"{spec.name} in print orientation, seen from the front of the bed.",
    )


def lying(part: Made) -> Shaded:
    """A part as it lies on the bed."""
    return shaded([shape(part.mesh, part.spec.part)], EYE, columns=400)


def clip_page(facts: BookFacts, design: str, width: float = 110.0) -> Page:
    """Back view of a joint: two bases face down with one clip in and one above its pockets."""
    art = facts.pictures["clips", design]
    says = (
        "Back view, mirrored left to right: two bases side by side, a clip pushed into its pockets"
        " and one above them."
    )
    return shaded_page(art, width, 90.0, "Clips from the back", says)


def clips(plan: Plan, base: Made, clip: Made) -> Shaded:
    """Two bases face down, one clip in and the others above their pockets."""
    own, half = base.mesh, plan.params.clip.width / 2
    shapes = [
        shape(own, "base"),
        shape(Pose(shift=(-2 * plan.cell.apothem, 0.0, 0.0), turn_deg=180.0).mesh(own), "base"),
    ]
    for k, at in enumerate(plan.clip.places):
        out = 0.0 if k == 0 else -22.0
        pose = Pose((1, -3, 2), (plan.cell.apothem, at + half, out))
        shapes.append(shape(pose.mesh(clip.mesh), "clip"))
    return shaded(shapes, FROM_BACK, (0.0, 1.0, 0.0))


def cap_page(facts: BookFacts, name: str, width: float = 72.0) -> Page:
    """A closed panel and a cap on its way to edge 0."""
    art = facts.pictures["cap", name]
    return shaded_page(
        art,
        width,
        70.0,
        "A cap on its way",
        "A closed panel; a cap is pushed into the window of an open edge from outside.",
    )


def plugged(plan: Plan, base: Made, shell: Made, cap: Made) -> Shaded:
    """A closed panel and a cap on its way."""
    out = plan.cell.apothem - plan.params.gap / 2 + OUT_MM
    upright = Pose((-3, 2, 1), (out, 0.0, plan.heights.axis_z)).mesh(cap.mesh)
    shapes = [
        shape(base.mesh, "base"),
        shape(lifted(shell.mesh, plan.floor.shell_z), "shell"),
        shape(upright, "cap"),
    ]
    return shaded(shapes, FROM_THE_EDGE, columns=460)


def inlet_page(facts: BookFacts, name: str, width: float = 72.0) -> Page:
    """A base with an inlet, seen from its middle: the receptacle with its board over the cradle, or
    the cable tied between its ribs.
    """
    says = "A base with its cradle at edge 0; receptacle and board are drawn over it."
    if facts.design.plans[name].params.inlet.kind == "round":
        says = "A base with the cable of its inlet, held by a cable tie between two ribs at edge 0."
    return shaded_page(facts.pictures["inlet", name], width, 70.0, "The inlet", says)


def inlet(plan: Plan, base: Made) -> Shaded:
    """A base with receptacle and board over its cradle, or with its cable, tied."""
    from fab.parts.bought import receptacle, tie
    from fab.solids.meshing import mesh

    if plan.params.inlet.kind == "round":
        ((name, cable),) = receptacle(plan)
        held = [shape(mesh(cable, name), "inlet"), shape(mesh(tie(plan), "tie"), "tie")]
        return shaded([shape(base.mesh, "base"), *held], FROM_INSIDE, columns=460)
    bought = [
        shape(lifted(mesh(solid, part), OUT_MM), "board" if "board" in part else "inlet")
        for part, solid in receptacle(plan)
        if part != "plug"
    ]
    return shaded([shape(base.mesh, "base"), *bought], FROM_INSIDE, columns=460)
