"""Changes that harm nobody: the proof must not accuse one of them."""

from __future__ import annotations

import json
import re
import zipfile
from collections.abc import Callable
from pathlib import Path

from . import edit as e

SHEET = "cut/sheet-01"


def _order(folder: Path) -> None:
    head, body, tail = e.entities(e.groups((folder / f"{SHEET}.dxf").read_bytes()))
    e.put(
        folder,
        f"{SHEET}.dxf",
        e.ungrouped([*head, *(pair for one in body[::-1] for pair in one), *tail]),
    )


def _start(folder: Path) -> None:
    """Each closed polyline begins two corners later."""
    head, body, tail = e.entities(e.groups((folder / f"{SHEET}.dxf").read_bytes()))
    for entity in body:
        first = next(k for k, (code, _) in enumerate(entity) if code.strip() == "10")
        corners: list[list[list[str]]] = []
        for pair in entity[first:]:
            if pair[0].strip() == "10":
                corners.append([])
            corners[-1].append(pair)
        entity[first:] = [pair for corner in (*corners[2:], *corners[:2]) for pair in corner]
    e.put(
        folder, f"{SHEET}.dxf", e.ungrouped([*head, *(pair for one in body for pair in one), *tail])
    )


def _layer(folder: Path) -> None:
    """A layer of help lines."""
    head, body, tail = e.entities(e.groups((folder / f"{SHEET}.dxf").read_bytes()))
    line = [
        ["0", "LINE"],
        ["8", "HELP"],
        ["10", "0.0"],
        ["20", "0.0"],
        ["11", "10.0"],
        ["21", "0.0"],
    ]
    e.put(
        folder,
        f"{SHEET}.dxf",
        e.ungrouped([*head, *(pair for one in body for pair in one), *line, *tail]),
    )
    e.change(
        folder, f"{SHEET}.svg", "</svg>", ' <g id="HELP"><path d="M0 400 L10 400" /></g>\n</svg>'
    )


def _svg_order(folder: Path) -> None:
    text = (folder / f"{SHEET}.svg").read_text()
    lines = text.split("\n")
    paths = [k for k, line in enumerate(lines) if "<path" in line]
    turned = [lines[k] for k in paths[::-1]]
    for k, line in zip(paths, turned, strict=True):
        lines[k] = line
    e.put(folder, f"{SHEET}.svg", "\n".join(lines))


def _numbers(folder: Path) -> None:
    pairs = e.groups((folder / f"{SHEET}.dxf").read_bytes())
    for pair in pairs:
        if re.fullmatch(r"-?\d+\.\d+", pair[1].strip()):
            pair[1] = f"{float(pair[1]):.9e}"
    e.put(folder, f"{SHEET}.dxf", e.ungrouped(pairs))


def _json(path: str) -> Callable[[Path], None]:
    return lambda folder: e.put(
        folder, path, json.dumps(json.loads((folder / path).read_text()), sort_keys=True)
    )


def _items(text: str) -> str:
    items = re.findall(r"<item [^>]*/>\n", text)
    return re.sub(r"(?:<item [^>]*/>\n)+", "".join(reversed(items)), text)


def _column(path: str) -> Callable[[Path], None]:
    return lambda folder: e.table(
        folder,
        path,
        lambda rows: [row.update({"remark": "mine"}) for row in rows] and None,  # type: ignore[arg-type]
    )


def _rows(path: str) -> Callable[[Path], None]:
    return lambda folder: e.table(folder, path, lambda rows: rows.reverse())


def _stl_head(folder: Path) -> None:
    path = e.named(folder, "print/cap_x")
    data = (folder / path).read_bytes()
    e.put(folder, path, b"another head".ljust(80) + data[80:])


HARMLESS: tuple[tuple[str, Callable[[Path], None]], ...] = (
    ("order of entities in a DXF", _order),
    ("start of a polyline", _start),
    ("a layer of help lines", _layer),
    ("order of paths in an SVG", _svg_order),
    ("numbers with exponents in a DXF", _numbers),
    (
        "line ends of a DXF",
        lambda f: e.put(
            f, f"{SHEET}.dxf", (f / f"{SHEET}.dxf").read_bytes().replace(b"\r\n", b"\n")
        ),
    ),
    (
        "a comment in a DXF",
        lambda f: e.put(
            f, f"{SHEET}.dxf", b"999\r\nby hand\r\n" + (f / f"{SHEET}.dxf").read_bytes()
        ),
    ),
    (
        "line width of an SVG",
        lambda f: e.change(f, f"{SHEET}.svg", 'stroke-width="0.1"', 'stroke-width="0.3"'),
    ),
    ("colour of an SVG", lambda f: e.change(f, f"{SHEET}.svg", "#d55e00", "#ff0000")),
    (
        "a comment in an SVG",
        lambda f: e.change(f, f"{SHEET}.svg", "<title>", "<!-- by hand --><title>"),
    ),
    (
        "commas in an SVG's paths",
        lambda f: e.put(
            f,
            f"{SHEET}.svg",
            re.sub(r"([ML])([\d.]+) ([\d.]+)", r"\1\2,\3", (f / f"{SHEET}.svg").read_text()),
        ),
    ),
    (
        "words of a title",
        lambda f: e.change(f, "wall/template.svg", "<title>reading-nook", "<title>our corner"),
    ),
    ("a column more in the address table", _column("lists/panels.csv")),
    ("a column more in the joints", _column("lists/joints.csv")),
    ("order of the joints", _rows("lists/joints.csv")),
    (
        "line ends of a table",
        lambda f: e.put(
            f, "lists/parts.csv", (f / "lists/parts.csv").read_bytes().replace(b"\r\n", b"\n")
        ),
    ),
    ("layout of the manifest", _json("manifest.json")),
    ("layout of the values", _json("lists/values.json")),
    (
        "a comment in the job",
        lambda f: e.put(f, "lists/job.toml", b"# mine\n" + (f / "lists/job.toml").read_bytes()),
    ),
    (
        "a comment at the rests",
        lambda f: e.put(
            f, "lists/offcuts.toml", b"# mine\n" + (f / "lists/offcuts.toml").read_bytes()
        ),
    ),
    ("head of an STL", _stl_head),
    ("order of triangles", lambda f: e.stl(f, e.named(f, "print/cap_x"), lambda t: t[::-1])),
    (
        "first corner of triangles",
        lambda f: e.stl(f, e.named(f, "print/cap_x"), lambda t: t[:, [1, 2, 0]]),
    ),
    (
        "a plate stored without deflating",
        lambda f: e.plate(f, "print/plate-01.3mf", str, zipfile.ZIP_STORED),
    ),
    ("order of copies on a plate", lambda f: e.plate(f, "print/plate-01.3mf", _items)),
    (
        "a PDF written by another program",
        lambda f: e.pdf(f, "wall/template-a4.pdf", lambda *_: None),
    ),
    ("a file of the maker's", lambda f: e.put(f, "notes.txt", "sand the edges")),
    (
        "a comment in the page",
        lambda f: e.change(f, "book/index.html", "</body>", "<!-- read --></body>"),
    ),
)
