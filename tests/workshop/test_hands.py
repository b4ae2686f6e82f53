"""Helpers make what is asked of them, the same as this process would; one that dies or fails costs time only."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path

import pytest

from fab.hands import VARIABLE, Hands, processes
from fab.store import Store, Task

ROOT = Path(__file__).parents[2]


def power(base: int, exponent: int) -> Callable[[], bytes]:
    """A call that another process can be sent."""
    return partial(int.to_bytes, base**exponent, 8, "little")


@pytest.fixture
def team() -> Iterator[Hands]:
    one = Hands(1)
    yield one
    one.end()


def test_a_helper_begins_at_the_end_and_its_results_are_taken(team: Hands) -> None:
    team.give((str(k), power(3, k)) for k in range(20))
    here = []
    got = {}
    for k in range(20):
        made = team.take(str(k))
        if made is None:
            here.append(k)
            _until(lambda: bool(team._done))  # the other has begun, however long its start took
        else:
            got[k] = made
    assert here == list(range(len(here)))  # this process from the front, the other from the back
    assert got == {k: power(3, k)() for k in range(len(here), 20)}
    assert got


def test_a_call_that_fails_or_cannot_be_sent_is_left_to_us(team: Hands) -> None:
    lock = threading.Lock()
    team.give([("fails", partial(int, "x")), ("no pickle", lambda: bytes(lock.locked())), ("good", power(2, 3))])
    _until(lambda: not team._waiting and not team._running)
    assert team.take("fails") is None
    assert team.take("no pickle") is None
    assert team.take("good") == power(2, 3)()


def test_who_waits_for_a_helper_makes_what_comes_next(team: Hands) -> None:
    """The helper is busy with what is wanted until a file appears, which the next call writes: without it nobody ends."""
    with tempfile.TemporaryDirectory() as folder:
        sign = f"{folder}/sign"
        calls = [("wrong", partial(int, "x")), ("next", partial(_raise_sign, sign)), ("wanted", partial(_wait_for, sign))]
        team.give(calls)
        _until(lambda: "wanted" in team._running)
        assert team.take("wanted") == b"seen"
        assert team.take("next") == b"up"
        assert team.take("wrong") is None  # it failed here too: whoever needs it makes it again and tells why


def _raise_sign(path: str) -> bytes:
    Path(path).touch()
    return b"up"


def _wait_for(path: str) -> bytes:
    _until(Path(path).exists)
    return b"seen"


def _until(true: Callable[[], bool], seconds: float = 120.0) -> None:
    end = time.monotonic() + seconds
    while not true() and time.monotonic() < end:
        time.sleep(0.01)


def _with_pid(path: str) -> bytes:
    _wait_for(path)
    return str(os.getpid()).encode()


def _seldom() -> bytes:
    import gc

    return repr(gc.get_threshold()).encode()


def test_what_is_given_next_goes_before_all_that_waits(team: Hands, tmp_path: Path) -> None:
    assert not team.give_next("early", power(2, 2))  # nobody is there yet
    assert team.take("early") is None
    go = tmp_path / "go"
    team.give([("waits", power(2, 3)), ("runs", partial(_with_pid, str(go)))])
    _until(lambda: "runs" in team._running)
    assert team.give_next("next", partial(_with_pid, str(go)))
    assert list(team._waiting) == ["waits", "next"]  # helpers take from the end
    go.touch()
    _until(lambda: "next" in team._done)
    made = team.take("next")
    assert made is not None
    assert int(made) != os.getpid()
    assert made == team.take("runs")


def test_a_helper_looks_for_dead_objects_as_seldom_as_we_do(team: Hands) -> None:
    import gc

    before = gc.get_threshold()
    gc.set_threshold(4321, 21, 22)
    try:
        team.give([("waits", power(2, 3)), ("told", _seldom)])
        _until(lambda: "told" in team._done)
        assert team.take("told") == b"(4321, 21, 22)"
    finally:
        gc.set_threshold(*before)


def test_a_helper_that_is_killed_costs_time_only(team: Hands) -> None:
    team.give([("a", power(2, 2)), ("slow", partial(time.sleep, 60))])
    _until(lambda: "slow" in team._running)
    team._processes[0].kill()
    assert team.take("slow") is None
    team.give([("b", power(2, 4)), ("c", power(2, 5))])  # another one comes
    _until(lambda: "b" in team._done)
    assert team.take("b") == power(2, 4)()


def test_a_helper_ends_with_the_process_that_started_it(tmp_path: Path) -> None:
    """Also when that one is killed: its stdin ends."""
    code = (
        "import time\nfrom functools import partial\nfrom fab.hands import Hands\n"
        "team = Hands(1); team.give([('a', partial(time.sleep, 0.1))])\n"
        "print(team._processes[0].pid, flush=True); time.sleep(60)"
    )
    process = subprocess.Popen([sys.executable, "-c", code], stdout=subprocess.PIPE, cwd=ROOT)
    assert process.stdout is not None
    helper = int(process.stdout.readline())
    process.kill()
    process.wait()
    process.stdout.close()
    _until(lambda: not _alive(helper))
    assert not _alive(helper)


def _alive(pid: int) -> bool:
    try:
        os.kill(pid, 0)
    except OSError:
        return False
    try:
        return ") Z " not in Path(f"/proc/{pid}/stat").read_text()
    except OSError:
        return True


def test_the_store_asks_helpers_and_keeps_what_they_made(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    team = Hands(1)
    monkeypatch.setattr("fab.hands.hands", lambda: team)
    store = Store(tmp_path, helped=True)
    tasks = [Task(f"power {k}", k, (), power(5, k)) for k in range(4)]
    store.ahead(tasks)
    _until(lambda: not team._waiting and not team._running)
    assert [store.run(task) for task in tasks] == [power(5, k)() for k in range(4)]
    assert store.made == [task.name for task in tasks]
    assert Store(tmp_path).get(tasks[0].key) == power(5, 0)()
    team.end()


def test_the_number_of_processes_is_a_choice(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(VARIABLE, "1")
    assert processes() == 1
    monkeypatch.delenv(VARIABLE)
    assert 1 <= processes() <= 3


@pytest.mark.slow
@pytest.mark.kernel
def test_two_processes_leave_the_same_bytes_as_one(tmp_path: Path) -> None:
    """A whole cold build of the demo each: every file, and the manifest but for its seconds."""
    found = []
    for count in ("1", "2"):
        out = tmp_path / count
        env = os.environ | {VARIABLE: count, "PANEJIG_CACHE": str(tmp_path / f"cache {count}")}
        words = ["build", str(ROOT / "params" / "reading-nook.toml"), "--out", str(out), "-q"]
        subprocess.run([sys.executable, "-c", f"import sys; from fab.cli.main import main; sys.exit(main({words!r}))"], check=True, env=env, cwd=ROOT)
        tree = {path.relative_to(out).as_posix(): path.read_bytes() for path in out.rglob("*") if path.is_file()}
        manifest = json.loads(tree.pop("reading-nook/manifest.json"))
        found.append((tree, {key: value for key, value in manifest.items() if key != "seconds"}))
    assert found[0] == found[1]
