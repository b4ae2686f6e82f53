"""The longer search: what the quick way found is improved until the time is over; the best so far is always at hand.

Sheet after sheet: the pieces that should go on it are packed into a strip of the sheet's height by whoever does it
best (the quick way's layout, the strip-packing library, if installed, and our own moves), what sticks out waits for
the next sheet, gaps are filled with what is left. Our own moves take pieces from the far end and put them into free
places nearer to the start, or swap two kinds and pull the overlap apart, and press everything together after each
(`press`); a move is kept when the strip gets shorter.
"""

from __future__ import annotations

import math
import os
import random
import threading
import time
from collections.abc import Sequence
from dataclasses import dataclass, replace

from fab.sheets import strip
from fab.sheets.board import Board, Laid, Way
from fab.sheets.identical import room
from fab.sheets.mixed import Answer, Filling, Hunt, Job, Trial, fill, quick, rank
from fab.sheets.model import Sheet
from fab.sheets.nofit import Shape
from fab.sheets.paths import Path
from fab.sheets.press import Press, width
from fab.sheets.stuff import Host, common_turns, stuffed, unpacked

QUICK_SHARE = 0.04  # of the time may go to the quick way
_OWN_SHARE, _OWN_S = 0.03, 5.0  # of the time of a sheet, and at most, is kept for our own moves
_OVERFULL = 1.08  # a sheet that can't take everything is offered so much more than its area times the density reached
_LIKELY, _HOPE = 0.8, 0.88  # of a sheet's area will often go on it, or is worth a try
_NO_HOPE = 1.02  # a layout longer than the best by this is not worth pressing
_EJECT_MM = 2.0  # what reaches this near to the far end counts as standing there
_ROUNDS = 20  # of pressing
_POLL_S = 0.05


def hunted(job: Job, hunt: Hunt, ways: Sequence[Way]) -> tuple[Answer, Answer]:
    """What the quick way found within its share of the time, and the best in all of it.

    With the library at hand the quick way may end in the middle, with pieces missing; and where everything may fit one
    sheet, the library begins at once, beside it.
    """
    quick_until = time.monotonic() + QUICK_SHARE * hunt.left_s

    def late() -> bool:
        return hunt.stop() or time.monotonic() > quick_until

    early = _begun(job, hunt)
    start = quick(job, late, hunt.progress, ways, late if strip.available() else None)
    return start, searched(job, start, hunt, early)


@dataclass
class Early:
    """A run of the library for one sheet, begun before anybody asked."""

    sheet: Sheet
    thread: threading.Thread
    found: list[list[Laid]]
    cancelled: threading.Event


def _begun(job: Job, hunt: Hunt) -> Early | None:
    """The library at work on all pieces and the cheapest sheet that may hold them, or None."""
    total = math.fsum(path.area * path.piece.count for path in job.ways)
    fits = [sheet for sheet in job.sheets if total < _LIKELY * sheet.area and sheet.count > 0]
    if not fits or not strip.available() or any(not s.is_rectangle or s.offcut for s in job.sheets):
        return None
    sheet = min(fits, key=lambda s: (s.price, s.area))
    left = {path.piece.name: path.piece.count for path in job.ways}
    hosts = stuffed(job, left, sheet.grain)
    cancelled = threading.Event()
    own = Job(job.ways, job.sheets, job.gap_mm)  # caches are not shared between threads
    own_hunt = replace(hunt, until=_library_until(hunt), stop=lambda: hunt.stop() or cancelled.is_set())
    found: list[list[Laid]] = []
    thread = threading.Thread(target=lambda: found.extend(_by_library(own, left, hosts, sheet, own_hunt)), daemon=True)
    thread.start()
    return Early(sheet, thread, found, cancelled)


