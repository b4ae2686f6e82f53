"""One job over a grid of values: checks and counts, or whole builds, into one table.

Goes on where it stopped.

Variants run in processes of this machine, or on a Dask cluster when an address is given; both call
`run_variant`. Every finished variant is written to a journal at once, so a dead worker or a stop
costs time only.
"""

from __future__ import annotations

import hashlib
import itertools
import json
import logging
import math
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from fab.errors import InputError, OutputError, PanejigError
from fab.graph.program import program
from fab.graph.workers import alone, cores, deaf
from fab.params.read import load
from fab.sweepjournal import appended, finished

MOST = 50_000  # variants of one sweep
ANSWER_S = 10.0  # that a scheduler may take to answer
TRIES = 3  # times that a variant may lose its worker before it counts as lost
LOST = "its worker process ended unexpectedly"


@dataclass(frozen=True)
class Variant:
    """One point of the grid: words "key=value" laid over the job."""

    sets: tuple[str, ...]

    @property
    def key(self) -> str:
        """Sixteen hexadecimal digits by which a finished variant is known again."""
        return hashlib.sha256("\n".join(self.sets).encode()).hexdigest()[:16]


def grid(axes: Mapping[str, Sequence[str]]) -> tuple[Variant, ...]:
    """Every combination, the last axis running fastest."""
    if not axes or any(not values for values in axes.values()):
        raise InputError("a sweep needs at least one --over KEY=VALUE,VALUE")
    names = list(axes)
    if math.prod(map(len, axes.values())) > MOST:
        raise InputError(
            f"this grid has more than {MOST} variants; use fewer values, or sweep the axes one"
            " after the other"
        )
    return tuple(
        Variant(tuple(f"{name}={value}" for name, value in zip(names, values, strict=True)))
        for values in itertools.product(*axes.values())
    )


def run_variant(job: str, sets: Sequence[str], builds_into: str = "") -> dict[str, Any]:
    """One row: the values, exit code, counts, worst verdicts.

    Never raises for what a maker did wrong.

    Kept free of anything that a worker elsewhere could not unpickle.
    """
    from fab import workshop

    row: dict[str, Any] = dict(word.split("=", 1) for word in sets)
    try:
        loaded = load(Path(job), tuple(sets))
        with alone():
            if builds_into:
                built = workshop.build(loaded, Path(builds_into) / Variant(tuple(sets)).key)
                verdicts, counts = built.verdicts, built.manifest["counts"]
            else:
                verdicts, counts = workshop.check_and_count(loaded)
    except PanejigError as error:
        return row | {
            "exit": error.exit_code,
            "fails": "",
            "warns": "",
            "says": str(error).splitlines()[0][:300],
        }
    except Exception as error:
        # an internal error in one variant stands in its row; the others go on
        return row | {
            "exit": 1,
            "fails": "",
            "warns": "",
            "says": f"an internal error in panejig ({type(error).__name__}: {str(error)[:200]})",
        }
    fails = sorted({verdict.id for verdict in verdicts if verdict.verdict == "fail"})
    warns = sorted({verdict.id for verdict in verdicts if verdict.verdict == "warn"})
    numbers = {name: value for name, value in counts.items() if isinstance(value, int)}
    measured: dict[str, float] = {}
    for verdict in verdicts:
        if verdict.id in MEASURED and verdict.id not in measured:
            measured[verdict.id] = round(verdict.measured, 6)
    return (
        row
        | {
            "exit": 1 if fails else 0,
            "fails": " ".join(fails),
            "warns": " ".join(warns),
            "says": "",
        }
        | numbers
        | measured
    )


MEASURED = (
    "light.evenness",
    "light.middle",
    "light.dots",
    "heat.rise",
    "power.volts",
    "hang.screw-load",
)


def sweep(
    job: Path,
    variants: Sequence[Variant],
    journal: Path,
    *,
    builds_into: Path | None = None,
    workers: int = 0,
    address: str = "",
    progress: Callable[[int, int], None] = lambda done, of: None,
) -> list[dict[str, Any]]:
    """All rows in the order of the variants.

    Rows that the journal holds for this very job, made by this code and as builds or as checks
    alike, are not run again; those that lost their worker are. Raises OutputError.
    """
    into = str(builds_into.absolute()) if builds_into else ""
    stamp = _stamp(job, into)
    kept = finished(journal, stamp)
    done = {variant.key: kept[variant.key] for variant in variants if variant.key in kept}
    todo = [variant for variant in dict.fromkeys(variants) if variant.key not in done]
    many = len(done) + len(todo)
    progress(len(done), many)
    run = _on_cluster(address) if address else _in_processes(workers)
    try:
        with appended(journal) as write:
            for variant, row in run(str(job.absolute()), todo, into):
                done[variant.key] = row
                if not row["says"].startswith(LOST):
                    write(json.dumps({"job": stamp, "key": variant.key, "row": row}) + "\n")
                progress(len(done), many)
    except KeyboardInterrupt:
        raise KeyboardInterrupt(
            f"{len(done)} of {many} variants are kept: the same command continues from there."
        ) from None
    return [done[variant.key] for variant in variants]


