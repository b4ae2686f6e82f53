"""build and check: words to one call, results to stdout, exit codes."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from fab.cli.main import main
from fab.errors import (
    BrokenGeometry,
    CheckFailed,
    Fault,
    InputError,
    MissingKernel,
    OutputError,
    PanejigError,
)

FAIL_ID = "print.wall-lines"


def _fail(workshop: Any) -> None:
    from fab.checks.model import Verdict

    fail = Verdict(
        FAIL_ID,
        "fail",
        "base",
        0.4,
        0.9,
        "mm",
        "The wall is too thin.",
        "Set panel.base.wall = 0.9.",
        "nozzle",
    )
    workshop.verdicts = (*workshop.verdicts, fail)


def test_build_hands_every_word_on(
    workshop: Any, job: str, capsys: pytest.CaptureFixture[str]
) -> None:
    words = [
        "--out",
        "o",
        "--only",
        "cut",
        "--only",
        "wall",
        "--set",
        "panel.depth=40",
        "--allow",
        "light.evenness",
        "--fresh",
    ]
    assert main(["build", job, *words]) == 0
    asked = workshop.asked[0]
    assert asked["out"] == Path("o")
    assert (asked["only"], asked["allow"], asked["fresh"]) == (
        {"cut", "wall"},
        {"light.evenness"},
        True,
    )
    assert asked["loaded"].job.panel.depth == 40
    told = capsys.readouterr()
    assert told.out.splitlines()[:2] == ["1 panel, 0 joints", "1 sheet"]
    assert "warn  light.evenness  hexagon: The face is a little uneven." in told.out
    assert "measured 0.5, limit 0.45" in told.out
    assert "Set panel.depth = 40." in told.out
    assert "fit.cap" not in told.out
    assert told.out.splitlines()[-1] == f"Files: {Path('o') / 't'}"
    assert told.err == ""


def test_build_takes_out_and_nothing_else_as_usual(workshop: Any, job: str) -> None:
    assert main(["build", job]) == 0
    asked = workshop.asked[0]
    assert (asked["out"], asked["only"], asked["allow"], asked["fresh"]) == (
        Path("out"),
        frozenset(),
        frozenset(),
        False,
    )


def test_a_shipped_job_is_built_by_its_name(workshop: Any, job: str) -> None:
    assert main(["build", "reading-nook"]) == 0
    assert workshop.asked[0]["loaded"].job.job == "reading-nook"


def test_a_file_goes_before_a_shipped_job(workshop: Any, job: str) -> None:
    Path("reading-nook").write_text(Path(job).read_text())
    assert main(["check", "reading-nook"]) == 0
    assert workshop.asked[0]["loaded"].job.job == "t"


def test_quiet_build_tells_only_the_folder(
    workshop: Any, job: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["build", job, "-q"]) == 0
    assert capsys.readouterr().out == f"{Path('out') / 't'}\n"


def test_verbose_build_tells_what_passed_and_each_stage(
    workshop: Any, job: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["build", job, "-v"]) == 0
    told = capsys.readouterr()
    assert "pass  fit.cap  cap: The cap fits." in told.out
    assert told.err == "layout\n"


def test_build_as_json_is_one_document(
    workshop: Any, job: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["build", job, "--json"]) == 0
    told = capsys.readouterr()
    found = json.loads(told.out)
    assert found["manifest"] == {"job": "t", "counts": {"panels": 1}, "odd": None}
    assert [row["id"] for row in found["checks"]] == ["fit.cap", "light.evenness"]
    assert found["folder"] == str(Path("out") / "t")
    assert told.err == ""


def test_an_allowance_for_no_check_is_told(
    workshop: Any, job: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["build", job, "--allow", "light.eveness"]) == 0
    assert (
        "--allow light.eveness: unknown check. Did you mean light.evenness?"
        in capsys.readouterr().err
    )


def test_an_allowed_failure_is_told_in_a_build(
    workshop: Any, job: str, capsys: pytest.CaptureFixture[str]
) -> None:
    _fail(workshop)
    assert main(["build", job, "--allow", FAIL_ID]) == 0
    assert f"allowed  {FAIL_ID}  base: The wall is too thin." in capsys.readouterr().out


def test_check_passes_with_warnings(
    workshop: Any, job: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["check", job]) == 0
    told = capsys.readouterr()
    assert told.out.startswith("warn  light.evenness")
    assert told.out.endswith("t: Passed: 1; warnings: 1; failed: 0.\n")


def test_check_fails_with_the_worst_first(
    workshop: Any, job: str, capsys: pytest.CaptureFixture[str]
) -> None:
    _fail(workshop)
    assert main(["check", job]) == 1
    told = capsys.readouterr().out
    assert told.startswith(
        f"fail  {FAIL_ID}  base: The wall is too thin.\n      measured 0.4 mm, limit 0.9 mm\n"
    )
    assert "source: nozzle" in told
    assert told.index("fail") < told.index("warn")
    assert main(["check", job, "--allow", FAIL_ID]) == 0
    assert "allowed" in capsys.readouterr().out
    assert main(["check", job, "-q"]) == 1
    assert "warn  " not in capsys.readouterr().out


def test_check_as_json(workshop: Any, job: str, capsys: pytest.CaptureFixture[str]) -> None:
    _fail(workshop)
    assert main(["check", job, "--json", "--allow", FAIL_ID]) == 0
    found = json.loads(capsys.readouterr().out)
    assert found["counts"] == {"pass": 1, "warn": 1, "fail": 1}
    assert found["allowed"] == [FAIL_ID]
    assert found["checks"][2]["remedy"] == "Set panel.base.wall = 0.9."
    assert len(found["inputs_sha256"]) == 64


@pytest.mark.parametrize(
    ("fault", "code"),
    [
        (CheckFailed("the wall is too thin"), 1),
        (BrokenGeometry("the base came out as two bodies"), 1),
        (MissingKernel("install libgl1"), 2),
        (OutputError("the disk is full"), 2),
        (InputError([Fault("layout.cells[3]", "overlaps another.", "Move it.")]), 2),
        (PanejigError("something"), 1),
    ],
)
def test_each_error_has_its_exit_code_and_only_its_text(
    workshop: Any, job: str, fault: PanejigError, code: int, capsys: pytest.CaptureFixture[str]
) -> None:
    workshop.raises = fault
    assert main(["build", job]) == code
    told = capsys.readouterr()
    assert told.err == f"{fault}\n"
    assert told.out == ""


def test_errors_as_json_go_to_stdout_too(
    workshop: Any, job: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["build", job, "--json", "--set", "panel.depth=1"]) == 2
    told = capsys.readouterr()
    found = json.loads(told.out)
    assert found["exit"] == 2
    assert found["faults"][0]["key"] == "panel.depth"
    assert found["faults"][0]["works"] == "Nearest that works: 5 mm."
    assert "panel.depth" in told.err
    assert workshop.asked == []


@pytest.mark.parametrize(
    "fault",
    [
        ValueError("odd"),
        RecursionError("deep"),
        MemoryError(),
        OSError("disk"),
        BaseException("panic"),
    ],
)
def test_a_fault_of_ours_is_one_sentence(
    workshop: Any, job: str, fault: BaseException, capsys: pytest.CaptureFixture[str]
) -> None:
    workshop.raises = fault
    assert main(["build", job]) == 1
    told = capsys.readouterr()
    assert told.err.startswith(f"an internal error in panejig ({type(fault).__name__}")
    assert told.err.count("\n") == 1
    assert "please report it" in told.err
    assert "Traceback" not in told.err


def test_the_traceback_is_there_with_vv(
    workshop: Any, job: str, capsys: pytest.CaptureFixture[str]
) -> None:
    workshop.raises = ValueError("odd")
    assert main(["build", job, "-vv"]) == 1
    assert "Traceback" in capsys.readouterr().err


def test_the_traceback_is_there_when_asked_for(
    workshop: Any, job: str, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("PANEJIG_TRACE", "1")
    workshop.raises = ValueError("odd")
    assert main(["build", job]) == 1
    assert "Traceback" in capsys.readouterr().err


def test_ctrl_c_is_130(workshop: Any, job: str, capsys: pytest.CaptureFixture[str]) -> None:
    workshop.raises = KeyboardInterrupt()
    assert main(["build", job]) == 130
    told = capsys.readouterr()
    assert told.err.strip() == "Stopped. The last good build is unchanged."
    workshop.raises = KeyboardInterrupt("The nest until then is kept.")
    assert main(["build", job]) == 130
    assert (
        capsys.readouterr().err.strip()
        == "Stopped. The last good build is unchanged. The nest until then is kept."
    )
    assert told.out == ""


def test_an_unknown_kind_of_output_is_told(
    workshop: Any, job: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["build", job, "--only", "prints"]) == 2
    told = capsys.readouterr().err
    assert (
        "'prints' is not one of 'print', 'model', 'cut', 'wall', 'board', 'lists', 'book'" in told
    )
    assert workshop.asked == []


def test_the_kinds_of_output_are_those_of_the_workshop() -> None:
    """The door names them without loading the workshop, so that `--help` stays quick."""
    from fab.cli.words import KINDS
    from fab.workshop import KINDS as MADE  # type: ignore[attr-defined]

    assert KINDS == MADE
