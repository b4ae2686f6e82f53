"""Faults planted in the program itself: a writer is replaced by a wrong one, and a build is made by
the command.

(name, what is replaced, the proof that must stop the build, a word of the file or place that it
must name). Readers of the same house that would notice by themselves (`check_*`) are silenced where
they stand in the way: the proof alone is on trial.
"""

from __future__ import annotations

import dataclasses
import io
import re
from collections.abc import Callable
from typing import Any

import numpy as np
import pypdf
import pytest

from fab.outlines.drawing import Drawing
from fab.outlines.kerf import kerf_compensated
from fab.outputs.model import OutFile
from fab.recipe.job import Recipe
from fab.sheets.picture import scaled

from . import edit

Patch = pytest.MonkeyPatch
Fault = tuple[str, Callable[[Patch], None], str, str]


def wrapped(patch: Patch, place: str, change: Callable[..., Any]) -> None:
    """Replace a function: `change` gets what it returns, and what it was called with."""
    module, _, name = place.rpartition(".")
    old = getattr(__import__(module, fromlist=[name]), name)
    patch.setattr(place, lambda *args, **kwargs: change(old(*args, **kwargs), *args))


def redrawn(drawing: Drawing, factor: float, about_own: bool = True) -> Drawing:
    """Every closed line larger or smaller, about its own middle or about the origin."""

    def one(contour: Any) -> Any:
        x0, y0, x1, y1 = contour.box
        x, y = ((x0 + x1) / 2, (y0 + y1) / 2) if about_own else (0.0, 0.0)
        return scaled(contour.moved(-x, -y), factor).moved(x, y)

    layers = (
        dataclasses.replace(layer, contours=tuple(one(line) for line in layer.contours))
        for layer in drawing.layers
    )
    return dataclasses.replace(drawing, layers=tuple(layers))


def kerf_inwards(patch: Patch) -> None:
    """Half the kerf on the wrong side of every line, sheets and single parts alike."""
    for module in ("fab.sheets.cut", "fab.sheets.drawing"):
        patch.setattr(f"{module}.kerf_compensated", _inwards)


def _inwards(outline: Any, kerf: float) -> Any:
    out = kerf_compensated(outline, kerf)
    wide = out.box[2] - out.box[0]
    edge, factor = out.edge, (wide - 2 * kerf) / wide
    return dataclasses.replace(
        out, edge=scaled(edge, factor), holes=tuple(scaled(one, factor) for one in out.holes)
    )


def sheets_alone(factor: float) -> Callable[[Patch], None]:
    """Sheets wrong while the single parts are right."""
    return lambda patch: wrapped(
        patch, "fab.outputs.cut.sheet_drawing", lambda drawing, *_: redrawn(drawing, factor)
    )


def sheets_shrunk(patch: Patch) -> None:
    wrapped(
        patch, "fab.outputs.cut.sheet_drawing", lambda drawing, *_: redrawn(drawing, 0.97, False)
    )


def svg_other_than_dxf(patch: Patch) -> None:
    """Only the writer of SVG is wrong, by a quarter of a millimetre."""
    patch.setattr("fab.outputs.cut.check_svg", lambda *_args, **_words: [])
    from fab.files.svg import svg

    patch.setattr(
        "fab.outputs.cut.svg", lambda drawing, **words: svg(redrawn(drawing, 1.004), **words)
    )


def part_left_out(patch: Patch) -> None:
    """The last outline of each sheet is lost."""

    def lose(drawing: Drawing, *_: Any) -> Drawing:
        last = drawing.layers[-1]
        shorter = dataclasses.replace(last, contours=last.contours[:-1])
        return dataclasses.replace(drawing, layers=(*drawing.layers[:-1], shorter))

    wrapped(patch, "fab.outputs.cut.sheet_drawing", lose)


def picture_of_less(patch: Patch) -> None:
    """The picture of a sheet without one of its parts."""
    from fab.sheets.picture import sheet_picture

    def less(layup: Any, *others: Any) -> Any:
        return sheet_picture(dataclasses.replace(layup, placed=layup.placed[1:]), *others)

    patch.setattr("fab.outputs.sheetpictures.sheet_picture", less)


def template_pages(patch: Patch, sx: float, sy: float) -> None:
    """Pages of the template stretched."""

    def stretch(data: bytes, *_: Any) -> bytes:
        reader, writer = pypdf.PdfReader(io.BytesIO(data)), pypdf.PdfWriter()
        for page in reader.pages:
            writer.add_page(page).add_transformation(pypdf.Transformation().scale(sx, sy))
        out = io.BytesIO()
        writer.write(out)
        return out.getvalue()

    from fab.outputs import wall

    patch.setattr(wall, "_pdf", wall._pdf.__wrapped__)  # type: ignore[attr-defined]  # made anew
    wrapped(patch, "fab.outputs.wall.pdf", stretch)
    patch.setattr("fab.outputs.wall.check_pdf", lambda *_: [])


