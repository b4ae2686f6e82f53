"""`panejig new`: a job file of one's own, from flags or a few questions."""

from __future__ import annotations

import re
import sys
from pathlib import Path

import click

from fab.cli.console import Console
from fab.cli.words import talking
from fab.cli.writing import write_new
from fab.errors import Fault, InputError, refused
from fab.params import presets
from fab.params.new_job import MOST_PANELS, SHAPES, SIZES, arrangement, draft, drawing
from fab.params.quoting import clean, short, show

_CELL = re.compile(r"([+-]?[0-9]{1,6})\s*,\s*([+-]?[0-9]{1,6})")


@click.command()
@click.argument("name")
@click.option("--shape", type=click.Choice(list(SHAPES)), help="Shape of the panels.")
@click.option(
    "--panels", type=click.IntRange(1, MOST_PANELS), help="Number of panels, in a winding row."
)
@click.option(
    "--within",
    metavar="FILE",
    help="Fill the outline of a DXF or SVG, at its real size, with panels.",
)
@click.option(
    "--margin", metavar="LENGTH", help="With --within: free rim inside the outline; default: 0."
)
@click.option(
    "--width",
    metavar="LENGTH",
    help="With --within: real width of the outline; default: as its file says.",
)
@click.option(
    "--turn",
    metavar="DEGREES|best",
    help="With --within: turn of the wall in degrees; best tries many. Default: 0.",
)
@click.option("--cells", metavar="'Q,R Q,R ...'", help="Lattice cells of the panels.")
@click.option("--shop", metavar="PRESET", help="Shop preset to copy (see `panejig presets`).")
@click.option(
    "--size", metavar="LENGTH", help="Across flats of a hexagon, edge of the others: 120, '5 in'."
)
@click.option("--into", default=".", metavar="DIR", help="Folder for the new files.")
@talking
@click.pass_obj
def new(
    console: Console,
    /,
    *,
    name: str,
    shape: str | None,
    panels: int | None,
    cells: str | None,
    shop: str | None,
    size: str | None,
    into: str,
    within: str | None,
    margin: str | None,
    width: str | None,
    turn: str | None,
) -> None:
    """Start a job NAME: a job file with the wall drawn in it, and your own copies of a shop and a
    panel beside it.

    Asks for what is missing on a terminal; elsewhere takes the usual. Never writes over a file.

    \b
    panejig new hall --panels 7
    panejig new hall --shape triangle --within outline.svg --margin 20
    """
    _one_way(panels, cells, within, {"--margin": margin, "--width": width, "--turn": turn})
    asks = sys.stdin.isatty() and sys.stderr.isatty() and not console.json and not console.quiet
    shops = presets.names("shop")
    usual_shop = "metric-bench" if "metric-bench" in shops else "".join(shops[:1])
    if shape is None:
        shape = (
            click.prompt("Shape", type=click.Choice(list(SHAPES)), default="hexagon", err=True)
            if asks
            else "hexagon"
        )
    if cells is None and panels is None and within is None:
        panels = (
            click.prompt(
                "Number of panels", type=click.IntRange(1, MOST_PANELS), default=7, err=True
            )
            if asks
            else 7
        )
    if shop is None:
        shop = (
            click.prompt("Shop", type=click.Choice(shops), default=usual_shop, err=True)
            if asks
            else usual_shop
        )
    if size is None:
        words = f"{SIZES[shape].replace('_', ' ')} (empty: as in the design)"
        size = (
            click.prompt(words.capitalize(), default="", show_default=False, err=True)
            if asks
            else ""
        )
    found = None
    if within is not None:
        from fab.cli.within import cells_within

        found = cells_within(
            Path(within),
            str(shape),
            str(size),
            Path(into),
            margin=margin or "0",
            width=width or "",
            turn=turn or "0",
        )
    places = (
        found.cells
        if found
        else _cells(cells)
        if cells is not None
        else arrangement(str(shape), panels or 1)
    )
    turned = found.turn_deg if found else 0.0
    files = draft(name, str(shape), places, str(shop), str(size), turned)
    picture = drawing(places, str(shape))
    job = Path(into) / f"{name}.toml"
    if job.exists() or job.is_symlink():
        raise refused(
            "already exists.",
            "Choose another name, or another --into folder.",
            where=clean(str(job)),
        )
    written, kept = write_new(Path(into), files)
    if console.json:
        told = {
            "written": [str(path) for path in written],
            "kept": [str(path) for path in kept],
            "map": picture,
        }
        console.tell_json(
            {**told, "within": {**found.told, "notes": found.notes}} if found else told
        )
        return
    for path in written:
        console.tell(str(path))
    for path in kept:
        console.say(f"{path} already existed and is kept.")
    console.say(f"\n{picture}")
    for note in found.notes if found else ():
        console.say(note)
    console.say(f"The wall is drawn in {job}: change the drawing, then run: panejig check {job}")


def _one_way(
    panels: int | None, cells: str | None, within: str | None, only: dict[str, str | None]
) -> None:
    """Refuse two ways to say which panels, and words of --within without it."""
    faults = []
    given = [
        word
        for word, value in (("--panels", panels), ("--cells", cells), ("--within", within))
        if value is not None
    ]
    if len(given) > 1:
        faults.append(Fault(given[1], f"cannot be used with {given[0]}.", "Give one of them."))
    if within is None:
        faults += [
            Fault(word, "needs an outline.", "Give it with --within: outline.svg.")
            for word, value in only.items()
            if value is not None
        ]
    if faults:
        raise InputError(faults)


def _cells(words: str) -> list[tuple[int, int]]:
    bare = _CELL.sub(" ", words)
    if bare.strip(" \t[];") or not words.strip():
        works = "Write two whole numbers for each: --cells '0,0 1,0 1,1'."
        raise refused(f"{show(clean(short(words)))} is not a list of cells.", works, key="--cells")
    return [(int(first), int(second)) for first, second in _CELL.findall(words)]
