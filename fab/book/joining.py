"""Joining the panels face down on the table: one picture a push, as one sees it there."""

from __future__ import annotations

from fab.book import jumpers
from fab.book.drawings import clip_page, joined
from fab.book.facts import BookFacts
from fab.book.pushpictures import joints_of, push_page, seen_deg, table_page
from fab.decisions import Design
from fab.files.document import Block, Caution, Chapter, Figure, Heading, Para, Steps, Table
from fab.units import some
from fab.wall.pushes import Push

CAPTION = "Face down on the table: directions as you see them there"
WORDS = (
    "to the right",
    "to the upper right",
    "up",
    "to the upper left",
    "to the left",
    "to the lower left",
    "down",
    "to the lower right",
)


def chapter(facts: BookFacts) -> list[Chapter]:
    """From single panels to the joined wall; nothing for a wall without joints."""
    design = facts.design
    pushes = design.order.pushes
    if not design.layout.joints:
        return []
    blocks: list[Block] = [
        Caution(
            "Unplug every supply before you join panels. A header that goes in askew can short."
        )
        if design.wired.zones
        else Para("These panels have no electronics: clips alone join them."),
        Para(_take(design)),
        Figure(
            table_page(design),
            "The joined wall on the table, seen from the back: left and right are swapped. Build up"
            " to this, push by push.",
            anchor="table",
            wide=True,
        ),
        Steps(
            (
                "Lay every panel face down on a soft cloth, turned as in the picture: keyholes up,"
                " small arrow to edge 0.",
                "For each push, press its headers half into the panel that moves.",
                "Slide that panel straight along the arrow until both rims touch. Never tilt it.",
                "Press the clips of the closed joint in until both hooks click.",
            )
        ),
        Para(
            "Right: no gap at the joint, every clip lies below the wall face, a straight edge over"
            " both panels does not rock. If not: pull the panel straight back, look for a bent pin"
            " or a header that is not home, and push again. Replace a bent header."
        ),
    ]
    blocks += [
        Figure(
            clip_page(facts, name),
            "Seen from the back: one clip in its pockets, one on its way.",
        )
        for name in joined(design)
    ]
    if pushes:
        blocks.append(Heading("Push by push", anchor="pushes"))
        blocks += [
            Figure(push_page(design, k, push), caption(design, k, push))
            for k, push in enumerate(pushes, 1)
        ]
        blocks.append(_table(design))
    blocks += _without(design)
    blocks += jumpers.blocks(facts)
    return [Chapter("Join the panels", "join", tuple(blocks))]


def caption(design: Design, number: int, push: Push) -> str:
    """What to take and do in one push."""
    take, onto = names_of(push.moving), names_of(push.onto)
    its = "it" if len(push.moving) == 1 else "them together"
    if push.heading_deg is None:
        return (
            f"Push {number}. Take {take}. No straight way is free: lay {its} in from above beside"
            f" {onto}, without a header. {_clips(design, push)}"
        )
    parts = _headers(design, push)
    return (
        f"Push {number}. Take {take}{f' with {parts}' if parts else ''}. Push {its}"
        f" {towards(seen_deg(push.heading_deg))} onto {onto}. {_clips(design, push)}"
    )


def towards(angle_deg: float) -> str:
    """A direction of the page in words."""
    return WORDS[round(angle_deg / 45.0) % 8]


def _headers(design: Design, push: Push) -> str:
    kinds = [design.table.rows[k].kind for k in push.joints]
    whole, cut = kinds.count("header"), kinds.count("header without supply")
    words = [some(whole, "header")] if whole else []
    if cut:
        words.append(f"{some(cut, 'header')} whose supply pins are pulled (grey, dashed)")
    return " and ".join(words)


def _clips(design: Design, push: Push) -> str:
    layout, seams = design.layout, set(design.order.seams)
    count = sum(
        design.plans[layout.by_name[layout.joints[k].a].design].params.clips_per_edge
        for k in joints_of(design, push)
        if k not in seams
    )
    return f"Then {some(count, 'clip')}." if count else "No clips here."


def _take(design: Design) -> str:
    """What lies ready before the first push."""
    counts = design.table.counts
    words = [some(len(design.layout.panels), "closed panel")]
    if counts["header"]:
        words.append(some(counts["header"], "header"))
    if cut := counts["header without supply"]:
        words.append(f"{some(cut, 'header')} with the supply pins pulled")
    if design.counts.clips:
        words.append(some(design.counts.clips, "clip"))
    return f"Take: {', '.join(words)}, a soft cloth, a straight edge."


def _table(design: Design) -> Table:
    rows = tuple(
        (
            str(k),
            names_of(push.moving),
            (
                "laid in from above, no header"
                if push.heading_deg is None
                else f"pushed {towards(seen_deg(push.heading_deg))}"
                f" ({seen_deg(push.heading_deg):.0f} degrees)"
            ),
            names_of(push.onto),
            str(len(push.joints)),
        )
        for k, push in enumerate(design.order.pushes, 1)
    )
    return Table(CAPTION, ("step", "take", "it is", "onto", "headers mate"), rows, numeric=(4,))


def _without(design: Design) -> list[Block]:
    """Joints that nothing joins, and seams where no clip can be pushed in."""
    joints, said = design.layout.joints, list[Block]()
    for picked, words in (
        (
            design.table.without,
            "No header in these joints, straight pins do not go in there: {}. Power and data take"
            " another way; their windows stay open.",
        ),
        (design.order.seams, "These joints close on the wall and get no clips: {}."),
    ):
        if picked:
            listed = names_of(tuple(f"{joints[k].a}-{joints[k].b}" for k in picked))
            said.append(Para(words.format(listed)))
    return said


def names_of(panels: tuple[str, ...]) -> str:
    """Names in a row, a long row cut short."""
    if len(panels) <= 12:
        return ", ".join(panels)
    return f"{', '.join(panels[:10])} and {len(panels) - 10} more"
