"""Trees from strangers: broken, hostile, of another version.

Each must be told of, and none may end in a traceback.

BROKEN is no build at all (exit code 2); HOSTILE is one with files that lie (exit code 1 or 2, with
the file's name).
"""

from __future__ import annotations

import itertools
import json
import os
import struct
import zipfile
import zlib
from collections.abc import Callable
from pathlib import Path
from typing import Any

from . import edit as e

Plant = Callable[[Path], None]
SHEET = "cut/sheet-01"


def _deep(folder: Path) -> None:
    e.put(folder, "lists/values.json", "[" * 100_000 + "]" * 100_000)


def _link(folder: Path) -> None:
    (folder / "wall/holes.csv").unlink()
    (folder / "wall/holes.csv").symlink_to("/etc/hostname")


def _linked_folder(folder: Path) -> None:
    (folder / "more").symlink_to("/etc")


def _pipe(folder: Path) -> None:
    """Whoever opens it waits for ever."""
    (folder / "wall/holes.csv").unlink()
    os.mkfifo(folder / "wall/holes.csv")


def values(change: Callable[[dict[str, Any]], None]) -> Plant:
    def plant(folder: Path) -> None:
        data = json.loads((folder / "lists/values.json").read_text())
        change(data)
        e.put(folder, "lists/values.json", json.dumps(data))

    return plant


def manifest(change: Callable[[dict[str, Any]], None]) -> Plant:
    return lambda folder: e.manifest(folder, change)


def _endless(folder: Path) -> None:
    """A file of 100 GB that takes no room on the disk."""
    (folder / "manifest.json").unlink()
    with open(folder / "manifest.json", "wb") as file:
        file.truncate(100_000_000_000)


BROKEN: tuple[tuple[str, Plant], ...] = (
    ("no manifest", lambda f: (f / "manifest.json").unlink()),
    ("a manifest that is no JSON", lambda f: e.put(f, "manifest.json", "{")),
    ("a manifest of another shape", lambda f: e.put(f, "manifest.json", '{"files": 3}')),
    ("a manifest that is a list", lambda f: e.put(f, "manifest.json", "[]")),
    ("a manifest of numbers", manifest(lambda m: m.update(files=[1, 2], nest=[3], checks=4))),
    ("a manifest without end", _endless),
    ("a manifest in another script", lambda f: e.put(f, "manifest.json", b"\xff\xfe\x00\x00")),
    ("no values", lambda f: (f / "lists/values.json").unlink()),
    ("values nested without end", _deep),
    ("values of another shape", lambda f: e.put(f, "lists/values.json", "[1, 2]")),
    ("values that are not finite", values(lambda v: v["panel"].update(across_flats=float("inf")))),
    ("a panel of a billion sides", values(lambda v: v["panel"].update(sides=10**9))),
    ("a panel of no sides", values(lambda v: v["panel"].update(sides="six"))),
    ("designs that are a list", values(lambda v: v.update(designs=[1]))),
    ("a link", _link),
    ("a linked folder", _linked_folder),
    ("a pipe", _pipe),
)


def _bomb(folder: Path) -> None:
    """A plate that unfolds to 100 MB of blanks."""
    with zipfile.ZipFile(folder / "new.zip", "w", zipfile.ZIP_DEFLATED) as package:
        package.writestr("3D/3dmodel.model", b" " * 100_000_000)
    data = (folder / "new.zip").read_bytes()
    (folder / "new.zip").unlink()
    e.put(folder, "print/plate-01.3mf", data)


def _entities(folder: Path) -> None:
    """An SVG that would unfold to a billion words."""
    names = "abcdefghi"
    lines = [
        '<!ENTITY a "ha">',
        *(f'<!ENTITY {b} "{f"&{a};" * 10}">' for a, b in itertools.pairwise(names)),
    ]
    e.put(folder, f"{SHEET}.svg", f"<!DOCTYPE svg [{''.join(lines)}]><svg>&i;</svg>")


