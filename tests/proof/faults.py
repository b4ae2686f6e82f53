"""The table of planted faults: each damages one copy of the demo's build the way a bug of the
program would.

(name, what it does to the folder, the proof that must fail, a word of the file or place that it
must name)
"""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np

from . import edit as e

Fault = tuple[str, Callable[[Path], None], str, str]

SHEET, PART = "cut/sheet-01", "cut/diffuser"
PIXELS = "lists/pixels.csv"
PANELS, JOINTS, PARTS, HOLES = (
    "lists/panels.csv",
    "lists/joints.csv",
    "lists/parts.csv",
    "wall/holes.csv",
)
PDF, PAGE, PRINT = "wall/template-a4.pdf", "book/index.html", "book/book.pdf"
WALL_MODEL = "model/assembly.step"
KERF, APOTHEM = 0.18, 57.7025  # of the demo's sheet and cut path


def _scaled(folder: Path, stem: str, factor: float) -> None:
    """Every outline about its own middle."""
    middles = e.centres(folder, f"{stem}.dxf")
    e.move_both(
        folder,
        stem,
        lambda x, y, k: (
            middles[k][0] + (x - middles[k][0]) * factor,
            middles[k][1] + (y - middles[k][1]) * factor,
        ),
    )


def _shifted(folder: Path, k: int, dx: float, dy: float) -> None:
    e.move_both(folder, SHEET, lambda x, y, n: (x + dx, y + dy) if n == k else (x, y))


def _without_part(folder: Path) -> None:
    head, body, tail = e.entities(e.groups((folder / f"{SHEET}.dxf").read_bytes()))
    e.put(
        folder,
        f"{SHEET}.dxf",
        e.ungrouped([*head, *(pair for one in body[:-1] for pair in one), *tail]),
    )
    text = (folder / f"{SHEET}.svg").read_text()
    at = text.rindex("  <path")
    e.put(folder, f"{SHEET}.svg", text[:at] + text[text.index("\n", at) + 1 :])


def _layer(folder: Path) -> None:
    """The last outline on the layer of inner cuts."""
    head, body, tail = e.entities(e.groups((folder / f"{SHEET}.dxf").read_bytes()))
    for pair in body[-1]:
        if pair[0].strip() == "8":
            pair[1] = "CUT-INNER"
    e.put(
        folder, f"{SHEET}.dxf", e.ungrouped([*head, *(pair for one in body for pair in one), *tail])
    )
    text = (folder / f"{SHEET}.svg").read_text()
    at = text.rindex("  <path")
    e.put(
        folder,
        f"{SHEET}.svg",
        text[:at] + ' </g>\n <g id="CUT-INNER" fill="none" stroke="#000">\n' + text[at:],
    )


def _open(folder: Path) -> None:
    head, body, tail = e.entities(e.groups((folder / f"{SHEET}.dxf").read_bytes()))
    for pair in body[0]:
        if pair[0].strip() == "70":
            pair[1] = "0"
    e.put(
        folder, f"{SHEET}.dxf", e.ungrouped([*head, *(pair for one in body for pair in one), *tail])
    )


def _rest(folder: Path) -> None:
    """A rest that says it is the whole sheet."""
    text = (folder / "lists/offcuts.toml").read_text()
    e.put(
        folder,
        "lists/offcuts.toml",
        re.sub(r"outline = .*", "outline = [[0, 0], [600, 0], [600, 400], [0, 400]]", text),
    )


def _inches(folder: Path) -> None:
    pairs = e.groups((folder / f"{SHEET}.dxf").read_bytes())
    at = next(k for k, (_, value) in enumerate(pairs) if value == "$INSUNITS")
    pairs[at + 1][1] = "1"
    e.put(folder, f"{SHEET}.dxf", e.ungrouped(pairs))


def _pdf_scale(sx: float, sy: float, tx: float = 0.0) -> Callable[[Path], None]:
    import pypdf

    def edit(page: object, _number: int) -> None:
        page.add_transformation(pypdf.Transformation().scale(sx, sy).translate(tx, 0))  # type: ignore[attr-defined]

    return lambda folder: e.pdf(folder, PDF, edit)


