"""Save the file, see what was remade and what the checks say.

The kernel stays loaded between rounds.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from fab import workshop
from fab.built import Built
from fab.checks.model import Verdict
from fab.errors import PanejigError
from fab.params.read import Loaded, load

if TYPE_CHECKING:
    from fab.recipe.job import Recipe

POLL_S = 0.15


@dataclass(frozen=True)
class FirstLook:
    """Facts about a saved state before anything is made: checks without solids, counts."""

    number: int
    verdicts: tuple[Verdict, ...]
    counts: dict[str, Any]
    seconds: float


@dataclass(frozen=True)
class Round:
    """One saved state of the files: built, or refused with the reason."""

    number: int
    built: Built | None
    error: PanejigError | None
    seconds: float


def watch(
    path: Path,
    sets: Sequence[str],
    out: Path,
    tell: Callable[[Round], None],
    *,
    allow: frozenset[str] = frozenset(),
    only: frozenset[str] = frozenset(),
    stop: Callable[[], bool] = lambda: False,
    look: Callable[[FirstLook], None] = lambda _: None,
) -> None:
    """Build now, and again when a file of the job is saved, until `stop` says so or Ctrl-C.

    `look` is told of each state as soon as its layout, power and hangers are worked out and
    checked, `tell` when all is made. A file that can't be read or a failed check is told, and the
    watch goes on; the last good build stays.
    """
    number = 0
    seen: object = None
    sources: tuple[Path, ...] = (path,)
    while not stop():
        now = stamp(sources)
        if now == seen:
            time.sleep(POLL_S)
            continue
        seen, number = now, number + 1
        began = time.perf_counter()
        loaded: Loaded | None = None

        def seen_first(recipe: Recipe, number: int = number, began: float = began) -> None:
            counts, spent = asdict(recipe.design.counts), time.perf_counter() - began
            look(FirstLook(number, recipe.early, counts, spent))

        try:
            loaded = load(path, sets)
            built = workshop.build(loaded, out, allow=allow, only=only, look=seen_first)
            tell(Round(number, built, None, time.perf_counter() - began))
        except PanejigError as error:
            tell(Round(number, None, error, time.perf_counter() - began))
        if loaded is not None and sources != loaded.sources:
            sources = loaded.sources
            seen = stamp(sources) if now == stamp((path,)) else None


def stamp(sources: Sequence[Path]) -> tuple[tuple[int, int], ...]:
    """Size and time of every source; a file gone for a moment (an editor saves) counts."""
    found = []
    for source in sources:
        try:
            stat = source.stat()
            found.append((stat.st_mtime_ns, stat.st_size))
        except OSError:
            found.append((0, 0))
    return tuple(found)
