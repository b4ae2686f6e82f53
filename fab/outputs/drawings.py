"""Shapes that a maker brings along as DXF or SVG: files in, pieces and a plain report out."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from fab.errors import Fault, InputError
from fab.files.read_outline import read_outline
from fab.outlines.loops import JOIN_MM
from fab.outputs.alike import free_name
from fab.params.files import read_bytes
from fab.params.showing import clean
from fab.sheets.model import Piece, Turns
from fab.sheets.shapes_in import shapes_in

MOST_BYTES = 256 * 1024 * 1024  # a DXF of a million corners has some 60 MB
SUFFIXES = (".dxf", ".svg")


@dataclass(frozen=True)
class Wanted:
    """A drawing, how often each outline in it is wanted, and from which stock."""

    path: Path
    count: int
    stock: str


@dataclass(frozen=True)
class Brought:
    """Stock to the pieces cut from it, and what their makers should know."""

    pieces: Mapping[str, tuple[Piece, ...]]
    notes: tuple[str, ...]

    @property
    def names(self) -> frozenset[str]:
        return frozenset(piece.name for pieces in self.pieces.values() for piece in pieces)


def bring(
    wanted: Sequence[Wanted],
    taken: Sequence[str] = (),
    *,
    turns: Turns = "quarter",
    join_mm: float = JOIN_MM,
    unit_mm: float | None = None,
) -> Brought:
    """Read all drawings. Pieces are named after their files, with a number where a name is `taken` or stands twice.

    Raises InputError with the faults of all files at once.
    """
    found: dict[str, list[Piece]] = {}
    notes: list[str] = []
    faults: list[Fault] = []
    names = {name.casefold() for name in taken}
    for one in wanted:
        shown = clean(str(one.path))
        try:
            data = read_bytes(one.path, shown, most=MOST_BYTES, suffixes=SUFFIXES)
            loose = read_outline(data, shown, unit_mm)
            shapes = shapes_in(loose.segments, word(one.path.stem), one.count, one.stock, turns=turns, tol_mm=join_mm)
        except InputError as error:
            faults += [_of_file(fault, shown) for fault in error.faults]
            continue
        notes += [*loose.notes, *(_named(note, word(one.path.stem), shown) for note in shapes.notes)]
        for piece in shapes.pieces:
            found.setdefault(one.stock, []).append(replace(piece, name=free_name(piece.name, names)))
    if faults:
        raise InputError(faults)
    return Brought({stock: tuple(pieces) for stock, pieces in found.items()}, tuple(notes))


def word(stem: str) -> str:
    """A file's name as a word that is safe in file names and lists: letters, figures, - and _."""
    kept = "".join(char if char.isascii() and (char.isalnum() or char in "-_") else "-" for char in stem)
    return kept.strip("-_")[:40] or "shape"


def _of_file(fault: Fault, shown: str) -> Fault:
    """The fault with the file that it is in, once."""
    if shown in fault.where or fault.says.startswith(shown):
        return fault
    return Fault(shown, "", fault.says, fault.works)


def _named(note: str, name: str, shown: str) -> str:
    return shown + note.removeprefix(name) if note.startswith(f"{name}:") else note
