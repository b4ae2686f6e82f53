"""Putting one panel together, step by step, each with its picture."""

from __future__ import annotations

from fab.book import baseturns, edges
from fab.book.datalines import marks_page
from fab.book.drawings import exploded_page, with_inlet
from fab.book.facts import BookFacts
from fab.book.onepanel import inlet_picture, step_page
from fab.files.document import Block, Chapter, Figure, Heading, Step, Table
from fab.outlines.page import Page
from fab.parts.footsizes import foot_corners
from fab.parts.plan import Plan
from fab.parts.section import fit_rows
from fab.units import names_of, some

WIDE_MM = 100.0  # sections over this take the page's width
IRON = (
    "A soldering iron burns, and its fumes harm the lungs. Unplug every supply, keep the iron in"
    " its stand, and air the room."
)


def chapter(facts: BookFacts) -> Chapter:
    """Step by step, with the pictures at their steps."""
    design = facts.design
    blocks: list[Block] = []
    for name, plan in design.plans.items():
        if len(design.plans) > 1:
            own = tuple(panel.name for panel in design.layout.panels if panel.design == name)
            blocks.append(Heading(f"Design {name}: panels {names_of(own)}"))
        blocks += _one_panel(facts, name, plan)
    return Chapter("Put each panel together", "assemble", (*blocks, *edges.caps(facts)))


def _one_panel(facts: BookFacts, name: str, plan: Plan) -> list[Block]:
    blank = plan.params.board.none
    blocks: list[Block] = [
        Figure(
            exploded_page(facts, name),
            f"From the wall outwards: base, {'' if blank else 'board, '}shell, diffuser.",
        )
    ]
    if name in with_inlet(facts.design):
        blocks.append(_inlet(facts, name, plan))
    if not blank:
        blocks += _board(facts, name, plan)
    blocks += [_sheet(facts, name), _close(facts, name, plan)]
    if corners := foot_corners(plan.cell.sides) if plan.params.base.feet > 0 else ():
        blocks.append(_feet(facts, name, corners, plan.cell.sides))
    return blocks


def sections(facts: BookFacts) -> list[Chapter]:
    """Sections of all fits, to find the reason of a tight part."""
    lit = facts.design.lit_designs
    blocks = [block for name in lit for block in _sections(facts, name, facts.design.plans[name])]
    return [Chapter("Sections of the fits", "sections", tuple(blocks), folded=True)] if lit else []


def _sections(facts: BookFacts, name: str, plan: Plan) -> list[Block]:
    pages: tuple[Page, ...] = facts.pictures["sections", name]
    figures = [
        Figure(page, f"{page.title}. {page.says}", wide=page.width > WIDE_MM) for page in pages
    ]
    rows = tuple(fit_rows(plan))
    header = ("fit", "parts", "kind", "mm")
    of = "" if len(facts.design.plans) == 1 else f" of design {name}"
    table = Table(f"Fits{of}: clearance per side, negative is squeeze", header, rows, numeric=(3,))
    return [*figures, table]


def _inlet(facts: BookFacts, name: str, plan: Plan) -> Step:
    fed = tuple(
        panel
        for panel in facts.design.wired.inlets
        if facts.design.layout.by_name[panel].design == name
    )
    round_cable = plan.params.inlet.kind == "round"
    each = " each" if len(fed) > 1 else ""
    inlet, fixing = "receptacle", f"on a small board, 1 screw with washer{each}"
    right = "The small board does not move"
    if round_cable:
        inlet, right = "supply cable", "The cable does not slide"
        tie = next(line for line in facts.lines if line.part == "tie" and line.design == name)
        fixing = f"with 1 cable tie{each} ({tie.note})"
        seat = (
            "Lay the cable between the two ribs. Pull a cable tie through the windows of both,"
            " under"
            " the cable and over it, and tighten it until the cable does not slide."
        )
    elif plan.inlet.behind:
        seat = (
            "Slide the outer end of the receptacle's small board under the two lips at the base"
            " wall, its mouth towards the opening in the floor, and press its inner end down. Drive"
            " the screw with its washer into the boss beside it."
        )
    else:
        seat = (
            "Set the receptacle's mouth into the base's opening and press its small board down into"
            " the cradle. Drive the screw with its washer into the boss behind it."
        )
    return Step(
        f"Fit the inlet: {'panel' if len(fed) == 1 else 'panels'} {names_of(fed)}",
        inlet_picture(facts, name),
        f"{seat} Solder its two wires to J90 of the panel's board: red to pad 1 (VLED), black to"
        " pad 2 (GND).",
        f"{some(len(fed), 'base')} with an inlet opening, {some(len(fed), inlet)} {fixing}, red and"
        " black wire, soldering iron.",
        f"{right}, a gentle pull on each wire moves nothing, and a meter shows"
        " no connection between red and black.",
        "Reheat the solder joint. If the wires are shorted, remove the solder that bridges them.",
        IRON,
    )


