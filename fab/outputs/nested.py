"""Everything that is cut for a job, as a value: the nest of each stock, equal sheets together."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Any

from fab.outputs.nestlock import digest
from fab.params.shop import Laser, Stock
from fab.sheets.cut import cut_plan
from fab.sheets.leftover import Rest, leftovers
from fab.sheets.lock import Locks
from fab.sheets.model import Layup, Nest, Piece, Sheet
from fab.sheets.nest import Progress, silent
from fab.sheets.passes import CutPlan
from fab.units import fixed

BOOKED = "; as it was booked: these sheets are already removed from the rack"


@dataclass(frozen=True)
class Search:
    """The time to search for a better nest than the quick one, and the nests found before."""

    seconds: float = 0.0  # for all stocks together
    seed: int = 1
    found: Locks = field(default_factory=dict)
    progress: Progress = silent
    title: str = ""  # of the nest: what was booked under it stays as it was cut


@dataclass(frozen=True)
class StockNest:
    """Everything cut from one stock."""

    name: str
    stock: Stock
    pieces: tuple[Piece, ...]
    sheets: tuple[Sheet, ...]
    nest: Nest
    gap_mm: float
    lock: Mapping[str, Any] | None = None  # what to keep beside the job, when it was searched for
    parts_sha256: str = ""
    # what to keep beside the job once it is booked
    booking: Mapping[str, Any] = field(default_factory=dict)
    booked: bool = False  # its sheets were taken off the rack before


@dataclass(frozen=True)
class Kind:
    """Equal sheets: the same copies in the same places."""

    name: str  # "sheet-01"
    times: int
    stock: StockNest
    layup: Layup
    plan: CutPlan
    rests: tuple[Rest, ...]  # of all of them

    @property
    def stem(self) -> str:
        """The name of its files, with the number of equal sheets."""
        return f"{self.name}_x{self.times}" if self.times > 1 else self.name


@dataclass(frozen=True)
class Nested:
    """Everything cut for a job, by stock."""

    stocks: tuple[StockNest, ...]
    laser: Laser
    stopped: bool = False  # Ctrl-C ended the search: this is the best until then

    @cached_property
    def locks(self) -> Locks:
        """The nest that a search found, under the hash of its inputs; the one that was booked,
        under that of its parts.
        """
        found = {one.nest.inputs_sha256: one.lock for one in self.stocks if one.lock is not None}
        return found | {one.parts_sha256: one.booking for one in self.stocks if one.booked}

    @cached_property
    def digests(self) -> Mapping[str, str]:
        """Hash of the inputs of every nest to what is kept for it, so that a build knows when it
        changed.
        """
        found = {one.nest.inputs_sha256: digest(one.lock) for one in self.stocks}
        return found | {
            one.parts_sha256: digest(one.booking if one.booked else None) for one in self.stocks
        }

    @cached_property
    def sheets(self) -> int:
        """Number of sheets that are cut."""
        return sum(len(one.nest.layups) for one in self.stocks)

    def kinds(self, title: str) -> tuple[Kind, ...]:
        """The sheets, equal ones together, in the order of work; rests named after title
        and sheet.
        """

        def called(rest: Rest) -> Rest:
            return replace(rest, offcut=replace(rest.offcut, name=f"{title}-{rest.offcut.name}"))

        return tuple(
            replace(kind, rests=tuple(called(rest) for rest in kind.rests)) for kind in self._kinds
        )

    @cached_property
    def _kinds(self) -> tuple[Kind, ...]:
        groups: dict[tuple[object, ...], list[tuple[StockNest, Layup]]] = {}
        for one in self.stocks:
            for layup in one.nest.layups:
                poses = tuple((p.piece, p.x, p.y, p.turn_deg) for p in layup.placed)
                groups.setdefault((one.name, layup.sheet, poses), []).append((one, layup))
        found = []
        for k, group in enumerate(groups.values()):
            name, (one, layup) = f"sheet-{k + 1:02d}", group[0]
            gap, kerf, times = self.laser.part_gap, one.stock.kerf, len(group)
            rests = leftovers(layup, one.pieces, gap_mm=gap, kerf_mm=kerf, name=name)
            rests = tuple(replace(r, offcut=replace(r.offcut, count=times)) for r in rests)
            found.append(Kind(name, times, one, layup, self.plan(one, layup), rests))
        return tuple(found)

    @cached_property
    def sheets_of(self) -> Mapping[str, int]:
        """Stock to sheets used, offcuts left out: they are on the rack already."""
        return {
            one.name: sum(1 for layup in one.nest.layups if not layup.sheet.offcut)
            for one in self.stocks
        }

    def plan(self, one: StockNest, layup: Layup) -> CutPlan:
        """The order of cuts of one sheet, with lead-ins and travel."""
        return cut_plan(layup, one.pieces, self.laser, one.stock)


def bound_says(one: StockNest) -> str:
    """The proven bound on the nest of a stock, in words."""
    nest_ = one.nest
    used, least = len(nest_.layups), nest_.lower_bound_sheets
    proven = "proven minimum" if used == least else f"proven minimum {least}"
    return (
        f"Sheets: {used} ({proven}, {nest_.bound_by}); {fixed(nest_.utilisation * 100, 1)} % of"
        f" their area is used{BOOKED if one.booked else ''}"
    )


def total_seconds(nested: Nested) -> float:
    """Laser time of all sheets."""
    return sum(
        nested.plan(one, layup).seconds for one in nested.stocks for layup in one.nest.layups
    )