def searched(job: Job, start: Answer, hunt: Hunt, early: Early | None = None) -> Answer:
    """The better of `start` and what the search finds in its time."""
    left = {path.piece.name: path.piece.count for path in job.ways}
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
        if hunt.over:
            return start
        own = replace(hunt, until=time.monotonic() + hunt.left_s / (len(todo) - k), seed=hunt.seed + 1000 * k)
        if k == 0 and early is not None and early.sheet == before.sheet:
            own = hunt  # all of the time: it may be the only sheet
        elif early is not None:
            early.cancelled.set()
            early = None
        laid, library = _sheet(job, before, left, k == len(todo) - 1, own, early)
        used_library |= library
        filling = fill(job, before.sheet, _by_size(job, left, laid), Trial(job.ways, "right", ""), laid)
        for item in filling.laid:
            left[item.shape.path.piece.name] -= 1
        fillings.append(filling)
        hunt.progress(f"sheet {k + 1} of {len(todo)}", (k + 1) / len(todo))
    missing = tuple(sorted((name, count) for name, count in left.items() if count))
    found = Answer((*kept, *fillings), missing, "strip library and press" if used_library else "press")
    return min(start, found, key=rank)


def _library_until(hunt: Hunt) -> float:
    """When the library should end, so that pressing and our own moves have some time."""
    return hunt.until - min(hunt.left_s * _OWN_SHARE, _OWN_S)


def _by_size(job: Job, left: dict[str, int], laid: Sequence[Laid]) -> list[tuple[Path, int]]:
    """What is left once `laid` is on the sheet, large ones first."""
    rest = dict(left)
    for item in laid:
        rest[item.shape.path.piece.name] -= 1
    order = sorted(job.ways, key=lambda p: (-abs(p.outline.edge.area_mm2), p.piece.name))
    return [(path, rest[path.piece.name]) for path in order if rest[path.piece.name] > 0]


def _sheet(
    job: Job, before: Filling, left: dict[str, int], last: bool, hunt: Hunt, early: Early | None
) -> tuple[list[Laid], bool]:
    """The best layout of one sheet, and whether the library made it."""
    sheet = before.sheet
    wide, high = room(sheet)
    offered = dict(left)
    if not last:
        _cut_down(job, offered, sheet, before)
    rest = dict(offered)
    hosts = stuffed(job, rest, sheet.grain)
    press = Press(high, job.gap_mm)
    if early is not None:
        while early.thread.is_alive() and not hunt.stop():
            early.thread.join(_POLL_S)
        made = early.found
    else:
        made = _by_library(job, rest, hosts, sheet, replace(hunt, until=_library_until(hunt)))
    found = [(laid, True) for laid in made]
    if last:
        own = [replace(item, x=item.x - sheet.margin, y=item.y - sheet.margin) for item in before.laid]
        if _counts(own) == {n: c for n, c in offered.items() if c}:
            found.append((own, False))
    found.sort(key=lambda f: width(f[0]))
    candidates: list[tuple[list[Laid], bool]] = []
    for laid, by_library in found:
        if candidates and (hunt.over or width(laid) > _NO_HOPE * min(width(c) for c, _ in candidates)):
            break
        legal = press.legal(laid, _NO_HOPE - 1.0)
        if legal is not None:
            candidates.append((press.left(legal, _ROUNDS, hunt.stop), by_library))
    if not candidates:
        return [], False
    best, library = min(candidates, key=lambda c: width(c[0]))
    best = improved(job, best, press, sheet.grain, hunt)
    best = [item for item in best if item.right <= wide + 1e-6]
    return [replace(item, x=item.x + sheet.margin, y=item.y + sheet.margin) for item in best], library


def _counts(laid: Sequence[Laid]) -> dict[str, int]:
    found: dict[str, int] = {}
    for item in laid:
        found[item.shape.path.piece.name] = found.get(item.shape.path.piece.name, 0) + 1
    return found


def _cut_down(job: Job, offered: dict[str, int], sheet: Sheet, before: Filling) -> None:
    """Leave about as much as the sheet can take, of every kind its share."""
    total = math.fsum(path.area * offered[path.piece.name] for path in job.ways)
    dense = math.fsum(item.shape.area for item in before.laid) / sheet.area
    if total < _HOPE * sheet.area:
        return  # all of it may just fit, which saves a sheet
    share = min(1.0, _OVERFULL * max(dense, 0.5) * sheet.area / total)
    for path in job.ways:
        offered[path.piece.name] = math.ceil(offered[path.piece.name] * share)


