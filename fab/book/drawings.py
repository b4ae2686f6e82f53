"""Line drawings of the real solids for the book: a panel pulled apart, parts on the bed, clips, caps and the inlet."""

from __future__ import annotations

import json
from collections.abc import Mapping
from functools import partial
from typing import Any

from fab.book import jumpers
from fab.book.facts import BookFacts
from fab.book.pagestore import page_of, to_plain
from fab.book.pictures import art_page, art_task, drawn
from fab.decisions import Design
from fab.layout.model import BaseKind
from fab.outlines.page import Page
from fab.parts.plan import Plan
from fab.products import ROOMS, Made, PartSpec, depends
from fab.solids.hiddenline import LineArt
from fab.store import Store, Task
from fab.verdicts import printed_of

EYE = (0.5, -1.0, 0.8)  # from the front, a little above and to the right
FROM_BACK = (-0.45, -0.8, -1.2)
FROM_THE_EDGE = (1.0, -0.75, 0.75)  # edge 0 towards the eye
OUT_MM = 26.0  # how far a part is drawn off the place that it goes to


def base_of(made: Mapping[PartSpec, Made], design: str, *, inlet: bool = False) -> Made:
    """A base of a design for a picture: with an inlet when asked and there is one; else the plainest."""
    bases = [part for spec, part in made.items() if spec.part == "base" and spec.design == design and spec.kind is not None]
    bases.sort(key=lambda part: (_kind(part).inlet != inlet, bool(_kind(part).label), _kind(part).key))
    return bases[0]


def _kind(part: Made) -> BaseKind:
    assert part.spec.kind is not None
    return part.spec.kind


def tasks(design: Design, made: Mapping[PartSpec, Made]) -> list[Task]:
    """All that a book draws."""
    lit = [name for name, plan in design.plans.items() if not plan.params.board.none]
    found = [_part_task(design, made, spec) for spec, _ in design.printed]
    found += [_inlet_task(design, made, name) for name in with_inlet(design)]
    found += [_clips_task(design, made, name) for name in joined(design)]
    found += [_cap_task(design, made, name) for name in capped(design)]
    found += [jumpers.jumper_task(design, made, name) for name in jumpers.shown(design)]
    found += [_exploded_task(design, made, name) for name in design.plans]
    found += [_sections_task(design, made, name) for name in lit]
    return found


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


def exploded_page(facts: BookFacts, name: str, width: float = 110.0) -> Page:
    """Base, board, shell and diffuser of a design pulled apart along the axis."""
    return exploded_of(facts.design, facts.made, facts.store, name, width)


def exploded_of(design: Design, made: Mapping[PartSpec, Made], store: Store, name: str, width: float) -> Page:
    """The same from the bare values."""
    art = drawn(store, _exploded_task(design, made, name))
    return art_page(art, width, 150.0, "One panel pulled apart", "From the wall outwards: base, circuit board with LEDs, shell, diffuser.")


def _exploded_task(design: Design, made: Mapping[PartSpec, Made], name: str) -> Task:
    plan, base = design.plans[name], base_of(made, name)
    parts = (base, made[PartSpec("shell", name)], made[PartSpec("diffuser", name)])
    return art_task("exploded", _values(plan, base), partial(_exploded, plan, *parts))


def _exploded(plan: Plan, base: Made, shell: Made, diffuser: Made) -> LineArt:
    from fab.parts.board import board_parts
    from fab.solids.hiddenline import line_art
    from fab.solids.kernel import moved, turned

    gap = plan.cell.circumradius * 0.55
    back = -360.0 * _kind(base).steps / plan.cell.sides
    solids: list[Any] = [base.solid]
    solids += [moved(turned(solid, back), 0, 0, gap * 0.8) for _, solid in board_parts(plan)]
    solids.append(moved(shell.solid, 0, 0, plan.shell_z + gap * 1.7))
    solids.append(moved(diffuser.solid, 0, 0, gap * 2.6))
    return line_art(solids, EYE)


def _values(plan: Plan, base: Made) -> Any:
    return [depends(plan, base.spec), plan.params.led.pattern]


def sections(facts: BookFacts, name: str, plan: Plan) -> Page:
    """Dimensioned sections of the solids, in which every clearance is seen."""
    assert plan is facts.design.plans[name]
    return facts.store.read(_sections_task(facts.design, facts.made, name), page_of)


def _sections_task(design: Design, made: Mapping[PartSpec, Made], name: str) -> Task:
    values = depends(design.plans[name], PartSpec("shell", name))
    return Task("sections", values, (*ROOMS, "book", "verdicts"), partial(_sections, design, made, name))


