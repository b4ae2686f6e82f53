"""`panejig check JOB --mend`: values changed until the job passes, as a diff with the reasons."""

from __future__ import annotations

from functools import partial
from pathlib import Path

from fab.checks.model import Verdict
from fab.cli import verdicts as lines
from fab.cli.console import Console
from fab.errors import refused
from fab.mend import Mended, dimmer, mend
from fab.params import jobedit
from fab.params.read import Loaded, load
from fab.params.replacing import replace_file


def mended(
    console: Console, loaded: Loaded, path: Path, sets: tuple[str, ...], *, write: bool
) -> tuple[Loaded, int]:
    """Mend a job, tell what changes, and write it when asked.

    Returns the job as it would be read then, and how many checks fail that no change cured.
    """
    if sets and write:
        works = "Write the values of --set into the job file first, or leave --write out."
        raise refused("cannot be used with --set.", works, key="--write")
    from fab.verdicts import judge_job  # heavy: brings the rooms in

    found = mend(
        loaded.job,
        partial(judge_job, light=True),
        partial(judge_job, light=True, quick=True),
        lambda now: console.progress(f"repairing, {_failing(now)} left", 0.5),
    )
    console.clear()
    values = tuple({step.key: step.value for step in found.steps}.items())
    edit = jobedit.edited(path, values) if values else None
    if edit is not None and write:
        replace_file(edit.path, edit.new, expected=edit.old)
    if not console.json:
        _tell(console, found, edit, write=write)
    words = tuple(f"{key}={value}" for key, value in values)
    return load(path, sets if write else (*sets, *words)), len(found.left)


def _tell(console: Console, found: Mended, edit: jobedit.JobEdit | None, *, write: bool) -> None:
    if edit is None and found.good:
        console.tell("Nothing to repair: every check that can be made without solids passes.")
        return
    for step in found.steps:
        console.tell(f"{step.key} = {step.value} ({step.before} before): {step.check}. {step.why}")
    if less := dimmer(found.steps):
        console.tell(less)
    if edit is not None:
        for row in edit.diff:
            console.tell(f"  {row}")
        console.tell("Written." if write else "Nothing was written. Add --write to write it.")
    for verdict in lines.worst_first(found.left):
        console.tell(lines.told(verdict))
    if not found.good:
        console.tell(
            "No change was found that repairs the rest. Values of the shop and limits are never"
            " changed."
        )


def _failing(now: tuple[Verdict, ...]) -> str:
    return str(sum(verdict.verdict == "fail" for verdict in now))
