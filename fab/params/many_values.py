"""A value of a file that is a list (points, curves, cells, names): converted item by item."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from dataclasses import replace
from typing import Any

from fab.params.one_value import Bad, in_range, label, to_count, to_number, to_text
from fab.params.quoting import clean, short, show
from fab.params.spec import Spec
from fab.units import some

MOST_CORNERS = 40_000  # of all curves behind one key

_BULGE = Spec("number", "bulge of an arc, tan(sweep / 4)", "", -1.0, 1.0)

MOST_TOLD = 3  # bad items of a list that are listed, by their places from 0; the others are counted


def to_pair(spec: Spec, value: Any) -> tuple[float, float]:
    """Two lengths in mm. Raises Bad."""
    if not isinstance(value, list) or len(value) != 2:
        raise Bad(f"{show(value)} is not two lengths ({label(spec)}).", "Write [220, 220].")
    return (to_number(spec, value[0]), to_number(spec, value[1]))


def _point(spec: Spec, value: Any) -> tuple[float, float]:
    if not isinstance(value, list) or len(value) != 2:
        raise Bad(f"{show(value)} is not a point.", "Points are [x, y].")
    return (to_number(spec, value[0]), to_number(spec, value[1]))


def to_points(spec: Spec, value: Any) -> tuple[tuple[float, float], ...]:
    """Points (x, y) in mm. Raises Bad."""
    return _each(spec, value, lambda item: _point(spec, item), "a list of points [[x, y], ...]")


def to_rings(spec: Spec, value: Any) -> tuple[tuple[tuple[float, float], ...], ...]:
    """Closed shapes, each of three points or more, mm. Raises Bad."""

    def ring(item: Any) -> tuple[tuple[float, float], ...]:
        corners = to_points(spec, item)
        if len(corners) < 3:
            raise Bad(
                f"{show(item)} has {some(len(corners), 'corner')}.", "A closed shape has 3 or more."
            )
        return corners

    return _each(spec, value, ring, "a list of shapes [[[x, y], [x, y], [x, y]], ...]")


def to_curves(spec: Spec, value: Any) -> tuple[tuple[tuple[float, ...], ...], ...]:
    """Closed curves of corners (x, y) or (x, y, bulge), mm. Raises Bad."""

    def corner(item: Any) -> tuple[float, ...]:
        if not isinstance(item, list) or len(item) not in (2, 3):
            raise Bad(
                f"{show(item)} is not a corner of a curve.",
                "Corners are [x, y], or [x, y, bulge] where an arc starts.",
            )
        bulge = [
            in_range(_BULGE, to_number(_BULGE, value), value) for value in item[2:] if value != 0
        ]
        return (to_number(spec, item[0]), to_number(spec, item[1]), *bulge)

    def curve(item: Any) -> tuple[tuple[float, ...], ...]:
        corners = _each(
            replace(spec, most_items=MOST_CORNERS), item, corner, "a list of corners [[x, y], ...]"
        )
        if len(corners) < (2 if any(len(corner) == 3 for corner in corners) else 3):
            raise Bad(
                f"{show(item)} has {some(len(corners), 'corner')}.",
                "A closed curve has 3 or more, or 2 and an arc.",
            )
        return corners

    found = _each(spec, value, curve, "a list of closed curves [[[x, y], [x, y, bulge], ...], ...]")
    total = sum(len(one) for one in found)
    if total > MOST_CORNERS:
        raise Bad(f"has {some(total, 'corner')}.", f"At most {MOST_CORNERS:,} are read.")
    return found


def to_cell(spec: Spec, value: Any) -> tuple[int, int]:
    """One lattice cell. Raises Bad."""
    if not isinstance(value, list) or len(value) != 2:
        raise Bad(f"{show(value)} is not a cell.", "Cells are two whole numbers: [0, 1].")
    return (to_count(spec, value[0]), to_count(spec, value[1]))


def to_cells(spec: Spec, value: Any) -> tuple[tuple[int, int], ...]:
    """Lattice cells, none twice. Raises Bad."""
    found = _each(
        spec, value, lambda item: to_cell(spec, item), "a list of cells [[0, 0], [1, 0], ...]"
    )
    _no_doubles(found, "Two panels cannot be in one cell: remove one.")
    return found


def to_names(spec: Spec, value: Any) -> tuple[str, ...]:
    """Words, none twice. Raises Bad."""
    if isinstance(value, str):
        raise Bad(f"{show(value)} is one text, not a list.", f'Write ["{clean(short(value))}"].')
    found = _each(spec, value, lambda item: to_text(spec, item), 'a list of names ["A", "B"]')
    _no_doubles(found, "Remove one.")
    return found


def to_numbers(spec: Spec, value: Any) -> tuple[float, ...]:
    """Numbers. Raises Bad."""
    return _each(spec, value, lambda item: to_number(spec, item), "a list of numbers [1, 2, 3]")


def _each(spec: Spec, value: Any, one: Callable[[Any], Any], wanted: str) -> tuple[Any, ...]:
    if not isinstance(value, list):
        raise Bad(f"{show(value)} is not {wanted} ({label(spec)}).", "")
    if len(value) > spec.most_items:
        raise Bad(f"has {some(len(value), 'entry')}.", f"At most {spec.most_items:,} are read.")
    found, faults = [], []
    for place, item in enumerate(value):
        try:
            found.append(one(item))
        except Bad as bad:
            faults.append((place, bad))
    if faults:
        says = "; ".join(f"[{place}]: {bad.says.rstrip('.')}" for place, bad in faults[:MOST_TOLD])
        more = f"; and {len(faults) - MOST_TOLD:,} more" if len(faults) > MOST_TOLD else ""
        raise Bad(f"{says}{more}.", faults[0][1].works)
    return tuple(found)


def _no_doubles(found: tuple[Any, ...], works: str) -> None:
    doubles = [item for item, times in Counter(found).items() if times > 1]
    if doubles:
        told = short(", ".join(show(item) for item in doubles[:200]))
        raise Bad(f"{told} {'is' if len(doubles) == 1 else 'are'} listed more than once.", works)