def _pdf_mark(folder: Path) -> None:
    """The rings and crosses of all marks three millimetres to the right."""
    from pypdf.generic import ContentStream, FloatObject

    def edit(page: object, number: int) -> None:
        if number == 1:  # the overview
            return
        content = ContentStream(page.get_contents(), page.pdf)  # type: ignore[attr-defined]
        red = False
        for operands, operator in content.operations:
            if operator == b"RG":
                red = abs(float(operands[0]) - 0.835294) < 1e-3
            if red and operator in (b"m", b"l", b"c"):
                for k in range(0, len(operands), 2):
                    operands[k] = FloatObject(float(operands[k]) + 3 / 25.4 * 72)
        page.replace_contents(content)  # type: ignore[attr-defined]

    e.pdf(folder, PDF, edit)


def _swap_rows(path: str, a: int, b: int, column: str) -> Callable[[Path], None]:
    def edit(rows: list[dict[str, str]]) -> None:
        rows[a][column], rows[b][column] = rows[b][column], rows[a][column]

    return lambda folder: e.table(folder, path, edit)


def _swap_files(folder: Path, a: str, b: str) -> None:
    one, two = (folder / a).read_bytes(), (folder / b).read_bytes()
    e.put(folder, a, two)
    e.put(folder, b, one)


def _add(column: int, value: float) -> Callable[[np.ndarray], np.ndarray]:
    def edit(corners: np.ndarray) -> np.ndarray:
        corners[:, :, column] += value
        return corners

    return edit


def _item(number: int, edit: Callable[[list[float]], list[float]]) -> Callable[[str], str]:
    """Edit the matrix of one copy on a plate."""

    def whole(text: str) -> str:
        found = list(re.finditer(r'transform="([^"]*)"', text))[number]
        values = edit([float(v) for v in found[1].split()])
        return text[: found.start(1)] + " ".join(f"{v:g}" for v in values) + text[found.end(1) :]

    return whole


def _over(folder: Path) -> None:
    """The second copy onto the first."""

    def whole(text: str) -> str:
        found = list(re.finditer(r'transform="([^"]*)"', text))
        return text[: found[1].start(1)] + found[0][1] + text[found[1].end(1) :]

    e.plate(folder, "print/plate-01.3mf", whole)


def _count(key: str, by: int) -> Callable[[Path], None]:
    def edit(data: dict[str, Any]) -> None:
        data["counts"][key] += by

    return lambda folder: e.manifest(folder, edit)


def _part_count(item: str, by: int) -> Callable[[Path], None]:
    def edit(rows: list[dict[str, str]]) -> None:
        row = next(one for one in rows if one["item"] == item)
        row["count"] = str(int(row["count"]) + by)

    return lambda folder: e.table(folder, PARTS, edit)


def _ordered(item: str, column: str, value: str) -> Callable[[Path], None]:
    def edit(rows: list[dict[str, str]]) -> None:
        next(one for one in rows if one["item"] == item)[column] = value

    return lambda folder: e.table(folder, "lists/order.csv", edit)


def _halved(
    path: str, column: str, where: Callable[[dict[str, str]], bool]
) -> Callable[[Path], None]:
    def edit(rows: list[dict[str, str]]) -> None:
        for row in rows:
            if where(row) and row[column]:
                row[column] = f"{float(row[column]) / 2:g}"

    return lambda folder: e.table(folder, path, edit)


def _check_load(folder: Path) -> None:
    def edit(data: dict[str, Any]) -> None:
        check = next(one for one in data["checks"] if one["id"] == "hang.screw-load")
        check["says"] = re.sub(
            r"carries ([\d.]+) N", lambda m: f"carries {float(m[1]) / 2.5:.1f} N", check["says"]
        )

    e.manifest(folder, edit)


def _page(pattern: str, new: str) -> Callable[[Path], None]:
    def plant(folder: Path) -> None:
        text = (folder / PAGE).read_text()
        last = list(re.finditer(pattern, text))[-1]  # pictures with the same figures come before
        e.put(folder, PAGE, text[: last.start()] + last.expand(new) + text[last.end() :])

    return plant


def _drop(path: str, row: int) -> Callable[[Path], None]:
    return lambda folder: e.table(folder, path, lambda rows: rows.pop(row))  # type: ignore[arg-type]


def _dxf_circle(path: str) -> Callable[[Path], None]:
    return lambda folder: e.move_dxf(folder, path, lambda x, y, k: (x + 2.0, y), ("CIRCLE",))


