"""A nest kept beside the job: what a search found is used again while its inputs agree.

A search that stops by the clock finds something else each time; keeping its result makes the build repeatable.
"""

from __future__ import annotations

import hashlib
import json
import math
from collections.abc import Mapping, Sequence
from typing import Any

from fab.outlines.contour import Arc, Contour
from fab.sheets.model import Layup, Nest, Piece, Placed, Sheet

_FORMAT = 1


def inputs_sha256(
    pieces: Sequence[Piece], sheets: Sequence[Sheet], gap_mm: float, kerf_mm: float, seconds: float, seed: int
) -> str:
    """Hash of everything that the answer depends on."""
    facts = {
        "format": _FORMAT,
        "pieces": [[p.name, p.count, p.stock, p.turns, [_ring(c) for c in p.outline.contours]] for p in pieces],
        "sheets": [[s.stock, s.name, s.outline, s.holes, s.margin, s.count, s.price, s.grain] for s in sheets],
        "gap_mm": gap_mm,
        "kerf_mm": kerf_mm,
        "seconds": seconds,
        "seed": seed if seconds else 0,
    }
    return hashlib.sha256(json.dumps(facts, sort_keys=True).encode()).hexdigest()


def _ring(contour: Contour) -> list[list[float]]:
    return [[*seg.start, seg.sweep_rad if isinstance(seg, Arc) else 0.0] for seg in contour.segments]


def lock(result: Nest) -> dict[str, Any]:
    """Plain values for a JSON file beside the job."""
    return {
        "format": _FORMAT,
        "inputs_sha256": result.inputs_sha256,
        "engine": result.engine,
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


def taken_from(
    found: Mapping[str, object] | None, key: str, pieces: Sequence[Piece], sheets: Sequence[Sheet]
) -> tuple[Layup, ...] | None:
    """The kept layups, or None when they belong to other inputs or can't be read; whoever edits a lock loses it."""
    if not found or found.get("format") != _FORMAT or found.get("inputs_sha256") != key:
        return None
    by_name = {(sheet.stock, sheet.name): sheet for sheet in sheets}
    names = {piece.name for piece in pieces}
    try:
        layups = tuple(
            Layup(
                by_name[(str(entry["stock"]), str(entry["sheet"]))],
                tuple(Placed(str(n), int(c), float(x), float(y), float(t)) for n, c, x, y, t in entry["placed"]),
                float(entry["used_area"]),
                None if entry["bound"] is None else int(entry["bound"]),
            )
            for entry in found["layups"]  # type: ignore[attr-defined]
        )
    except (KeyError, TypeError, ValueError):
        return None
    poses = [p for layup in layups for p in layup.placed]
    if any(p.piece not in names or not math.isfinite(p.x + p.y + p.turn_deg) for p in poses):
        return None
    return layups
