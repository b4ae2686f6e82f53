"""`panejig check`: all checks, no files."""

from __future__ import annotations

import click

from fab.cli import verdicts as lines
from fab.cli.console import Console
from fab.cli.words import allow_word, job_path, job_word, sets_word, talking
from fab.params.read import load


@click.command()
@job_word
@sets_word
@allow_word
@talking
@click.pass_context
def check(ctx: click.Context, job: str, sets: tuple[str, ...], allow: tuple[str, ...]) -> None:
    """Check JOB and write nothing. Exit code 1 when a check fails.

    With -v also what passed.
    """
    console: Console = ctx.obj
    loaded = load(job_path(job), sets)
    from fab import workshop  # heavy: brings the rooms in

    found = workshop.check(loaded, progress=console.progress)
    console.clear()
    counts = lines.counted(found)
    stops = [verdict for verdict in found if verdict.verdict == "fail" and verdict.id not in allow]
    if console.json:
        passed_over = sorted({verdict.id for verdict in found if verdict.verdict == "fail"} & set(allow))
        head = {"job": loaded.job.job, "inputs_sha256": loaded.inputs_sha256}
        console.tell_json({**head, "checks": lines.data(found), "counts": counts, "allowed": passed_over})
    else:
        for verdict in lines.worst_first(found):
            if verdict.verdict == "fail" or console.verbose or (verdict.verdict == "warn" and not console.quiet):
                allowed = verdict.verdict == "fail" and verdict.id in allow
                console.tell(lines.told(verdict, allowed=allowed))
        told = f"{counts['pass']} passed, {counts['warn']} to look at, {counts['fail']} failed."
        console.tell(f"{loaded.job.job}: {told}")
    ctx.exit(1 if stops else 0)
