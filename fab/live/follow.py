"""Follow a job's files: each save is laid out and shown at once; the rest is made beside it.

saved -> read, laid out, drawn, checked (here) -> Maker: zones, screws, solids, build
  or a fault: the last good picture stays under it
"""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path

from fab.errors import InputError, PanejigError
from fab.leaving import leave
from fab.live import look as looks
from fab.live.board import Board
from fab.live.maker import Maker, Orders, Task
from fab.live.ranges import RANGES, Ranges
from fab.live.screen import PICTURES, SCENE, STATE, Screen
from fab.live.server import Server, Site
from fab.live.trial import Trials
from fab.params.read import load
from fab.watch import FirstLook, Round, stamp

POLL_S = 0.04
MOST_WAITS = 8  # polls after which a file is read although it is still changing
END_S = 0.8  # for work that is given up at Ctrl-C


def follow(
    path: Path,
    sets: Sequence[str],
    out: Path,
    opened: Callable[[str], None],
    tell: Callable[[Round], None],
    *,
    allow: frozenset[str] = frozenset(),
    only: frozenset[str] = frozenset(),
    stop: Callable[[], bool] = lambda: False,
    look: Callable[[FirstLook], None] = lambda _: None,
) -> None:
    """Show and build now, and again whenever one of the job's files is saved, until `stop` says so
    or Ctrl-C. `opened` is told the page's address; `look` and `tell` hear what a watch tells.
    """
    board, scales = Board(), looks.Scales()
    screen = Screen(board)
    trials, ranges = Trials(path, sets, screen, scales), Ranges(board)
    maker = Maker(screen, scales, ranges, Orders(out, allow, only, look, tell))
    site = Site(board, (STATE, PICTURES, SCENE, RANGES), {"/trial": trials.trial})
    ended = True
    with Server(site) as server:
        maker.start()
        opened(server.address)
        try:
            _rounds(path, sets, screen, maker, tell, stop)
        finally:
            board.close()
            ended = maker.close(END_S)
    if not ended:
        leave()


def _rounds(
    path: Path,
    sets: Sequence[str],
    screen: Screen,
    maker: Maker,
    tell: Callable[[Round], None],
    stop: Callable[[], bool],
) -> None:
    number = 0
    seen: object = None
    sources: tuple[Path, ...] = (path,)
    while not stop():
        if maker.fault is not None:
            raise maker.fault
        now = _settled(sources, seen)
        if now == seen:
            time.sleep(POLL_S)
            continue
        seen, number = now, number + 1
        began = time.perf_counter()
        maker.take(None)
        try:
            loaded = load(path, sets)
        except PanejigError as error:
            told = error.sources if isinstance(error, InputError) else ()
            if told and told != sources:
                sources, seen = told, stamp(told)
            screen.refuse(number, error, (path, *sources))
            tell(Round(number, None, error, time.perf_counter() - began))
            continue
        if sources != loaded.sources:
            same = now == stamp(sources)
            sources = loaded.sources
            seen = stamp(sources) if same else None
        try:
            known = looks.shape(loaded)
            screen.begin(number, known)
            known = replace(known, verdicts=looks.shape_verdicts(known))
            screen.show(number, known)
        except PanejigError as error:
            screen.refuse(number, error, sources)
            tell(Round(number, None, error, time.perf_counter() - began))
            continue
        maker.take(Task(number, known, began))


def _settled(sources: Sequence[Path], seen: object) -> tuple[tuple[int, int], ...]:
    """The stamp of the files, once they have stopped changing: an editor writes in steps."""
    now = stamp(sources)
    for _ in range(MOST_WAITS):
        if now == seen:
            break
        time.sleep(POLL_S / 2)
        later = stamp(sources)
        if later == now and all(size for _, size in now):  # empty or gone: about to be written
            break
        now = later
    return now
