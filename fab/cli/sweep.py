"""`panejig sweep`: one job over a grid of values, into one table."""

from __future__ import annotations

import math
from pathlib import Path

import click

from fab.cli.console import Console
from fab.cli.words import force_word, job_path, job_word, talking
from fab.errors import Fault, InputError, refused
from fab.units import some


@click.command()
@job_word
@click.option(
    "--over",
    multiple=True,
    required=True,
    metavar="KEY=V,V,...",
    help="One axis of the grid: values, or FIRST..LAST..STEP. Repeatable.",
)
@click.option(
    "--table",
    default="sweep.csv",
    metavar="FILE",
    show_default=True,
    help="File for the table: .csv, .json or .parquet.",
)
@click.option(
    "--plot", metavar="FILE", help="Also write a plot (SVG) of --show over the first axis."
)
@click.option(
    "--show",
    default="light.dots",
    metavar="COLUMN",
    show_default=True,
    help="Column of the table to plot.",
)
@click.option(
    "--builds", metavar="DIR", help="Build every variant in full, each into a folder of its own."
)
@click.option(
    "--workers",
    default=0,
    type=click.IntRange(min=0),
    metavar="N",
    help="Processes on this machine; 0: one a core.",
)
@click.option(
    "--address", default="", metavar="HOST:PORT", help="Scheduler of a Dask cluster to run on."
)
@force_word
@talking
@click.pass_obj
def sweep(
    console: Console,
    /,
    *,
    job: str,
    over: tuple[str, ...],
    table: str,
    plot: str | None,
    show: str,
    builds: str | None,
    workers: int,
    address: str,
    force: bool,
) -> None:
    """Run JOB over a grid of values: checks and counts, or whole builds.

    It goes on where it stopped: finished variants stand in a journal beside the table.
    """
    from fab import sweep as sweeping
    from fab.cli.writing import refuse_foreign, write_over
    from fab.seal import sealed_page
    from fab.sweepjournal import note_written, written
    from fab.sweeptable import plot_svg, table_bytes

    found = [_axis(word) for word in over]
    axes = dict(found)
    twice = sorted(key for key in axes if sum(1 for other, _ in found if other == key) > 1)
    if twice:
        raise InputError(
            [
                Fault(
                    key,
                    "is given as an axis twice.",
                    "Write all its values in one --over.",
                    where="--over",
                )
                for key in twice
            ]
        )
    variants = sweeping.grid(axes)
    target = Path(table)
    journal = target.with_suffix(target.suffix + ".journal")
    noted = written(journal)
    refuse_foreign([target, *([Path(plot)] if plot else [])], force=force, noted=noted)
    rows = sweeping.sweep(
        job_path(job),
        variants,
        journal,
        builds_into=Path(builds) if builds else None,
        workers=workers,
        address=address,
        progress=lambda done, of: console.progress(f"variants: {done} of {of}", done / of),
    )
    console.clear()
    files = {target: table_bytes(rows, target.suffix)}
    if plot:
        files[Path(plot)] = sealed_page(plot_svg(rows, list(axes), show))
    note_written(journal, files[target])  # a table has no room for a seal
    write_over(files, force=force, noted=noted)
    if console.json:
        console.tell_json({"rows": rows, "table": str(target)})
        return
    good = sum(1 for row in rows if row["exit"] == 0)
    console.tell(f"{some(len(rows), 'variant')}; every check passed in {good}. Table: {target}")


def _axis(word: str) -> tuple[str, list[str]]:
    key, mark, values = word.partition("=")
    parts = [part.strip() for part in values.split(",") if part.strip()]
    if not key or not mark or not parts:
        raise refused(
            "is not an axis.",
            "Write it as panel.depth=30,34,38 or panel.depth=30..38..2.",
            where=f"--over {word}",
        )
    found: list[str] = []
    for part in parts:
        found += _range(part, word) if part.count("..") == 2 else [part]
    return key.strip(), found


def _range(part: str, word: str) -> list[str]:
    from fab.units import fixed

    try:
        first, last, step = (float(number) for number in part.split(".."))
        many = math.floor((last - first) / step + 1e-9)
    except (ValueError, ZeroDivisionError, OverflowError):
        many, first, step = -1, 0.0, 0.0
    if not 0 <= many < 10_000:
        raise refused(
            f"{part} is not a range.",
            "Write FIRST..LAST..STEP, for example 30..38..2.",
            where=f"--over {word}",
        )
    return [fixed(first + k * step, 6) for k in range(many + 1)]