def _picture(folder: Path) -> None:
    """A PNG that says it is 100,000 points wide and high."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        return (
            struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))
        )

    head = struct.pack(">IIBBBBB", 100_000, 100_000, 8, 0, 0, 0, 0)
    body = chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(b"\0" * 1000)) + chunk(b"IEND", b"")
    e.put(folder, f"{SHEET}.png", b"\x89PNG\r\n\x1a\n" + body)


def _not_a_number(folder: Path) -> None:
    path = e.named(folder, "print/shell_x")

    def edit(corners: Any) -> Any:
        corners[0, 0, 0] = float("nan")
        return corners

    e.stl(folder, path, edit)


def _one_place(folder: Path) -> None:
    def edit(rows: list[dict[str, str]]) -> None:
        rows[1].update(x_mm=rows[0]["x_mm"], y_mm=rows[0]["y_mm"])

    e.table(folder, "lists/panels.csv", edit)


def _far(folder: Path) -> None:
    e.move_dxf(folder, f"{SHEET}.dxf", lambda x, y, k: (x * 1e300, y))


STEP = "model/diffuser.step"
HOSTILE: tuple[tuple[str, Plant, str], ...] = (
    ("a plate that unfolds", _bomb, "print/plate-01.3mf"),
    ("entities that unfold", _entities, "cut/sheet-01.svg"),
    (
        "a count of triangles that is not there",
        lambda f: e.put(f, e.named(f, "print/cap_x"), b"\0" * 80 + b"\xff\xff\xff\xff"),
        "print/cap_x",
    ),
    ("a corner that is no number", _not_a_number, "print/shell_x"),
    (
        "a plate that is no archive",
        lambda f: e.put(f, "print/plate-02.3mf", b"PK\x03\x04" + b"\0" * 500),
        "print/plate-02.3mf",
    ),
    ("numbers without end", lambda f: e.cell(f, "wall/holes.csv", 1, "x_mm", "1e999"), "holes"),
    (
        "no numbers at all",
        lambda f: e.cell(f, "lists/panels.csv", 1, "x_mm", "far"),
        "lists/panels.csv",
    ),
    ("all panels in one place", _one_place, "lists/panels.csv"),
    (
        "a panel of no design",
        lambda f: e.cell(f, "lists/panels.csv", 1, "design", "ghost"),
        "lists/panels.csv",
    ),
    ("a table of one cell", lambda f: e.put(f, "lists/joints.csv", '"'), "lists/joints.csv"),
    (
        "a joint of no panel",
        lambda f: e.cell(f, "lists/joints.csv", 0, "a", "ZZ"),
        "lists/joints.csv",
    ),
    (
        "a count that is a word",
        lambda f: e.cell(f, "lists/parts.csv", 0, "count", "many"),
        "lists/parts.csv",
    ),
    (
        "a cable of nothing",
        lambda f: e.cell(f, "lists/cables.csv", 0, "current_a", "--"),
        "lists/cables.csv",
    ),
    (
        "rests that are no TOML",
        lambda f: e.put(f, "lists/offcuts.toml", "[[["),
        "lists/offcuts.toml",
    ),
    ("a job that is no TOML", lambda f: e.put(f, "lists/job.toml", "= 3"), "lists/job.toml"),
    ("zeros for a drawing", lambda f: e.put(f, f"{SHEET}.dxf", b"\0" * 5000), "cut/sheet-01.dxf"),
    ("a drawing beyond the stars", _far, "cut/sheet-01.dxf"),
    ("a picture without end", _picture, "cut/sheet-01.png"),
    ("an empty model", lambda f: e.put(f, STEP, b""), STEP),
    (
        "a model that refers to itself",
        lambda f: e.put(
            f,
            STEP,
            b"ISO-10303-21;\nDATA;\n" + b"#1=ADVANCED_FACE('',(#1),#1,.T.);\n" * 3 + b"ENDSEC;",
        ),
        STEP,
    ),
    (
        "a template that is no PDF",
        lambda f: e.put(f, "wall/template-a4.pdf", b"%PDF-1.7\n" + b"x" * 9000),
        "wall/template-a4.pdf",
    ),
    (
        "no holes",
        lambda f: e.put(f, "wall/holes.csv", "panel,x_mm,y_mm,drill_mm\r\n"),
        "wall/holes.csv",
    ),
    (
        "a book that is no text",
        lambda f: e.put(f, "book/index.html", b"\xff" * 400),
        "book/index.html",
    ),
    ("a printed book of nothing", lambda f: e.put(f, "book/book.pdf", b""), "book/book.pdf"),
    (
        "files that lead out",
        manifest(lambda m: m["files"][0].update(path="../../etc/passwd")),
        "passwd",
    ),
    ("counts that are words", manifest(lambda m: m["counts"].update(clips="some")), "clips"),
    ("a nest of another job", manifest(lambda m: m["nest"][0].update(stock="ghost")), "cut"),
    ("another version", manifest(lambda m: m.update(version="9.9")), "9.9"),
    ("another program", manifest(lambda m: m.update(tool="other")), "other"),
    (
        "a shop without stock",
        values(lambda v: v["shop"].update(stock={"opal-3": "thick"})),
        "does not hold",
    ),
)
