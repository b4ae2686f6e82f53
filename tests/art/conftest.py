"""Helpers of the art tests: designs and walls with pictures beside them."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path

import pytest

from fab.errors import InputError
from fab.params.read import Loaded, load

WALL = """\
job = "t"
shop = "metric-bench"
{top}
[panel]
extends = "hexagon-120"
{rest}
[layout]
turn_deg = {turn}
cells = [[0, 0], [1, 0], [1, 1], [2, 1], [3, 0], [4, 0], [4, 1], [2, 2], [1, 3]]
"""


@pytest.fixture
def wall(tmp_path: Path) -> Callable[..., Loaded]:
    """A job of nine panels: tables of art at its top, lines of its panel, files beside it."""

    def _wall(
        top: str = "",
        rest: str = "",
        files: dict[str, bytes] | None = None,
        turn: float = 0.0,
        sets: Sequence[str] = (),
    ) -> Loaded:
        for name, data in (files or {}).items():
            (tmp_path / name).write_bytes(data)
        (tmp_path / "job.toml").write_text(WALL.format(top="", rest=rest, turn=turn) + top)
        return load(tmp_path / "job.toml", sets)

    return _wall


@pytest.fixture
def refused(wall: Callable[..., Loaded]) -> Callable[..., str]:
    """The message with which such a job is refused."""

    def _refused(*args: object, **kwargs: object) -> str:
        with pytest.raises(InputError) as caught:
            wall(*args, **kwargs)
        return str(caught.value)

    return _refused
