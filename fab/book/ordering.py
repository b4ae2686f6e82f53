"""The chapter of what is bought: shopping list, order list by source, cost, time of hands."""

from __future__ import annotations

from collections.abc import Sequence

from fab.book.facts import BookFacts
from fab.files.document import Block, Caution, Chapter, Para, Table
from fab.outputs.handwork import Stage, clock, total_minutes
from fab.outputs.orders import GROUPS, MADE, Order, group_of, orders_of, total, unpriced
from fab.units import fixed, some

MOST_NAMED = 12  # items without a price that are named in a line of text
ACRYLIC = (
    "Buy sheet that is sold as acrylic, with its maker's name on the film: other plastics burn or"
    " give off poison under a laser. Buy supplies that carry a safety mark."
)


def chapter(facts: BookFacts) -> Chapter:
    """The chapter of things to buy or order, with costs and hours of work by hand."""
    return Chapter(
        "Buy and order",
        "buy",
        (
            _shopping(facts),
            *_sources(facts),
            Para(
                "Send the folder board/ to whoever makes the boards. The brief for the board is"
                " also in the appendix."
            ),
            Caution(ACRYLIC),
            *_hands(facts),
        ),
    )


def _shopping(facts: BookFacts) -> Table:
    """All that is bought, group by group."""
    bought = [line for line in facts.lines if line.source in ("buy", "order")]
    bought.sort(key=lambda line: GROUPS.index(group_of(line)))
    rows = []
    for line in bought:
        cost = "" if line.cost is None else f"{line.cost:.2f}"
        rows.append((line.item, str(line.count), cost, group_of(line), line.note))
    return Table(
        "Shopping list, in pieces",
        ("what", "pieces", facts.design.job.shop.currency, "group", "note"),
        tuple(rows),
        numeric=(1, 2),
        ticks=tuple(f"buy-{line.item}" for line in bought),
    )


def _sources(facts: BookFacts) -> list[Block]:
    """The share and the cost of each source of the wall."""
    found, currency = facts.orders, facts.design.job.shop.currency
    rows = []
    for group in GROUPS:
        lines = orders_of(found, group)
        if lines:
            rows.append((group, str(len(lines)), _amount(group, lines), _cost(group, lines)))
    lacking = unpriced(found)
    says = f"Everything with a price comes to {total(found):.2f} {currency}."
    if lacking:
        more = len(lacking) - MOST_NAMED
        named = "; ".join(lacking[:MOST_NAMED]) + (f"; and {more} more" if more > 0 else "")
        says += (
            f" Without a price, and not counted: {named}. Write prices under [prices] in the shop"
            ' file, by these names: "wall plug" = 0.2.'
        )
    return [
        Table(
            "Order list by source (lists/order.csv)",
            ("source", "lines", "amount", f"cost, {currency}"),
            tuple(rows),
            numeric=(1,),
        ),
        Para(says),
    ]


def _amount(group: str, lines: Sequence[Order]) -> str:
    """Pieces of a group; sheets and filament apart."""
    parts = []
    for unit in dict.fromkeys(line.unit for line in lines):
        amount = sum(line.amount for line in lines if line.unit == unit)
        if unit == "piece":
            parts.append(some(round(amount), "sheet" if group == "material" else "piece"))
        else:
            parts.append(f"{fixed(amount, 2)} {'m' if unit == 'metre' else unit}")
    return ", ".join(parts)


def _cost(group: str, lines: Sequence[Order]) -> str:
    """The cost of a group, and how many of its lines have none."""
    if group in MADE:
        return "see material"
    lacking = len(unpriced(lines))
    if lacking == len(lines):
        return "no prices"
    told = f"{total(lines):.2f}"
    return f"{told}; {some(lacking, 'line')} without a price" if lacking else told


def _hands(facts: BookFacts) -> list[Block]:
    """Time of hands per stage, and of the machines beside them."""
    stages = facts.stages
    if not stages:
        return []
    shop = facts.design.job.shop
    whole = total_minutes(stages)
    says = (
        f"About {clock(whole)} of work by hand in all. The minutes for each piece are set"
        " under [minutes] in the shop file; the built-in ones are common practice without a"
        " source. The machines run"
        " meanwhile."
    )
    if shop.hour_price is not None:
        priced = whole / 60 * shop.hour_price
        says += (
            f" At {shop.hour_price:g} {shop.currency} an hour that is {priced:.2f}"
            f" {shop.currency}, not counted above."
        )
    return [
        Table(
            "Working time (lists/hours.csv)",
            ("stage", "hands", "machine", "made of"),
            tuple(_stage(stage) for stage in stages),
        ),
        Para(says),
    ]


def _stage(stage: Stage) -> tuple[str, ...]:
    made = ", ".join(f"{work.word} at {work.minutes_each:g} min" for work in stage.works)
    machine = clock(stage.machine_min) if stage.machine_min else ""
    return (stage.name, clock(stage.minutes), machine, made)
