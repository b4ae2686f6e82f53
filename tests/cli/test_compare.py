"""compare: both sides are read and checked before anything is built."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from fab.cli.main import main
from fab.errors import Fault, InputError

from .conftest import GOOD


def builds(workshop: Any) -> int:
    return sum("out" in asked for asked in workshop.asked)


@pytest.mark.parametrize("turned", [False, True], ids=["a", "b"])
def test_a_fault_of_either_side_is_told_before_anything_is_built(
    workshop: Any, job: str, turned: bool, capsys: pytest.CaptureFixture[str]
) -> None:
    Path("bad.toml").write_text(GOOD.replace("cells", "celsl"))
    assert main(["compare", *(["bad.toml", job] if turned else [job, "bad.toml"])]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert "bad.toml:4: layout.celsl" in err
    assert not workshop.asked


def test_faults_of_both_sides_are_told_at_once(
    workshop: Any, job: str, capsys: pytest.CaptureFixture[str]
) -> None:
    Path("one.toml").write_text(GOOD.replace("cells", "celsl"))
    Path("two.toml").write_text(GOOD.replace("metric-bench", "metric-bank"))
    assert main(["compare", "one.toml", "two.toml"]) == 2
    err = capsys.readouterr().err
    assert "one.toml:4" in err
    assert "two.toml:2" in err
    assert not workshop.asked


def test_what_only_the_checks_refuse_is_told_before_anything_is_built(
    workshop: Any, job: str, capsys: pytest.CaptureFixture[str]
) -> None:
    workshop.raises = InputError([Fault("hang.wall", "unknown kind of wall.", "Take brick.")])
    assert main(["compare", job, job, "--set", "panel.depth=40"]) == 2
    assert capsys.readouterr().err.count("unknown kind of wall") == 1
    assert builds(workshop) == 0


def test_a_folder_that_is_half_a_build_is_told_before_the_other_side_is_built(
    workshop: Any, job: str, capsys: pytest.CaptureFixture[str]
) -> None:
    Path("half").mkdir()
    Path("half/manifest.json").write_text("{}")
    assert main(["compare", job, "half"]) == 2
    assert "half: is not a build with lists. Build the job first." in capsys.readouterr().err
    assert not workshop.asked
