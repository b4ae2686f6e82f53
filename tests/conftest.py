"""What several tests share: builds made once a run in a cache of the run's own, and one headless
browser.
"""

from __future__ import annotations

import gc
import os
import shutil
import signal
import sys
from collections.abc import Generator, Iterator
from contextlib import suppress
from importlib import import_module
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, settings
from xdist.scheduler import LoadFileScheduling

from fab.cli.main import SELDOM
from tests.kernel_free import ROOMS, kernel_calls

# Every run draws the same cases each time, so that none fails by chance: the default run a few of
# them, PANEJIG_EXAMPLES=all the number that stands beside each test. PANEJIG_EXAMPLES=chance draws
# as many new ones each time, to hunt for faults; a failure prints what brings it back. No clock
# decides.
EXAMPLES = os.environ.get("PANEJIG_EXAMPLES", "few")
FEW, LEAST = 12, 2  # a twelfth of what stands beside a test, but so many
SLOW_IS_FINE = [HealthCheck.too_slow]
settings.register_profile(
    "few",
    deadline=None,
    database=None,
    derandomize=True,
    max_examples=25,
    suppress_health_check=SLOW_IS_FINE,
)
settings.register_profile(
    "all", deadline=None, database=None, derandomize=True, suppress_health_check=SLOW_IS_FINE
)
settings.register_profile(
    "chance", deadline=None, print_blob=True, suppress_health_check=SLOW_IS_FINE
)
settings.load_profile(EXAMPLES)
if EXAMPLES != "chance":
    # Cases are also drawn from the numbers and texts of all of our modules that are loaded: those
    # differ with the tests that ran before, and reading them takes seconds. Old versions do not.
    with suppress(ImportError):
        providers = vars(import_module("hypothesis.internal.conjecture.providers"))
        providers["_get_local_constants"] = providers.get("Constants")

ROOT = Path(__file__).parents[1]
os.environ.setdefault("PANEJIG_PROCESSES", "1")  # the tests run side by side already, ...
for library in ("OPENBLAS", "OMP", "MKL"):
    os.environ.setdefault(f"{library}_NUM_THREADS", "1")  # ... and the command sets this itself
gc.set_threshold(*SELDOM)  # as the command does
os.environ["COLUMNS"] = "100"  # whoever runs them may have a narrow window, ...
for leaked in ("PANEJIG_TRACE", "_PANEJIG_COMPLETE"):  # ... and may be looking for a fault
    os.environ.pop(leaked, None)
# Where a shell forbids compiled files, each of the many processes that tests start would compile
# the whole program anew.
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
sys.dont_write_bytecode = False


