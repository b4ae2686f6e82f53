"""Chapters that are lists: calibration, what to print."""

from __future__ import annotations

from collections.abc import Sequence

from fab.book.drawings import MOST_PARTS, part_page
from fab.book.facts import BookFacts
from fab.book.pictures import plate_page
from fab.decisions import Design
from fab.files.document import Block, Chapter, Facts, Figure, Para, Steps, Table
from fab.outputs.line import PartsLine
from fab.outputs.prints import items
from fab.prints.model import Plate
from fab.units import percent


def calibrate(design: Design, job_file: str) -> Chapter:
    """Step zero: coupons."""
    printer = design.job.shop.printer.clearance
    stocks = sorted({plan.params.diffuser.stock for plan in design.plans.values()})
    kerfs = "; ".join(f"{name}: kerf {design.job.shop.stock[name].kerf:g} mm" for name in stocks)
    clear = ", ".join(
        f"{name} {getattr(printer, name):g}"
        for name in ("sliding", "location", "press", "seat", "snap")
    )
    return Chapter(
        "Step zero: measure your machines",
        "calibrate",
        (
            Para(
                "Everything in this book is made for the values below. If they are not measured on"
                " your machines, cut and print the coupons first and write the readings into the"
                " shop file."
            ),
            Facts((("Kerf applied", kerfs), ("Clearances per side, mm", clear))),
            Steps(
                (
                    (
                        f"Run `panejig coupon {job_file}` and cut the kerf coupon from the very"
                        " sheet you will use."
                    ),
                    (
                        "Print the fit, seat and snap coupons in the filament you will use, and cut"
                        " the seat coupon's square from the same sheet."
                    ),
                    (
                        "Measure with calipers, run `panejig measure` and type the readings in, and"
                        " build again."
                    ),
                    (
                        "Print one page of the template and measure its 100 mm bars in both"
                        " directions."
                    ),
                )
            ),
        ),
    )


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
    for spec, count in design.printed[:MOST_PARTS]:
        blocks.append(
            Figure(part_page(facts, spec), f"{spec.name}, {pieces(count)}, as it lies on the bed.")
        )
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


def _rolls(printed: Sequence[PartsLine]) -> list[str]:
    """Every roll with its grams."""
    return [
        f"{kind}, {sum(line.total_g or 0 for line in printed if line.material == kind):.0f} g"
        for kind in dict.fromkeys(line.material for line in printed)
    ]


def pieces(count: int) -> str:
    return f"{count} piece{'s' if count != 1 else ''}"


def _numbers(plates: Sequence[Plate]) -> str:
    """The name of one plate, or of several that are alike."""
    if len(plates) == 1:
        return f"Plate {plates[0].number:02d} (print/plate-{plates[0].number:02d}.3mf)"
    numbers = [plate.number for plate in plates]
    run = numbers == list(range(numbers[0], numbers[-1] + 1))
    said = (
        f"{numbers[0]:02d} to {numbers[-1]:02d}"
        if run
        else ", ".join(f"{number:02d}" for number in numbers)
    )
    return f"Plates {said}, alike"
