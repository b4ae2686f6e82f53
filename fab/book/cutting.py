"""The chapter at the laser: sheets, cut order, times, rests, cautions."""

from __future__ import annotations

from fab.book.facts import BookFacts
from fab.files.document import Block, Chapter, Facts, Para, Step, Table
from fab.outlines.page import Page
from fab.outputs.nested import Kind, bound_says, total_seconds
from fab.outputs.sheetpictures import pages
from fab.units import figure, fixed, percent, some

LASER = (
    "WARNING: A laser can set the sheet on fire, and plastics other than acrylic (PVC, vinyl,"
    " polycarbonate, unlabelled) give off poisonous smoke. Switch on the extraction, stay with the"
    " machine, keep a CO2 extinguisher at hand, and never defeat an interlock. Smoke or flames"
    " mean:"
    " stop. The rules of your workshop and of the laser's maker come first."
)


def chapter(facts: BookFacts) -> Chapter:
    """Sheets in order with their pictures."""
    nested, job = facts.nested, facts.design.job.job
    blocks: list[Block] = []
    for number, (kind, page) in enumerate(pages(job, nested)):
        blocks.append(_sheet(kind, page, LASER if number == 0 else ""))
    for one in nested.stocks:
        half = one.stock.kerf / 2
        rows = (
            (
                "Stock",
                f"{one.name}: {one.stock.material} {one.stock.finish},"
                f" {figure(one.stock.thickness, 'mm')}",
            ),
            (
                "Kerf in the paths",
                f"{figure(one.stock.kerf, 'mm')}: edges moved out by {figure(half, 'mm')}, cut on"
                " the line",
            ),
            ("Gap between cuts", figure(nested.laser.part_gap, "mm")),
            ("Margin", figure(one.stock.margin, "mm")),
        )
        blocks += [Facts(rows), Para(bound_says(one) + ".")]
    rows_: list[tuple[str, ...]] = []
    ticks: list[str] = []
    for kind in nested.kinds(job):
        one, layup, plan = kind.stock, kind.layup, kind.plan
        parts = ", ".join(f"{count} x {part}" for part, count in layup.counts.items())
        rows_.append(
            (
                kind.name,
                str(kind.times),
                one.name if not layup.sheet.offcut else f"{one.name}, offcut {layup.sheet.name}",
                parts,
                f"{percent(layup.utilisation)}",
                f"{plan.cut_mm / 1000:.2f}",
                str(plan.pierces),
                f"{plan.seconds / 60:.1f}",
            )
        )
        ticks.append(f"cut-{kind.name}")
    header = ("sheet", "times", "stock", "parts", "used", "cut, m", "pierces", "minutes")
    blocks.append(
        Table("Sheets", header, tuple(rows_), numeric=(1, 4, 5, 6, 7), ticks=tuple(ticks))
    )
    blocks.append(
        Para(
            f"All sheets take about {max(total_seconds(nested) / 60, 1.0):.0f} min of laser time"
            " at the shop's speeds. The offcuts are listed in lists/offcuts.toml."
        )
    )
    return Chapter("Cut", "cut", tuple(blocks))


def _sheet(kind: Kind, page: Page, caution: str) -> Step:
    """One sheet, or several equal ones."""
    stock, sheet = kind.stock, kind.layup.sheet
    which = f"offcut {sheet.name} of {stock.name}" if sheet.offcut else stock.name
    each = {piece.name: piece.outline.box for piece in stock.pieces}
    parts = some(sum(kind.layup.counts.values()), "part")
    sizes = "; ".join(
        f"{name}: {fixed(x1 - x0, 1)} x {fixed(y1 - y0, 1)} mm"
        for name, (x0, y0, x1, y1) in each.items()
        if name in kind.layup.counts
    )
    times = "" if kind.times == 1 else f", {kind.times} times"
    return Step(
        f"Cut {kind.name}{times}",
        page,
        f"Load cut/{kind.stem}.dxf or .svg at 100 %. Leave the film on and cut in the order of the"
        f" numbers, about {max(kind.plan.seconds / 60, 1.0):.0f} min.",
        f"{some(kind.times, 'sheet')} of {which}, film on both faces.",
        f"All parts drop out without force: {parts}. Sizes from edge to edge: {sizes}.",
        "A part holds: leave the sheet where it lies and cut once more. A part's size is off by"
        " more than the sheet's tolerance: measure the kerf coupon and build again.",
        caution,
        kind.name,
    )