BROWSERS = ("chromium", "chromium-browser", "google-chrome", "chrome")
TOGETHER = ("checks", "light", "proof")  # rooms whose files share what is dear to make: one worker
LONG_FIRST = (
    "tests/workshop/test_build.py",
    "tests/checks/",
    "tests/proof/",
    "tests/light/",
    "tests/parts/",
    "tests/workshop/",
    "tests/board/",
    "tests/files/",
)
ASKED_BEFORE = pytest.StashKey[int]()
OWN = "_hypothesis_internal_use_settings"  # where hypothesis keeps what a test asks for


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """What takes long comes first, so that two workers end at about the same time."""
    drawn = set()
    for item in items:
        test = getattr(item, "obj", None)
        if getattr(test, "is_hypothesis_test", False):
            item.add_marker("property")
            drawn.add(getattr(test, "__func__", test))  # all parameters of a test share it
    for test in drawn if EXAMPLES == "few" else ():
        asked = getattr(test, OWN, None)
        if asked is not None:
            few = min(asked.max_examples, max(asked.max_examples // FEW, LEAST))
            setattr(test, OWN, settings(asked, max_examples=few))
    items.sort(key=_turn)


def pytest_collection_finish() -> None:
    """What was collected stays to the end: no sweep of the memory looks through it again."""
    gc.freeze()


def _turn(item: pytest.Item) -> int:
    return next(
        (place for place, start in enumerate(LONG_FIRST) if item.nodeid.startswith(start)),
        len(LONG_FIRST),
    )


def _room(nodeid: str) -> str:
    return nodeid.split("/")[1]


class _ByRoom(LoadFileScheduling):  # type: ignore[misc]
    """A file's tests go to one worker, and so do all of a room whose files share much."""

    def _split_scope(self, nodeid: str) -> str:
        room = _room(nodeid)
        return room if room in TOGETHER else super()._split_scope(nodeid)


@pytest.hookimpl(optionalhook=True)  # runs in one process know no such hook
def pytest_xdist_make_scheduler(config: pytest.Config, log: Any) -> LoadFileScheduling | None:
    return _ByRoom(config, log) if config.getoption("dist") == "loadfile" else None


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport() -> Generator[None, pytest.TestReport, pytest.TestReport]:
    """Damaged files leave halves of letters in the log of a library, which no worker can send."""
    report = yield
    report.sections = [
        (name, text.encode("utf-8", "backslashreplace").decode()) for name, text in report.sections
    ]
    return report


@pytest.hookimpl(wrapper=True)
def pytest_runtest_setup(item: pytest.Item) -> Generator[None]:
    item.stash[ASKED_BEFORE] = kernel_calls()
    return (yield)


@pytest.hookimpl(wrapper=True)
def pytest_runtest_call(item: pytest.Item) -> Generator[None, object, object]:
    """A test of the default run in a room without the kernel fails when it asks for the kernel, or
    what it needs does.
    """
    result = yield
    does_without = _room(item.nodeid) in ROOMS and item.get_closest_marker("slow") is None
    if does_without and kernel_calls() > item.stash[ASKED_BEFORE]:
        pytest.fail("it asked for the CAD kernel: mark it slow, or see tests/kernel_free.py")
    return result


@pytest.fixture(scope="session", autouse=True)
def ctrl_c_is_heard() -> None:
    """A run that a shell started in the background has Ctrl-C ignored, and so would everything that
    it starts.
    """
    if signal.getsignal(signal.SIGINT) is signal.SIG_IGN:
        signal.signal(signal.SIGINT, signal.default_int_handler)


@pytest.fixture(scope="session")
def shared(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """One folder for all workers of a run."""
    base = tmp_path_factory.getbasetemp()
    return base.parent if os.environ.get("PYTEST_XDIST_WORKER") else base


@pytest.fixture(scope="session", autouse=True)
def own_cache(shared: Path) -> Iterator[None]:
    """No test reads or fills the cache of whoever runs it.

    PANEJIG_TEST_CACHE keeps one between runs.
    """
    before = os.environ.get("PANEJIG_CACHE")
    os.environ["PANEJIG_CACHE"] = os.environ.get("PANEJIG_TEST_CACHE") or str(shared / "cache")
    yield
    if before is None:
        del os.environ["PANEJIG_CACHE"]
    else:
        os.environ["PANEJIG_CACHE"] = before


class Built(dict[str, Path]):
    """Job to its folder, built when it is first asked for; once for all workers."""

    def __init__(self, shared: Path) -> None:
        super().__init__()
        self.shared = shared

    def __missing__(self, job: str) -> Path:
        from filelock import FileLock

        from fab import workshop
        from fab.params.read import load

        with FileLock(self.shared / f"{job}.lock"):
            shipped = ROOT / "params" / f"{job}.toml"
            path = shipped if shipped.is_file() else ROOT / "tests" / f"{job}.toml"
            self[job] = workshop.build(load(path), self.shared / "built").folder
        return self[job]


@pytest.fixture(scope="session")
def built(shared: Path, own_cache: None) -> Built:
    """The shipped jobs and those of `tests/`, built whole."""
    return Built(shared)


@pytest.fixture(scope="session")
def browser() -> Iterator[Any]:
    """A headless Chromium; PANEJIG_NEEDS_BROWSER turns the skip into a failure."""
    path = next((found for name in BROWSERS if (found := shutil.which(name))), None)
    reason = "needs a headless Chromium on the path (apt-get install chromium)"
    try:
        from playwright.sync_api import sync_playwright
    except ImportError:
        path, reason = None, "needs playwright (pip install 'panejig[test]')"
    if path is None:
        if os.environ.get("PANEJIG_NEEDS_BROWSER"):
            pytest.fail(reason)
        pytest.skip(reason)
    with sync_playwright() as play:
        opened = play.chromium.launch(
            executable_path=path,
            args=[
                "--no-sandbox",
                "--disable-gpu-rasterization",
                "--use-gl=angle",
                "--use-angle=swiftshader",
                "--enable-unsafe-swiftshader",
                "--disable-background-networking",
                "--disable-component-update",
                "--disable-sync",
                "--no-first-run",
            ],
        )
        yield opened
        opened.close()
