"""kill -9 at 50 random moments of a whole build: the last good tree is whole, no lock stays, the next build succeeds."""

from __future__ import annotations

import hashlib
import json
import os
import random
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from fab import workshop
from fab.outtree import locked, recover
from fab.params.read import load

ROOT = Path(__file__).parents[2]
LAMP = ROOT / "params" / "bedside-lamp.toml"
KILLS = 50
KERFS = ("0.18", "0.19")  # two builds that differ in every cut file; the kept parts make them short

pytestmark = [pytest.mark.slow, pytest.mark.skipif(os.name != "posix", reason="needs a signal that can't be caught")]


def whole(folder: Path) -> str:
    """The inputs' hash of the tree that is there, when every file is as the manifest says and none is over."""
    manifest = json.loads((folder / "manifest.json").read_text(encoding="utf-8"))
    listed = {entry["path"]: entry["sha256"] for entry in manifest["files"]}
    there = {path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_file()}
    assert there == {*listed, "manifest.json"}
    for path, digest in listed.items():
        assert hashlib.sha256((folder / path).read_bytes()).hexdigest() == digest, path
    return str(manifest["inputs_sha256"])


def start(out: Path, kerf: str, processes: str) -> subprocess.Popen[bytes]:
    """A build in a process of its own, once it has begun to work."""
    words = ["build", str(LAMP), "--out", str(out), "--set", f"shop.stock.opal-3.kerf={kerf}", "-q"]
    code = f"import sys; from fab.cli.main import main; from fab import workshop; print('ready', flush=True); sys.exit(main({words!r}))"
    env = os.environ | {"PANEJIG_PROCESSES": processes}
    process = subprocess.Popen([sys.executable, "-c", code], stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, cwd=ROOT, env=env)
    assert process.stdout is not None
    process.stdout.readline()
    return process


def test_killed_at_fifty_moments(tmp_path: Path) -> None:
    """Half of them while another process helps, for which parts of the cache are dropped first."""
    jobs = {kerf: load(LAMP, [f"shop.stock.opal-3.kerf={kerf}"]) for kerf in KERFS}
    hashes = {job.inputs_sha256 for job in jobs.values()}
    folder = workshop.build(jobs[KERFS[0]], tmp_path).folder
    workshop.build(jobs[KERFS[1]], tmp_path)
    began = time.perf_counter()
    assert start(tmp_path, KERFS[0], "1").wait() == 0
    usual = time.perf_counter() - began
    dice = random.Random(20261127)
    caught = 0
    for k in range(KILLS):
        before = whole(folder)
        kerf = next(kerf for kerf, job in jobs.items() if job.inputs_sha256 != before)
        # most late, where the tree is written and swapped
        moment = usual * (dice.random() if k % 2 else dice.uniform(0.5, 1.05))
        process = start(tmp_path, kerf, str(1 + k % 2))
        try:
            process.wait(moment)
        except subprocess.TimeoutExpired:
            process.send_signal(signal.SIGKILL)
            process.wait()
            caught += 1
        assert process.stdout is not None
        process.stdout.close()
        with locked(folder, 2.0):  # nobody holds it any more
            recover(folder)
        assert whole(folder) in hashes
        built = workshop.build(jobs[kerf], tmp_path)  # the next build
        assert whole(folder) == built.manifest["inputs_sha256"] == jobs[kerf].inputs_sha256
        left = sorted(path.name for path in tmp_path.iterdir() if path.name not in (folder.name, f".{folder.name}.lock"))
        assert left == []
    assert caught > KILLS * 0.7
