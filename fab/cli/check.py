"""`panejig check`: all checks, no files."""

from __future__ import annotations

import click

from fab.cli import verdicts as lines
from fab.cli.console import Console
from fab.cli.words import allow_word, job_path, job_word, sets_word, talking
from fab.errors import refused
from fab.params.read import load


@click.command()
@job_word
@sets_word
@allow_word
@click.option(
    "--mend",
    "mends",
    is_flag=True,
    help="Change values of the job until it passes, and show the changes of its file.",
)
@click.option("--write", is_flag=True, help="With --mend: write the changes to the job file.")
@talking
@click.pass_context
def check(
    ctx: click.Context,
    job: str,
    sets: tuple[str, ...],
    allow: tuple[str, ...],
    *,
    mends: bool,
    write: bool,
) -> None:
    """Check JOB and write nothing. Exit code 1 when a check fails.

    With -v also what passed. --mend tries remedies one after the other. It never changes values
    of the shop, limits of safety or of light.
    """
    console: Console = ctx.obj
    if write and not mends:
        raise refused("needs --mend.", "Give both, or leave --write out.", key="--write")
    path = job_path(job)
    loaded = load(path, sets)
    if mends:
        from fab.cli.mend import mended

        loaded, left = mended(console, loaded, path, sets, write=write)
        if left:
            ctx.exit(1)
    from fab import workshop  # heavy: brings the rooms in

    found = workshop.check(loaded, progress=console.progress)
    console.clear()
    counts = lines.counted(found)
    stops = [verdict for verdict in found if verdict.verdict == "fail" and verdict.id not in allow]
    if console.json:
        passed_over = sorted(
            {verdict.id for verdict in found if verdict.verdict == "fail"} & set(allow)
        )
        head = {"job": loaded.job.job, "inputs_sha256": loaded.inputs_sha256}
        console.tell_json(
            {**head, "checks": lines.data(found), "counts": counts, "allowed": passed_over}
        )
    else:
        for verdict in lines.worst_first(found):
            if (
                verdict.verdict == "fail"
                or console.verbose
                or (verdict.verdict == "warn" and not console.quiet)
            ):
                allowed = verdict.verdict == "fail" and verdict.id in allow
                console.tell(lines.told(verdict, allowed=allowed))
        told = f"Passed: {counts['pass']}; warnings: {counts['warn']}; failed: {counts['fail']}."
        console.tell(f"{loaded.job.job}: {told}")
    ctx.exit(1 if stops else 0)
