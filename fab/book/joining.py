"""Joining the panels face down on the table: one picture a push, as one sees it there."""

from __future__ import annotations

from fab.book import firstlight, jumpers
from fab.book.carrying import boards
from fab.book.drawings import clip_page, joined
from fab.book.facts import BookFacts
from fab.book.pushpictures import joints_of, push_page, seen_deg, table_page
from fab.design import Design
from fab.files.document import Block, Chapter, Figure, Heading, Para, Step, Table
from fab.power.circuit import SUPPLY, socket_nets
from fab.units import names_of, some
from fab.wall.pushes import Push

STEPS = 24  # pushes with all their texts: by then they are known
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
    if not design.layout.joints:
        return []
    blocks: list[Block] = [*boards(design), _lay(design)]
    blocks += [
        Figure(
            clip_page(facts, name),
            "Seen from the back: one clip in its pockets, one on its way. A clip is in when both of"
            " its hooks click and it lies below the wall face.",
        )
        for name in joined(design)
    ]
    if design.order.pushes:
        blocks.append(Heading("Push by push", anchor="pushes"))
        numbered = list(enumerate(design.order.pushes, 1))
        blocks += [push_step(design, k, push) for k, push in numbered[:STEPS]]
        if len(numbered) > STEPS:
            blocks.append(Para("From here on, the picture and its line say what differs."))
        blocks += [push_figure(design, k, push) for k, push in numbered[STEPS:]]
        blocks.append(_table(design))
    blocks += _without(design)
    blocks += jumpers.blocks(facts)
    if design.wired.zones:
        blocks.append(firstlight.joined(design))
    return [Chapter("Join the panels", "join", tuple(blocks))]


def _lay(design: Design) -> Step:
    """Panels and parts laid ready."""
    lit = bool(design.wired.zones)
    return Step(
        "Lay the panels on the table",
        table_page(design),
        "Lay every panel face down on the cloth, turned as in the picture: keyholes up"
        + (", small arrow to edge 0" if lit else "")
        + ". This is how the wall lies in the end, seen from the back, left and right swapped.",
        _take(design),
        "Every name is where the picture shows it.",
        "Compare with the picture again: a wall that is built mirrored does not fit its template.",
        "Unplug every supply. A header that goes in askew under power can short and burn."
        if lit
        else "",
        anchor="table",
    )


def push_step(design: Design, number: int, push: Push) -> Step:
    """The step of one push: what to take, what to do."""
    take, onto = names_of(push.moving), names_of(_touched(design, push))
    its = "it" if len(push.moving) == 1 else "them together"
    clips, headers = _clips(design, push), _headers(design, push)
    then = f" Press {clips} in." if clips else " No clips here."
    parts = " and ".join(one for one in (headers, clips) if one)
    panels = f"{'panel' if len(push.moving) == 1 else 'panels'} {take}"
    if push.heading_deg is None:
        do = (
            f"No straight push is possible: lay {its} in from above beside {onto}, without a"
            " header."
        )
    else:
        half = "Push each header halfway into its socket. " if headers else ""
        way = towards(seen_deg(push.heading_deg))
        do = (
            f"{half}Push {its} straight {way} onto {onto} {_until(design, push)}. Never tilt the"
            " panel."
        )
    return Step(
        f"Push {number}: {take} onto {onto}",
        push_page(design, number, push),
        do + then,
        f"{panels}{', ' if parts else ''}{parts}.",
        f"{_gap(design, push)}, and a straight edge over both sides does not rock.",
        f"Pull {take} straight back{', replace a bent header' * bool(headers)}, and push again.",
    )


def _until(design: Design, push: Push) -> str:
    """The end of a push, in words."""
    gap = _gap_mm(design, push)
    return "until the rims touch" if gap == 0 else f"until the rims are {gap:g} mm apart"


def _gap(design: Design, push: Push) -> str:
    gap = _gap_mm(design, push)
    return "There is no gap" if gap == 0 else f"The gap is even, {gap:g} mm"


def _gap_mm(design: Design, push: Push) -> float:
    return design.plans[design.layout.by_name[push.moving[0]].design].params.gap


def push_figure(design: Design, number: int, push: Push) -> Figure:
    """A push of a large wall: its picture, and in a line what to take and which way."""
    parts = [one for one in (_headers(design, push), _clips(design, push)) if one]
    way = (
        "from above"
        if push.heading_deg is None
        else f"straight {towards(seen_deg(push.heading_deg))}"
    )
    says = f"Push {number}: {names_of(push.moving)} {way} onto {names_of(_touched(design, push))}"
    return Figure(push_page(design, number, push), f"{says}; {', '.join(parts) or 'no clips'}.")


def _touched(design: Design, push: Push) -> tuple[str, ...]:
    """The panels of the resting piece that the moving one comes to lie at."""
    met = {
        name
        for k in joints_of(design, push)
        for name in (design.layout.joints[k].a, design.layout.joints[k].b)
    }
    return tuple(name for name in push.onto if name in met) or push.onto


def towards(angle_deg: float) -> str:
    """A direction of the page in words."""
    return WORDS[round(angle_deg / 45.0) % 8]


def _headers(design: Design, push: Push) -> str:
    kinds = [design.table.rows[k].kind for k in push.joints]
    whole, cut = kinds.count("header"), kinds.count("header without supply")
    words = [some(whole, "header")] if whole else []
    if cut:
        words.append(f"{some(cut, 'header')} with the supply pins pulled (grey, dashed)")
    return " and ".join(words)


def _clips(design: Design, push: Push) -> str:
    layout, seams = design.layout, set(design.order.seams)
    count = sum(
        design.plans[layout.by_name[layout.joints[k].a].design].params.clips_per_edge
        for k in joints_of(design, push)
        if k not in seams
    )
    return some(count, "clip") if count else ""


def _take(design: Design) -> str:
    """Things that lie ready before the first push."""
    counts = design.table.counts
    words = [some(len(design.layout.panels), "closed panel")]
    if counts["header"]:
        words.append(some(counts["header"], "header"))
    if cut := counts["header without supply"]:
        words.append(f"{some(cut, 'header')} with supply pins pulled ({_supply_pins(design)})")
    if design.counts.clips:
        words.append(some(design.counts.clips, "clip"))
    return f"{', '.join(words)}, a soft cloth, a straight edge."


def _supply_pins(design: Design) -> str:
    """Pins of a header that are pulled between zones: "pin 3 of 5", the same from either end."""
    panel = next(one for one in design.layout.panels if one.name not in design.blank)
    nets = socket_nets(design.plans[panel.design], 0)
    pins = [str(k) for k, net in enumerate(nets, 1) if net == SUPPLY]
    return f"{'pin' if len(pins) == 1 else 'pins'} {' and '.join(pins)} of {len(nets)}"


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
    return Table(CAPTION, ("push", "take", "how", "onto", "headers"), rows, numeric=(4,))


def _without(design: Design) -> list[Block]:
    """Joints that nothing joins, and seams where no clip can be pushed in."""
    joints, said = design.layout.joints, list[Block]()
    for picked, words in (
        (
            design.table.without,
            "These joints get no header, because straight pins cannot be pushed in there: {}. Power"
            " and data take another path. No cap goes into their windows: the two panels cover"
            " them.",
        ),
        (design.order.seams, "These joints close on the wall and get no clips: {}."),
    ):
        if picked:
            listed = names_of(tuple(f"{joints[k].a}-{joints[k].b}" for k in picked))
            said.append(Para(words.format(listed)))
    return said
