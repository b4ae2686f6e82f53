"""The chapter at the laser: sheets, cut order, times, rests, cautions."""

from __future__ import annotations

from fab.book.facts import BookFacts
from fab.files.document import Block, Caution, Chapter, Facts, Figure, Para, Table
from fab.outputs.cut import bound_says, total_seconds
from fab.outputs.sheetpictures import pages
from fab.units import percent

LASER = (
    "Extraction on, stay with the machine, a CO2 extinguisher at hand, interlocks never defeated."
    " Cut only sheet that is known to be acrylic: never PVC, vinyl, polycarbonate or unlabelled"
    " plastic. Smoke, char or an uncut line means stop. The rules of your workshop and of the"
    " laser's maker come first."
)


def chapter(facts: BookFacts) -> Chapter:
    """Sheets in order with their pictures."""
    nested = facts.nested
    blocks: list[Block] = [Caution(LASER)]
    for one in nested.stocks:
        half = one.stock.kerf / 2
        rows = (
            (
                "Stock",
                f"{one.name}: {one.stock.material} {one.stock.finish}, {one.stock.thickness:g} mm",
            ),
            (
                "Kerf in the paths",
                f"{one.stock.kerf:g} mm: edges moved out by {half:g} mm, cut on the line",
            ),
            ("Gap between cuts", f"{nested.laser.part_gap:g} mm"),
            ("Margin", f"{one.stock.margin:g} mm"),
        )
        blocks += [Facts(rows), Para(bound_says(one) + ".")]
    rows_: list[tuple[str, ...]] = []
    ticks: list[str] = []
    job = facts.design.job.job
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
    pictures = [
        Figure(
            page,
            f"{kind.name}: cut/{kind.stem}.dxf or .svg. Numbers give the order of cutting.",
            anchor=kind.name,
        )
        for kind, page in pages(job, nested)
    ]
    header = ("sheet", "times", "stock", "parts", "used", "cut, m", "pierces", "minutes")
    blocks.append(
        Table("Sheets", header, tuple(rows_), numeric=(1, 4, 5, 6, 7), ticks=tuple(ticks))
    )
    blocks.append(
        Para(
            f"All sheets take about {total_seconds(nested) / 60:.0f} minutes of laser time at the"
            " shop's speeds. Keep the film on while cutting; what is left is listed in"
            " lists/offcuts.toml."
        )
    )
    return Chapter("Cut", "cut", (*blocks, *pictures))
