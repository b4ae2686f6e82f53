"""A general strip-packing library at work on our sheets: it packs outer polygons into one strip, we do the rest.

Its limits and how they are met here: no gap at the ends (pieces are handed over swollen by half the gap), no fixed
sheets (what sticks out of the sheet waits for the next), no holes (those are filled before and after), stops by the
clock and so never repeats itself (the result is kept in a lock), swallows Ctrl-C (a handler of ours takes note),
reports its own faults as exceptions that are no `Exception`. It is an optional extra: without it the own search runs.
"""

from __future__ import annotations

import math
import signal
import threading
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from typing import Any

from fab.sheets.board import Laid
from fab.sheets.nofit import Shape

_QUAD_SEGS = 6
_SWELL = 1.0 / math.cos(math.pi / (4 * _QUAD_SEGS))
_CLEAR_MM = 2e-4  # the library lets pieces touch within about 1e-4 of its own unit
LEAST_SECONDS = 1


def available() -> bool:
    """Whether the library is installed."""
    from importlib.util import find_spec

    return find_spec("spyrrow") is not None


def packed(
    wanted: Sequence[tuple[Shape, int, Sequence[float] | None]], height_mm: float, gap_mm: float, seconds: float,
    seed: int, workers: int | None, stop: Callable[[], bool], bay: Callable[[Shape, float], Shape],
) -> list[Laid] | None:
    """Copies in a strip of `height_mm`, filled from x = 0 to the right, as cut paths.

    wanted: shape as drawn, how many, turns in degrees (None: any). `bay` makes a shape at another turn. None when
    the library is missing, has no time, or fails.
    """
    if not available() or not wanted or seconds < LEAST_SECONDS or stop():
        return None
    import spyrrow

    items, names = [], {}
    for k, (shape, count, turns) in enumerate(wanted):
        names[str(k)] = shape
        items.append(spyrrow.Item(str(k), _claim(shape, gap_mm), count, None if turns is None else list(turns)))
    with _told() as interrupted:
        try:
            instance = spyrrow.StripPackingInstance("sheet", height_mm + gap_mm, items)
            config = spyrrow.StripPackingConfig(
                early_termination=True, total_computation_time=int(seconds), num_workers=workers, seed=seed
            )
            answer: Any = instance.solve(config)
        except BaseException as error:
            if isinstance(error, (SystemExit, GeneratorExit, MemoryError)):
                raise
            return None
    if interrupted:
        stop()
    laid = []
    for item in answer.placed_items:
        shape = bay(names[item.id], float(item.rotation) % 360.0)
        laid.append(Laid(shape, float(item.translation[0]) - gap_mm / 2, float(item.translation[1]) - gap_mm / 2))
    return laid


def _claim(shape: Shape, gap_mm: float) -> list[tuple[float, float]]:
    """The outer polygon swollen by half the gap, its chords outside."""
    import shapely

    grown = shapely.Polygon(shape.edge).buffer(gap_mm / 2 * _SWELL + _CLEAR_MM, quad_segs=_QUAD_SEGS)
    return [(float(x), float(y)) for x, y in list(grown.exterior.coords)]


@contextmanager
def _told() -> Iterator[list[bool]]:
    """Ctrl-C inside the library is noted, and handed to whoever listened before."""
    told: list[bool] = []
    if threading.current_thread() is not threading.main_thread():
        yield told
        return
    before = signal.getsignal(signal.SIGINT)

    def note(number: int, frame: Any) -> None:
        told.append(True)
        if callable(before) and before is not signal.default_int_handler:
            before(number, frame)
        raise KeyboardInterrupt

    signal.signal(signal.SIGINT, note)
    try:
        yield told
    finally:
        signal.signal(signal.SIGINT, before)
