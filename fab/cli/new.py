"""`panejig new`: a job file of one's own, from flags or a few questions."""

from __future__ import annotations

import re
import sys
from pathlib import Path

import click

from fab.cli.console import Console
from fab.cli.words import talking
from fab.cli.writing import write_new
from fab.errors import Fault, InputError
from fab.params import presets
from fab.params.draft import MOST_PANELS, SHAPES, SIZES, draft, garland
from fab.params.showing import clean, short, show

_CELL = re.compile(r"([+-]?[0-9]{1,6})\s*,\s*([+-]?[0-9]{1,6})")


@click.command()
@click.argument("name")
@click.option("--shape", type=click.Choice(list(SHAPES)), help="Shape of the panels.")
@click.option("--panels", type=click.IntRange(1, MOST_PANELS), help="How many, in a winding row.")
@click.option("--cells", metavar="'Q,R Q,R ...'", help="Which cells, in place of a row.")
@click.option("--shop", metavar="PRESET", help="Whose machines (see `panejig presets`).")
@click.option("--size", metavar="LENGTH", help="Across flats of a hexagon, edge of the others: 120, '5 in'.")
@click.option("--into", default=".", metavar="DIR", help="Folder of the new files.")
@talking
@click.pass_obj
def new(
    console: Console, /, *, name: str, shape: str | None, panels: int | None, cells: str | None, shop: str | None,
    size: str | None, into: str,
) -> None:  # fmt: skip
    """Start a job NAME: a job file with comments, and your own copies of a shop and a panel beside it.

    Asks for what is missing on a terminal; elsewhere takes the usual. Never writes over a file.
    """
    asks = sys.stdin.isatty() and sys.stderr.isatty() and not console.json and not console.quiet
    shops = presets.names("shop")
    usual_shop = "metric-bench" if "metric-bench" in shops else "".join(shops[:1])
    if shape is None:
        shape = (
            click.prompt("Shape", type=click.Choice(list(SHAPES)), default="hexagon", err=True) if asks else "hexagon"
        )
    if cells is None and panels is None:
        panels = (
            click.prompt("How many panels", type=click.IntRange(1, MOST_PANELS), default=7, err=True) if asks else 7
        )
    if shop is None:
        shop = click.prompt("Shop", type=click.Choice(shops), default=usual_shop, err=True) if asks else usual_shop
    if size is None:
        words = f"{SIZES[shape].replace('_', ' ')} (empty: as the design)"
        size = click.prompt(words.capitalize(), default="", show_default=False, err=True) if asks else ""
    if cells is not None and panels is not None:
        raise InputError([Fault("", "--cells", "stands beside --panels.", "Give one of the two.")])
    places = _cells(cells) if cells is not None else garland(str(shape), panels or 1)
    files = draft(name, str(shape), places, str(shop), str(size))
    job = Path(into) / f"{name}.toml"
    if job.exists() or job.is_symlink():
        raise InputError(
            [Fault(clean(str(job)), "", "is there already.", "Choose another name, or another --into folder.")]
        )
    written, kept = write_new(Path(into), files)
    if console.json:
        console.tell_json({"written": [str(path) for path in written], "kept": [str(path) for path in kept]})
        return
    for path in written:
        console.tell(str(path))
    for path in kept:
        console.say(f"{path} was there and is kept.")
    console.say(f"Next: panejig check {job}")


def _cells(words: str) -> list[tuple[int, int]]:
    bare = _CELL.sub(" ", words)
    if bare.strip(" \t[];") or not words.strip():
        works = "Write two whole numbers for each: --cells '0,0 1,0 1,1'."
        raise InputError([Fault("", "--cells", f"{show(clean(short(words)))} is no list of cells.", works)])
    return [(int(first), int(second)) for first, second in _CELL.findall(words)]
