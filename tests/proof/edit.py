"""Small edits of a copied build: a file is replaced, never written into, so that the build it was
linked from stays.
"""

from __future__ import annotations

import csv
import dataclasses
import hashlib
import io
import json
import math
import os
import re
import zipfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np

Place = Callable[[float, float, int], tuple[float, float]]


def linked(source: Path, target: Path) -> Path:
    """A copy of a tree that costs no space."""
    for path in source.rglob("*"):
        if path.is_file():
            there = target / path.relative_to(source)
            there.parent.mkdir(parents=True, exist_ok=True)
            os.link(path, there)
    return target


def put(folder: Path, path: str, data: bytes | str) -> None:
    """Replace a file."""
    place = folder / path
    place.unlink(missing_ok=True)
    place.write_bytes(data if isinstance(data, bytes) else data.encode())


def change(folder: Path, path: str, old: str, new: str, count: int = 1) -> None:
    """Replace text in a file; it must be there."""
    text = (folder / path).read_bytes().decode()
    assert old in text, f"{old!r} is not in {path}"
    put(folder, path, text.replace(old, new, count))


def rehashed(folder: Path) -> None:
    """The manifest as a build would have written it for the files that are there now."""
    manifest = json.loads((folder / "manifest.json").read_text())
    for entry in manifest["files"]:
        place = folder / entry["path"]
        if place.is_file():
            entry["sha256"] = hashlib.sha256(place.read_bytes()).hexdigest()
    put(folder, "manifest.json", json.dumps(manifest))


def manifest(folder: Path, edit: Callable[[dict[str, Any]], None]) -> None:
    data = json.loads((folder / "manifest.json").read_text())
    edit(data)
    put(folder, "manifest.json", json.dumps(data))


def table(folder: Path, path: str, edit: Callable[[list[dict[str, str]]], None]) -> None:
    """Edit the rows of a CSV file."""
    rows = list(csv.DictReader(io.StringIO((folder / path).read_text())))
    head = list(rows[0])
    edit(rows)
    out = io.StringIO()
    names = list(dict.fromkeys([*head, *(name for row in rows for name in row)]))
    writer = csv.DictWriter(out, names, lineterminator="\r\n")
    writer.writeheader()
    writer.writerows(rows)
    put(folder, path, out.getvalue())


def cell(folder: Path, path: str, row: int, column: str, value: str) -> None:
    table(folder, path, lambda rows: rows[row].update({column: value}))


def groups(data: bytes) -> list[list[str]]:
    """Group codes and values of a DXF."""
    lines = data.decode("latin-1").replace("\r\n", "\n").rstrip("\n").split("\n")
    return [[lines[k], lines[k + 1]] for k in range(0, len(lines) - 1, 2)]


def ungrouped(pairs: list[list[str]], newline: str = "\r\n") -> bytes:
    return (
        newline.join(line for pair in pairs for line in (*pair, "")[:2]).encode("latin-1")
        + newline.encode()
    )


def entities(
    pairs: list[list[str]],
) -> tuple[list[list[str]], list[list[list[str]]], list[list[str]]]:
    """What stands before the entities, each entity, and what follows."""
    start = (
        next(
            k
            for k, (code, value) in enumerate(pairs)
            if code.strip() == "2" and value == "ENTITIES"
        )
        + 1
    )
    end = next(
        k
        for k in range(start, len(pairs))
        if pairs[k][0].strip() == "0" and pairs[k][1] == "ENDSEC"
    )
    found: list[list[list[str]]] = []
    for pair in pairs[start:end]:
        if pair[0].strip() == "0":
            found.append([])
        found[-1].append(pair)
    return pairs[:start], found, pairs[end:]


def move_dxf(
    folder: Path, path: str, place: Place, kinds: tuple[str, ...] = ("LWPOLYLINE", "CIRCLE")
) -> None:
    """Move every corner: `place(x, y, number of the entity)`."""
    head, body, tail = entities(groups((folder / path).read_bytes()))
    for number, entity in enumerate(body):
        if entity[0][1] not in kinds:
            continue
        for at, pair in enumerate(entity):
            if pair[0].strip() == "10":
                x, y = place(float(pair[1]), float(entity[at + 1][1]), number)
                pair[1], entity[at + 1][1] = f"{x:.6f}", f"{y:.6f}"
    put(folder, path, ungrouped([*head, *(pair for entity in body for pair in entity), *tail]))


NUMBERS = re.compile(r"([MLA]) ?([^MLAZ]*)")


