"""`panejig compare`: what changed between two builds or job files, and what must be made again."""

from __future__ import annotations

import tempfile
from dataclasses import asdict, replace
from pathlib import Path

import click

from fab.cli.console import Console
from fab.cli.words import job_path, talking


@click.command()
@click.argument("a", metavar="A")
@click.argument("b", metavar="B")
@click.option(
    "--set",
    "sets",
    multiple=True,
    metavar="KEY=VALUE",
    help="Change one value of B, when B is a job: --set panel.base.wall=1.8.",
)
@click.option("--page", metavar="FILE", help="Also write a page (HTML) with the pictures of both side by side.")
@talking
@click.pass_obj
def compare(console: Console, /, *, a: str, b: str, sets: tuple[str, ...], page: str | None) -> None:
    """Compare A and B: build folders, job files or shipped jobs.

    To see what a change would cost: panejig compare wall.toml wall.toml --set panel.shell.wall=2.25
    """
    from fab import compare as sides
    from fab.comparepage import page_bytes

    with tempfile.TemporaryDirectory(prefix="panejig-") as folder:
        one = _side(console, a, (), Path(folder) / "a")
        two = _side(console, b, sets, Path(folder) / "b")
        console.clear()
        left, right = sides.read_side(one), sides.read_side(two, " ".join((Path(b).stem, "with", *sets)) if sets else "")
        if left.name == right.name:
            left, right = replace(left, name=f"{left.name} (A)"), replace(right, name=f"{right.name} (B)")
        found = sides.difference(left, right)
        if page:
            from fab.cli.writing import write_over

            write_over(Path(page), page_bytes(found, left, right, one, two))
    if console.json:
        console.tell_json(asdict(found))
        return
    console.tell(sides.told(found))
    if page:
        console.tell(f"Page: {page}")


def _side(console: Console, word: str, sets: tuple[str, ...], scratch: Path) -> Path:
    """A build folder as it is, or a job built into a scratch folder."""
    folder = Path(word)
    if (folder / "manifest.json").is_file() and not sets:
        return folder
    from fab import workshop
    from fab.params.read import load

    loaded = load(job_path(word), sets)
    known = {verdict.id for verdict in workshop.check(loaded) if verdict.verdict == "fail"}
    built = workshop.build(loaded, scratch, allow=frozenset(known), progress=console.progress)
    return built.folder
