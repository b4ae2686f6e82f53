"""Putting one panel together, with a drawing at its step."""

from __future__ import annotations

from fab.book import baseturns, edges
from fab.book.datalines import marks_page
from fab.book.drawings import exploded_page, inlet_page, sections, with_inlet
from fab.book.facts import BookFacts
from fab.files.document import Block, Caution, Chapter, Figure, Heading, Para, Steps
from fab.parts.footsizes import foot_corners
from fab.parts.plan import Plan


def chapter(facts: BookFacts) -> Chapter:
    """Step by step, with the pictures at their steps."""
    design = facts.design
    blocks: list[Block] = [
        Para(
            "Build every panel on the bench first, light it, then join and hang. The letters on the"
            " pictures are those of the wall."
        )
    ]
    for name, plan in design.plans.items():
        if len(design.plans) > 1:
            blocks.append(Heading(f"Design {name}: panels {', '.join(_of(facts, name))}"))
        blocks += _one_panel(facts, name, plan)
    if design.wired.zones:
        says = (
            "Front view: the arrow of each panel points to its edge 0, sunk into the base's floor"
            " and printed on the board."
        )
        blocks += [
            Heading("Which way round"),
            Figure(marks_page(design), says, anchor="turns", wide=True),
            *baseturns.blocks(design),
        ]
    blocks += [Heading("Caps"), *edges.caps(facts)]
    return Chapter("Put it together", "assemble", tuple(blocks))


def _of(facts: BookFacts, name: str) -> list[str]:
    """The panels of a design, the first dozen by name."""
    names = [panel.name for panel in facts.design.layout.panels if panel.design == name]
    return names if len(names) <= 12 else [*names[:12], f"and {len(names) - 12} more"]


def _one_panel(facts: BookFacts, name: str, plan: Plan) -> list[Block]:
    params = plan.params
    fixing = (
        "heat-set inserts (iron at the filament's temperature, straight down, let cool)"
        if params.base.board_fixing == "insert"
        else "the pilot holes of the posts"
    )
    steps = [
        (
            "Set the board into the base, LEDs up, its hole of the mark over the base's peg: it"
            f" sits down in that turn only. Drive {plan.fixings.board_screws} screws into {fixing}."
            " Hand-tight."
        ),
        (
            "Power the panel from a bench supply with a current limit and look at every LED before"
            " you close it."
        ),
        (
            "Peel the film off the diffuser, dust it, lay it into the shell from the front and fix"
            " it with a few dots of clear adhesive on the ledge."
        ),
    ]
    if params.board.none:
        steps = steps[2:]  # a blank cover has nothing to light
    if params.shell.fixing == "screw":
        steps.append(
            f"Drop the shell over the base and drive {len(plan.fixings.shell_screws)} countersunk"
            " screws from the back."
        )
        steps.append(
            "The shell comes off only from the back: take the group off the wall to reach a board."
        )
    else:
        steps.append(
            "Press the shell over the base until its corners click. It comes off again to the"
            " front, on the wall too."
        )
    if feet := foot_corners(plan.cell.sides) if plan.params.base.feet > 0 else ():
        where = (
            "every corner"
            if len(feet) == plan.cell.sides
            else f"corners {', '.join(map(str, feet))}"
        )
        steps.append(
            f"Lay the panel face down. Press {len(feet)} feet into the round recesses at {where},"
            " until their shoulders meet the base. Corner k lies between edges k and k + 1."
        )
    blocks: list[Block] = [
        Figure(
            exploded_page(facts, name),
            f"From the wall outwards: base, {'' if params.board.none else 'board, '}shell,"
            " diffuser.",
        )
    ]
    if not params.board.none:
        blocks.append(
            Figure(
                sections(facts, name, plan),
                "Sections through joint, open edge and corner, with every fit by its name.",
                wide=True,
            )
        )
    if name in with_inlet(facts.design):
        mouth = (
            "set the receptacle's mouth into the base's opening and press its small board down into"
            " the cradle"
        )
        boss = "behind it"
        if plan.inlet.behind:
            mouth = (
                "slide the outer end of the receptacle's small board under the two lips at the base"
                " wall, its mouth towards the opening in the floor, and press its inner end down"
            )
            boss = "beside it"
        held = (
            f"{mouth}, drive one screw with a washer into the boss {boss} so that the washer holds"
            " the board"
        )
        if params.inlet.kind == "round":
            held = (
                "lay the cable between the two ribs, pull a cable tie through the windows of both,"
                " under the cable and over it, and tighten it until the cable does not slide"
            )
        steps.insert(
            0,
            f"Panels with an inlet: {held}, solder its two wires to the board's supply pads,"
            " red to plus (VLED), black to minus (GND), and pull once to see that they hold.",
        )
        blocks.append(
            Caution(
                "Solder with the supply unplugged and the room aired. A short on a 3 A supply gets"
                " hot at once: check with a meter between plus and ground before you plug in."
            )
        )
        blocks.append(
            Figure(
                inlet_page(facts, name),
                "A base with an inlet: what goes down into the base, drawn over its place.",
            )
        )
    blocks.append(Steps(tuple(steps)))
    return blocks
