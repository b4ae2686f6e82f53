"""A nest kept beside the job: what a search found is used again while its inputs agree.

A search that stops by the clock finds something else each time; keeping its result makes the build
repeatable. How long was searched, and from which seed, is no input: a nest that was asked for once
serves every later run of the same pieces on the same sheets, until somebody asks for a longer
search.

A nest that was booked is kept with the rack it was made from, under its name and pieces alone:
booking changes the rack, and what was cut must not be laid out anew on what is left.
"""

from __future__ import annotations

import hashlib
import json
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from fab.outlines.contour import Arc, Contour
from fab.sheets.model import Layup, Nest, Piece, Placed, Sheet

_FORMAT = 2
_SHEET = ("stock", "name", "outline", "holes", "margin", "count", "price", "grain", "offcut")

Locks = Mapping[str, Mapping[str, Any]]  # hash of the inputs to what was found for them


def inputs_sha256(
    pieces: Sequence[Piece], sheets: Sequence[Sheet], gap_mm: float, kerf_mm: float
) -> str:
    """Hash of everything that the answer depends on."""
    facts = {
        "format": _FORMAT,
        "pieces": [
            [p.name, p.count, p.stock, p.turns, [_ring(c) for c in p.outline.contours]]
            for p in pieces
        ],
        "sheets": [
            [s.stock, s.name, s.outline, s.holes, s.margin, s.count, s.price, s.grain]
            for s in sheets
        ],
        "gap_mm": gap_mm,
        "kerf_mm": kerf_mm,
    }
    return hashlib.sha256(json.dumps(facts, sort_keys=True).encode()).hexdigest()


def parts_sha256(title: str, pieces: Sequence[Piece], gap_mm: float, kerf_mm: float) -> str:
    """Hash of what is cut, whatever it is cut from, and of what the nest is called."""
    return hashlib.sha256(
        f"{title}\n{inputs_sha256(pieces, (), gap_mm, kerf_mm)}".encode()
    ).hexdigest()


def _ring(contour: Contour) -> list[list[float]]:
    return [
        [*seg.start, seg.sweep_rad if isinstance(seg, Arc) else 0.0] for seg in contour.segments
    ]


def lock(result: Nest) -> dict[str, Any]:
    """Plain values for a JSON file beside the job."""
    return {
        "format": _FORMAT,
        "engine": result.engine,
        "seconds": result.seconds,
        "seed": result.seed,
        "layups": [
            {
                "stock": layup.sheet.stock,
                "sheet": layup.sheet.name,
                "used_area": layup.used_area,
                "bound": layup.bound,
                "placed": [[p.piece, p.copy, p.x, p.y, p.turn_deg] for p in layup.placed],
            }
            for layup in result.layups
        ],
    }


def booked(result: Nest, sheets: Sequence[Sheet], gap_mm: float) -> dict[str, Any]:
    """The lock of a nest whose sheets are taken off the rack, with the rack as it was."""
    rack = [[getattr(sheet, name) for name in _SHEET] for sheet in sheets]
    return lock(result) | {"gap_mm": gap_mm, "rack": rack}


@dataclass(frozen=True)
class Booked:
    """An earlier cut: the rack of then, the gap, and the lock."""

    sheets: tuple[Sheet, ...]
    gap_mm: float
    lock: Mapping[str, Any]


def booked_as(found: Locks, parts: str) -> Booked | None:
    """Return the booking under a hash of parts; None without one, or when it can't be read."""
    entry: Any = found.get(parts)
    try:
        rows = [dict(zip(_SHEET, row, strict=True)) for row in entry["rack"]]
        sheets = tuple(
            Sheet(
                **row
                | {
                    "outline": _corners(row["outline"]),
                    "holes": tuple(map(_corners, row["holes"])),
                }
            )
            for row in rows
        )
        return Booked(sheets, float(entry["gap_mm"]), entry)
    except (KeyError, TypeError, ValueError, AttributeError):
        return None


def _corners(ring: Any) -> tuple[tuple[float, float], ...]:
    return tuple((float(x), float(y)) for x, y in ring)


@dataclass(frozen=True)
class Kept:
    """The entry of a lock for some inputs."""

    layups: tuple[Layup, ...]
    engine: str
    seconds: float
    seed: int

    def serves(self, seconds: float, seed: int) -> bool:
        """True when no search of `seconds` from `seed` is needed beside it."""
        return seconds <= 0 or (self.seconds >= seconds and self.seed == seed)


def taken_from(
    found: Locks, key: str, pieces: Sequence[Piece], sheets: Sequence[Sheet]
) -> Kept | None:
    """Return the nest kept for the inputs; None without one, or when it can't be read.

    An edited lock can't be read.
    """
    entry: Any = found.get(key)
    by_name = {(sheet.stock, sheet.name): sheet for sheet in sheets}
    names = {piece.name for piece in pieces}
    try:
        if entry["format"] != _FORMAT:
            return None
        layups = tuple(
            Layup(
                by_name[(str(one["stock"]), str(one["sheet"]))],
                tuple(
                    Placed(str(n), int(c), float(x), float(y), float(t))
                    for n, c, x, y, t in one["placed"]
                ),
                float(one["used_area"]),
                None if one["bound"] is None else int(one["bound"]),
            )
            for one in entry["layups"]
        )
        kept = Kept(layups, str(entry["engine"]), float(entry["seconds"]), int(entry["seed"]))
    except (KeyError, TypeError, ValueError, AttributeError, OverflowError):
        return None
    poses = [p for layup in layups for p in layup.placed]
    if any(p.piece not in names or not math.isfinite(p.x + p.y + p.turn_deg) for p in poses):
        return None
    return kept
