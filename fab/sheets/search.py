"""The longer search: what the quick way found is improved until the time is over; the best so far
is always at hand.

Sheet after sheet: the parts that should go on it are packed into a strip of the sheet's height by
the strip-packing library, what sticks out waits for the next sheet, gaps are filled with what is
left.
"""

from __future__ import annotations

import math
import threading
import time
from collections.abc import Sequence
from dataclasses import dataclass, replace

from fab.sheets.by_library import HOPE, NO_HOPE, by_library, denser
from fab.sheets.compact import Compactor, width
from fab.sheets.fewer import fewer
from fab.sheets.fill_holes import stuffed
from fab.sheets.identical import room
from fab.sheets.mixed import Trial, fill, run, trials_of, tried
from fab.sheets.model import Layup, Sheet
from fab.sheets.paths import Path
from fab.sheets.pool import counts_of
from fab.sheets.sheet_fill import Laid, Way
from fab.sheets.shelves import completed
from fab.sheets.stock_parts import Answer, Budget, Filling, Progress, StockParts, Stop, layups, rank

QUICK_SHARE = 0.04  # of the time may go to the quick way when all may fit one sheet
_WITHIN = 0.98  # of the time: the rest is for what stands around the search
_GRACE_S = 0.25  # for a plain fill, when the time has been too short for any
_KIND_SHARE = 0.35  # of it may go to full sheets of single kinds
_MANY_SHARE = 0.7  # when there will be several sheets
_LAST_LESS = 0.5  # of a sheet's time: the last sheet is the one that may go
_AGAIN_SHARE = 0.2  # of what is left, to choose among fillings once more
_OWN_SHARE, _OWN_S = 0.05, 5.0  # of the time of a sheet, and at most, is kept for our own moves
# a sheet that can't take everything is offered so much more than its area times the density reached
_OVERFULL = 1.08
_LIKELY = 0.8  # of a sheet's area will often go on it
_ROUNDS = 20  # of pressing
_POLL_S = 0.05


def fill_mixed(
    parts: StockParts, seconds: float, seed: int, stop: Stop, progress: Progress
) -> tuple[list[Layup], str]:
    """Layups for the pieces of one stock, and the method that won.

    `seconds`: time for all of it; 0: the quick way.
    """
    if seconds <= 0:
        answer = fewer(parts, tried(parts, stop, progress), stop)
        return layups(parts, answer), answer.engine
    budget = Budget(time.monotonic() + seconds * _WITHIN, seed, stop, progress)
    _, answer = searched_for(parts, budget, ("right", "up"))
    if answer.missing:  # perhaps only for want of time
        grace = time.monotonic() + _GRACE_S
        plain = run(parts, next(trials_of(parts, ("right",))), lambda: time.monotonic() > grace)
        every = tuple((path.piece.name, path.piece.count) for path in parts.ways)
        begun = (answer, plain, Answer((), every, "shelves"))
        answer = min((completed(parts, one) for one in begun), key=rank)
    return layups(parts, answer), answer.engine


def _loaded() -> None:
    """Load what the search needs: on a busy machine that takes a second, at the end it would come
    late.
    """
    import highspy  # noqa: F401
    import scipy.optimize  # noqa: F401
    import shapely  # noqa: F401


def searched_for(parts: StockParts, budget: Budget, ways: Sequence[Way]) -> tuple[Answer, Answer]:
    """The nest of the quick way within its share of the time, and the best in all of it.

    The quick way may end in the middle, with pieces missing; where everything may fit one sheet,
    the library begins at once, beside it.
    """
    early = _begun(parts, budget)
    _loaded()
    share = QUICK_SHARE if early is not None else _MANY_SHARE
    quick_until = time.monotonic() + share * budget.left_s

    def late() -> bool:
        return budget.stop() or time.monotonic() > quick_until

    first = tried(parts, late, budget.progress, ways, late)
    quick = fewer(parts, first, late, lambda: quick_until - time.monotonic())
    start = quick
    if early is None and denser(
        parts, replace(budget, until=time.monotonic() + _KIND_SHARE * budget.left_s)
    ):
        until = time.monotonic() + _AGAIN_SHARE * budget.left_s

        def over() -> bool:
            return budget.stop() or time.monotonic() > until

        start = fewer(parts, [quick, *first], over, lambda: until - time.monotonic())
    return quick, searched(parts, start, budget, early)


@dataclass
class Early:
    """A run of the library for one sheet, begun before anybody asked."""

    sheet: Sheet
    thread: threading.Thread
    found: list[list[Laid]]
    cancelled: threading.Event


def _begun(parts: StockParts, budget: Budget) -> Early | None:
    """The library at work on all pieces and the cheapest sheet that may hold them, or None."""
    total = math.fsum(path.area * path.piece.count for path in parts.ways)
    fits = [sheet for sheet in parts.sheets if total < _LIKELY * sheet.area and sheet.count > 0]
    if not fits or any(not s.is_rectangle or s.offcut for s in parts.sheets):
        return None
    sheet = min(fits, key=lambda s: (s.price, s.area))
    left = {path.piece.name: path.piece.count for path in parts.ways}
    hosts = stuffed(parts, left, grain=sheet.grain)
    cancelled = threading.Event()
    # caches are not shared between threads
    own = StockParts(parts.ways, parts.sheets, parts.gap_mm)
    own_hunt = replace(
        budget, until=_library_until(budget), stop=lambda: budget.stop() or cancelled.is_set()
    )
    found: list[list[Laid]] = []
    thread = threading.Thread(
        target=lambda: found.extend(by_library(own, left, hosts, sheet, own_hunt)), daemon=True
    )
    thread.start()
    return Early(sheet, thread, found, cancelled)


