"""Random failing jobs: is every told remedy true, and does mending end well? python -m
tests.benchmarks.mend_jobs [COUNT [SEED]]

A job of a few panels gets one to three random values of its design, its power or its hanging. Of
the jobs that fail, light included: each told remedy is done on the job as it stands; the check must
pass and no other one fail that passed, light included. Then the job is mended: it must pass, light
included, or be told as not mended. Bounds: 0 remedies untrue, 0 jobs said to be mended that fail.
"""

from __future__ import annotations

import itertools
import random
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Iterator, Sequence
from functools import partial
from pathlib import Path

from fab.checks.changes import changes_told
from fab.checks.model import Verdict
from fab.errors import PanejigError
from fab.mend import fails, mend, works
from fab.params.changing import with_values
from fab.params.job import Job
from fab.params.new_job import arrangement, draft
from fab.params.read import load
from fab.verdicts import judge_all, judge_job, told

VALUES: dict[str, tuple[float, float]] = {
    "panel.depth": (20, 45),
    "panel.gap": (0, 3),
    "panel.corner_radius": (0, 30),
    "panel.base.floor": (1.0, 4),
    "panel.base.wall": (0.6, 3),
    "panel.shell.wall": (0.6, 5),
    "panel.shell.ledge": (0.5, 5),
    "panel.board.height": (8, 22),
    "panel.clip.width": (4, 16),
    "panel.clip.hook": (0.2, 1.4),
    "panel.clip.leg": (0.5, 2),
    "panel.clip.leg_length": (4, 16),
    "panel.clip.return_deg": (25, 80),
    "panel.header.pin": (5, 12),
    "panel.header.play": (0.1, 1),
    "panel.led.margin": (2, 12),
    "panel.inlet.board_w": (10, 22),
    "panel.hanger.travel": (4, 14),
    "panel.hanger.head_d": (5, 11),
    "panel.screw_head_d": (3, 8),
    "power.brightness": (0.2, 1.0),
    "hang.factor": (4, 12),
}
SIZES = {"hexagon": (78, 220), "square": (58, 190), "triangle": (85, 200)}


def random_job(number: int, seed: int, folder: Path) -> Job:
    """A job as `panejig new` makes it, with some values changed."""
    dice = random.Random(f"{seed}-{number}")
    shape = dice.choice(sorted(SIZES))
    size = str(round(dice.uniform(*SIZES[shape])))
    files = draft(
        f"job-{number}", shape, arrangement(shape, dice.randint(1, 6)), "metric-bench", size
    )
    for name, data in files.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(data)
    keys = dice.sample(sorted(VALUES), dice.randint(1, 3))
    words = [f"{key}={round(dice.uniform(*VALUES[key]), 2)}" for key in keys]
    return load(folder / f"job-{number}.toml", words).job


def worse_of(job: Job, verdict: Verdict, changed: Job) -> list[str]:
    """Ids of what fails in the changed job for the worse: the check itself, or one that passed."""
    before, after = judge_all(job), judge_all(changed)
    if works(verdict, before, after):
        return []
    return sorted({name for name, _ in fails(after) - fails(before)} | {verdict.id})


def untrue_of(job: Job, failed: Sequence[Verdict], tally: Counter[str]) -> list[str]:
    """What is told untruly of a failing job: remedies that do not cure or break another check, and
    a mended job that fails. Counts both, and prints what is left of a job that was not mended.
    """
    untrue: list[str] = []
    for verdict in failed:
        changes = changes_told(verdict.remedy)
        tally["remedies" if changes else "no single change or pair told"] += 1
        if not changes:
            continue
        if worse := worse_of(job, verdict, with_values(job, changes[0])):
            untrue.append(f"{job.job}: {verdict.id}: {verdict.remedy} Fails then: {worse}")
            print(f"untrue: {untrue[-1]}", flush=True)
    ended = mend(
        job,
        partial(judge_job, light=True),
        partial(judge_job, light=True, quick=True),
    )
    tally["mended" if ended.good else "not mended"] += 1
    if ended.good and (broken := fails(judge_job(ended.job, light=True, quick=True))):
        untrue.append(f"{job.job}: mended, but {sorted(broken)}")
    if not ended.good:
        names = ", ".join(sorted({one.id for one in ended.left}))
        print(f"{job.job}: left {names}", flush=True)
    return untrue


def failing_jobs(
    seed: int, folder: Path, tally: Counter[str]
) -> Iterator[tuple[Job, list[Verdict]]]:
    """Random jobs of a seed with a check that fails, each with what fails; without end."""
    for number in itertools.count(1):
        try:
            job = random_job(number, seed, folder)
            # what passes is passed over at once, by coarse figures of light where these are clear
            now = fails(judge_job(job, light=True, quick=True))
            found = told(job, judge_job(job, light=True)) if now else ()
        except PanejigError:
            tally["refused at the door"] += 1
            continue
        if failed := [one for one in found if one.verdict == "fail"]:
            tally["jobs"] += 1
            yield job, failed


def main(count: int = 300, seed: int = 17) -> int:
    untrue: list[str] = []
    tally: Counter[str] = Counter()
    began = time.perf_counter()
    with tempfile.TemporaryDirectory() as folder:
        for job, failed in itertools.islice(failing_jobs(seed, Path(folder), tally), count):
            untrue += untrue_of(job, failed, tally)
            seconds = time.perf_counter() - began
            so_far = f"{dict(tally)}, {len(untrue)} untrue, {seconds:.0f} s"
            print(so_far, file=sys.stderr, flush=True)
    for line in untrue:
        print(f"untrue: {line}")
    seconds = time.perf_counter() - began
    print(
        f"{seconds:.0f} s; {len(untrue)} remedies untrue; "
        + ", ".join(f"{v} {k}" for k, v in tally.items())
    )
    return 1 if untrue else 0


if __name__ == "__main__":
    sys.exit(main(*(int(word) for word in sys.argv[1:])))
