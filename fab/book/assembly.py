"""Putting one panel together, and joining panels from the back: line drawings of the real solids."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

from fab.book.facts import BookFacts
from fab.book.pagestore import from_plain, to_plain
from fab.book.pictures import art_page, drawn
from fab.decisions import Design
from fab.files.document import Block, Caution, Chapter, Figure, Heading, Para, Steps, Table
from fab.layout.model import BaseKind
from fab.outlines.page import Page
from fab.parts.plan import Plan
from fab.products import ROOMS, Made, PartSpec, depends
from fab.solids.hiddenline import LineArt
from fab.store import Store
from fab.verdicts import printed_of

EYE = (0.5, -1.0, 0.8)  # from the front, a little above and to the right
FROM_BACK = (-0.45, -0.8, -1.2)


def base_of(made: Mapping[PartSpec, Made], design: str, *, inlet: bool = False) -> Made:
    """A base of a design for a picture: with an inlet when asked and there is one; else the plainest."""
    bases = [part for spec, part in made.items() if spec.part == "base" and spec.design == design and spec.kind is not None]
    bases.sort(key=lambda part: (_kind(part).inlet != inlet, bool(_kind(part).label), _kind(part).key))
    return bases[0]


def _kind(part: Made) -> BaseKind:
    assert part.spec.kind is not None
    return part.spec.kind


def exploded_page(facts: BookFacts, name: str, width: float = 110.0) -> Page:
    """Base, board, shell and diffuser of a design pulled apart along the axis."""
    return exploded_of(facts.design, facts.made, facts.store, name, width)


def exploded_of(design: Design, made: Mapping[PartSpec, Made], store: Store, name: str, width: float) -> Page:
    """The same from the bare values."""
    plan = design.plans[name]
    base = base_of(made, name)
    gap = plan.cell.circumradius * 0.55

    def make() -> LineArt:
        from fab.parts.board import board_parts
        from fab.solids.hiddenline import line_art
        from fab.solids.kernel import moved

        solids: list[Any] = [base.solid]
        solids += [moved(solid, 0, 0, gap * 0.8) for _, solid in board_parts(plan)]
        solids.append(moved(made[PartSpec("shell", name)].solid, 0, 0, plan.shell_z + gap * 1.7))
        solids.append(moved(made[PartSpec("diffuser", name)].solid, 0, 0, gap * 2.6))
        return line_art(solids, EYE)

    art = drawn(store, "exploded", _values(plan, base), make)
    return art_page(art, width, 150.0, "One panel pulled apart", "From the wall outwards: base, circuit board with LEDs, shell, diffuser.")


def _values(plan: Plan, base: Made) -> Any:
    return [depends(plan, base.spec), plan.params.led.pattern]


def sections(facts: BookFacts, name: str, plan: Plan) -> Page:
    """Dimensioned sections of the solids, in which every clearance is seen."""

    def make() -> bytes:
        from fab.parts.section import section_page

        base = next(spec for spec in facts.made if spec.part == "base" and spec.design == name)
        return json.dumps(to_plain(section_page(plan, printed_of(facts.design, facts.made, base)))).encode()

    values = depends(plan, PartSpec("shell", name))
    return from_plain(json.loads(facts.store.once("sections", values, (*ROOMS, "book", "verdicts"), make)))


def part_page(facts: BookFacts, spec: PartSpec, width: float = 60.0) -> Page:
    """One printed part as it lies on the bed."""
    part = facts.made[spec]
    values = depends(facts.design.plans[spec.design], spec)

    def make() -> LineArt:
        from fab.solids.hiddenline import line_art

        return line_art([part.solid], EYE)

    art = drawn(facts.store, f"part {spec.part}", values, make)
    return art_page(art, width, 60.0, spec.name, f"{spec.name} in print orientation, seen from the front of the bed.")


def clip_page(facts: BookFacts, design: str, width: float = 110.0) -> Page:
    """Back view of a joint: two bases face down with one clip in and one above its pockets."""
    plan = facts.design.plans[design]
    base = base_of(facts.made, design)
    clip_spec = PartSpec("clip", facts.design.same_as("clip", design))

    def make() -> LineArt:
        from fab.parts.clip import clip_in_place
        from fab.solids.hiddenline import line_art
        from fab.solids.kernel import moved, turned

        clip = facts.made[clip_spec].solid
        neighbour = moved(turned(base.solid, 180.0), 2 * plan.cell.apothem, 0, 0)
        inside = clip_in_place(plan, clip, 1)
        above = moved(clip_in_place(plan, clip, -1), 0, 0, -22.0)
        return line_art([base.solid, neighbour, inside, above], FROM_BACK, (0.0, 1.0, 0.0))

    art = drawn(facts.store, "clips", [*_values(plan, base), depends(plan, clip_spec)], make)
    says = "Back view, mirrored left to right: two bases side by side, a clip pushed into its pockets and one above them."
    return art_page(art, width, 90.0, "Clips from the back", says)


def chapter(facts: BookFacts) -> Chapter:
    """Step by step, with the pictures at their steps."""
    design = facts.design
    blocks: list[Block] = [
        Para("Build every panel on the bench first, light it, then join and hang. The letters on the pictures are those of the wall.")
    ]
    for name, plan in design.plans.items():
        if len(design.plans) > 1:
            blocks.append(Heading(f"Design {plan.params.name}"))
        blocks += _one_panel(facts, name, plan)
    blocks += [
        Heading("Caps"),
        Para("A cap closes the window of each open edge, from the outside: press it in until it is flush, the notch towards the wall. An edge with an inlet has none."),
        Table("Which edges get a cap", ("panel", "caps at edges", "inlet at edge"), _cap_rows(facts)),
    ]
    if design.layout.joints:
        first = design.layout.joints[0]
        blocks += [
            Heading("Joining, from the back"),
            Figure(clip_page(facts, design.layout.by_name[first.a].design), "Back view (mirrored left to right). Push each clip in until both hooks click; it lies under the wall face then."),
            Steps(
                (
                    "Lay the panels face down on a soft cloth in the order of the hanging chapter. Left and right are swapped in this view.",
                    "Push a header half into one panel's socket, slide the neighbour onto it straight along the joint, never at an angle.",
                    "Press two clips into every joint until they click.",
                )
            ),
        ]
    return Chapter("Put it together", "assemble", tuple(blocks))


def _one_panel(facts: BookFacts, name: str, plan: Plan) -> list[Block]:
    params = plan.params
    fixing = "heat-set inserts (iron at the filament's temperature, straight down, let cool)" if params.base.board_fixing == "insert" else "the pilot holes of the posts"
    steps = [
        f"Set the board into the base, LEDs up, its sockets behind the windows, and drive {plan.board_screws} screws into {fixing}. Hand-tight.",
        "Power the panel from a bench supply with a current limit and look at every LED before you close it.",
        "Peel the film off the diffuser, dust it, lay it into the shell from the front and fix it with a few dots of clear adhesive on the ledge.",
    ]
    if params.board.none:
        steps = steps[2:]  # a blank cover has nothing to light
    if params.shell.fixing == "screw":
        steps.append(f"Drop the shell over the base and drive {len(plan.shell_screws)} countersunk screws from the back.")
        steps.append("The shell comes off only from the back: take the group off the wall to reach a board.")
    else:
        steps.append("Press the shell over the base until its corners click. It comes off again to the front, on the wall too.")
    blocks: list[Block] = [Figure(exploded_page(facts, name), "From the wall outwards: base, board, shell, diffuser.")]
    if not params.board.none:
        blocks.append(Figure(sections(facts, name, plan), "Sections through joint, open edge and corner, with every fit by its name.", wide=True))
    if any(use.kind.inlet and use.kind.design == name for use in facts.design.uses):
        steps.insert(0, "Panels with an inlet: slide the receptacle's small board into its cradle at edge 0 of the base, solder its two wires to the board's supply pads, red to plus, and pull once to see that they hold.")
        blocks.append(Caution("Solder with the supply unplugged and the room aired. A short on a 3 A supply gets hot at once: check with a meter between plus and ground before you plug in."))
    blocks.append(Steps(tuple(steps)))
    return blocks


def _cap_rows(facts: BookFacts) -> tuple[tuple[str, ...], ...]:
    design = facts.design
    rows = []
    for panel in design.layout.panels:
        inlet = design.wired.inlets.get(panel.name)
        free = [edge.edge for edge in design.layout.open_edges if edge.panel == panel.name and edge.edge != inlet]
        rows.append((panel.name, ", ".join(map(str, free)) or "none", "" if inlet is None else str(inlet)))
    return tuple(rows)
