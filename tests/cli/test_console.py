"""What reaches the terminal, and when."""

from __future__ import annotations

import io
import json
import sys
from types import SimpleNamespace
from typing import Any

import click
import pytest

from fab.cli import console as module
from fab.cli.console import Console, painted, soften_streams


class Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True


@pytest.fixture
def terminal(monkeypatch: pytest.MonkeyPatch) -> Terminal:
    stream = Terminal()
    monkeypatch.setattr(module, "sys", SimpleNamespace(stderr=stream, stdout=stream))
    return stream


def test_the_bar_stands_on_a_terminal_and_is_taken_off(terminal: Terminal) -> None:
    console = Console()
    console.progress("nest", 0.5)
    assert terminal.getvalue() == "\r[############............]  50% nest"
    console.progress("x", 1.0)
    assert terminal.getvalue().endswith(
        "\r[########################] 100% x   "
    )  # the longer row is wiped
    console.clear()
    assert terminal.getvalue().endswith("\r" + " " * 33 + "\r")
    length = len(terminal.getvalue())
    console.clear()
    assert len(terminal.getvalue()) == length


@pytest.mark.parametrize("share", [-1.0, 2.0, float("nan"), float("inf")])
def test_an_odd_share_does_not_break_the_bar(terminal: Terminal, share: float) -> None:
    Console().progress("nest", share)
    assert "nest" in terminal.getvalue()


def test_no_bar_when_quiet(terminal: Terminal) -> None:
    Console(quiet=True).progress("nest", 0.5)
    assert terminal.getvalue() == ""


def test_no_bar_in_a_pipe(capsys: pytest.CaptureFixture[str]) -> None:
    Console().progress("nest", 0.0)
    Console().progress("nest", 0.5)
    assert capsys.readouterr().err == ""


def test_narration_goes_to_stderr_and_results_to_stdout(capsys: pytest.CaptureFixture[str]) -> None:
    console = Console()
    console.say("narration")
    console.say("detail", level=1)
    console.tell("result")
    Console(quiet=True).say("nothing")
    Console(verbose=1).say("detail")
    assert tuple(capsys.readouterr()) == ("result\n", "narration\ndetail\n")


@pytest.mark.parametrize(
    ("env", "coloured"),
    [({}, True), ({"NO_COLOR": "1"}, False), ({"NO_COLOR": ""}, True), ({"TERM": "dumb"}, False)],
)
def test_colour_only_where_it_is_wanted(
    monkeypatch: pytest.MonkeyPatch, env: dict[str, str], coloured: bool
) -> None:
    """no-color.org: any value of NO_COLOR that is not empty."""
    monkeypatch.delenv("NO_COLOR", raising=False)
    monkeypatch.setenv("TERM", "xterm")
    for key, value in env.items():
        monkeypatch.setenv(key, value)
    stream = Terminal()
    monkeypatch.setattr(sys, "stdout", stream)
    Console().tell(painted("fail", "red"))
    assert ("\x1b[" in stream.getvalue()) == coloured


def test_no_colour_in_a_pipe(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delenv("NO_COLOR", raising=False)
    Console().tell(painted("fail", "red"))
    assert capsys.readouterr().out == "fail\n"


def test_a_narrow_code_page_shows_a_question_mark(monkeypatch: pytest.MonkeyPatch) -> None:
    raw = io.BytesIO()
    monkeypatch.setattr(sys, "stdout", io.TextIOWrapper(raw, encoding="cp1252", newline="\n"))
    with pytest.raises(UnicodeEncodeError):
        click.echo("стена ⌀ 3")
    soften_streams()
    click.echo("стена ⌀ 3")
    assert raw.getvalue() == b"????? ? 3\n"


def test_streams_without_reconfigure_are_left_alone(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "stdout", io.StringIO())
    monkeypatch.setattr(sys, "stderr", None)
    soften_streams()


def test_a_closed_stream_is_no_terminal() -> None:
    stream = io.StringIO()
    stream.close()
    assert module._is_terminal(stream) is False


@pytest.mark.parametrize("value", [{"a": [float("nan"), (float("inf"), 1.5)]}])
def test_json_holds_no_nan(value: Any, capsys: pytest.CaptureFixture[str]) -> None:
    Console().tell_json(value)
    assert json.loads(capsys.readouterr().out) == {"a": [None, [None, 1.5]]}
