"""kill -9 at 24 random moments of a whole build: the last good tree is whole, no lock stays, the
next build succeeds.
"""

from __future__ import annotations

import os
import random
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from fab import workshop
from fab.outtree import locked, recover
from fab.params.read import load
from tests.workshop.swapping import whole

ROOT = Path(__file__).parents[2]
ONE = ROOT / "tests" / "one-panel.toml"
KILLS = 24
KERFS = ("0.18", "0.19")  # two builds that differ in every cut file; the kept parts make them short

pytestmark = [
    pytest.mark.slow,
    pytest.mark.skipif(os.name != "posix", reason="needs a signal that cannot be caught"),
]


CODE = """
import os, signal, sys
from fab import workshop
from fab.cli.main import main
seen, swap, last = 0, 0, int(sys.argv[1])
def count(event, args):
    global seen, swap
    seen += 1
    if event == "os.mkdir" and ".one-panel.panejig-" in str(args[0]):
        swap = swap or seen
    # threads count too; the kill itself is an event
    if last and seen >= last and event != "os.kill":
        os.kill(os.getpid(), signal.SIGKILL)
sys.addaudithook(count)
code = main(sys.argv[2:])
print(swap, seen)
sys.exit(code)
"""


def build(out: Path, kerf: str, last: int, processes: int = 1) -> tuple[int, list[int]]:
    """A build in a process of its own that is killed at its `last` event (files opened, made,
    moved, modules loaded; 0: never). Counted in events and not in seconds, because a busy machine
    has no usual time. Exit code, the event at which the new tree is begun, and events in all.
    """
    words = ["build", str(ONE), "--out", str(out), "--set", f"shop.stock.opal-3.kerf={kerf}", "-q"]
    env = os.environ | {"PANEJIG_PROCESSES": str(processes)}
    done = subprocess.run(
        [sys.executable, "-c", CODE, str(last), *words],
        check=False,
        capture_output=True,
        text=True,
        cwd=ROOT,
        env=env,
    )
    return done.returncode, (
        [int(word) for word in done.stdout.split()[-2:]] if done.returncode == 0 else []
    )


def test_killed_at_any_moment(tmp_path: Path) -> None:
    """Every other one may use a second process; every other one dies while the tree is written and
    swapped.
    """
    jobs = {kerf: load(ONE, [f"shop.stock.opal-3.kerf={kerf}"]) for kerf in KERFS}
    hashes = {job.inputs_sha256 for job in jobs.values()}
    folder = workshop.build(jobs[KERFS[0]], tmp_path).folder
    workshop.build(jobs[KERFS[1]], tmp_path)
    code, (swap, events) = build(tmp_path, KERFS[0], 0)
    assert code == 0
    assert 500 < swap < events - 100
    dice = random.Random(20261127)
    caught = 0
    for k in range(KILLS):
        before = whole(folder)
        kerf = next(kerf for kerf, job in jobs.items() if job.inputs_sha256 != before)
        last = dice.randint(swap if k % 2 else 1, events)
        code, _ = build(tmp_path, kerf, last, 1 + k // 2 % 2)
        assert code in (0, -signal.SIGKILL)
        caught += code != 0
        with locked(folder, 60.0):  # nobody holds it any more, once a helper has seen the end
            recover(folder)
        assert whole(folder) in hashes
        built = workshop.build(jobs[kerf], tmp_path)  # the next build
        assert whole(folder) == built.manifest["inputs_sha256"] == jobs[kerf].inputs_sha256
        left = sorted(
            path.name
            for path in tmp_path.iterdir()
            if path.name not in (folder.name, f".{folder.name}.lock")
        )
        assert left == []
    assert caught > KILLS * 0.9
