"""kill -9 at 50 moments of the swap itself, counted in events: the old tree or the new one is
there, with all that is the maker's in it; and Ctrl-C at the same moments leaves nothing behind.
"""

from __future__ import annotations

import os
import random
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from fab.makerfiles import standing
from fab.outtree import recover
from tests.workshop.swapping import NAME, TOOL, looked, renewed

ROOT = Path(__file__).parents[2]
MOMENTS = 50

pytestmark = pytest.mark.skipif(os.name != "posix", reason="needs a signal that cannot be caught")

CODE = """
import os, sys
from pathlib import Path
import fab.outtree, fab.makerfiles, concurrent.futures.thread
from tests.workshop.swapping import renewed
from fab import leaving
if sys.argv[4] == "2":
    leaving.arm()
seen, last, two = 0, int(sys.argv[2]), sys.argv[3] == "two"
def count(event, args):
    global seen
    if event == "os.kill":
        return
    seen += 1
    if seen == last:
        os.kill(os.getpid(), int(sys.argv[4]))
if two:
    import fab.workfolder
    fab.workfolder._swapped = lambda one, other: False
sys.addaudithook(count)
try:
    renewed(Path(sys.argv[1]), {"cut/a.svg": b"new", "book/i.html": b"new"})
except KeyboardInterrupt:
    os._exit(130)
print(seen)
"""


def moment(folder: Path, last: int, way: str, number: int) -> subprocess.CompletedProcess[str]:
    """A renewal in a process of its own that gets a signal at its `last` event."""
    words = [sys.executable, "-c", CODE, str(folder), str(last), way, str(number)]
    return subprocess.run(
        words,
        check=False,
        capture_output=True,
        text=True,
        cwd=ROOT,
        env=os.environ | {"PYTHONPATH": str(ROOT)},
    )


def makers(folder: Path) -> None:
    """A build with notes, a read-only photo, a link and an empty folder in it."""
    renewed(folder, {"cut/a.svg": b"old", "lists/p.csv": b"old"})
    (folder / "cut" / "mine").mkdir()
    (folder / "cut" / "mine" / "notes.txt").write_bytes(b"years")
    (folder / "photo.jpg").write_bytes(b"light")
    (folder / "photo.jpg").chmod(0o400)
    (folder / "way").symlink_to("nowhere")
    (folder / "empty").mkdir()


def whole(folder: Path) -> str:
    """Whether the old or the new one: which tree is there, every file of it as its listing says."""
    there = standing(folder, NAME, TOOL)
    listed = {line["path"] for line in there.listing["files"]}
    assert listed | {NAME} == there.ours
    return (folder / "cut" / "a.svg").read_text()


KILL, STOP = int(getattr(signal, "SIGKILL", 9)), int(signal.SIGINT)


@pytest.mark.parametrize(
    ("way", "number", "moments"),
    [("one", KILL, 8), ("two", STOP, 8)]
    + [
        pytest.param(way, number, MOMENTS, marks=pytest.mark.slow)
        for way in ("one", "two")
        for number in (KILL, STOP)
    ],
)
def test_at_any_event_of_the_swap_one_tree_is_whole_with_all_that_is_the_makers(
    way: str, number: int, moments: int, tmp_path: Path
) -> None:
    """`two`: where the system can't swap two names at once. 50 moments of each in the slow run."""
    events = int(moment(_fresh(tmp_path / "count"), 0, way, 9).stdout)
    assert events > 40
    dice = random.Random(f"{way}{number}")
    found: set[str] = set()
    for k, last in enumerate(
        [*dice.sample(range(1, events), moments - 2), events // 2, events - 5]
    ):
        home = tmp_path / str(k)
        folder = _fresh(home)
        mine = _mine(folder)
        done = moment(folder, last, way, number)
        assert done.returncode in ((-KILL,) if number == KILL else (130, 0)), done.stderr
        if number == KILL:
            if way == "one":
                found.add(whole(folder))  # before anything is mended
            recover(folder)
        found.add(whole(folder))
        after = looked(folder)
        assert {name: after.get(name) for name in mine} == mine, last
        assert [path.name for path in home.iterdir()] == ["wall"], last
    assert found == {"old", "new"} or moments < MOMENTS


def _fresh(home: Path) -> Path:
    home.mkdir()
    makers(home / "wall")
    return home / "wall"


def _mine(folder: Path) -> dict[str, tuple[str, int, bytes]]:
    return {
        name: what
        for name, what in looked(folder).items()
        if name in ("cut/mine/notes.txt", "photo.jpg", "way", "empty")
    }
