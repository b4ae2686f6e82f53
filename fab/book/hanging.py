"""The chapter at the wall: template with its page map, holes, order of hanging, cautions."""

from __future__ import annotations

from collections.abc import Sequence

from fab.book.carrying import lifting
from fab.book.facts import BookFacts
from fab.book.joining import names_of
from fab.files.document import Block, Caution, Chapter, Facts, Figure, Heading, Para, Steps, Table
from fab.outputs.lists import screw_stand
from fab.units import inches, some, tool_size
from fab.wall.holes import Hole

DRILLING = (
    "Before you drill: find out what is in the wall. Use a detector, drill no holes above, below or"
    " beside sockets and switches, none near kitchens and baths without asking. Plugs must suit the"
    " wall and carry more than the load; plasterboard needs anchors of its own. What hangs over"
    " heads is checked again a week later. Local codes and a qualified person come before this"
    " page."
)


def chapter(facts: BookFacts) -> Chapter:
    """From the paper on the wall to the wall on the screws."""
    design, made = facts.design, facts.template
    job, hung = design.job, design.hung
    wall = job.shop.wall[job.hang.wall]
    drill, deep = (
        tool_size(size, in_inches=job.shop.units == "in") for size in (wall.drill, wall.depth)
    )
    order, layout = design.order, design.layout
    paper = made.tiling.sheet.name
    heaviest = max(hanger.load_n for hanger in hung.hangers)
    blocks: list[Block] = [
        Caution(DRILLING),
        Facts(
            (
                ("Screws", str(len(hung.hangers))),
                ("Wall", job.hang.wall),
                ("Drill", f"{drill}, {deep} deep"),
                ("Fixing", wall.note or "a plug that suits the wall"),
                (
                    "Highest load on a screw",
                    (
                        f"{heaviest:.1f} N along the wall,"
                        f" {max(h.pull_n for h in hung.hangers):.1f} N out of it"
                    ),
                ),
                ("Counted with a factor of", f"{job.hang.factor:g}"),
                (
                    "Template",
                    f"{some(len(made.pages), 'page')} {paper}, the first one to check the printer",
                ),
            )
        ),
        Figure(
            made.pages[0],
            f"The first page of wall/template-{paper.lower()}.pdf, drawn smaller here: print it"
            " from that file, measure its bars in both directions, then print the rest at 100 %.",
            wide=True,
        ),
        Steps(
            (
                (
                    "Print the template without scaling. Measure the 100 mm bars both ways; if they"
                    " are off, write the readings into the shop file and build again."
                ),
                (
                    "Cut along the cut lines, tape the pages by their crosses, check the level line"
                    " with a spirit level and the plumb line with a plumb."
                ),
                "Tape it up, front side towards you, and step back: is it where it should be?",
                f"Drill through the marks, {drill}, take the paper off, set the plugs.",
                (
                    f"Drive the screws until the head stands {_stand(facts):.1f} mm off the wall:"
                    f" {_stand_of(facts)}."
                ),
            )
        ),
        _holes(made.holes, job.shop.units == "in"),
        Heading("Order of hanging"),
        Para(order.says),
    ]
    if design.wired.zones and any(
        design.plans[layout.by_name[z.inlet_panel].design].inlet.behind for z in design.wired.zones
    ):
        blocks.append(
            Para(
                "Before a piece goes up: lead each supply cable along the blue line of the power"
                " plan, push its plug in from behind through the opening in the floor, and clip it."
                " No hand reaches it when the wall hangs. Let the cables hang free of the screws."
            )
        )
    blocks.append(
        Table(
            "Onto the screws, in this order",
            ("piece", "panels", "screws in", "kg", "raise, mm", "people"),
            tuple(
                (
                    str(k),
                    names_of(lift.panels),
                    names_of(lift.screws),
                    f"{lift.grams / 1000:.2f}",
                    f"{lift.raise_mm:g}",
                    "two" if lift.handy else "more than two",
                )
                for k, lift in enumerate(order.lifts, 1)
            ),
            numeric=(3, 4),
        )
    )
    blocks += lifting(facts)
    return Chapter("Hang it", "hang", tuple(blocks))


def _holes(holes: Sequence[Hole], in_inches: bool) -> Table:
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


def _stand(facts: BookFacts) -> float:
    return screw_stand(facts.design)


def _stand_of(facts: BookFacts) -> str:
    """What the height of a screw's head is made of."""
    on_feet = any(plan.params.base.feet > 0 for plan in facts.design.plans.values())
    return f"{'feet and ' if on_feet else ''}floor of the base plus a little play"
