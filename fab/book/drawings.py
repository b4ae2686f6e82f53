"""Line drawings of the real solids for the book: a panel pulled apart, parts on the bed, clips,
caps and the inlet.
"""

from __future__ import annotations

import json
from typing import Any

from fab.book.facts import BookFacts
from fab.book.pagestore import to_plain
from fab.book.pictures import art_page
from fab.decisions import Design
from fab.outlines.page import Page
from fab.parts.plan import Plan
from fab.products import Made, PartSpec
from fab.solids.hiddenline import LineArt
from fab.verdicts import printed_of

EYE = (0.5, -1.0, 0.8)  # from the front, a little above and to the right
FROM_BACK = (-0.45, -0.8, -1.2)
FROM_THE_EDGE = (1.0, -0.75, 0.75)  # edge 0 towards the eye
OUT_MM = 26.0  # how far a part is drawn off the place that it goes to


MOST_PARTS = 12  # pictures of parts; bases that differ by their name alone are alike to the eye


def base_of(design: Design, name: str, *, inlet: bool = False) -> PartSpec:
    """A base of a design for a picture: with an inlet when asked and there is one; else the
    plainest.
    """
    kinds = [kind for (owner, _), kind in design.kinds.items() if owner == name]
    kinds.sort(key=lambda kind: (kind.inlet != inlet, bool(kind.label), kind.key))
    return PartSpec("base", name, kinds[0])


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
    return exploded_of(facts.pictures["exploded", name], width)


def exploded_of(art: LineArt, width: float) -> Page:
    """The same from the bare drawing."""
    return art_page(
        art,
        width,
        150.0,
        "One panel pulled apart",
        "From the wall outwards: base, circuit board with LEDs, shell, diffuser.",
    )


def exploded(plan: Plan, base: Made, shell: Made, diffuser: Made) -> LineArt:
    """Base, board, shell and diffuser pulled apart."""
    from fab.parts.board import board_parts
    from fab.solids.hiddenline import line_art
    from fab.solids.kernel import moved, turned

    gap = plan.cell.circumradius * 0.55
    steps = base.spec.kind.steps if base.spec.kind is not None else 0
    back = -360.0 * steps / plan.cell.sides
    solids: list[Any] = [base.solid]
    solids += [moved(turned(solid, back), 0, 0, gap * 0.8) for _, solid in board_parts(plan)]
    solids.append(moved(shell.solid, 0, 0, plan.floor.shell_z + gap * 1.7))
    solids.append(moved(diffuser.solid, 0, 0, gap * 2.6))
    return line_art(solids, EYE)


def sections(facts: BookFacts, name: str, plan: Plan) -> Page:
    """Dimensioned sections of the solids, in which every clearance is seen."""
    assert plan is facts.design.plans[name]
    page: Page = facts.pictures["sections", name]
    return page


def section_bytes(plan: Plan, *parts: Made) -> bytes:
    """The sections of a design as a product."""
    from fab.parts.section import section_page

    return json.dumps(to_plain(section_page(plan, printed_of(parts)))).encode()


def part_page(facts: BookFacts, spec: PartSpec, width: float = 60.0) -> Page:
    """One printed part as it lies on the bed."""
    art = facts.pictures["part", spec.name]
    return art_page(
        art,
        width,
        60.0,
        spec.name,
        f"{spec.name} in print orientation, seen from the front of the bed.",
    )


def lying(part: Made) -> LineArt:
    """A part as it lies on the bed."""
    from fab.solids.hiddenline import line_art

    return line_art([part.solid], EYE)


def clip_page(facts: BookFacts, design: str, width: float = 110.0) -> Page:
    """Back view of a joint: two bases face down with one clip in and one above its pockets."""
    art = facts.pictures["clips", design]
    says = (
        "Back view, mirrored left to right: two bases side by side, a clip pushed into its pockets"
        " and one above them."
    )
    return art_page(art, width, 90.0, "Clips from the back", says)


def clips(plan: Plan, base: Made, clip: Made) -> LineArt:
    """Two bases face down, a clip in and one above its pockets."""
    from fab.parts.clip import clip_in_place
    from fab.solids.hiddenline import line_art
    from fab.solids.kernel import moved, turned

    own = base.solid
    neighbour = moved(turned(own, 180.0), 2 * plan.cell.apothem, 0, 0)
    inside = clip_in_place(plan, clip.solid, 1)
    above = moved(clip_in_place(plan, clip.solid, -1), 0, 0, -22.0)
    return line_art([own, neighbour, inside, above], FROM_BACK, (0.0, 1.0, 0.0))


def cap_page(facts: BookFacts, name: str, width: float = 72.0) -> Page:
    """A closed panel and a cap on its way to edge 0."""
    art = facts.pictures["cap", name]
    return art_page(
        art,
        width,
        70.0,
        "A cap on its way",
        "A closed panel; a cap is pushed into the window of an open edge from outside.",
    )


def plugged(plan: Plan, base: Made, shell: Made, cap: Made) -> LineArt:
    """A closed panel and a cap on its way."""
    from fab.solids.hiddenline import line_art
    from fab.solids.kernel import moved, tilted

    upright = moved(
        tilted(cap.solid, "y", -90.0),
        plan.cell.apothem - plan.params.gap / 2 + OUT_MM,
        0.0,
        plan.heights.axis_z,
    )
    return line_art(
        [base.solid, moved(shell.solid, 0.0, 0.0, plan.floor.shell_z), upright], FROM_THE_EDGE
    )


def inlet_page(facts: BookFacts, name: str, width: float = 72.0) -> Page:
    """A base with an inlet, the receptacle with its board over the cradle."""
    art = facts.pictures["inlet", name]
    return art_page(
        art,
        width,
        70.0,
        "The inlet",
        "A base with its cradle at edge 0; receptacle and board are drawn over it.",
    )


def inlet(plan: Plan, base: Made) -> LineArt:
    """A base with receptacle and board over its cradle."""
    from fab.parts.bought import receptacle
    from fab.solids.hiddenline import line_art
    from fab.solids.kernel import moved

    bought = [moved(solid, 0.0, 0.0, OUT_MM) for part, solid in receptacle(plan) if part != "plug"]
    return line_art([base.solid, *bought], FROM_THE_EDGE)
