"""`panejig compare`: what changed between two builds or job files, and what must be made again."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import asdict, replace
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

import click

from fab.cli.console import Console
from fab.cli.words import force_word, job_path, talking
from fab.errors import Fault, InputError
from fab.leaving import scratch

if TYPE_CHECKING:
    from fab.params.read import Loaded

T = TypeVar("T")


@click.command()
@click.argument("a", metavar="A")
@click.argument("b", metavar="B")
@click.option(
    "--set",
    "sets",
    multiple=True,
    metavar="KEY=VALUE",
    help="Change one value of B, if B is a job: --set panel.base.wall=1.8.",
)
@click.option(
    "--page", metavar="FILE", help="Also write an HTML page with the pictures of both side by side."
)
@force_word
@talking
@click.pass_obj
def compare(
    console: Console, /, *, a: str, b: str, sets: tuple[str, ...], page: str | None, force: bool
) -> None:
    """Compare A and B: build folders, job files or shipped jobs.

    To see what a change would cost: panejig compare wall.toml wall.toml --set panel.shell.wall=2.25
    """
    from fab import compare as sides
    from fab.cli.writing import refuse_foreign, write_over
    from fab.comparepage import page_bytes
    from fab.seal import sealed_page

    refuse_foreign((Path(page),) if page else (), force=force)
    with scratch() as folder:
        one, two = _sides(console, ((a, (), Path(folder) / "a"), (b, sets, Path(folder) / "b")))
        console.clear()
        left = sides.read_side(one)
        right = sides.read_side(two, " ".join((Path(b).stem, "with", *sets)) if sets else "")
        if left.name == right.name:
            left = replace(left, name=f"{left.name} (A)")
            right = replace(right, name=f"{right.name} (B)")
        found = sides.difference(left, right)
        if page:
            write_over(
                {Path(page): sealed_page(page_bytes(found, left, right, one, two))}, force=force
            )
    if console.json:
        console.tell_json(asdict(found))
        return
    console.tell(sides.told(found))
    if page:
        console.tell(f"Page: {page}")


def _sides(console: Console, wanted: Sequence[tuple[str, tuple[str, ...], Path]]) -> list[Path]:
    """Build folders as they are, jobs built into scratch folders, once all were checked."""
    from fab import workshop
    from fab.compare import read_side
    from fab.params.read import load

    def read(word: str, sets: tuple[str, ...]) -> Loaded | Path:
        if (Path(word) / "manifest.json").is_file() and not sets:
            read_side(Path(word))
            return Path(word)
        return load(job_path(word), sets)

    def failing(side: Loaded | Path) -> frozenset[str]:
        if isinstance(side, Path):
            return frozenset()
        return frozenset(
            verdict.id
            for verdict in workshop.check(side, progress=console.progress)
            if verdict.verdict == "fail"
        )

    sides = _all_or_faults(lambda at: read(*wanted[at][:2]), len(wanted))
    known = _all_or_faults(lambda at: failing(sides[at]), len(wanted))
    return [
        (
            side
            if isinstance(side, Path)
            else workshop.build(side, into, allow=allow, progress=console.progress).folder
        )
        for side, allow, (_, _, into) in zip(sides, known, wanted, strict=True)
    ]


def _all_or_faults(make: Callable[[int], T], count: int) -> list[T]:
    """The tree of each side; when one is refused, the faults of all of them at once."""
    made: list[T] = []
    faults: list[Fault] = []
    for at in range(count):
        try:
            made.append(make(at))
        except InputError as error:
            faults += error.faults
    if faults:
        raise InputError(list(dict.fromkeys(faults)))
    return made
