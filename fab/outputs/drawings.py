"""Shapes that a maker brings along as DXF or SVG: files in, pieces and a plain report out."""

from __future__ import annotations

import gc
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path
from unicodedata import normalize

from fab.errors import Fault, InputError
from fab.files.drawn import Drawn
from fab.files.read_outline import read_outline
from fab.outlines.loops import JOIN_MM
from fab.outputs.alike import free_name
from fab.params.files import read_bytes
from fab.params.quoting import clean
from fab.params.shop import Laser, Reading
from fab.sheets.model import Piece, Turns
from fab.sheets.operations import Meaning, sorted_out
from fab.sheets.shapes_in import shapes_in, understood
from fab.units import some

MOST_BYTES = 256 * 1024 * 1024  # a DXF of a million corners has some 60 MB
SUFFIXES = (".dxf", ".svg", ".svgz")
_DONE: dict[Meaning, str] = {
    "cut": "cut",
    "mark": "marked",
    "engrave": "engraved",
    "ignore": "ignored",
}


@dataclass(frozen=True)
class DrawingRequest:
    """A drawing, how often each outline in it is wanted, and from which stock."""

    path: Path
    count: int
    stock: str


@dataclass(frozen=True)
class Brought:
    """Stock to the pieces cut from it, and what their makers should know."""

    pieces: Mapping[str, tuple[Piece, ...]]
    notes: tuple[str, ...]
    # size, holes and marks of each piece, and what was done with each layer
    read: tuple[str, ...] = ()

    @property
    def names(self) -> frozenset[str]:
        """Names of all pieces that the drawings hold."""
        return frozenset(piece.name for pieces in self.pieces.values() for piece in pieces)


def bring(
    wanted: Sequence[DrawingRequest],
    taken: Sequence[str] = (),
    *,
    turns: Turns = "quarter",
    join_mm: float = JOIN_MM,
    unit_mm: float | None = None,
    reads: Sequence[Reading] = (),
    laser: Laser | None = None,
) -> Brought:
    """Read all drawings.

    Pieces are named after their files, with a number where a name is `taken` or stands twice.

    Raises InputError with the faults of all files at once.
    """
    found: dict[str, list[Piece]] = {}
    notes: list[str] = []
    read: list[str] = []
    faults: list[Fault] = []
    names = {name.casefold() for name in taken}
    for one in wanted:
        shown = clean(str(one.path))
        try:
            with _no_collector():
                data = read_bytes(one.path, shown, most=MOST_BYTES, suffixes=SUFFIXES)
                loose = read_outline(data, shown, unit_mm)
                meant = sorted_out(loose.drawn, reads, laser or Laser())
                shapes = shapes_in(
                    [seg for drawn in meant.get("cut", []) for seg in drawn.segments],
                    word(one.path.stem),
                    one.count,
                    one.stock,
                    turns=turns,
                    tol_mm=join_mm,
                    marks=[drawn.segments for drawn in meant.get("mark", [])],
                    engraved=[drawn.segments for drawn in meant.get("engrave", [])],
                )
        except InputError as error:
            faults += [_of_file(fault, shown) for fault in error.faults]
            continue
        notes += [
            *loose.notes,
            *(_named(note, word(one.path.stem), shown) for note in shapes.notes),
        ]
        pieces = [replace(piece, name=free_name(piece.name, names)) for piece in shapes.pieces]
        found.setdefault(one.stock, []).extend(pieces)
        read += [
            *(understood(piece) for piece in pieces),
            *(f"{shown}: {line}" for line in _layers(meant)),
        ]
    if faults:
        raise InputError(faults)
    return Brought(
        {stock: tuple(pieces) for stock, pieces in found.items()}, tuple(notes), tuple(read)
    )


@contextmanager
def _no_collector() -> Iterator[None]:
    """Leave the search for cycles until a drawing is read: it makes a million values that stay,
    and a third of the time went into looking at them again and again.
    """
    on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if on:
            gc.enable()


def _layers(meant: Mapping[Meaning, Sequence[Drawn]]) -> list[str]:
    """The operation of each layer and colour, a line an operation; nothing where all is cut."""
    if set(meant) <= {"cut"}:
        return []
    lines = []
    for operation, drawn in meant.items():
        layers = sorted({one.layers[0] if one.layers else f"colour {one.colour}" for one in drawn})
        many = ", ".join(clean(layer) for layer in layers[:5]) + (
            ", ..." if len(layers) > 5 else ""
        )
        lines.append(f"{_DONE[operation]}: {some(len(drawn), 'line')} ({many})")
    return lines


def word(stem: str) -> str:
    """A file's name as a word that is safe in file names and lists: letters and figures of any
    script, - and _.
    """
    composed = normalize("NFC", stem)
    kept = "".join(char if char.isalnum() or char in "-_" else "-" for char in composed)
    return kept.strip("-_")[:40] or "shape"


def _of_file(fault: Fault, shown: str) -> Fault:
    """The fault with the file that it is in, once."""
    if shown in fault.where or fault.says.startswith(shown):
        return fault
    return Fault("", fault.says, fault.works, where=shown)


def _named(note: str, name: str, shown: str) -> str:
    return shown + note.removeprefix(name) if note.startswith(f"{name}:") else note
