"""Ctrl-C while the program starts and while the CAD kernel loads: exit code 130, one short line,
nothing left.
"""

from __future__ import annotations

import os
import random
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from fab.errors import MissingKernel
from fab.leaving import SAYS
from fab.solids import loading
from tests.workshop.swapping import whole

ROOT = Path(__file__).parents[2]
EARLY, LATE = 24, 6  # stops before a first product is there, and after
STOPS = EARLY + LATE

pytestmark = pytest.mark.skipif(
    os.name != "posix", reason="a signal to oneself is Ctrl-C there only"
)

CODE = """
import os, sys
from fab import start
seen, last, word = 0, int(sys.argv.pop(1)), sys.argv.pop(1)
marks = {}
def count(event, args):
    global seen, last, word
    if event in ("os.kill", "object.__getattr__") or last < 0:
        return
    seen += 1
    path = str(args[0]) if args else ""
    if event == "os.mkdir" and ".panejig-" in path:
        marks.setdefault("tree", seen)
    elif event == "open" and ".new-" in path:
        marks.setdefault("product", seen)
    elif event == "os.rename" and path.endswith("/tree"):
        marks.setdefault("swapped", seen + 1)
        print(marks.get("product"), marks["tree"], flush=True)
    drawn = last and (seen == last or "tree" in marks)
    if drawn or (event == "import" and path == word) or (word in marks and seen == marks[word]):
        last = -1
        os.kill(os.getpid(), 2)
sys.addaudithook(count)
start.script()
"""


def started(
    home: Path, last: int, word: str, *words: str, processes: int = 1, store: str = "cache"
) -> tuple[int, str, str]:
    """A build in a process of its own, from an empty store, with a Ctrl-C at its `last` event (at
    the latest as the tree is begun), as it imports `word`, or just after it has `swapped`. Exit
    code, and what it said: at the end its events until the first product and until the tree.
    """
    home.mkdir()
    named = {
        "PYTHONPATH": str(ROOT),
        "PANEJIG_CACHE": str(home / store),
        "PANEJIG_PROCESSES": str(processes),
        "TMPDIR": str(home),
    }
    command = [
        sys.executable,
        "-c",
        CODE,
        str(last),
        word,
        "build",
        "bedside-lamp",
        "--out",
        str(home / "out"),
        *words,
    ]
    with subprocess.Popen(
        command,
        cwd=home,
        env=os.environ | named,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        start_new_session=True,
    ) as process:
        out, err = process.communicate(timeout=1200)
        began = time.monotonic()  # ends as soon as the helpers do; a busy machine takes its time
        while time.monotonic() < began + 60 and _alive(process.pid):
            time.sleep(0.02)
        assert not _alive(process.pid), "a helper is still there"
    return process.returncode, out, err


def _alive(session: int) -> list[str]:
    """Processes of the session that are more than a name in a table."""
    found = []
    for stat in Path("/proc").glob("[0-9]*/stat"):
        try:
            fields = stat.read_text().rpartition(")")[2].split()
        except OSError:
            continue
        if int(fields[3]) == session and fields[0] != "Z":
            found.append(stat.parent.name)
    return found


def nothing_left(home: Path) -> None:
    """No file but the lock and whole products of the store."""
    left = [
        path for path in home.rglob("*") if path.is_file() and path.name != ".bedside-lamp.lock"
    ]
    assert [
        path
        for path in left
        if path.parent.parent != home / "cache" or path.name.startswith(".new-")
    ] == []


@pytest.mark.parametrize(
    "word",
    [
        "fab.cli.main",
        pytest.param("cadquery.types", marks=pytest.mark.slow),
        pytest.param("OCP.OCP", marks=pytest.mark.slow),
        "numpy",
    ],
)
def test_ctrl_c_while_a_library_loads(word: str, tmp_path: Path) -> None:
    code, _, err = started(tmp_path / "home", 0, word)
    assert (code, err) == (130, SAYS + "\n")
    nothing_left(tmp_path / "home")


@pytest.mark.slow
def test_thirty_stops_over_a_cold_start_are_thirty_times_130(tmp_path: Path) -> None:
    """At 30 moments of a build from an empty store, counted in events (modules loaded, files
    opened): 24 from the first one over the loading of the kernel to the first product, six from
    there to the writing of the tree. A stop after the swap leaves the new build, whole.
    """
    code, out, err = started(tmp_path / "count", 0, "")
    assert code == 0, err
    first, tree = (int(word) for word in out.split()[:2])
    dice = random.Random(20261129)
    spans = [(1 + first * k // EARLY, first * (k + 1) // EARLY) for k in range(EARLY)]
    spans += [
        (first + (tree - first) * k // LATE, first + (tree - first) * (k + 1) // LATE)
        for k in range(LATE)
    ]
    told = []
    for k, span in enumerate(spans):
        code, _, err = started(tmp_path / str(k), dice.randint(*span), "", processes=1 + k % 2)
        told.append((code, err))
        nothing_left(tmp_path / str(k))
    assert told == [(130, SAYS + "\n")] * STOPS
    for processes in (1, 2):
        home = tmp_path / f"after {processes}"
        code, _, err = started(home, 0, "swapped", processes=processes, store="../count/cache")
        assert (code, err) == (130, SAYS + "\n")
        assert [path.name for path in sorted((home / "out").iterdir())] == [
            ".bedside-lamp.lock",
            "bedside-lamp",
        ]
        whole(home / "out" / "bedside-lamp")


@pytest.mark.parametrize(
    ("error", "says"),
    [
        (
            ImportError("libGL.so.1: cannot open shared object file: No such file or directory"),
            "libGL.so.1: on Debian and Ubuntu run `apt-get install --no-install-recommends libgl1`",
        ),
        (
            ImportError("libOdd.so.3: cannot open shared object file: No such file or directory"),
            "install the package with libOdd.so.3",
        ),
        (
            ModuleNotFoundError("No module named 'OCP'", name="OCP"),
            "run `pip install cadquery-ocp`",
        ),
        (OSError("undefined symbol: odd"), "undefined symbol: odd"),
    ],
)
def test_a_kernel_that_cannot_be_loaded_is_told_by_its_own_reason(
    error: Exception, says: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    class Refuses:
        def find_spec(self, name: str, *_: object) -> None:
            if name == "cadquery":
                raise error

    monkeypatch.delitem(sys.modules, "cadquery", raising=False)
    monkeypatch.setattr(sys, "meta_path", [Refuses(), *sys.meta_path])
    loading.kernel.cache_clear()
    try:
        with pytest.raises(MissingKernel, match="the CAD kernel") as refused:
            loading.kernel()
    finally:
        loading.kernel.cache_clear()
    assert says in str(refused.value)
    assert signal.getsignal(signal.SIGINT) is not signal.SIG_IGN
