"""The chapters at the machines that are measured and that print."""

from __future__ import annotations

import itertools
from collections.abc import Sequence

from fab.book.drawings import MOST_PARTS, part_page
from fab.book.facts import BookFacts
from fab.book.pictures import plate_page
from fab.decisions import Design
from fab.files.document import Block, Chapter, Facts, Figure, Heading, Para, Step, Table
from fab.outlines.page import Group, Page
from fab.outputs.line import PartsLine
from fab.outputs.prints import items
from fab.parts.coupons.kerf import kerf_coupon, kerf_size
from fab.parts.coupons.pictures import flat_picture
from fab.prints.model import Plate
from fab.products import PartSpec
from fab.units import fixed, percent, some

KERF_MM, MARGIN_MM = 150.0, 4.0  # width of the kerf coupon's picture, and round it
# by part, how to know that a print is right, and the way back; common practice, no source
JUDGED = {
    "base": (
        "it lies flat on a table, the keyhole and the clip pockets are clear of strings",
        "It rocks: print it again with a brim, for it has to lie flat on the room wall.",
    ),
    "shell": (
        "it goes over a base by hand, and the ledge for the diffuser is smooth",
        "It is too tight or too loose: measure the fit coupon, enter the reading, build again.",
    ),
    "clip": (
        "it clicks into two bases that lie edge to edge, and comes out again whole",
        "It breaks or falls out: measure the snap coupon, enter the reading, build again.",
    ),
    "cap": (
        "it stays in a window when you shake the panel",
        "It is too tight or too loose: measure the fit coupon, enter the reading, build again.",
    ),
    "foot": (
        "its shoulder meets the base all round",
        "It does not go in: clean the recess, then measure the fit coupon.",
    ),
    "": ("no layer is split", "Print it again, drier and slower."),
}


def calibrate(facts: BookFacts) -> Chapter:
    """Step zero: coupons."""
    design, job_file = facts.design, facts.loaded.sources[0].name
    shop = design.job.shop
    stocks = sorted({plan.params.diffuser.stock for plan in design.plans.values()})
    kerfs = "; ".join(f"{name}: kerf {shop.stock[name].kerf:g} mm" for name in stocks)
    clear = ", ".join(
        f"{name} {getattr(shop.printer.clearance, name):g}"
        for name in ("sliding", "location", "press", "seat", "snap")
    )
    return Chapter(
        "Measure your machines",
        "calibrate",
        (
            Para(
                "Everything in this book is made for the values below. If they were not measured on"
                " your machines, do these steps first."
            ),
            Facts((("Kerf applied", kerfs), ("Clearances per side, mm", clear))),
            Step(
                "Cut the kerf coupon",
                _kerf_page(design, stocks[0]),
                f"Run `panejig coupon {job_file}`. Cut the kerf coupon, push its strips together"
                " and measure across all of them at three places.",
                f"{' and '.join(stocks)}: a rest of the very sheet that you will use; calipers.",
                "The three readings differ by 0.05 mm at most.",
                "Scrape char and beads off the edges and measure again.",
            ),
            *(
                Step(
                    "Print the fit, seat and snap coupons, and enter all readings",
                    part_page(facts, spec),
                    "Print them and cut the seat coupon's square. Each coupon has its own sheet of"
                    " instructions: find the tightest number that still goes together by hand."
                    " Then run `panejig measure`, type all readings in, and build again.",
                    "the filament and the sheet that you will use; calipers. The picture shows the"
                    f" {spec.part} that the snap coupon stands for.",
                    "One number of each coupon fits, and the new book shows your values above.",
                    "None fits: check the extrusion width and the flow of the printer, then print"
                    " again.",
                )
                for spec, _ in _snapping(design)
            ),
        ),
    )


def _snapping(design: Design) -> Sequence[tuple[PartSpec, int]]:
    """A printed part with a snap, for the picture; else the first printed one."""
    return [one for one in design.printed if one[0].part == "clip"][:1] or design.printed[:1]


def _kerf_page(design: Design, stock: str) -> Page:
    """The kerf coupon as cut, and where it is measured."""
    shop = design.job.shop
    coupon, size = kerf_coupon(stock, shop.stock[stock], shop.laser), kerf_size(shop.stock[stock])
    item, (_, high) = flat_picture(coupon, size, KERF_MM - 2 * MARGIN_MM)
    says = f"The kerf coupon of {stock}; right: its strips pushed together and measured."
    moved = Group((item,), shift=(MARGIN_MM, MARGIN_MM))
    return Page(KERF_MM, high + 2 * MARGIN_MM, (moved,), "Kerf coupon", says)


