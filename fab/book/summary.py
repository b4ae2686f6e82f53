"""One page for a customer: the lit wall, its size, power and weight. Prices only where asked."""

from __future__ import annotations

from collections import Counter

from fab.book.facts import BookFacts
from fab.book.pictures import wall_page
from fab.colours import material
from fab.files.document import Block, Caution, Chapter, Document, Facts, Figure, Para, Picture
from fab.units import fixed, percent, some

SHAPES = {3: "triangle", 4: "square", 6: "hexagon"}
USE = (
    "For dry rooms. Use only a supply with a safety mark and the rating above. Keep children from"
    " climbing on the wall. Local codes come first."
)


def document(facts: BookFacts) -> Document:
    """The summary as a document of one page."""
    job = facts.design.job
    blocks: list[Block] = [_picture(facts), Facts(_rows(facts))]
    if job.summary.note:
        blocks.append(Para(job.summary.note))
    if facts.design.lit_designs:
        blocks.append(Caution(USE))
    return Document(
        job.title or job.job,
        f"A wall of modular light panels ({job.job})",
        (Chapter("At a glance", "summary", tuple(blocks)),),
        "summary",
    )


def _picture(facts: BookFacts) -> Block:
    """The lit wall; of a wall without light its drawing."""
    if not facts.design.lit_designs:
        return Figure(wall_page(facts.design, 170.0, 110.0), "Front view.", wide=True)
    full: Picture = facts.pictures["light", ""]
    caption = "The lit wall as it looks from three metres, calculated. Not a photograph."
    return Picture(full.png, full.width, full.height, caption, full.says)


def _rows(facts: BookFacts) -> tuple[tuple[str, str], ...]:
    design = facts.design
    job, wired = design.job, design.wired
    shop, power = job.shop, job.power
    x0, y0, x1, y1 = design.layout.box
    deep = max(plan.heights.rim_z + plan.params.base.feet for plan in design.plans.values())
    inches = shop.units == "in"
    grams = sum(mass.grams for mass in design.masses.values())
    rows = [
        ("Panels", _shapes(facts)),
        ("Width and height", _size(x1 - x0, inches=inches) + " x " + _size(y1 - y0, inches=inches)),
        ("Depth off the wall", _size(deep, inches=inches)),
        ("Weight", f"{grams / 1000:.1f} kg"),
    ]
    if wired.zones:
        watts = sum(zone.current_a for zone in wired.zones) * power.supply_v
        rows += [
            ("LEDs", str(sum(load.leds for load in wired.loads))),
            ("Maximum power", f"{watts:.0f} W at {percent(wired.brightness)} of full white"),
            ("Supplies", f"{facts.counts['inlets']} x {power.supply_v:g} V, {power.supply_a:g} A"),
            ("Supply cables", f"{facts.counts['inlets']} x {power.cable_mm / 1000:g} m"),
        ]
    fronts = dict.fromkeys(
        f"{plan.stock.material}, {plan.stock.finish}" for plan in design.plans.values()
    )
    rows += [
        ("Front", "; ".join(fronts)),
        ("Body", f"{_body(facts)}, printed"),
        ("Holes in the wall", f"{facts.counts['hangers']}, for {job.hang.wall}"),
    ]
    if job.summary.price is not None:
        rows.append(("Price", f"{job.summary.price:.2f} {shop.currency}"))
    return tuple(rows)


def _body(facts: BookFacts) -> str:
    """ "PETG", "PETG blue and PETG red": the shells, which are seen."""
    job, plans = facts.design.job, facts.design.plans.values()
    kinds = dict.fromkeys(material(job.shop, plan.params.shell.roll) for plan in plans)
    return " and ".join(kinds)


def _shapes(facts: BookFacts) -> str:
    """ "9 hexagons", "1 hexagon, 2 squares"."""
    of = Counter(panel.cell.sides for panel in facts.design.layout.panels)
    return ", ".join(
        some(count, SHAPES.get(sides, f"panel of {sides} sides"))
        if sides in SHAPES
        else f"{count} of {sides} sides"
        for sides, count in sorted(of.items(), reverse=True)
    )


def _size(mm: float, *, inches: bool) -> str:
    """Whole centimetres, or inches with a decimal."""
    return f"{mm / 25.4:.1f} in" if inches else f"{fixed(mm / 10, 1)} cm"