def searched(
    parts: StockParts, start: Answer, budget: Budget, early: Early | None = None
) -> Answer:
    """The better of `start` and what the search finds in its time."""
    left = {path.piece.name: path.piece.count for path in parts.ways}
    fillings: list[Filling] = []
    kept = [f for f in start.fillings if not f.sheet.is_rectangle]
    for filling in kept:  # offcuts that are no rectangles stay as they are
        for item in filling.laid:
            left[item.shape.path.piece.name] -= 1
    todo = [f for f in start.fillings if f.sheet.is_rectangle]
    used_library = False
    for k, before in enumerate(todo):
        if not any(left.values()):
            break
        if budget.over:
            return start
        own = replace(
            budget,
            until=time.monotonic() + budget.left_s / max(len(todo) - k - _LAST_LESS, 1.0),
            seed=budget.seed + 1000 * k,
        )
        if k == 0 and early is not None and early.sheet == before.sheet:
            own = budget  # all of the time: it may be the only sheet
        elif early is not None:
            early.cancelled.set()
            early = None
        laid, library = _sheet(
            parts, before, left, last=k == len(todo) - 1, budget=own, early=early
        )
        used_library |= library
        filling = fill(
            parts,
            before.sheet,
            _by_size(parts, left, laid),
            Trial(parts.ways, "right", "", hurry=lambda: budget.over),
            laid,
        )
        for item in filling.laid:
            left[item.shape.path.piece.name] -= 1
        fillings.append(filling)
        budget.progress(f"sheet {k + 1} of {len(todo)}", (k + 1) / len(todo))
    missing = tuple(sorted((name, count) for name, count in left.items() if count))
    found = Answer((*kept, *fillings), missing, "strip library" if used_library else start.engine)
    return min(start, found, key=rank)


def _library_until(budget: Budget) -> float:
    """When the library should end, so that pressing and our own moves have some time."""
    return budget.until - min(budget.left_s * _OWN_SHARE, _OWN_S)


def _by_size(
    parts: StockParts, left: dict[str, int], laid: Sequence[Laid]
) -> list[tuple[Path, int]]:
    """The pieces left once `laid` is on the sheet, large ones first."""
    rest = dict(left)
    for item in laid:
        rest[item.shape.path.piece.name] -= 1
    order = sorted(parts.ways, key=lambda p: (-abs(p.outline.edge.area_mm2), p.piece.name))
    return [(path, rest[path.piece.name]) for path in order if rest[path.piece.name] > 0]


def _sheet(
    parts: StockParts,
    before: Filling,
    left: dict[str, int],
    *,
    last: bool,
    budget: Budget,
    early: Early | None,
) -> tuple[list[Laid], bool]:
    """The best layout of one sheet, and whether the library made it."""
    sheet = before.sheet
    wide, high = room(sheet)
    offered = dict(left)
    if not last:
        _cut_down(parts, offered, sheet, before)
    rest = dict(offered)
    hosts = stuffed(parts, rest, grain=sheet.grain)
    compactor = Compactor(high, parts.gap_mm, lambda: budget.left_s)
    if early is not None:
        while early.thread.is_alive() and not budget.stop():
            early.thread.join(_POLL_S)
        made = early.found
    else:
        made = by_library(parts, rest, hosts, sheet, replace(budget, until=_library_until(budget)))
    found = [(laid, True) for laid in made]
    if last:
        own = [
            replace(item, x=item.x - sheet.margin, y=item.y - sheet.margin) for item in before.laid
        ]
        if dict(counts_of(own)) == {n: c for n, c in offered.items() if c}:
            found.append((own, False))
    found.sort(key=lambda f: width(f[0]))
    candidates: list[tuple[list[Laid], bool]] = []
    for laid, from_library in found:
        if candidates and (
            budget.over or width(laid) > NO_HOPE * min(width(c) for c, _ in candidates)
        ):
            break
        legal = compactor.legal(laid, NO_HOPE - 1.0)
        if legal is not None:
            candidates.append((compactor.left(legal, _ROUNDS, budget.stop), from_library))
    if not candidates:
        return [], False
    best, library = min(candidates, key=lambda c: width(c[0]))
    best = [item for item in best if item.right <= wide + 1e-6]
    return [
        replace(item, x=item.x + sheet.margin, y=item.y + sheet.margin) for item in best
    ], library


def _cut_down(parts: StockParts, offered: dict[str, int], sheet: Sheet, before: Filling) -> None:
    """Leave about as much as the sheet can take, of every kind its share."""
    total = math.fsum(path.area * offered[path.piece.name] for path in parts.ways)
    dense = math.fsum(item.shape.area for item in before.laid) / sheet.area
    if total < HOPE * sheet.area:
        return  # all of it may just fit, which saves a sheet
    share = min(1.0, _OVERFULL * max(dense, 0.5) * sheet.area / total)
    for path in parts.ways:
        offered[path.piece.name] = math.ceil(offered[path.piece.name] * share)
