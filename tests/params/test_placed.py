"""Faults found after reading say where their values stand."""

from __future__ import annotations

from pathlib import Path

import pytest

from fab.errors import Fault, InputError
from fab.params.placed import told_with_places, where
from fab.params.read import Loaded, load

JOB = """\
job = "t"
shop = "metric-bench"
panel = "hexagon-120"

[[layout.panel]]
cell = [0, 0]

[[layout.panel]]
name = "B"
cell = [5, 0]

[hang]
must = ["B",
  "Q"]
"""


@pytest.fixture
def loaded(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Loaded:
    monkeypatch.chdir(tmp_path)
    Path("job.toml").write_text(JOB)
    return load(Path("job.toml"), ["power.brightness=0.4"])


@pytest.mark.parametrize(
    ("key", "at"),
    [
        ("hang.must", "job.toml:13"),
        ("hang.must[1]", "job.toml:13"),  # a list has the line that it begins in
        ("layout.panel[1].cell", "job.toml:10"),
        ("layout.panel[1].on", "job.toml:8"),  # not written: the table that it would stand in
        ("layout", "job.toml:5"),
        ("power.brightness", "--set power.brightness=0.4"),
        ("shop.stock.opal-3.count", "preset shops/metric-bench.toml:"),
        ("", "job.toml"),
    ],
)
def test_a_key_is_told_with_its_line(loaded: Loaded, key: str, at: str) -> None:
    assert where(loaded, key).startswith(at)


def test_the_place_is_put_into_every_fault_that_has_none(loaded: Loaded) -> None:
    @told_with_places
    def work(_: Loaded) -> None:
        raise InputError(
            [
                Fault("hang.must", "no such panel", "Take B."),
                Fault("", "is empty.", where="own.dxf"),
            ]
        )

    with pytest.raises(InputError) as caught:
        work(loaded)
    assert str(caught.value) == "job.toml:13: hang.must: no such panel. Take B.\nown.dxf: is empty."


def test_a_wall_in_two_pieces_is_told_with_the_line_of_the_layout(loaded: Loaded) -> None:
    from fab import workshop

    with pytest.raises(InputError, match=r"^job\.toml:5: layout: the wall is in 2 pieces"):
        workshop.check(loaded)
