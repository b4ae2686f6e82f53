"""A nest booked into the shop file once: the change of the file, and the mark beside the job that
it was made.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from fab.errors import Fault, InputError
from fab.outputs.nested import Nested
from fab.outputs.nestlock import keep_locks
from fab.params.replacing import replace_file
from fab.params.shop import Shop
from fab.sheets import booking
from fab.sheets.leftover import Rest
from fab.sheets.lock import Locks

NOT_OURS = Fault(
    "--book",
    "this shop is included with panejig and is never changed.",
    "Make your own shop file: `panejig new` copies one, or begin a file with extends = ...",
)


@dataclass(frozen=True)
class Bookable:
    """A booking that is prepared and not written yet."""

    change: booking.Booking | None  # None when all of it was booked before
    marks: Locks
    before: tuple[str, ...]  # stocks whose nest was booked before

    @property
    def says(self) -> tuple[str, ...]:
        """The changes to the shop file in words; none when all of it was booked before."""
        return self.change.says if self.change is not None else ()


def may_book(shop_file: Path | None, shop: Shop) -> Path:
    """The shop file, if it can take a booking. Raises InputError before anything is made."""
    if shop_file is None:
        raise InputError([NOT_OURS])
    booking.refuse_other(shop_file, shop)
    return shop_file


def bookable(shop_file: Path, shop: Shop, nested: Nested, rests: Sequence[Rest]) -> Bookable:
    """The sheets that the stocks of a nest that were not booked before take, and the offcuts that
    they give back; `rests` are those stocks' own.

    Raises InputError when the file can't take it.
    """
    new = [one for one in nested.stocks if not one.booked]
    layups = [layup for one in new for layup in one.nest.layups]
    change = booking.booking(shop_file, shop, layups, rests) if layups else None
    marks = {one.parts_sha256: one.booking for one in new}
    return Bookable(change, marks, tuple(one.name for one in nested.stocks if one.booked))


def book(ready: Bookable, kept: Path) -> None:
    """Change the shop file, and mark it in the file of kept nests. Raises OutputError."""
    if ready.change is not None:
        replace_file(ready.change.path, ready.change.new, expected=ready.change.old)
    if ready.marks:
        keep_locks(kept, ready.marks)
