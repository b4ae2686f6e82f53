"""`panejig build`: everything, or some kinds of it."""

from __future__ import annotations

from difflib import get_close_matches
from pathlib import Path

import click

from fab.cli import verdicts as lines
from fab.cli.console import Console
from fab.cli.words import KINDS, allow_word, job_path, job_word, search_word, sets_with, sets_word, talking
from fab.params.read import load


@click.command()
@job_word
@click.option("--out", default="out", metavar="DIR", show_default=True, help="Folder that gets a folder for the job.")
@click.option("--only", multiple=True, type=click.Choice(KINDS), help="Only this kind; may be given several times.")
@sets_word
@allow_word
@search_word
@click.option("--fresh", is_flag=True, help="Make everything anew, whatever is kept from earlier builds.")
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
    fresh: bool,
) -> None:
    """Make all files of JOB: prints, cuts, template, lists and book.

    JOB is a job file, or the name of a shipped job (see `panejig presets`). A check that fails stops the build before
    any file is written, and the last good build stays as it is.

    With --nest-seconds Ctrl-C ends the search; the best nest until then is kept, and the next build uses it.
    """
    loaded = load(job_path(job), sets_with(sets, nest_seconds))
    from fab import workshop  # heavy: brings the rooms in

    built = workshop.build(
        loaded, Path(out), only=frozenset(only), allow=frozenset(allow), fresh=fresh, progress=console.progress
    )
    console.clear()
    if console.json:
        console.tell_json(
            {"folder": str(built.folder), "manifest": built.manifest, "checks": lines.data(built.verdicts),
             "summary": list(built.summary)}
        )  # fmt: skip
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
        console.say(f"--allow {word}: no check has that id." + (f" Nearest: {close[0]}." if close else ""))
    console.tell(str(built.folder) if console.quiet else f"Files: {built.folder}")
