"""Print the processor seconds that tests take, room by room, in one process and on one core.

    python -m tests.tools.cost                        the rooms that load no kernel
    python -m tests.tools.cost --most 20 board art    others, and their 20 costliest tests
    python -m tests.tools.cost --marked "slow or property" proof

Processor seconds (user and system, children included) are nearly the same on a busy machine and a
quiet one. What a fixture costs counts for the test that first asks for it, what its end costs for
the last one.
"""

from __future__ import annotations

import argparse
import os
import resource
import sys
from collections import defaultdict
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.kernel_free import ROOMS

ROOT = Path(__file__).parents[2]
ALONE = ("-p", "no:xdist", "-o", "addopts=", "--import-mode=importlib", "--strict-markers", "-q")


def used_s() -> float:
    """Return the processor seconds of this process and of its children that ended."""
    both = (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)
    return sum(sum(resource.getrusage(who)[:2]) for who in both)


class Clock:
    """Notes what each test costs, as a plugin of pytest.

    `tests` maps a test's id to seconds, `collected_s` is what interpreter and imports took.
    """

    def __init__(self) -> None:
        self.tests: dict[str, float] = {}
        self.collected_s = 0.0

    def pytest_collection_finish(self) -> None:
        self.collected_s = used_s()

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_protocol(self, item: pytest.Item) -> Iterator[None]:
        before = used_s()
        result = yield
        self.tests[item.nodeid] = used_s() - before
        return result

    def rooms(self) -> dict[str, float]:
        """Return the seconds of each room's tests."""
        found: dict[str, float] = defaultdict(float)
        for test, seconds in self.tests.items():
            found[test.split("/")[1]] += seconds
        return dict(sorted(found.items()))


def main() -> int:
    """Run the tests of the named rooms and print what they cost; return pytest's exit code."""
    words = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else None)
    words.add_argument("rooms", nargs="*", default=ROOMS)
    words.add_argument("--most", type=int, default=0, help="costliest tests to print")
    words.add_argument("--marked", default="not slow", help="tests to run, by their markers")
    asked = words.parse_args()
    if hasattr(os, "sched_setaffinity"):
        os.sched_setaffinity(0, [min(os.sched_getaffinity(0))])
    clock = Clock()
    paths = [str(ROOT / "tests" / room) for room in asked.rooms]
    code = pytest.main([*ALONE, "-m", asked.marked, *paths], plugins=[clock])
    for room, seconds in clock.rooms().items():
        print(f"{seconds:8.2f}  {room}")
    print(f"{clock.collected_s:8.2f}  interpreter and imports")
    print(f"{used_s():8.2f}  all of it")
    for test in sorted(clock.tests, key=clock.tests.__getitem__, reverse=True)[: asked.most]:
        print(f"{clock.tests[test]:8.2f}  {test}")
    return int(code)


if __name__ == "__main__":
    sys.exit(main())
