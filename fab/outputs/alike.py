"""Pieces that differ in their holes and marks alone are nested as one shape, and dealt out to its
places afterwards.

A nest of equal shapes is exact and quick; which of them lies where is all the same to it.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from functools import lru_cache

from fab.outlines.contour import Outline
from fab.outlines.curves import Corners, corners_of
from fab.outlines.kerf import kerf_compensated
from fab.sheets.model import Nest, Piece

Members = dict[str, list[Piece]]  # name of the shape that was nested to the pieces it stands for


def one_shape(pieces: Sequence[Piece]) -> tuple[list[Piece], Members]:
    """The pieces to nest, and those of them that stand for several; such a shape has neither holes
    nor marks.
    """
    groups: dict[tuple[Corners, str, str], list[Piece]] = {}
    for piece in pieces:
        groups.setdefault((_edge(piece.outline), piece.stock, piece.turns), []).append(piece)
    found, members = [], {}
    for group in groups.values():
        first = group[0]
        if len(group) == 1:
            found.append(first)
            continue
        count = sum(piece.count for piece in group)
        found.append(
            replace(first, outline=Outline(first.outline.edge), count=count, marks=(), engraved=())
        )
        members[first.name] = group
    return found, members


def dealt(nest: Nest, members: Members, kerf_mm: float) -> Nest:
    """The nest with every place of such a shape given to one of its pieces, in their order."""
    if not members:
        return nest
    queue = {
        name: [piece for piece in group for _ in range(piece.count)]
        for name, group in members.items()
    }
    copies: Counter[str] = Counter()
    layups = []
    for layup in nest.layups:
        placed, less = [], 0.0
        for item in layup.placed:
            if item.piece in queue:
                piece = queue[item.piece].pop(0)
                less += _holes_mm2(piece.outline, kerf_mm)
                copies[piece.name] += 1
                placed.append(replace(item, piece=piece.name, copy=copies[piece.name]))
            else:
                placed.append(item)
        layups.append(replace(layup, placed=tuple(placed), used_area=layup.used_area - less))
    missing = {name: count for name, count in nest.missing.items() if name not in members}
    missing |= dict(Counter(piece.name for left in queue.values() for piece in left))
    return replace(nest, layups=tuple(layups), missing=missing)


@lru_cache(maxsize=1024)
def _edge(outline: Outline) -> Corners:
    return corners_of(outline.edge)


@lru_cache(maxsize=1024)
def _holes_mm2(outline: Outline, kerf_mm: float) -> float:
    """Area that the holes of a piece take from it, along the cut paths."""
    if not outline.holes:
        return 0.0
    return math.fsum(abs(hole.area_mm2) for hole in kerf_compensated(outline, kerf_mm).holes)


def free_name(name: str, taken: set[str]) -> str:
    """The name, or one with a number behind it when a part is called so already; it is taken from
    then on.
    """
    number, found = 1, name
    while found.casefold() in taken:
        number += 1
        found = f"{name}-{number}"
    taken.add(found.casefold())
    return found
