"""One line of the parts list."""

from __future__ import annotations

from dataclasses import dataclass

from fab.files.table import Cell


@dataclass(frozen=True)
class PartsLine:
    """One line of the parts list."""

    item: str
    part: str
    design: str
    count: int
    source: str  # print, cut, buy, order
    material: str = ""
    each_g: float | None = None
    total_g: float | None = None
    hours: float | None = None
    cost: float | None = None
    file: str = ""
    note: str = ""
    sold: str = ""  # name in a table of prices, where the item names a design too
    metres: float | None = None  # of wire: what its price is for

    @property
    def row(self) -> tuple[Cell, ...]:
        """The cells of the line in the order of the list's header; grams, hours and costs rounded
        as printed.
        """
        return (
            self.item,
            self.part,
            self.design,
            self.count,
            self.source,
            self.material,
            _cut(self.each_g, 2),
            _cut(self.total_g, 1),
            _cut(self.hours, 2),
            _cut(self.cost, 2),
            self.file,
            self.note,
        )


def bought(
    item: str,
    part: str,
    count: int,
    note: str = "",
    *,
    design: str = "",
    sold: str = "",
    metres: float | None = None,
) -> PartsLine:
    """Return the line of a thing that is bought as it is."""
    return PartsLine(item, part, design, count, "buy", note=note, sold=sold, metres=metres)


def _cut(value: float | None, places: int) -> float | None:
    return None if value is None else round(value, places)
