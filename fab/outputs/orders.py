"""The order list: what is printed, cut and bought, by where it comes from, with what it costs.

Printed and cut parts are made of the material that is listed below them: their cost is that of the
filament and the sheets, counted once. What has no price in the shop's table has no cost: it is
named, and never counted as nothing.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from fab.errors import BrokenGeometry
from fab.files.table import Cell, csv_bytes
from fab.outputs.line import PartsLine
from fab.outputs.model import OutFile
from fab.params.shop import Shop
from fab.params.trade import ELECTRONICS, HARDWARE, price_of, trade_of

PRINTED, CUT, MATERIAL = "printed", "cut", "material"
GROUPS = (PRINTED, CUT, MATERIAL, ELECTRONICS, HARDWARE)
MADE = (PRINTED, CUT)  # of the material below them
COLUMNS = ("group", "item", "amount", "unit", "each", "cost", "currency", "file", "note")


@dataclass(frozen=True)
class Order:
    """One line of the order list."""

    group: str
    item: str
    amount: float
    unit: str  # piece, metre, kg
    each: float | None  # price of one unit; None: the shop's table has none
    cost: float | None
    file: str = ""
    note: str = ""


def priced(line: PartsLine, prices: Mapping[str, float]) -> PartsLine:
    """The line with its cost, where it is bought and the table has its price."""
    if line.source not in ("buy", "order") or line.cost is not None:
        return line
    each = price_of(line.sold or line.item, prices)
    return line if each is None else replace(line, cost=each * _amount(line))


def group_of(line: PartsLine) -> str:
    """The group of a line. Raises for a name that no table of prices could hold."""
    if line.source == "print":
        return PRINTED
    if line.source == "cut":
        return CUT
    if line.part == "sheet":
        return MATERIAL
    trade = trade_of(line.sold or line.item)
    if trade is None:
        raise BrokenGeometry(f"{line.item!r} is missing in the names of what is bought")
    return trade.group


def orders(lines: Sequence[PartsLine], shop: Shop) -> tuple[Order, ...]:
    """All lines in the order of the groups, each group in the order of the parts list."""
    printed = [line for line in lines if line.source == "print"]
    found = [
        _filament([line for line in printed if line.material == kind], shop)
        for kind in dict.fromkeys(line.material for line in printed)
    ]
    found += [_order(line) for line in lines]
    return tuple(sorted(found, key=lambda one: GROUPS.index(one.group)))


def _filament(some: Sequence[PartsLine], shop: Shop) -> Order:
    """The filament of all parts of one roll."""
    kilos = sum(line.total_g or 0.0 for line in some) / 1000.0
    cost = sum(line.cost or 0.0 for line in some)
    return Order(
        MATERIAL,
        f"filament {some[0].material}",
        round(kilos, 3),
        "kg",
        cost / kilos if kilos else None,
        cost,
        note=f"{shop.filament.diameter:g} mm, without waste and tests",
    )


def _order(line: PartsLine) -> Order:
    group = group_of(line)
    amount, unit = _amount(line), "piece" if line.metres is None else "metre"
    cost = None if group in MADE else line.cost
    each = None if cost is None or not amount else cost / amount
    return Order(group, line.item, amount, unit, each, cost, line.file, line.note)


def _amount(line: PartsLine) -> float:
    return float(line.count) if line.metres is None else line.metres


def orders_of(some: Sequence[Order], group: str) -> tuple[Order, ...]:
    """The lines of one group."""
    return tuple(one for one in some if one.group == group)


def total(some: Sequence[Order]) -> float:
    """Cost of all that has a price, in the shop's currency."""
    return sum(one.cost or 0.0 for one in some)


def unpriced(some: Sequence[Order]) -> tuple[str, ...]:
    """Items that are bought and have no price."""
    return tuple(one.item for one in some if one.group not in MADE and one.cost is None)


def files(some: Sequence[Order], currency: str) -> list[OutFile]:
    """lists/order.csv."""
    rows: list[tuple[Cell, ...]] = [
        (
            one.group,
            one.item,
            one.amount,
            one.unit,
            None if one.each is None else round(one.each, 4),
            None if one.cost is None else round(one.cost, 2),
            None if one.cost is None else currency,
            one.file,
            one.note,
        )
        for one in some
    ]
    return [OutFile("lists/order.csv", "list", csv_bytes(COLUMNS, rows), "order")]
