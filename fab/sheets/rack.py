"""The rack: which sheets and offcuts of a stock there are, as the shop file says."""

from __future__ import annotations

import math
from collections.abc import Collection
from typing import Any

from fab.errors import Fault, InputError
from fab.outlines.contour import Point
from fab.params.shop import Offcut, Shop, Stock
from fab.sheets.model import Sheet, ring_area
from fab.units import JOIN_TOL_MM, fixed, some

Ring = tuple[Point, ...]

_LEAST_MM2 = 1.0  # of an offcut


def rack(shop: Shop, stock: str, *, apart: Collection[str] = ()) -> tuple[Sheet, ...]:
    """Sheets of `stock`, offcuts first (they are paid for), smallest first, then the whole sheets.

    Entries of the shop that are the same material in another size (material, finish, make,
    thickness and kerf agree) belong to the stock too, but for those in `apart`: other pieces are
    cut from them. Raises InputError for an unknown stock and for offcuts whose outline can't be,
    all faults at once.
    """
    if stock not in shop.stock:
        known = ", ".join(sorted(shop.stock)) or "none"
        raise InputError([Fault("stock", f"unknown stock {stock!r}.", f"Known: {known}.")])
    sizes = [stock] + [
        name
        for name in sorted(shop.stock)
        if name not in (stock, *apart) and _alike(shop.stock[name], shop.stock[stock])
    ]
    faults: list[Fault] = []
    offcuts: list[Sheet] = []
    for index, offcut in enumerate(shop.offcut):
        if offcut.stock not in shop.stock:
            known = ", ".join(sorted(shop.stock))
            says = f"{offcut.name or index + 1}: unknown stock {offcut.stock!r}."
            faults.append(Fault(f"shop.offcut[{index}].stock", says, f"Known: {known}."))
        if offcut.stock not in sizes or offcut.count == 0:
            continue
        key = f"shop.offcut[{index}]"
        faults += _faults(offcut, key)
        if not faults:
            offcuts.append(offcut_sheet(offcut, index, stock, shop.stock[offcut.stock]))
    if faults:
        raise InputError(faults)
    whole = [_whole(name, stock, shop.stock[name]) for name in sizes]
    return (
        *sorted(offcuts, key=lambda sheet: (sheet.area, sheet.name)),
        *sorted(whole, key=lambda sheet: (sheet.area, sheet.name)),
    )


def _alike(one: Stock, other: Stock) -> bool:
    """The same material in another size."""
    return all(
        getattr(one, key) == getattr(other, key)
        for key in ("material", "finish", "made", "thickness", "tolerance", "kerf")
    )


def _whole(name: str, stock: str, kind: Stock) -> Sheet:
    return Sheet(
        stock,
        name,
        _rectangle(kind.width, kind.height),
        (),
        kind.margin,
        kind.count,
        kind.price,
        kind.grain,
    )


def _rectangle(width: float, height: float) -> tuple[Point, ...]:
    return ((0.0, 0.0), (width, 0.0), (width, height), (0.0, height))


def offcut_sheet(offcut: Offcut, index: int, stock: str, kind: Stock) -> Sheet:
    """The shop's offcut number `index` moved so that its box begins at (0, 0)."""
    left, low = min(x for x, _ in offcut.outline), min(y for _, y in offcut.outline)

    def moved(ring: tuple[Point, ...]) -> tuple[Point, ...]:
        return tuple((x - left, y - low) for x, y in ring)

    name = offcut.name or f"offcut-{index + 1}"
    outline, holes = _rings(offcut)
    return Sheet(
        stock,
        name,
        moved(outline),
        tuple(moved(hole) for hole in holes),
        kind.margin,
        offcut.count,
        0.0,
        kind.grain,
        True,
    )


