"""Helpers of the board's tests: designs from a few words, jobs with files beside them."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path

import pytest

from fab.decisions import plans_of
from fab.errors import InputError
from fab.params.read import Loaded, load
from fab.parts.plan import Plan

# The figures of these tests are those of the demo's panel (params/reading-nook.toml).
DEMO = ("panel.depth=40", "panel.led.pitch=15.1", "panel.led.margin=3.6")
JOB = """\
job = "t"
shop = "metric-bench"
[panel]
extends = "{panel}"
{rest}
[layout]
cells = [[0, 0]]
"""


@pytest.fixture
def job(tmp_path: Path) -> Callable[..., Loaded]:
    """Loads a job of one panel: lines of its table, files beside it, words of the command line."""

    def _job(
        rest: str = "",
        files: dict[str, bytes] | None = None,
        sets: Sequence[str] = (),
        panel: str = "hexagon-120",
    ) -> Loaded:
        for name, data in (files or {}).items():
            path = tmp_path / name
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_bytes(data)
        path = tmp_path / "job.toml"
        path.write_text(JOB.format(rest=rest, panel=panel))
        told = [word.split("=")[0] for word in sets]
        demo = () if panel != "hexagon-120" else DEMO
        return load(path, [*(one for one in demo if one.split("=")[0] not in told), *sets])

    return _job


@pytest.fixture
def design(job: Callable[..., Loaded]) -> Callable[..., Plan]:
    """The plan of such a job's panel."""

    def _design(
        rest: str = "",
        files: dict[str, bytes] | None = None,
        sets: Sequence[str] = (),
        panel: str = "hexagon-120",
    ) -> Plan:
        return plans_of(job(rest, files, sets, panel).job)["panel"]

    return _design


@pytest.fixture
def refused(job: Callable[..., Loaded]) -> Callable[..., str]:
    """The message with which such a job is refused."""

    def _refused(
        rest: str = "",
        files: dict[str, bytes] | None = None,
        sets: Sequence[str] = (),
        panel: str = "hexagon-120",
    ) -> str:
        with pytest.raises(InputError) as caught:
            job(rest, files, sets, panel)
        return str(caught.value)

    return _refused