def _board(facts: BookFacts, name: str, plan: Plan) -> list[Block]:
    """The board into the base, and which way round: of bases with an inlet a picture each."""
    params, design = plan.params, facts.design
    inserts = params.base.board_fixing == "insert"
    screws = plan.fixings.board_screws
    count = sum(panel.design == name for panel in design.layout.panels)
    found: list[Block] = [
        Step(
            "Screw the board into the base",
            step_page(facts, "board in", name, "Board and base", "The board over its base."),
            "Hold the board over the base, LEDs up, its mark towards edge 0: the hole of the mark"
            f" goes over the base's peg. Drive {some(screws, 'screw')}, hand-tight"
            + (", into the heat-set inserts." if inserts else ", into the pilot holes."),
            f"{'' if count == 1 else f'for each of {count} panels: '}1 base, 1 board,"
            f" {some(screws, f'M{params.screw_d:g} screw')}"
            + (
                f", {some(screws, 'heat-set insert')} (pressed in before with a hot iron, straight"
                " down)."
                if inserts
                else "."
            ),
            "The board lies flat on all standoffs without force.",
            "It fits in one turn only: turn it until the peg finds its hole. A screw that spins has"
            " stripped its hole: print the base again.",
        )
    ]
    if name == next(iter(design.plans)) and design.wired.zones:
        says = (
            "Front view. Each arrow points to edge 0 of its panel. The same mark is sunk into the"
            " base's floor and printed on the board."
        )
        found.append(Figure(marks_page(design), says, anchor="turns", wide=True))
        found += baseturns.blocks(design)
    return found


def _sheet(facts: BookFacts, name: str) -> Step:
    return Step(
        "Lay the diffuser into the shell",
        step_page(facts, "sheet in", name, "Diffuser and shell", "The diffuser over its shell."),
        "Peel the film off both faces and wipe off the dust. Put a few dots of adhesive on the"
        " ledge and lay the diffuser in from the front.",
        "1 shell, 1 diffuser, clear adhesive for acrylic, a soft cloth.",
        "The diffuser lies on the ledge all round and moves a little sideways: it grows when warm.",
        "It does not go in: never file it. Measure the seat coupon, enter the reading, and cut"
        " again.",
    )


def _close(facts: BookFacts, name: str, plan: Plan) -> Step:
    blank = plan.params.board.none
    if plan.params.shell.fixing == "screw":
        kind = f"countersunk M{plan.params.screw_d:g} screw"
        screws = some(len(plan.fixings.shell_screws), kind)
        do = f"Put the shell over the base and drive {screws} from the back."
        later = (
            ""
            if blank
            else "To reach the board later, take the wall down: the screws are at the back."
        )
    else:
        screws, do = "", "Press the shell over the base until every corner clicks."
        later = "The shell comes off to the front, on the wall too."
    return Step(
        "Close the panel",
        step_page(
            facts,
            "closed",
            name,
            "Shell on base",
            f"The shell over the base{'' if blank else ' and the board'}.",
        ),
        f"{do} {later}".strip(),
        f"the base{'' if blank else ' with its board'}, the shell{', ' * bool(screws)}{screws}.",
        "The lap is closed all round and no screw stands out of the back.",
        "Look for a wire or a burr in the lap. Never close a gap with the screws.",
    )


def _feet(facts: BookFacts, name: str, corners: tuple[int, ...], sides: int) -> Step:
    where = "every corner" if len(corners) == sides else "corners " + ", ".join(map(str, corners))
    return Step(
        "Press the feet in",
        step_page(facts, "feet", name, "Feet", "A base from the back, feet over their recesses."),
        f"Lay the panel face down on a cloth. Press the feet into the round recesses at {where}."
        " Corner k lies between edges k and k + 1.",
        f"{some(len(corners), 'foot')} for each panel.",
        "Every foot's shoulder meets the base, and the panel stands without rocking.",
        "Clean the recess of strings and press again.",
    )