def _stamp(job: Path, into: str) -> str:
    """Everything but its variant that a row hangs on: the job's values, our code, and the folder of
    the builds, if there were any.
    """
    return hashlib.sha256(
        "\n".join([load(job).inputs_sha256, program(), into]).encode()
    ).hexdigest()[:16]


Runner = Callable[[str, Sequence[Variant], str], Iterable[tuple[Variant, dict[str, Any]]]]


def _in_processes(workers: int) -> Runner:
    """Local processes, started afresh (the kernel must not be forked).

    A broken pool is opened again; whoever may have broken it runs alone from then on, so that
    nobody is lost with a neighbour that dies.
    """

    def run(
        job: str, todo: Sequence[Variant], into: str
    ) -> Iterator[tuple[Variant, dict[str, Any]]]:
        import multiprocessing
        from concurrent.futures import ProcessPoolExecutor, as_completed
        from concurrent.futures.process import BrokenProcessPool

        left, lost = list(todo), dict.fromkeys(todo, 0)
        while left:
            suspects = [variant for variant in left if lost[variant]]
            batch = (
                suspects[:1]
                if len(suspects) == len(left)
                else [variant for variant in left if not lost[variant]]
            )
            many = min(workers or cores(), len(batch))
            with ProcessPoolExecutor(many, mp_context=multiprocessing.get_context("spawn")) as pool:
                with deaf():
                    pending = {
                        pool.submit(run_variant, job, variant.sets, into): variant
                        for variant in batch
                    }
                try:
                    for future in as_completed(pending):
                        variant = pending[future]
                        row = future.result()
                        left.remove(variant)
                        yield variant, row
                except BrokenProcessPool:
                    pool.shutdown(wait=False, cancel_futures=True)
                    # one more may be on its way to a worker
                    for variant in [v for v in left if v in batch][: many + 1]:
                        lost[variant] += 1
                    for variant in [v for v in left if lost[v] >= TRIES]:
                        left.remove(variant)
                        yield variant, _lost(variant)
                except BaseException:
                    pool.shutdown(wait=False, cancel_futures=True)
                    # what they are at is of no use any more
                    for process in multiprocessing.active_children():
                        process.kill()
                    raise

    return run


def _on_cluster(address: str) -> Runner:
    """A Dask cluster that runs already; it moves the work of a dead worker to another."""

    def run(
        job: str, todo: Sequence[Variant], into: str
    ) -> Iterator[tuple[Variant, dict[str, Any]]]:
        try:
            from distributed import CancelledError, Client, as_completed
            from distributed.comm.core import CommClosedError
            from distributed.scheduler import KilledWorker
        except ImportError as error:
            raise InputError("an address needs the extra `pip install panejig[cluster]`") from error
        for name in [
            name for name in logging.root.manager.loggerDict if name.split(".")[0] == "distributed"
        ]:
            # its message is printed below, once
            logging.getLogger(name).setLevel(logging.CRITICAL)
        try:
            client = Client(address, timeout=ANSWER_S)
        except (OSError, TimeoutError, ValueError) as error:
            raise InputError(f"no Dask scheduler answers at {address}: {error}") from error
        with client:
            try:
                futures = {
                    client.submit(run_variant, job, variant.sets, into, pure=False): variant
                    for variant in todo
                }
                for future in as_completed(list(futures)):
                    variant = futures[future]
                    try:
                        row = future.result()
                    except KilledWorker:
                        row = _lost(variant)
                    yield variant, row
            except (CancelledError, CommClosedError, TimeoutError) as error:
                raise OutputError(
                    f"the Dask scheduler at {address} stopped answering. Finished variants are"
                    " kept: start it again, and the same command continues from there."
                ) from error

    return run


def _lost(variant: Variant) -> dict[str, Any]:
    row: dict[str, Any] = dict(word.split("=", 1) for word in variant.sets)
    return row | {"exit": 1, "fails": "", "warns": "", "says": f"{LOST} {TRIES} times"}


def columns(rows: Sequence[Mapping[str, Any]]) -> tuple[str, ...]:
    """Every column that any row has, in the order of first use."""
    return tuple(dict.fromkeys(name for row in rows for name in row))
