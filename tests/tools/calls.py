"""Which test calls which function of `fab`, and the forks in which tests are run for it.

A test is run in a process of its own, forked from one that has collected them all: what it needs is
made anew, so its time holds whichever tests ran before.
"""

from __future__ import annotations

import gc
import hashlib
import json
import os
import resource
import signal
import sys
import tempfile
import time
import traceback
from collections import defaultdict
from collections.abc import Callable
from contextlib import suppress
from functools import partial
from itertools import zip_longest
from pathlib import Path
from types import CodeType, FrameType, FunctionType
from typing import Any

import pytest

ROOT = Path(__file__).parents[2]
TEST_S = 20.0  # a test that needs more processor time is left out
MEMORY_BYTES = 8 << 30  # an endless loop must not take the machine's
# of a test, by its id: processor time, the functions that it calls and their files
Known = dict[str, tuple[float, set[str]]]


def forked(job: Callable[[], Any], aside: bool) -> tuple[Any, int]:
    """Return what `job` returns in a process of its own, and the signal that ended it.

    `aside`: nothing that it prints is shown, and its memory is limited.
    """
    with tempfile.TemporaryFile() as answer:
        child = os.fork()
        if child == 0:
            os.setpgid(0, 0)
            if aside:
                resource.setrlimit(resource.RLIMIT_AS, (MEMORY_BYTES, MEMORY_BYTES))
                nowhere = os.open(os.devnull, os.O_RDWR)
                os.dup2(nowhere, 1)
                os.dup2(nowhere, 2)
            try:
                answer.write(json.dumps(job()).encode())
                answer.flush()
            except BaseException:
                traceback.print_exc()
            finally:
                sys.stdout.flush()
                os._exit(0)
        _, status = os.waitpid(child, 0)
        with suppress(ProcessLookupError):  # what it started and left
            os.killpg(child, signal.SIGKILL)
        answer.seek(0)
        return json.loads(answer.read() or b"null"), os.WTERMSIG(status)


def limit(cpu_s: float) -> None:
    """End this process after so many more seconds of processor time, or if it waits for ever."""
    signal.setitimer(signal.ITIMER_PROF, cpu_s)
    signal.alarm(int(60 + 30 * cpu_s))


class Loop:
    """Takes the place of pytest's loop over the collected tests."""

    def __init__(self, job: Callable[[pytest.Session], Any]) -> None:
        self.job, self.answer = job, None

    def pytest_runtestloop(self, session: pytest.Session) -> bool:
        self.answer = None if session.testsfailed else self.job(session)
        return True


def collected(tests: list[str], marks: str, job: Callable[[pytest.Session], Any]) -> Any:
    """Return what `job` makes of a session of these tests."""
    loop = Loop(job)
    plain = ["-p", "no:xdist", "-p", "no:cacheprovider", "-o", "addopts=", "-m", marks]
    with tempfile.TemporaryDirectory() as folder:
        base = ["--import-mode=importlib", f"--basetemp={folder}/tests", "-s", "-qq", "--tb=native"]
        pytest.main([*plain, *base, "--disable-warnings", *tests], plugins=[loop])
    return loop.answer


def passed(items: list[pytest.Item], known: Known) -> bool:
    """Run tests until one fails; return whether none did. A test that takes far longer than it is
    known to ends the process.
    """
    for item, after in zip_longest(items, items[1:]):
        limit(2.0 + 2.0 * known[item.nodeid][0])
        item.config.hook.pytest_runtest_protocol(item=item, nextitem=after)
        if item.session.testsfailed:
            return False
    return True


class Calls:
    """Collects the functions of `fab` that are called, as path:name."""

    def __init__(self) -> None:
        self.seen: dict[int, CodeType] = {}

    def __call__(self, frame: FrameType, event: str, _: object) -> None:
        if event == "call":
            self.seen[id(frame.f_code)] = frame.f_code

    def named(self) -> set[str]:
        """Return them; what stands inside of a function counts as this function."""
        ours = f"{ROOT}/fab/"
        return {
            f"{code.co_filename[len(str(ROOT)) + 1 :]}:{code.co_qualname.split('.<locals>')[0]}"
            for code in list(self.seen.values())
            if code.co_filename.startswith(ours)
        }


def functions() -> dict[str, list[FunctionType]]:
    """Return the functions of `fab` that are loaded, by path:name."""
    gc.unfreeze()  # what is frozen is not listed, and a run of tests freezes what it collected
    found = defaultdict(list)
    for thing in gc.get_objects():
        if type(thing) is FunctionType and thing.__code__.co_filename.startswith(f"{ROOT}/fab/"):
            path = thing.__code__.co_filename[len(str(ROOT)) + 1 :]
            found[f"{path}:{thing.__code__.co_qualname}"].append(thing)
    return dict(found)


def measured(item: pytest.Item) -> tuple[float, list[str]] | None:
    """Return a test's processor time in seconds and what it calls; None when it fails."""
    calls, began = Calls(), time.process_time()
    sys.setprofile(calls)
    sound = passed([item], {item.nodeid: (TEST_S / 2, set())})
    sys.setprofile(None)
    return (time.process_time() - began, sorted(calls.named())) if sound else None


def known_calls(tests: list[str], marks: str) -> Known:
    """Return what each test calls, measured where a file of tests or the program has changed."""
    texts = {str(p.relative_to(ROOT)): p.read_bytes() for p in sorted(ROOT.glob("*/**/*.py"))}
    files = [
        name
        for name in texts
        if Path(name).name.startswith("test_") and any(Path(name).is_relative_to(t) for t in tests)
    ]
    rest = b"".join(
        text for name, text in texts.items() if "/test_" not in name and "/tools/" not in name
    )
    keys = {f: hashlib.sha256(rest + texts[f] + marks.encode()).hexdigest() for f in files}
    store = Path(tempfile.gettempdir()) / "panejig-calls.json"
    kept = json.loads(store.read_text()) if store.is_file() else {}
    new = [file for file in files if keys[file] not in kept]

    def measure(session: pytest.Session) -> None:
        found: dict[str, Any] = {keys[file]: {} for file in new}
        gc.freeze()
        for item in session.items:
            answer, _ = forked(partial(measured, item), aside=True)
            if answer is None:
                print(f"left out: {item.nodeid} (fails, or takes over {TEST_S:.0f} s)", flush=True)
            else:
                found[keys[item.nodeid.split("::")[0]]][item.nodeid] = answer
        store.write_text(json.dumps(kept | found))

    if new:
        forked(lambda: collected(new, marks, measure), aside=False)
        kept = json.loads(store.read_text())
    return {
        test: (seconds, {*calls, *(call.split(":")[0] for call in calls)})
        for file in files
        for test, (seconds, calls) in kept[keys[file]].items()
    }