def _rings(offcut: Offcut) -> tuple[Ring, tuple[Ring, ...]]:
    """Outline and holes of what is there: a bad spot that reaches over the edge is a notch, two
    that overlap are one.
    """
    outline, holes = _open(offcut.outline), tuple(_open(hole) for hole in offcut.holes)
    if not holes:
        return outline, ()
    import shapely

    if shapely.Polygon(outline, holes).is_valid:
        return outline, holes
    there = _material(outline, holes)[0]
    return _corners(there.exterior), tuple(_corners(ring) for ring in there.interiors)


def _material(outline: Ring, holes: Collection[Ring]) -> list[Any]:
    """The pieces that are left of an offcut; crumbs are none."""
    import shapely

    left = shapely.Polygon(outline).difference(
        shapely.union_all([shapely.Polygon(hole) for hole in holes])
    )
    return [part for part in getattr(left, "geoms", [left]) if part.area >= _LEAST_MM2]


def _corners(ring: Any) -> Ring:
    return tuple((float(x), float(y)) for x, y in list(ring.coords)[:-1])


def _open(ring: tuple[Point, ...]) -> tuple[Point, ...]:
    """Without a closing corner that repeats the first."""
    return ring[:-1] if len(ring) > 1 and math.dist(ring[0], ring[-1]) <= JOIN_TOL_MM else ring


def _faults(offcut: Offcut, key: str) -> list[Fault]:
    """Faults of an offcut's rings."""
    name = offcut.name or key
    rings = [
        (f"{key}.outline", offcut.outline),
        *((f"{key}.holes[{k}]", h) for k, h in enumerate(offcut.holes)),
    ]
    faults: list[Fault] = []
    for at, ring in rings:
        corners = _open(ring)
        if any(not math.isfinite(v) for point in corners for v in point):
            faults.append(
                Fault(at, f"{name} has a corner that is not a number.", "Measure it again.")
            )
        elif len(corners) < 3:
            faults.append(
                Fault(at, f"{name} has {some(len(corners), 'corner')}.", "It needs three or more.")
            )
        elif crossing := _self_crossing(corners):
            (x, y), (i, j) = crossing
            says = (
                f"{name}: the side after corner {i + 1} crosses the side after corner {j + 1} at"
                f" ({fixed(x, 1)}, {fixed(y, 1)})."
            )
            faults.append(Fault(at, says, "List the corners in order around it."))
        elif abs(ring_area(corners)) < _LEAST_MM2:
            faults.append(Fault(at, f"{name} has no area.", "List its corners in order around it."))
        elif reason := _touching(corners):
            faults.append(
                Fault(
                    at,
                    f"{name} touches itself: {reason}.",
                    "List each corner once, in order around it.",
                )
            )
    if offcut.holes and not faults:
        there = _material(_open(offcut.outline), [_open(hole) for hole in offcut.holes])
        if not there:
            faults.append(
                Fault(
                    f"{key}.holes",
                    f"{name}: its holes cover all of it.",
                    "Remove the entry.",
                )
            )
        elif len(there) > 1:
            says = f"{name}: its holes cut it into {some(len(there), 'piece')}."
            faults.append(Fault(f"{key}.holes", says, "Write an entry for each piece."))
    return faults


def _touching(ring: tuple[Point, ...]) -> str:
    """Reason why a ring that does not cross itself is no outline; empty when it is one."""
    import shapely

    shape = shapely.Polygon(ring)
    return "" if shape.is_valid else str(shapely.is_valid_reason(shape))


def _self_crossing(ring: tuple[Point, ...]) -> tuple[Point, tuple[int, int]] | None:
    """Point at which a ring meets itself, and the two sides that do; None without one."""
    import shapely

    if shapely.Polygon(ring).is_valid:
        return None
    sides = [shapely.LineString([a, b]) for a, b in zip(ring, (*ring[1:], ring[0]), strict=True)]
    tree = shapely.STRtree(sides)
    for i, side in enumerate(sides):
        for j in sorted(int(k) for k in tree.query(side, predicate="intersects")):
            apart = (j - i) % len(sides)
            if j > i and apart not in (0, 1, len(sides) - 1):
                at = side.intersection(sides[j]).representative_point()
                return (at.x, at.y), (i, j)
    return None