def move_svg(folder: Path, path: str, place: Place) -> None:
    """The same for the paths of an SVG; y is turned up for `place` and down again."""
    text = (folder / path).read_text()
    high = float(re.search(r'viewBox="0 0 [\d.]+ ([\d.]+)"', text)[1])
    count = iter(range(10**6))

    def one(found: re.Match[str]) -> str:
        number = next(count)
        out = []
        for command, rest in NUMBERS.findall(found[1]):
            values = [float(word) for word in rest.split()]
            x, y = place(values[-2], high - values[-1], number)
            out.append(
                " ".join([command, *(f"{v:g}" for v in values[:-2]), f"{x:.4f}", f"{high - y:.4f}"])
            )
        return (
            f'd="{" ".join(out)} Z"' if found[1].rstrip().endswith("Z") else f'd="{" ".join(out)}"'
        )

    put(folder, path, re.sub(r'(?<= )d="([^"]*)"', one, text))


def move_both(folder: Path, stem: str, place: Place) -> None:
    move_dxf(folder, f"{stem}.dxf", place)
    move_svg(folder, f"{stem}.svg", place)


def centres(folder: Path, path: str) -> list[tuple[float, float]]:
    """The middle of each polyline of a DXF."""
    _, body, _ = entities(groups((folder / path).read_bytes()))
    found = []
    for entity in body:
        xs = [float(v) for code, v in entity if code.strip() == "10"]
        ys = [float(v) for code, v in entity if code.strip() == "20"]
        found.append(((min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2))
    return found


def mirrored(corners: np.ndarray) -> np.ndarray:
    """Triangles seen in a mirror, still wound outwards."""
    corners[:, :, 0] *= -1
    return corners[:, ::-1]


def stl(folder: Path, path: str, edit: Callable[[np.ndarray], np.ndarray]) -> None:
    """Edit the triangles (n x 3 x 3) of an STL."""
    put(folder, path, stl_changed((folder / path).read_bytes(), edit))


def stl_changed(data: bytes, edit: Callable[[np.ndarray], np.ndarray]) -> bytes:
    """The bytes of an STL with its triangles (n x 3 x 3) edited."""
    rows = np.frombuffer(data, np.uint8, offset=84).reshape(-1, 50)
    corners = np.ascontiguousarray(rows[:, 12:48]).view("<f4").reshape(-1, 3, 3)
    made = np.ascontiguousarray(edit(corners.copy()).astype("<f4"))
    new = np.zeros((len(made), 50), np.uint8)
    new[:, 12:48] = made.reshape(len(made), 9).view(np.uint8).reshape(len(made), 36)
    return data[:80] + len(made).to_bytes(4, "little") + new.tobytes()


def named(folder: Path, start: str) -> str:
    """The one file that begins like this."""
    return next(
        path.relative_to(folder).as_posix()
        for path in sorted(folder.rglob("*"))
        if path.relative_to(folder).as_posix().startswith(start) and path.is_file()
    )


def plate(
    folder: Path, path: str, edit: Callable[[str], str], how: int = zipfile.ZIP_DEFLATED
) -> None:
    """Edit the model of a 3MF."""
    put(folder, path, plate_changed((folder / path).read_bytes(), edit, how))


def plate_changed(
    data: bytes, edit: Callable[[str], str], how: int = zipfile.ZIP_DEFLATED
) -> bytes:
    """The bytes of a 3MF with its model edited."""
    with zipfile.ZipFile(io.BytesIO(data)) as package:
        parts = {name: package.read(name) for name in package.namelist()}
    parts["3D/3dmodel.model"] = edit(parts["3D/3dmodel.model"].decode()).encode()
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", how) as package:
        for name, part in parts.items():
            package.writestr(name, part)
    return out.getvalue()


def replaced(value: Any, change: Callable[[str], str]) -> Any:
    """A frozen value with every text in it changed."""
    if isinstance(value, str):
        return change(value)
    if isinstance(value, tuple):
        return tuple(replaced(one, change) for one in value)
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        new = {f.name: replaced(getattr(value, f.name), change) for f in dataclasses.fields(value)}
        return dataclasses.replace(value, **new)
    return value


def pdf(
    folder: Path,
    path: str,
    edit: Callable[[object, int], None],
    keep: Callable[[int], bool] = lambda _: True,
) -> None:
    """Edit the pages of a PDF with a library, and write it again."""
    import pypdf

    reader = pypdf.PdfReader(folder / path)
    writer = pypdf.PdfWriter()
    for number, page in enumerate(reader.pages, 1):
        if keep(number):
            edit(writer.add_page(page), number)
    out = io.BytesIO()
    writer.write(out)
    put(folder, path, out.getvalue())


def rename(folder: Path, old: str, new: str) -> None:
    """Rename a file, in the manifest too."""
    os.rename(folder / old, folder / new)

    def edit(data: dict[str, Any]) -> None:
        for entry in data["files"]:
            if entry["path"] == old:
                entry["path"] = new

    manifest(folder, edit)


def turned(point: tuple[float, float], deg: float) -> tuple[float, float]:
    c, s = math.cos(math.radians(deg)), math.sin(math.radians(deg))
    return point[0] * c - point[1] * s, point[0] * s + point[1] * c