def _mirrored_name(folder: Path) -> None:
    """The letter on a base's floor is turned over, all else stays."""

    def edit(corners: np.ndarray) -> np.ndarray:
        x, y, z = corners[..., 0], corners[..., 1], corners[..., 2]
        letter = (x > 0.9) & (x < 6.7) & (y > 25.8) & (y < 33.9) & (z > 2.99) & (z < 3.61)
        corners[..., 0] = np.where(letter, 7.6 - x, x)
        return corners

    e.stl(folder, e.named(folder, "print/base-hanger-D"), edit)


def _paper(old: str, new: str) -> Callable[[object, int], None]:
    """Words of the book's pages: as the content stream writes them."""
    from pypdf.generic import ContentStream, TextStringObject

    def edit(page: object, _number: int) -> None:
        content = ContentStream(page.get_contents(), page.pdf)  # type: ignore[attr-defined]
        changed = False
        for operands, operator in content.operations:
            if operator == b"Tj" and str(operands[0]).strip() == old:
                operands[0], changed = TextStringObject(new), True
        if changed:
            page.replace_contents(content)  # type: ignore[attr-defined]

    return edit


def _picture_shifted(folder: Path) -> None:
    """What lies on the sheet, 20 points to the right."""
    import io

    from PIL import Image

    path = f"{SHEET}.png"
    picture = Image.open(folder / path).convert("RGB")
    wide, high = picture.size
    inner = picture.crop((wide // 8, high // 8, wide * 7 // 8, high * 5 // 8))
    picture.paste(inner, (wide // 8 + 20, high // 8))
    out = io.BytesIO()
    picture.save(out, "PNG")
    e.put(folder, path, out.getvalue())


def _unfed(folder: Path) -> None:
    """D4 feeds nothing."""

    def edit(rows: list[dict[str, str]]) -> None:
        next(row for row in rows if (row["part"], row["pin"]) == ("D4", "DOUT"))["net"] = "DATA_4X"

    e.table(folder, "board/netlist.csv", edit)


def _supply_passes(folder: Path) -> None:
    """A header between zones keeps its supply pins."""

    def edit(rows: list[dict[str, str]]) -> None:
        for row in rows:
            if row["kind"] == "header without supply":
                row["supply"] = "yes"

    e.table(folder, JOINTS, edit)


FAULTS: tuple[Fault, ...] = (
    (
        "kerf on the wrong side of a sheet",
        lambda f: _scaled(f, SHEET, 1 - KERF / APOTHEM),
        "proof.cut-kerf",
        "sheet-01.dxf",
    ),
    (
        "no kerf on a sheet",
        lambda f: _scaled(f, SHEET, 1 - KERF / 2 / APOTHEM),
        "proof.cut-kerf",
        "sheet-01.dxf",
    ),
    (
        "no kerf on a single part",
        lambda f: _scaled(f, PART, 1 - KERF / 2 / APOTHEM),
        "proof.cut-kerf",
        "diffuser.dxf",
    ),
    (
        "parts half a millimetre large",
        lambda f: _scaled(f, SHEET, 1 + 0.25 / APOTHEM),
        "proof.cut-kerf",
        "sheet-01.dxf",
    ),
    (
        "a whole sheet at 97 %",
        lambda f: e.move_both(f, SHEET, lambda x, y, _: (x * 0.97, y * 0.97)),
        "proof.cut-kerf",
        "sheet-01.dxf",
    ),
    ("two parts too near", lambda f: _shifted(f, 0, 1.5, 0.0), "proof.cut-gap", "sheet-01.dxf"),
    (
        "two parts on each other",
        lambda f: _shifted(f, 0, 30.0, 0.0),
        "proof.cut-gap",
        "sheet-01.dxf",
    ),
    (
        "a part in the margin",
        lambda f: _shifted(f, 0, -3.0, 0.0),
        "proof.cut-margin",
        "sheet-01.dxf",
    ),
    (
        "a part off the sheet",
        lambda f: _shifted(f, 0, 0.0, -20.0),
        "proof.cut-margin",
        "sheet-01.dxf",
    ),
    (
        "SVG and DXF differ",
        lambda f: e.move_svg(f, f"{SHEET}.svg", lambda x, y, k: (x + 0.5 * (k == 3), y)),
        "proof.cut-agree",
        "sheet-01.svg",
    ),
    ("a part missing on its sheet", _without_part, "proof.cut-count", "sheet-01.dxf"),
    (
        "a sheet that its name has cut twice",
        lambda f: e.rename(f, f"{SHEET}.dxf", f"{SHEET}_x2.dxf"),
        "proof.cut-count",
        "parts.csv",
    ),
    ("an edge on the layer of inner cuts", _layer, "proof.cut-layers", "sheet-01.dxf"),
    ("an outline that does not close", _open, "proof.cut-layers", "sheet-01.dxf"),
    ("a rest that was cut into", _rest, "proof.cut-rest", "sheet-01.dxf"),
    ("a drawing in inches", _inches, "proof.cut-kerf", "sheet-01.dxf"),
    (
        "half a picture",
        lambda f: e.put(f, f"{SHEET}.png", (f / f"{SHEET}.png").read_bytes()[:900]),
        "proof.readable",
        "sheet-01.png",
    ),
    ("pages at 97 %", _pdf_scale(0.97, 0.97), "proof.template-bar", PDF),
    ("pages mirrored", _pdf_scale(-1.0, 1.0, 297 / 25.4 * 72), "proof.template-view", PDF),
    ("a mark three millimetres off", _pdf_mark, "proof.template-place", "page"),
    (
        "a page missing",
        lambda f: e.pdf(f, PDF, lambda *_: None, lambda number: number != 4),
        "proof.template-marks",
        PDF,
    ),
    (
        "a hole in the table 10 mm off",
        lambda f: e.cell(f, HOLES, 1, "x_mm", "230"),
        "proof.holes-rest",
        "base-inlet-hanger-F",
    ),
    ("holes named crosswise", _swap_rows(HOLES, 0, 1, "panel"), "proof.holes-rest", HOLES),
    (
        "a distance in the table",
        lambda f: e.cell(f, HOLES, 1, "from_datum_mm", "250"),
        "proof.holes-table",
        "panel F",
    ),
    ("another drill", lambda f: e.cell(f, HOLES, 0, "drill_mm", "8"), "proof.holes-drill", HOLES),
    (
        "a circle of the SVG template",
        lambda f: e.change(f, "wall/template.svg", 'cx="510"', 'cx="512"'),
        "proof.template-place",
        "template.svg",
    ),
    (
        "all circles of the DXF template shifted",
        _dxf_circle("wall/template.dxf"),
        "proof.template-rest",
        "template.dxf",
    ),
    (
        "the DXF template at 97 %",
        lambda f: e.move_dxf(f, "wall/template.dxf", lambda x, y, _: (x * 0.97, y * 0.97)),
        "proof.template-bar",
        "template.dxf",
    ),
    (
        "a header missing in the assembled wall",
        lambda f: e.change(f, WALL_MODEL, "'header','header'", "'headed','headed'"),
        "proof.model-count",
        "header: 0 in the model",
    ),
    (
        "a panel of the assembled wall without its name",
        lambda f: e.change(f, WALL_MODEL, "PRODUCT('E','E'", "PRODUCT('X','X'"),
        "proof.model-names",
        "no panel E",
    ),
    (
        "a solid of the assembled wall without a colour",
        lambda f: e.change(f, WALL_MODEL, "STYLED_ITEM(", "REPRESENTATION_ITEM(", 1),
        "proof.model-colours",
        "solids without a colour: 1",
    ),
    (
        "a base turned one edge too little",
        lambda f: e.cell(f, PANELS, 5, "base_turn_edges", "4"),
        "proof.keyhole-up",
        "base-inlet-hanger-F",
    ),
    (
        "a triangle missing",
        lambda f: e.stl(f, e.named(f, "print/shell_x"), lambda t: t[:-1]),
        "proof.print-closed",
        "shell",
    ),
    (
        "a mesh inside out",
        lambda f: e.stl(f, e.named(f, "print/cap_x"), lambda t: t[:, ::-1]),
        "proof.print-inside",
        "cap",
    ),
    (
        "a mirrored base",
        lambda f: e.stl(f, e.named(f, "print/base-inlet-hanger-F"), e.mirrored),
        "proof.print-hand",
        "base-inlet-hanger-F",
    ),
    (
        "a base 2 % too large",
        lambda f: e.stl(f, e.named(f, "print/base-plain"), lambda t: t * 1.02),
        "proof.print-volume",
        "base-plain",
    ),
    (
        "two bases under each other's name",
        lambda f: _swap_files(
            f, e.named(f, "print/base-hanger-D"), e.named(f, "print/base-inlet-hanger-F")
        ),
        "proof.print-hand",
        "base-hanger-D",
    ),
    (
        "a shell off the bed",
        lambda f: e.stl(f, e.named(f, "print/shell_x"), _add(2, 0.4)),
        "proof.print-bed",
        "shell",
    ),
    (
        "two loose bodies",
        lambda f: e.stl(f, e.named(f, "print/clip_x"), lambda t: np.concatenate([t, t + 50])),
        "proof.print-one",
        "clip",
    ),
    (
        "a wrong number in a name",
        lambda f: e.rename(f, e.named(f, "print/cap_x"), "print/cap_x33.stl"),
        "proof.print-count",
        "cap",
    ),
    (
        "an object off the bed",
        lambda f: e.plate(
            f, "print/plate-02.3mf", _item(0, lambda v: [*v[:9], v[9] + 90, *v[10:]])
        ),
        "proof.plate-bed",
        "plate-02",
    ),
    ("two objects in one place", _over, "proof.plate-apart", "plate-01"),
    (
        "a copy missing on a plate",
        lambda f: e.plate(
            f, "print/plate-01.3mf", lambda t: re.sub(r"<item [^>]*/>\n", "", t, count=1)
        ),
        "proof.print-count",
        "plate",
    ),
    (
        "a mirrored copy on a plate",
        lambda f: e.plate(f, "print/plate-10.3mf", _item(0, lambda v: [-v[0], *v[1:]])),
        "proof.plate-upright",
        "plate-10",
    ),
    (
        "an object sunk in the bed",
        lambda f: e.plate(f, "print/plate-10.3mf", _item(0, lambda v: [*v[:11], -1.0])),
        "proof.plate-upright",
        "plate-10",
    ),
    ("caps short", _part_count("cap", -2), "proof.list-parts", "cap"),
    ("clips short", _part_count("clip", -2), "proof.list-parts", "clip"),
    ("LEDs short in the order list", _ordered("LED", "amount", "3"), "proof.list-order", "LED"),
    ("filament half", _ordered("filament PETG", "amount", "0.5"), "proof.list-order", "PETG"),
    ("a cost that nobody counted", _ordered("socket", "cost", "7"), "proof.list-order", "socket"),
    ("screws short", _part_count("screw M3, countersunk", -3), "proof.list-screws", PARTS),
    ("headers short", _part_count("header, all pins", -1), "proof.list-parts", "header"),
    ("clips short in the manifest", _count("clips", -2), "proof.counts", "clips"),
    ("a joint too many in the manifest", _count("joints", 1), "proof.counts", "joints"),
    (
        "names swapped in the address table",
        _swap_rows(PANELS, 0, 3, "name"),
        "proof.list-places",
        PANELS,
    ),
    (
        "a panel elsewhere",
        lambda f: e.cell(f, PANELS, 4, "x_mm", "301"),
        "proof.list-places",
        "panel E",
    ),
    (
        "a panel turned",
        lambda f: e.cell(f, PANELS, 7, "turn_deg", "60"),
        "proof.list-places",
        "panel H",
    ),
    (
        "first LED shifted",
        lambda f: e.cell(f, PANELS, 5, "first_led", "186"),
        "proof.list-panels",
        "panel F",
    ),
    (
        "an open edge forgotten",
        lambda f: e.cell(f, PANELS, 0, "open_edges", "0 1 2 3"),
        "proof.list-panels",
        "panel A",
    ),
    ("a joint missing", _drop(JOINTS, 2), "proof.list-joints", "B/5"),
    (
        "zones joined by a header",
        lambda f: e.cell(f, JOINTS, 6, "kind", "header"),
        "proof.power-zones",
        JOINTS,
    ),
    (
        "an LED missing on the board",
        _drop("board/positions.csv", 66),
        "proof.list-panels",
        "54 by board/positions.csv",
    ),
    (
        "an LED elsewhere",
        lambda f: e.cell(f, PIXELS, 40, "x_mm", "1"),
        "proof.list-pixels",
        "panel A",
    ),
    (
        "an LED scaled wrongly",
        lambda f: e.cell(f, PIXELS, 9, "y", "0.999"),
        "proof.list-pixels",
        "LED 9",
    ),
    (
        "LEDs of a panel out of order",
        _swap_rows(PIXELS, 3, 4, "panel_index"),
        "proof.list-pixels",
        PIXELS,
    ),
    ("an LED without data", _unfed, "proof.netlist", "D5"),
    ("supply passes between zones", _supply_passes, "proof.netlist", "zones"),
    (
        "volts too high",
        lambda f: e.cell(f, PANELS, 0, "volts", "4.9"),
        "proof.power-volts",
        "panel A",
    ),
    (
        "currents halved",
        _halved(JOINTS, "supply_a", lambda _: True),
        "proof.power-currents",
        JOINTS,
    ),
    (
        "a cable's current halved",
        _halved("lists/cables.csv", "current_a", lambda row: row["zone"] == "2"),
        "proof.power-cables",
        "zone 2",
    ),
    (
        "a fuse too small",
        lambda f: e.cell(f, "lists/cables.csv", 0, "fuse_a", "1"),
        "proof.power-cables",
        "zone 1",
    ),
    (
        "grams of a sheet halved",
        _halved(PARTS, "each_g", lambda row: row["item"] == "diffuser"),
        "proof.load-grams",
        "diffuser",
    ),
    (
        "the book's load halved",
        _page(r"[\d.]+ N along the wall", "3.1 N along the wall"),
        "proof.book-load",
        PAGE,
    ),
    ("the check's load too small", _check_load, "proof.load-screw", "hang.screw-load"),
    (
        "a count in the book",
        _page(r"(Inlets</[^<]*<[^>]*>)2", r"\g<1>3"),
        "proof.book-counts",
        "Inlets",
    ),
    (
        "a hole in the book's table",
        _page(r'240\.0(</td><td class="n">240\.0</td></tr>)', r"230.0\g<1>"),
        "proof.book-table",
        "holes",
    ),
    ("a raised name mirrored", _mirrored_name, "proof.print-name", "base-hanger-D"),
    (
        "a row of the book's paper",
        lambda f: e.pdf(f, PRINT, _paper("240.0", "230.0")),
        "proof.book-print",
        PRINT,
    ),
    ("a picture of another sheet", _picture_shifted, "proof.cut-picture", "sheet-01.png"),
    (
        "a value of the job",
        lambda f: e.change(f, "lists/job.toml", "across_flats = 120.0", "across_flats = 121.0"),
        "proof.list-values",
        "across_flats",
    ),
    (
        "a file missing",
        lambda f: (f / "board/outline.dxf").unlink(),
        "proof.files",
        "board/outline.dxf",
    ),
    (
        "half an STL",
        lambda f: e.put(
            f, e.named(f, "print/shell_x"), (f / e.named(f, "print/shell_x")).read_bytes()[:9000]
        ),
        "proof.readable",
        "shell",
    ),
    (
        "half a template",
        lambda f: e.put(f, PDF, (f / PDF).read_bytes()[:20000]),
        "proof.readable",
        PDF,
    ),
    (
        "half a drawing",
        lambda f: e.put(f, f"{SHEET}.dxf", (f / f"{SHEET}.dxf").read_bytes()[:15000]),
        "proof.readable",
        "sheet-01.dxf",
    ),
    (
        "a hole moved in the board's table",
        lambda f: e.change(f, "board/positions.csv", "H3,-48.615098", "H3,-46.615098"),
        "proof.board-holes",
        "outline.dxf",
    ),
    (
        "a pull-down ten times too large",
        lambda f: e.change(f, "board/inlet.csv", "resistor 5100 ohm", "resistor 51000 ohm"),
        "proof.board-inlet",
        "R1 on CC1",
    ),
    (
        "both pull-downs on one line",
        lambda f: e.change(f, "board/inlet.csv", "R2,1,CC2", "R2,1,CC1"),
        "proof.board-inlet",
        "CC2",
    ),
    (
        "a push the wrong way",
        lambda f: e.change(f, "lists/joints.csv", "push,7,B,300", "push,7,B,120"),
        "proof.list-steps",
        "step 7",
    ),
    (
        "a push out of its order",
        lambda f: e.change(f, "lists/joints.csv", "push,8,A,240", "push,2,A,240"),
        "proof.list-steps",
        "step 2",
    ),
    (
        "another box of the LEDs",
        lambda f: e.change(f, "lists/pixels.json", '"x0_mm": -52.308', '"x0_mm": -62.308'),
        "proof.list-pixels",
        "pixels.json",
    ),
)
