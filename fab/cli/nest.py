"""`panejig nest`: cut sheets of drawings and parts of a job."""

from __future__ import annotations

import json
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from fab.cli import bookwords
from fab.cli import verdicts as lines
from fab.cli.console import Console
from fab.cli.nestwords import (
    TURNS,
    UNITS,
    pieces_of,
    rack_of,
    shapes_of,
    title_of,
    told_with_places,
)
from fab.cli.words import (
    allow_word,
    length_word,
    search_word,
    sets_with,
    sets_word,
    shipped,
    talking,
)

if TYPE_CHECKING:
    from fab.outputs.booked import Bookable
    from fab.outputs.nested import Nested


@click.command()
@click.argument("job", metavar="[JOB]", required=False, shell_complete=shipped("job"))
@click.option(
    "--shape",
    "shapes",
    multiple=True,
    metavar="FILE=COUNT[@STOCK]",
    help="Outline file (DXF or SVG) and number of copies. Repeatable.",
)
@click.option(
    "--shop",
    metavar="SHOP",
    shell_complete=shipped("shop"),
    help="Shop with the sheets and the laser, if there is no JOB.",
)
@click.option(
    "--stock",
    metavar="NAME",
    help="Stock of shapes without @STOCK. Default: that of the job's diffusers.",
)
@click.option(
    "--turns",
    type=click.Choice(TURNS),
    default="quarter",
    show_default=True,
    help="Turns that shapes may have on the sheet.",
)
@click.option(
    "--join",
    default="0.05 mm",
    metavar="LENGTH",
    show_default=True,
    help="Join line ends closer than this.",
)
@click.option(
    "--unit",
    type=click.Choice(list(UNITS)),
    help="Unit of a DXF, in place of the unit that the file states.",
)
@click.option(
    "--layer",
    "layers",
    multiple=True,
    metavar="LAYER=OPERATION",
    help=(
        "Operation of a layer or colour (#rrggbb) of the drawings: cut, mark, engrave or ignore."
        " Repeatable."
    ),
)
@click.option(
    "--name",
    metavar="NAME",
    help="Name of the nest. Default: the name of the job, or of the first shape.",
)
@click.option(
    "--out",
    default="out",
    metavar="DIR",
    show_default=True,
    help="Parent of the folder NAME-sheets.",
)
@search_word
@click.option(
    "--seed",
    type=click.IntRange(1, 1_000_000),
    default=1,
    show_default=True,
    help="Seed: the start of a search.",
)
@click.option(
    "--book", is_flag=True, help="Update the shop file: remove the used sheets and add the offcuts."
)
@sets_word
@allow_word
@talking
@click.pass_context
def nest(
    ctx: click.Context,
    job: str | None,
    shapes: tuple[str, ...],
    shop: str | None,
    stock: str | None,
    turns: str,
    join: str,
    unit: str | None,
    layers: tuple[str, ...],
    name: str | None,
    out: str,
    nest_seconds: float | None,
    seed: int,
    *,
    book: bool,
    sets: tuple[str, ...],
    allow: tuple[str, ...],
) -> None:
    """Lay shapes, and the sheet parts of JOB if one is named, on the sheets and offcuts of the
    shop.

    \b
    panejig nest --shop bench.toml --shape plate.svg=3
    panejig nest wall.toml --shape plate.svg=3 --shape board.dxf=1@ply-3

    Closed outlines with holes are found in loose lines. The folder gets a DXF, an SVG and a picture
    of every sheet, the offcuts and nest.json. Ctrl-C ends a search; the best until then is written
    (exit code 130).
    """
    console: Console = ctx.obj
    from fab.checks.model import stop_on_failure
    from fab.makerfiles import refuse_blocked, refuse_clash, refuse_strangers, some_names, standing
    from fab.outputs import nesting
    from fab.outputs.booked import book as write_booking
    from fab.outputs.booked import bookable, may_book
    from fab.outputs.cut import nest_all
    from fab.outputs.nested import Search
    from fab.outputs.nestlock import keep_locks, lock_path, read_locks, refuse_strange
    from fab.outtree import locked, recover, swap_in

    loaded, whose, shop_file = rack_of(job, shop, sets_with(sets, nest_seconds))
    wanted = shapes_of(
        shapes, whose, stock or (loaded.job.panel.diffuser.stock if loaded is not None else "")
    )
    pieces, brought = pieces_of(
        loaded,
        whose,
        wanted,
        turns,
        length_word("--join", join),
        UNITS[unit] if unit else None,
        layers,
    )
    title = title_of(name, loaded, wanted)
    folder, kept = Path(out) / f"{title}-sheets", Path(out) / f"{title}.nest.json"
    if loaded is not None:
        kept = lock_path(loaded.sources[0], Path(out))
    works = "Choose another --name or --out."
    refuse_strangers(folder, "nest.json", nesting.MARK, works)
    refuse_strange(kept)
    seconds = loaded.job.nest.seconds if loaded is not None else nest_seconds or 0.0
    rack_file = may_book(shop_file, whose) if book else Path()
    search = Search(
        seconds,
        seed,
        read_locks(kept),
        lambda says, share: console.progress(f"nest: {says}", share),
        title,
    )
    for note in brought.notes:
        console.say(note)
    with told_with_places(loaded, shop):
        nested = nest_all(whose, pieces, search)
    console.clear()
    for note in nesting.font_notes(title, nested):
        console.say(note)
    if nested.locks:
        keep_locks(kept, nested.locks)
    sheets = nested.kinds(title)
    verdicts = nesting.verdicts(nested, sheets, brought.names)
    stop_on_failure(verdicts, allow, "write the sheets")
    rests = [rest for kind in sheets if not kind.stock.booked for rest in kind.rests]
    ready = bookable(rack_file, whose, nested, rests) if book else None
    files = nesting.files(title, nested, sheets, verdicts, allow, brought)
    with locked(folder):
        recover(folder)
        there = standing(folder, "nest.json", nesting.MARK)
        refuse_blocked(there, "nest.json", None, works)
        refuse_clash(there, files, works)
        swap_in(folder, files, there.carried, there.seen)
    if there.told:
        console.say(f"Kept files that do not belong to this nest: {some_names(there.told)}")
    if ready is not None:
        write_booking(ready, kept)
    _tell(console, folder, nested, sheets, verdicts, ready, rack_file, brought.read)
    if nested.stopped:
        console.say("Stopped: the best nest found so far is written.")
        ctx.exit(130)


def _tell(
    console: Console,
    folder: Path,
    nested: Nested,
    sheets: Sequence[Any],
    verdicts: Sequence[Any],
    ready: Bookable | None,
    rack_file: Path,
    read: Sequence[str],
) -> None:
    from fab.outputs import nesting

    if console.json:
        told = json.loads((folder / "nest.json").read_bytes())
        booked = bookwords.data(rack_file, ready) if ready is not None else None
        console.tell_json(
            {"folder": str(folder), **told, "stopped": nested.stopped, "booked": booked}
        )
        return
    if not console.quiet:
        for line in (*read, *nesting.lines(nested, sheets)):
            console.tell(line)
        for verdict in lines.worst_first(verdicts):
            if verdict.verdict != "pass" or console.verbose:
                console.tell(lines.told(verdict, allowed=verdict.verdict == "fail"))
    if ready is not None:
        bookwords.told(console, rack_file, ready, "Nest it with another --name.")
    console.tell(str(folder) if console.quiet else f"Files: {folder}")
