"""The chapter at the wall: template with its page map, holes, order of hanging, cautions."""

from __future__ import annotations

from collections.abc import Sequence

from fab.book.carrying import boards, lifting
from fab.book.facts import BookFacts
from fab.book.onepanel import step_page
from fab.book.spotlight import spotlight
from fab.checks.hang import busiest
from fab.design import Design
from fab.files.document import Block, Chapter, Facts, Para, Step, Table
from fab.outputs.lists import fixing, screw_stand
from fab.units import inches, names_of, some, tool_size
from fab.wall.holes import Hole

DRILLING = (
    "WARNING: A hidden cable or pipe can kill when it is drilled into. Scan every mark with a"
    " detector. Drill no hole above, below or beside a socket or switch, and none near a kitchen or"
    " bath without asking. Local codes and a qualified person come before this book."
)


def chapter(facts: BookFacts) -> Chapter:
    """From the paper on the wall to the wall on the screws."""
    design, made = facts.design, facts.template
    job, hung = design.job, design.hung
    wall = job.shop.wall[job.hang.wall]
    heaviest = busiest(hung, job.hang, wall)
    facts_of_wall = Facts(
        (
            ("Screws", str(len(hung.hangers))),
            ("Wall", job.hang.wall),
            ("Fixing", fixing(design) or "a plug that suits the wall"),
            (
                "Highest load on a screw",
                f"{heaviest.load_n:.1f} N along the wall, {heaviest.pull_n:.1f} N out of it"
                f" (panel {heaviest.panel})",
            ),
            ("Safety factor", f"{job.hang.factor:g}"),
        )
    )
    blocks: list[Block] = [
        facts_of_wall,
        *_template(facts),
        *_screws(facts),
        _holes(made.holes, in_inches=job.shop.units == "in"),
        *([Para(design.order.says)] if design.layout.joints else []),
        *_cables(design),
        *(() if design.layout.joints else boards(design)),
        *lifting(design),
    ]
    return Chapter("Lift and hang", "hang", tuple(blocks))


def _template(facts: BookFacts) -> list[Block]:
    """The paper, printed to scale and taped up."""
    pages, paper = facts.template.pages, facts.template.tiling.sheet.name
    return [
        Step(
            "Print the template",
            pages[0],
            "Print the first page at 100 % and measure its bars in both directions. Then print the"
            " rest.",
            f"wall/template-{paper.lower()}.pdf, {some(len(pages), 'page')} {paper}. The picture is"
            " the first page, drawn smaller.",
            "Both bars are 100 mm long.",
            "Switch off all scaling in the print dialog. If that does not help, enter the readings"
            " in the shop file and build again.",
        ),
        Step(
            "Tape the template up",
            spotlight(facts.design, (), "Where it hangs", "The wall, front view, with its screws."),
            "Cut along the cut lines and tape the pages together, cross on cross. Tape them to the"
            " room wall, FRONT towards you, and step back to see whether the place is right.",
            "the printed pages, scissors, tape that leaves no trace, spirit level, plumb line.",
            "The level line agrees with the spirit level, and the upright line with the plumb"
            " line.",
            "Take it off and tape it again: a template that is turned turns the whole wall.",
        ),
    ]


def _screws(facts: BookFacts) -> list[Block]:
    """Holes, plugs and screws."""
    design, holes = facts.design, facts.template.holes
    job, count = design.job, len(holes)
    wall = job.shop.wall[job.hang.wall]
    in_inches = job.shop.units == "in"
    drill, deep = (tool_size(size, in_inches=in_inches) for size in (wall.drill, wall.depth))
    fed = [hanger.panel for hanger in design.hung.hangers]
    stand = f"{screw_stand(design):.1f} mm"
    distance = (
        "Every distance is that in the table of holes." if count > 1 else "It is at its mark."
    )
    return [
        Step(
            "Drill",
            spotlight(design, fed, "Screws", f"Panels {names_of(fed)} hang on a screw each."),
            f"Scan and drill {some(count, 'hole')}: diameter {drill}, depth {deep}. Take the"
            " template"
            " off and set the plugs.",
            f"detector, drill, {drill} bit with a stop at {deep}, {some(count, 'wall plug')} that"
            f" {'suits' if count == 1 else 'suit'} the wall and"
            f" {'carries' if count == 1 else 'carry'}"
            " more than the load above. Plasterboard needs anchors of its own.",
            f"{distance} {'The plug is' if count == 1 else 'The plugs are'} flush.",
            "If the detector gives a signal, do not drill: add the panel to `hang.avoid` in the"
            " job file"
            " and build again. If a hole is off by more than 2 mm, fill it and drill again.",
            DRILLING,
        ),
        Step(
            "Drive the screws",
            step_page(
                facts,
                "hanging",
                "",
                "Keyhole and screw",
                "A base from the back, a screw before it.",
            ),
            f"Drive {some(count, 'screw')} until the underside of the head stands {stand} off the"
            f" room wall: {_stand_of(design)}. Check again a week after hanging.",
            f"{some(count, 'wall screw')} as in the shopping list, screwdriver, calipers.",
            "No screw moves when you pull it by hand.",
            "A screw that turns freely has no hold: use a larger plug or another anchor.",
        ),
    ]


def _cables(design: Design) -> list[Block]:
    """Bases on feet: the cables go in from behind, before the piece hangs."""
    fed = {design.layout.by_name[zone.inlet_panel].design for zone in design.wired.zones}
    behind = [design.plans[name] for name in fed if design.plans[name].inlet.behind]
    if not behind:
        return []
    plugged = any(plan.params.inlet.kind != "round" for plan in behind)
    enter = ", push its plug in from behind through the opening in the floor," if plugged else ""
    return [
        Para(
            "Before a piece goes up: lead each supply cable along the blue line of the power"
            f" plan{enter} and clip it. No hand reaches it when the wall hangs."
            " Let the cables hang free of the screws."
        )
    ]


def _holes(holes: Sequence[Hole], *, in_inches: bool) -> Table:
    """The holes to measure by hand; wall/holes.csv has both units and more places."""
    unit, places = ("in", 2) if in_inches else ("mm", 1)

    def length(mm: float) -> str:
        return f"{inches(mm) if in_inches else mm:.{places}f}"

    header = (
        "hole",
        "panel",
        f"right, {unit}",
        f"up, {unit}",
        f"straight from hole 1, {unit}",
        f"from the hole before, {unit}",
    )
    rows = tuple(
        (
            str(h.number),
            h.panel,
            length(h.x),
            length(h.y),
            length(h.from_datum),
            length(h.from_before) if h.before else "",
        )
        for h in holes
    )
    return Table("Holes, measured from hole 1, front view", header, rows, numeric=(2, 3, 4, 5))


def _stand_of(design: Design) -> str:
    """The parts of the height of a screw's head, in words."""
    on_feet = any(plan.params.base.feet > 0 for plan in design.plans.values())
    return f"{'feet and ' if on_feet else ''}floor of the base plus a little play"