def mark_elsewhere(patch: Patch) -> None:
    from fab.wall.marks import screw_mark

    patch.setattr(
        "fab.wall.marks.screw_mark", lambda at, wall: screw_mark((at[0] + 3.0, at[1]), wall)
    )


def template_drawing(patch: Patch) -> None:
    wrapped(patch, "fab.outputs.wall.full_size", lambda drawing, *_: redrawn(drawing, 0.97, False))


def cells(
    place: str, column: str, change: Callable[[Any], Any], row: int = 0
) -> Callable[[Patch], None]:
    """One cell of the rows that a function makes (a list of mappings)."""

    def plant(rows: list[dict[str, Any]], *_: Any) -> list[dict[str, Any]]:
        return [
            one | {column: change(one[column])} if k == row else one for k, one in enumerate(rows)
        ]

    return lambda patch: wrapped(patch, place, plant)


def names_swapped(patch: Patch) -> None:
    """Two panels under each other's name in the address table."""

    def swap(rows: list[dict[str, Any]], *_: Any) -> list[dict[str, Any]]:
        first, last = rows[0]["name"], rows[-1]["name"]
        return [{**rows[0], "name": last}, *rows[1:-1], {**rows[-1], "name": first}]

    wrapped(patch, "fab.outputs.lists.address_rows", swap)


def counted_less(part: str, less: int) -> Callable[[Patch], None]:
    """A line of the list of parts."""

    def short(lines: list[Any], *_: Any) -> list[Any]:
        return [_fewer(line, less) if line.part == part else line for line in lines]

    return lambda patch: wrapped(patch, "fab.outputs.lists.parts", short)


def _fewer(line: Any, less: int) -> Any:
    count = line.count - less
    return dataclasses.replace(line, count=count, total_g=(line.each_g or 0.0) * count)


def manifest_counts(key: str, change: int) -> Callable[[Patch], None]:
    return lambda patch: wrapped(
        patch,
        "fab.outputs.assemble.counted",
        lambda counts, *_: counts | {key: counts[key] + change},
    )


def holes_swapped(patch: Patch) -> None:
    """Right and up are swapped in the table of holes."""

    def swap(rows: tuple[tuple[str, ...], ...], *_: Any) -> tuple[tuple[str, ...], ...]:
        return (
            rows[0],
            *((*row[:2], row[3], row[2], *row[4:9], row[10], row[9]) for row in rows[1:]),
        )

    wrapped(patch, "fab.outputs.wall.hole_rows", swap)


def loads_halved(patch: Patch) -> None:
    """Half of the earth's pull in the statics: check and book agree, and are both wrong."""
    patch.setattr("fab.wall.model.GRAVITY_M_S2", 9.80665 / 2)


def printed(start: str, change: Callable[[bytes], bytes]) -> Callable[[Patch], None]:
    """Bytes of the printed files whose names begin like this."""

    def plant(patch: Patch) -> None:
        files = Recipe.files

        def wrong(recipe: Recipe, kind: str) -> list[OutFile]:
            return [
                (
                    dataclasses.replace(one, data=change(one.data))
                    if one.path.startswith(start)
                    else one
                )
                for one in files(recipe, kind)
            ]

        patch.setattr(Recipe, "files", wrong)

    return plant


def _stl(change: Callable[[np.ndarray], np.ndarray]) -> Callable[[bytes], bytes]:
    return lambda data: edit.stl_changed(data, change)


def _plate(change: Callable[[str], str]) -> Callable[[bytes], bytes]:
    return lambda data: edit.plate_changed(data, change)


def led_lost(patch: Patch) -> None:
    wrapped(
        patch,
        "fab.outputs.board.positions",
        lambda rows, *_: [row for row in rows if (row[5], row[6]) != ("led", 54)],
    )


def zones_joined(patch: Patch) -> None:
    """Headers that keep the zones apart are listed as whole ones."""

    def whole(rows: list[dict[str, Any]], *_: Any) -> list[dict[str, Any]]:
        return [
            one | {"kind": "header" if "header" in one["kind"] else one["kind"]} for one in rows
        ]

    wrapped(patch, "fab.outputs.lists.joint_rows", whole)


