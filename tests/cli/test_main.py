"""The commands that need no workshop, in this process."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import jsonschema
import pytest

from fab import __version__
from fab.cli.main import COMMANDS, cli, main
from fab.params import schema


def test_help_lists_every_command(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["--help"]) == 0
    told = capsys.readouterr()
    for name, says in COMMANDS.items():
        assert name in told.out
        assert says in told.out
    assert told.err == ""


@pytest.mark.parametrize("name", list(COMMANDS))
def test_every_command_has_help_of_its_own(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main([name, "--help"]) == 0
    told = capsys.readouterr().out
    assert told.startswith(f"Usage: panejig {name}")
    command = cli.get_command(None, name)  # type: ignore[arg-type]
    assert command is not None
    assert command.name == name


def test_no_command_shows_help_and_is_no_success(capsys: pytest.CaptureFixture[str]) -> None:
    assert main([]) == 2
    told = capsys.readouterr()
    assert told.out == ""
    assert told.err.startswith("Usage: panejig")


def test_version(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["--version"]) == 0
    assert capsys.readouterr().out == f"panejig {__version__}\n"


@pytest.mark.parametrize(
    ("argv", "says"),
    [
        (["chekc"], "Unknown command 'chekc'. Did you mean check?"),
        (["qqq"], "Unknown command 'qqq'. Commands: build, check"),
        (["--frob"], "No such option"),
        (["build"], "Missing argument 'JOB'"),
        (["build", "a", "b"], "unexpected extra argument"),
        (["check", "reading-nook", "--frob"], "No such option"),
        (["build", "reading-nook", "--out"], "requires an argument"),
        (["schema", "shops"], "'shops' is not one of 'job', 'shop', 'panel'"),
        (["completion", "tcsh"], "'tcsh' is not one of 'bash', 'zsh', 'fish'"),
        (["completion"], "Missing argument"),
        (["new"], "Missing argument 'NAME'"),
        (["new", "a", "--panels", "0"], "0 is out of range; allowed 1 to"),
        (["new", "a", "--panels", "x"], "'x' is not a valid integer"),
        (["new", "a", "--shape", "circle"], "'circle' is not one of"),
        (["params", "panel.dpeth"], "panel.dpeth: unknown key. Did you mean panel.depth"),
    ],
)
def test_wrong_words_are_usage_errors(
    argv: list[str], says: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(argv) == 2
    told = capsys.readouterr()
    assert says in told.err
    assert told.out == ""


def test_params_lists_describes_and_speaks_json(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["params"]) == 0
    assert "[panel.led]  the LED grid" in capsys.readouterr().out
    assert main(["params", "panel.depth"]) == 0
    assert "allowed  5 to 500 mm" in capsys.readouterr().out
    assert main(["params", "--markdown"]) == 0
    assert capsys.readouterr().out.startswith("# Parameters\n")
    assert main(["params", "--json"]) == 0
    rows = json.loads(capsys.readouterr().out)
    assert {
        "key",
        "kind",
        "unit",
        "default",
        "optional",
        "allowed",
        "says",
        "source",
        "follows",
    } == rows[0].keys()
    assert main(["params", "panel.depth", "--json"]) == 0
    row = json.loads(capsys.readouterr().out)[0]
    assert row["default"] is None
    assert row["follows"]


def test_presets_are_listed(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["presets"]) == 0
    told = capsys.readouterr().out
    assert "  reading-nook     Reading nook: nine hexagons" in told
    assert main(["presets", "--json"]) == 0
    rows = json.loads(capsys.readouterr().out)
    assert {row["kind"] for row in rows} == {"shop", "panel", "job"}
    assert all(Path(row["path"]).is_file() for row in rows)


def test_schema_prints_one_and_writes_all(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    for argv, title in ((["schema"], "panejig job"), (["schema", "shop"], "panejig shop")):
        assert main(argv) == 0
        found = json.loads(capsys.readouterr().out)
        jsonschema.Draft7Validator.check_schema(found)
        assert found["title"] == title
    into = tmp_path / "new" / "schema"
    for _ in range(2):
        assert main(["schema", "--into", str(into)]) == 0
    assert {path.name: path.read_bytes() for path in into.iterdir()} == schema.files()
    (tmp_path / "file").write_text("x")
    capsys.readouterr()
    assert main(["schema", "--into", str(tmp_path / "file")]) == 2
    assert "cannot be created" in capsys.readouterr().err


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish"])
def test_completion_names_our_program(shell: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["completion", shell]) == 0
    told = capsys.readouterr().out
    assert "_PANEJIG_COMPLETE" in told
    assert "panejig" in told


@pytest.mark.parametrize(
    ("words", "found"),
    [
        ("panejig ch", ["check"]),
        ("panejig check read", ["reading-nook"]),
        ("panejig params panel.led.p", ["panel.led.pattern", "panel.led.pitch"]),
        ("panejig build x --only b", ["board", "book"]),
    ],
)
def test_completion_knows_commands_jobs_keys_and_kinds(
    words: str,
    found: list[str],
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setenv("_PANEJIG_COMPLETE", "bash_complete")
    monkeypatch.setenv("COMP_WORDS", words)
    monkeypatch.setenv("COMP_CWORD", str(len(words.split()) - 1))
    with pytest.raises(SystemExit):
        main([])
    rows = [
        row.partition(",")[2]
        for row in capsys.readouterr().out.splitlines()
        if row.startswith("plain")
    ]
    assert rows == found


def test_the_module_runs_too() -> None:
    done = subprocess.run(
        [sys.executable, "-m", "fab", "--version"], capture_output=True, text=True, check=False
    )
    assert (done.returncode, done.stderr) == (0, "")
    assert done.stdout.startswith("panejig ")
