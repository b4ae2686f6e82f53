"""Helpers of the door's tests: job files in a folder of their own."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path

import pytest

from fab.errors import InputError
from fab.params.read import Loaded, load

GOOD = """\
job = "t"
shop = "metric-bench"
panel = "hexagon-120"
[layout]
cells = [[0, 0]]
"""


@pytest.fixture
def write(tmp_path: Path) -> Callable[..., Path]:
    """Writes a file below the test's folder."""

    def _write(text: str | bytes, name: str = "job.toml") -> Path:
        path = tmp_path / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(text if isinstance(text, bytes) else text.encode())
        return path

    return _write


@pytest.fixture
def read(write: Callable[..., Path]) -> Callable[..., Loaded]:
    """Loads a job given as text."""

    def _read(text: str | bytes, sets: Sequence[str] = ()) -> Loaded:
        return load(write(text), sets)

    return _read


@pytest.fixture
def refused(read: Callable[..., Loaded]) -> Callable[..., str]:
    """The message with which a job is refused."""

    def _refused(text: str | bytes, sets: Sequence[str] = ()) -> str:
        with pytest.raises(InputError) as caught:
            read(text, sets)
        return str(caught.value)

    return _refused