def _by_library(job: Job, rest: dict[str, int], hosts: Sequence[Host], sheet: Sheet, hunt: Hunt) -> list[list[Laid]]:
    """The library's layouts with hosts unpacked, from x = 0, y = 0, shortest first."""

    def turner(shape: Shape, deg: float) -> Shape:
        return job.shape(shape.path, round(deg, 9))

    stuffed_by = {path.piece.name: [h for h in hosts if h.path is path] for path in job.ways}
    wanted = []
    for path in job.ways:
        count = rest[path.piece.name]
        if count <= 0:
            continue
        guests = stuffed_by[path.piece.name]
        turns = path.turns(sheet.grain) if path.piece.turns != "free" or sheet.grain else None
        for host in guests:  # every copy keeps the turns that its guests can share
            both = common_turns(host, sheet.grain)
            turns = both if turns is None or both is None else tuple(t for t in turns if t in both) or (0.0,)
        wanted.append((job.shape(path, 0.0), count, turns))
    _, high = room(sheet)
    found = strip.packed(wanted, high, job.gap_mm, hunt, os.cpu_count() or 1, turner)
    return [_with_guests(job, laid, stuffed_by) for laid in found]


def _with_guests(job: Job, laid: Sequence[Laid], hosts: dict[str, list[Host]]) -> list[Laid]:
    waiting = {name: list(found) for name, found in hosts.items()}
    out: list[Laid] = []
    for item in laid:
        out.append(item)
        mine = waiting[item.shape.path.piece.name]
        if mine:
            out += unpacked(job, mine.pop(), item)
    return out


def improved(job: Job, laid: list[Laid], press: Press, grain: bool, hunt: Hunt) -> list[Laid]:
    """Our own moves until the time is over."""
    dice = random.Random(hunt.seed)
    best, wide = laid, width(laid)
    while not hunt.over and len(best) > 1:
        if dice.random() < 0.6:
            trial = _reinserted(job, best, replace(_open_strip(press.height, wide), grain=grain), dice)
        else:
            trial = _swapped(best, press, wide, dice, hunt)
        if trial is None or width(trial) > wide + 0.02 * press.height:
            continue
        trial = press.left(trial, 6, lambda: hunt.over)
        if width(trial) < wide - 1e-4 or (width(trial) < wide + 1e-4 and dice.random() < 0.3):
            best, wide = trial, min(wide, width(trial))
    return best


def _open_strip(height: float, wide: float) -> Sheet:
    far = wide * 1.5
    return Sheet("", "strip", ((0.0, 0.0), (far, 0.0), (far, height), (0.0, height)))


def _reinserted(job: Job, laid: Sequence[Laid], sheet: Sheet, dice: random.Random) -> list[Laid] | None:
    """One piece from the far end and up to two others are taken out and put back where there is room."""
    far = width(laid)
    ends = [k for k, item in enumerate(laid) if item.right > far - _EJECT_MM]
    out = {dice.choice(ends), *(dice.randrange(len(laid)) for _ in range(dice.randrange(3)))}
    rest = [item for k, item in enumerate(laid) if k not in out]
    board = Board(sheet, job.nofit, rest)
    order = [laid[k] for k in sorted(out)]
    dice.shuffle(order)
    for item in order:
        place = board.best(job.shapes(item.shape.path, sheet.grain), "right")
        if place is None or place.right > far + 0.02 * sheet.height:
            return None
        board.put(place)
    return board.laid


def _swapped(laid: Sequence[Laid], press: Press, wide: float, dice: random.Random, hunt: Hunt) -> list[Laid] | None:
    """Two pieces of different kinds change places; the overlap is pulled apart inside the same width."""
    a, b = dice.randrange(len(laid)), dice.randrange(len(laid))
    one, two = laid[a], laid[b]
    if one.shape.path is two.shape.path:
        return None
    out = list(laid)
    out[a] = _centred(one, two)
    out[b] = _centred(two, one)
    return press.apart(out, wide, 12, lambda: hunt.over)


def _centred(what: Laid, where: Laid) -> Laid:
    """`what` with the middle of its box where that of `where` is."""
    x = where.x + (where.shape.box[0] + where.shape.box[2] - what.shape.box[0] - what.shape.box[2]) / 2
    y = where.y + (where.shape.box[1] + where.shape.box[3] - what.shape.box[1] - what.shape.box[3]) / 2
    return Laid(what.shape, x, y)