def book_cell(old: str, new: str) -> Callable[[Patch], None]:
    """A cell of every table that the book's paper prints."""

    def plant(patch: Patch) -> None:
        from fab.files import doctable

        def wrong(table: Any, *others: Any, **words: Any) -> Any:
            rows = tuple(tuple(new if cell == old else cell for cell in row) for row in table.rows)
            return grid(dataclasses.replace(table, rows=rows), *others, **words)

        grid = doctable.grid
        patch.setattr("fab.files.docpdf.grid", wrong)

    return plant


def book_load(patch: Patch) -> None:
    """The book prints half of the load that its check states."""

    def halve(chapter: Any, *_: Any) -> Any:
        text = re.compile(r"([\d.]+) N along the wall")
        return edit.replaced(
            chapter,
            lambda said: text.sub(lambda m: f"{float(m[1]) / 2:.1f} N along the wall", said),
        )

    wrapped(patch, "fab.book.hanging.chapter", halve)


SHEET, PDF = "sheet-01.dxf", "template-a4.pdf"
FAULTS: tuple[Fault, ...] = (
    ("kerf on the wrong side", kerf_inwards, "proof.cut-kerf", SHEET),
    (
        "sheets without kerf, single parts with it",
        sheets_alone(1 - 0.09 / 57.7),
        "proof.cut-kerf",
        SHEET,
    ),
    ("sheets at 97 %", sheets_shrunk, "proof.cut-kerf", SHEET),
    ("another SVG than DXF", svg_other_than_dxf, "proof.cut-agree", ".svg"),
    ("a part left out of each sheet", part_left_out, "proof.cut-count", SHEET),
    ("a picture without a part", picture_of_less, "proof.cut-picture", "sheet-01.png"),
    ("template at 97 %", lambda p: template_pages(p, 0.97, 0.97), "proof.template-bar", PDF),
    (
        "template stretched one way",
        lambda p: template_pages(p, 1.0, 1.01),
        "proof.template-bar",
        PDF,
    ),
    ("a mark three millimetres aside", mark_elsewhere, "proof.template-place", PDF),
    ("full-size template at 97 %", template_drawing, "proof.template-place", "template.dxf"),
    ("right and up swapped in the holes", holes_swapped, "proof.holes-rest", "holes.csv"),
    ("names swapped in the address table", names_swapped, "proof.list-places", "panels.csv"),
    (
        "a panel turned in the address table",
        cells("fab.outputs.lists.address_rows", "turn_deg", lambda v: v + 60.0, 2),
        "proof.list-places",
        "panel C",
    ),
    (
        "volts too high in the address table",
        cells("fab.outputs.lists.address_rows", "volts", lambda v: v + 0.3, 1),
        "proof.power-volts",
        "panel B",
    ),
    (
        "currents halved",
        cells("fab.outputs.lists.joint_rows", "supply_a", lambda v: v / 2),
        "proof.power-currents",
        "joints.csv",
    ),
    ("zones joined", zones_joined, "proof.power-zones", "joints.csv"),
    (
        "a cable's current halved",
        cells("fab.outputs.lists.cable_rows", "current_a", lambda v: v / 2),
        "proof.power-cables",
        "zone 1",
    ),
    ("caps short", counted_less("cap", 2), "proof.list-parts", "cap"),
    ("clips short", counted_less("clip", 2), "proof.list-parts", "clip"),
    ("clips short in the manifest", manifest_counts("clips", -2), "proof.counts", "clips"),
    ("an LED lost on the board", led_lost, "proof.list-panels", "54 by board/positions.csv"),
    ("loads halved", loads_halved, "proof.load-screw", "hang.screw-load"),
    (
        "a mirrored base",
        printed("print/base-inlet-hanger", _stl(edit.mirrored)),
        "proof.print-hand",
        "base-inlet-hanger",
    ),
    (
        "shells 1 % large",
        printed("print/shell", _stl(lambda t: t * 1.01)),
        "proof.print-volume",
        "shell",
    ),
    (
        "a hole in a mesh",
        printed("print/clip", _stl(lambda t: t[:-1])),
        "proof.print-closed",
        "clip",
    ),
    (
        "a copy missing on a plate",
        printed("print/plate-02", _plate(lambda t: re.sub(r"<item [^>]*/>\n", "", t, count=1))),
        "proof.print-count",
        "plate",
    ),
)
BOOK_FAULTS: tuple[Fault, ...] = (
    ("the book's load halved", book_load, "proof.book-load", "book/index.html"),
    (
        "a hole in the book's paper",
        book_cell("240.0", "230.0"),
        "proof.book-print",
        "book/book.pdf",
    ),
)
