"""The chapters at the machines that are measured and that print."""

from __future__ import annotations

import itertools
from collections.abc import Mapping, Sequence

from fab.book.drawings import MOST_PARTS, part_page, pictured
from fab.book.facts import BookFacts
from fab.book.pictures import plate_page
from fab.book.shadedart import shaded_page
from fab.design import Design
from fab.files.document import Block, Chapter, Facts, Figure, Heading, Para, Step, Table
from fab.outlines.page import Group, Page
from fab.outputs.line import PartsLine
from fab.outputs.prints import items
from fab.parts.coupons.kerf import kerf_coupon, kerf_size
from fab.parts.coupons.pictures import flat_picture
from fab.prints.model import Plate
from fab.products import PartSpec
from fab.units import figure, fixed, names_of, percent, some

MOST_KINDS = 8  # of bases, each with its plates in words
COUPON_MM = 72.0  # width of a coupon's picture
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

# by coupon: title, what to do and take, how to know that it is right, and the way back
COUPONS = {
    "fit": (
        "Try the fit and seat coupons",
        "Print them. Try each gauge in its row, the peg in the slots as in the picture, and the"
        " square of sheet in the openings. Note the tightest number that goes together by hand.",
        "the filament and an offcut of the sheet that you will use; the instructions"
        " fit-how.svg and seat-*-how.svg beside the coupons' files.",
        "One number of each row fits, and the next tighter one does not.",
        "None fits: check the extrusion width and the flow of the printer, then print again.",
    ),
    "snap": (
        "Try the snap coupon, and enter all readings",
        "Lay two pieces of the same number edge to edge, turn them over and press the clip in from"
        " the back. Note the tightest number that clicks. Then run `panejig measure`, type all"
        " readings in, and build again.",
        "two pieces of each number, two clips; the instructions snap-how.svg.",
        "The clip clicks with both hooks, holds, and comes out whole. The new book shows your"
        " values above.",
        "The clip breaks or falls out at every number: print it again, slower and hotter.",
    ),
}


def calibrate(facts: BookFacts) -> Chapter:
    """Step zero: coupons."""
    design, job_file = facts.design, facts.loaded.sources[0].name
    shop = design.job.shop
    stocks = sorted({plan.params.diffuser.stock for plan in design.plans.values()})
    kerfs = "; ".join(f"{name}: kerf {figure(shop.stock[name].kerf, 'mm')}" for name in stocks)
    clear = ", ".join(
        f"{name} {figure(getattr(shop.printer.clearance, name))}"
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
                f"Run `panejig coupon {job_file}`, which writes all coupons. Cut the kerf coupon,"
                " push its strips together and measure across all of them at three places.",
                f"{names_of(stocks)}: an offcut of the very sheet that you will use; calipers.",
                "The three readings differ by 0.05 mm at most.",
                "Scrape char and beads off the edges and measure again.",
            ),
            *_printed_coupons(facts),
        ),
    )


def _printed_coupons(facts: BookFacts) -> list[Step]:
    """The coupons that are printed, in the order of their sheets."""
    found = []
    for key, (title, do, take, right, otherwise) in COUPONS.items():
        page = shaded_page(facts.pictures["coupon", key], COUPON_MM, 60.0, title, f"{title}.")
        found.append(Step(title, page, do, take, right, otherwise))
    return found


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
                ("Filament", "; ".join(_rolls(printed))),
                ("Time, about", f"{sum(line.hours or 0 for line in printed):.0f} h"),
                ("Layer", figure(shop.printer.layer, "mm")),
                ("Line width", figure(shop.printer.extrusion_width, "mm")),
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
    blocks += [_part(facts, spec, by_item) for spec in pictured(design)]
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


def _part(facts: BookFacts, shown: PartSpec, lines: Mapping[str, PartsLine]) -> Step:
    """One kind of printed part, and how to judge it when it comes off the bed; bases of a design
    that differ by inlet, hanger or name are one step.
    """
    alike = [
        spec
        for spec, _ in facts.design.printed
        if (spec.part, spec.design) == (shown.part, shown.design)
    ]
    own = [lines[spec.name] for spec in alike]
    size = " x ".join(fixed(side, 1) for side in facts.made[shown].size)
    right, otherwise = JUDGED.get(shown.part, JUDGED[""])
    count, first = sum(line.count for line in own), own[0]
    pictured_here = "the part"
    if len(own) == 1:
        name, do = first.item, f"Print {_on(facts, first.item)}."
    else:
        name = f"{shown.part} of {shown.design}" if len(facts.design.plans) > 1 else shown.part
        named = "; ".join(
            f"{line.item}: {some(line.count, 'piece')}, {_on(facts, line.item)}"
            for line in own[:MOST_KINDS]
        )
        rest = "; the others as in the table above" if len(own) > MOST_KINDS else ""
        do = f"Print {some(len(own), 'kind')}. {named}{rest}."
        pictured_here = shown.name
        right += (
            "; one with a hanger has a keyhole, one with an inlet an opening in its edge 0, one"
            " for a single panel that panel's name inside"
        )
    weights = sorted({fixed(line.each_g or 0, 1) for line in own}, key=float)
    grams = weights[0] if len(weights) == 1 else f"{weights[0]} to {weights[-1]}"
    hours = sum(line.hours or 0 for line in own)
    return Step(
        f"{name[0].upper()}{name[1:]}: {some(count, 'piece')}",
        part_page(facts, shown),
        f"{do} The picture shows {pictured_here} as it lies on the bed. No supports.",
        f"{first.material}, {sum(line.total_g or 0 for line in own):.0f} g for all,"
        f" about {hours:.1f} h.",
        f"It measures {size} mm and weighs about {grams} g; {right}.",
        otherwise,
    )


def _on(facts: BookFacts, item: str) -> str:
    """The plates that an item is on."""
    plates = [plate.number for plate in facts.plates if item in dict(plate.counts)]
    return f"{'plate' if len(plates) == 1 else 'plates'} {ranges(plates)}"


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