def _sections(design: Design, made: Mapping[PartSpec, Made], name: str) -> bytes:
    from fab.parts.section import section_page

    base = next(spec for spec in made if spec.part == "base" and spec.design == name)
    return json.dumps(to_plain(section_page(design.plans[name], printed_of(design, made, base)))).encode()


def part_page(facts: BookFacts, spec: PartSpec, width: float = 60.0) -> Page:
    """One printed part as it lies on the bed."""
    art = drawn(facts.store, _part_task(facts.design, facts.made, spec))
    return art_page(art, width, 60.0, spec.name, f"{spec.name} in print orientation, seen from the front of the bed.")


def _part_task(design: Design, made: Mapping[PartSpec, Made], spec: PartSpec) -> Task:
    return art_task(f"part {spec.part}", depends(design.plans[spec.design], spec), partial(_part, made[spec]))


def _part(part: Made) -> LineArt:
    from fab.solids.hiddenline import line_art

    return line_art([part.solid], EYE)


def clip_page(facts: BookFacts, design: str, width: float = 110.0) -> Page:
    """Back view of a joint: two bases face down with one clip in and one above its pockets."""
    art = drawn(facts.store, _clips_task(facts.design, facts.made, design))
    says = "Back view, mirrored left to right: two bases side by side, a clip pushed into its pockets and one above them."
    return art_page(art, width, 90.0, "Clips from the back", says)


def _clips_task(design: Design, made: Mapping[PartSpec, Made], name: str) -> Task:
    plan, base, clip = design.plans[name], base_of(made, name), PartSpec("clip", design.same_as("clip", name))
    return art_task("clips", [*_values(plan, base), depends(plan, clip)], partial(_clips, plan, base, made[clip]))


def _clips(plan: Plan, base: Made, clip: Made) -> LineArt:
    from fab.parts.clip import clip_in_place
    from fab.solids.hiddenline import line_art
    from fab.solids.kernel import moved, turned

    neighbour = moved(turned(base.solid, 180.0), 2 * plan.cell.apothem, 0, 0)
    inside = clip_in_place(plan, clip.solid, 1)
    above = moved(clip_in_place(plan, clip.solid, -1), 0, 0, -22.0)
    return line_art([base.solid, neighbour, inside, above], FROM_BACK, (0.0, 1.0, 0.0))


def cap_page(facts: BookFacts, name: str, width: float = 72.0) -> Page:
    """A closed panel and a cap on its way to edge 0."""
    art = drawn(facts.store, _cap_task(facts.design, facts.made, name))
    return art_page(art, width, 70.0, "A cap on its way", "A closed panel; a cap is pushed into the window of an open edge from outside.")


def _cap_task(design: Design, made: Mapping[PartSpec, Made], name: str) -> Task:
    plan, base, cap = design.plans[name], base_of(made, name), PartSpec("cap", design.same_as("cap", name))
    values = [*_values(plan, base), depends(plan, cap)]
    return art_task("cap", values, partial(_cap, plan, base, made[PartSpec("shell", name)], made[cap]))


def _cap(plan: Plan, base: Made, shell: Made, cap: Made) -> LineArt:
    from fab.solids.hiddenline import line_art
    from fab.solids.kernel import moved, tilted

    upright = moved(tilted(cap.solid, "y", -90.0), plan.cell.apothem - plan.params.gap / 2 + OUT_MM, 0.0, plan.axis_z)
    return line_art([base.solid, moved(shell.solid, 0.0, 0.0, plan.shell_z), upright], FROM_THE_EDGE)


def inlet_page(facts: BookFacts, name: str, width: float = 72.0) -> Page:
    """A base with an inlet, the receptacle with its board over the cradle."""
    art = drawn(facts.store, _inlet_task(facts.design, facts.made, name))
    return art_page(art, width, 70.0, "The inlet", "A base with its cradle at edge 0; receptacle and board are drawn over it.")


def _inlet_task(design: Design, made: Mapping[PartSpec, Made], name: str) -> Task:
    plan, base = design.plans[name], base_of(made, name, inlet=True)
    return art_task("inlet", _values(plan, base), partial(_inlet, plan, base))


def _inlet(plan: Plan, base: Made) -> LineArt:
    from fab.parts.bought import receptacle
    from fab.solids.hiddenline import line_art
    from fab.solids.kernel import moved

    bought = [moved(solid, 0.0, 0.0, OUT_MM) for part, solid in receptacle(plan) if part != "plug"]
    return line_art([base.solid, *bought], FROM_THE_EDGE)