def printing(facts: BookFacts) -> Chapter:
    """Each printed part with picture, count, grams and hours; the plates."""
    design = facts.design
    printed = [line for line in facts.lines if line.source == "print"]
    rows = tuple(
        (
            line.item,
            str(line.count),
            f"{line.each_g:.1f}",
            f"{line.total_g:.0f}",
            f"{line.hours:.1f}",
            line.note or "as drawn, no supports",
        )
        for line in printed
    )
    shop = design.job.shop
    blocks: list[Block] = [
        Facts(
            (
                (
                    "Filament",
                    "; ".join(_rolls(printed)),
                ),
                ("Time, about", f"{sum(line.hours or 0 for line in printed):.0f} h"),
                ("Layer", f"{shop.printer.layer:g} mm"),
                ("Line width", f"{shop.printer.extrusion_width:g} mm"),
                ("Perimeters", str(shop.printer.perimeters)),
                ("Infill", f"{percent(shop.printer.infill)}"),
                ("Supports", "none"),
            )
        ),
        Table(
            "Parts to print",
            ("part", "count", "g each", "g all", "h all", "note"),
            rows,
            numeric=(1, 2, 3, 4),
            ticks=tuple(f"print-{line.item}" for line in printed),
        ),
    ]
    by_item = {line.item: line for line in printed}
    blocks += [_part(facts, spec, by_item[spec.name]) for spec, _ in design.printed[:MOST_PARTS]]
    blocks.append(Heading("Plates"))
    outlines = {item.name: item.footprint for item in items(design, facts.made) if item.footprint}
    alike: dict[tuple[object, ...], list[Plate]] = {}
    for plate in facts.plates:
        spots = tuple((spot.name, spot.x, spot.y, spot.turn_deg) for spot in plate.placements)
        key = (plate.roll, *spots)
        alike.setdefault(key, []).append(plate)
    for plates in list(alike.values())[:MOST_PARTS]:
        listed = ", ".join(f"{count} x {name}" for name, count in plates[0].counts)
        colour = f", {plates[0].roll}" if plates[0].roll else ""
        caption = f"{_numbers(plates)}{colour}: {listed}."
        blocks.append(Figure(plate_page(plates[0], outlines), caption))
    rest = list(alike.values())[MOST_PARTS:]
    if rest:
        further = tuple(
            (_numbers(plates), ", ".join(f"{count} x {name}" for name, count in plates[0].counts))
            for plates in rest
        )
        blocks.append(Table("Further plates", ("plates", "objects on each"), further))
    return Chapter("Print", "print", tuple(blocks))


def _part(facts: BookFacts, spec: PartSpec, line: PartsLine) -> Step:
    """One kind of printed part, and how to judge it when it comes off the bed."""
    size = " x ".join(fixed(side, 1) for side in facts.made[spec].size)
    plates = [plate.number for plate in facts.plates if spec.name in dict(plate.counts)]
    on = f"{'plate' if len(plates) == 1 else 'plates'} {ranges(plates)}"
    right, otherwise = JUDGED.get(spec.part, JUDGED[""])
    return Step(
        f"{spec.name}: {some(line.count, 'piece')}",
        part_page(facts, spec),
        f"Print {on}. The picture shows the part as it lies on the bed: no supports.",
        f"{line.material}, {line.total_g or 0:.0f} g for all, about {line.hours or 0:.1f} h.",
        f"It measures {size} mm and weighs about {line.each_g or 0:.1f} g; {right}.",
        otherwise,
    )


def _rolls(printed: Sequence[PartsLine]) -> list[str]:
    """Every roll with its grams."""
    return [
        f"{kind}, {sum(line.total_g or 0 for line in printed if line.material == kind):.0f} g"
        for kind in dict.fromkeys(line.material for line in printed)
    ]


def ranges(numbers: Sequence[int]) -> str:
    """ "1 to 9, 12" for the numbers 1 to 9 and 12."""
    runs = [
        [number for _, number in run]
        for _, run in itertools.groupby(enumerate(numbers), lambda pair: pair[1] - pair[0])
    ]
    return ", ".join(
        f"{run[0]:02d} to {run[-1]:02d}" if len(run) > 2 else ", ".join(f"{k:02d}" for k in run)
        for run in runs
    )


def _numbers(plates: Sequence[Plate]) -> str:
    """The name of one plate, or of several that are identical."""
    if len(plates) == 1:
        return f"Plate {plates[0].number:02d} (print/plate-{plates[0].number:02d}.3mf)"
    return f"Plates {ranges([plate.number for plate in plates])} (identical)"
