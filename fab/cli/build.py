"""`panejig build`: everything, or some kinds of it."""

from __future__ import annotations

from difflib import get_close_matches
from pathlib import Path
from typing import TYPE_CHECKING

import click

from fab.cli import bookwords
from fab.cli import verdicts as lines
from fab.cli.console import Console
from fab.cli.words import (
    KINDS,
    allow_word,
    job_path,
    job_word,
    search_word,
    sets_with,
    sets_word,
    talking,
)
from fab.errors import refused
from fab.params.quoting import clean
from fab.params.read import Loaded, load
from fab.params.shopfile import shop_file_of

if TYPE_CHECKING:
    from fab.outputs.booked import Bookable


@click.command()
@job_word
@click.option(
    "--out", default="out", metavar="DIR", show_default=True, help="Parent of the job folder."
)
@click.option(
    "--only",
    multiple=True,
    type=click.Choice(KINDS),
    help="Make only this kind of files. Repeatable.",
)
@sets_word
@allow_word
@search_word
@click.option(
    "--book",
    is_flag=True,
    help="Update the shop file: remove the used sheets and add the offcuts, once.",
)
@click.option(
    "--fresh", is_flag=True, help="Make everything again, without what is kept from earlier builds."
)
@talking
@click.pass_obj
def build(
    console: Console,
    /,
    *,
    job: str,
    out: str,
    only: tuple[str, ...],
    sets: tuple[str, ...],
    allow: tuple[str, ...],
    nest_seconds: float | None,
    book: bool,
    fresh: bool,
) -> None:
    """Make all files of JOB: prints, cuts, template, lists and book.

    JOB is a job file, or the name of a shipped job (see `panejig presets`). A check that fails
    stops the build before any file is written, and the last good build stays as it is.

    With --nest-seconds Ctrl-C ends the search; the best nest until then is kept, and the next build
    uses it.

    With --book the shop file changes when the build is there. What is booked stays as it was cut:
    later builds of the same parts keep those sheets, and book nothing again.
    """
    path = job_path(job)
    loaded = load(path, sets_with(sets, nest_seconds))
    rack_file = _rack_file(path, loaded, only) if book else Path()
    from fab import workshop  # heavy: brings the rooms in

    built = workshop.build(
        loaded,
        Path(out),
        only=frozenset(only),
        allow=frozenset(allow),
        fresh=fresh,
        progress=console.progress,
    )
    console.clear()
    ready = _booked(loaded, rack_file, Path(out)) if book else None
    if console.json:
        booked = bookwords.data(rack_file, ready) if ready is not None else None
        console.tell_json(
            {
                "folder": str(built.folder),
                "manifest": built.manifest,
                "checks": lines.data(built.verdicts),
                "summary": list(built.summary),
                "booked": booked,
            }
        )
        return
    if not console.quiet:
        for line in built.summary:
            console.tell(line)
        for verdict in lines.worst_first(built.verdicts):
            if verdict.verdict != "pass" or console.verbose:
                console.tell(lines.told(verdict, allowed=verdict.verdict == "fail"))
    known = sorted({verdict.id for verdict in built.verdicts})
    for word in sorted(set(allow) - set(known)):
        close = get_close_matches(word, known, n=1)
        console.say(
            f"--allow {word}: unknown check." + (f" Did you mean {close[0]}?" if close else "")
        )
    if ready is not None:
        bookwords.told(console, rack_file, ready, f"panejig nest {clean(job)} --book --name NAME.")
    console.tell(str(built.folder) if console.quiet else f"Files: {built.folder}")


def _rack_file(path: Path, loaded: Loaded, only: tuple[str, ...]) -> Path:
    """The shop file of the job.

    Raises InputError, before anything is made, when it can't take a booking.
    """
    from fab.outputs.booked import may_book

    if only and "cut" not in only:
        raise refused(
            "this build makes no cut files.", "Add --only cut, or leave --book out.", key="--book"
        )
    return may_book(shop_file_of(path), loaded.job.shop)


def _booked(loaded: Loaded, rack_file: Path, out: Path) -> Bookable:
    """Book the nest of a written build: the quick way or the kept nest gives the same again."""
    from fab.decisions import outline
    from fab.outputs import booked, cut
    from fab.outputs.nestlock import lock_path
    from fab.workshop import quiet, searched

    kept = lock_path(loaded.sources[0], out)
    nested = cut.nested(outline(loaded.job), searched(loaded, kept, quiet))
    kinds = [kind for kind in nested.kinds(loaded.job.job) if not kind.stock.booked]
    rests = [rest for kind in kinds for rest in kind.rests]
    ready = booked.bookable(rack_file, loaded.job.shop, nested, rests)
    booked.book(ready, kept)
    return ready
