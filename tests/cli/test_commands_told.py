"""Every command line of README.md and DEVELOPERS.md: its command and options exist, its files too;
quick ones run.
"""

from __future__ import annotations

import importlib.util
import re
import shlex
import subprocess
from pathlib import Path

import click
import pytest

from fab.cli.main import cli, main
from fab.params.read import load

ROOT = Path(__file__).parents[2]
TEXTS = {name: (ROOT / name).read_text() for name in ("README.md", "DEVELOPERS.md")}
QUICK = ("new", "params", "presets", "schema", "completion")


def lines_of(text: str) -> list[str]:
    """Return what follows `panejig` in blocks of code and between backticks, comments cut off."""
    blocks = re.findall(r"^(?:    |sh |bash ).*$", text, re.MULTILINE)
    spans = re.findall(r"`([^`\n]*)`", text)
    found = []
    for line in [*blocks, *spans]:
        for piece in re.split(r"\s&&\s", line.split(" #")[0]):
            m = re.match(r"\s*(?:\S*[/\\])?panejig\s+([a-z].*)$", piece)
            if m:
                found.append(m[1].strip())
    return found


TOLD = [(name, line) for name, text in TEXTS.items() for line in lines_of(text)]


def test_they_were_found() -> None:
    assert len(TOLD) > 15
    assert {name for name, _ in TOLD} == set(TEXTS)


@pytest.mark.parametrize(("name", "line"), TOLD)
def test_command_and_options_exist(name: str, line: str) -> None:
    """Parsed by the command itself, as far as it parses without running."""
    words = shlex.split(line)
    command = cli.get_command(click.Context(cli), words[0])
    assert command is not None, f"{name}: {line}"
    known = {option for param in command.params for option in (*param.opts, *param.secondary_opts)}
    asked = {word.split("=")[0] for word in words[1:] if re.match(r"--?[a-z]", word)}
    assert asked <= known | {"--help"}, f"{name}: {line}"


def other_lines(text: str) -> list[str]:
    """Commands in blocks of code that are not panejig's own, and of Python between backticks;
    comments cut off.
    """
    blocks = re.findall(
        r"^    ((?:[A-Z_]+=\S+ )*(?:sh|bash|\.venv|python|pip)[ /].*)$", text, re.MULTILINE
    )
    fenced = [
        x for body in re.findall(r"^```sh\n(.*?)^```$", text, re.M | re.S) for x in body.split("\n")
    ]
    spans = re.findall(r"`(python [^`]+)`", text)
    pieces = [
        piece for line in [*blocks, *fenced, *spans] for piece in line.split("  #")[0].split("&&")
    ]
    return [piece.strip() for piece in pieces if piece.strip() and "panejig " not in piece]


OTHERS = [(name, line) for name, text in TEXTS.items() for line in other_lines(text)]
SOURCES = [path.read_text(encoding="utf-8") for path in sorted((ROOT / "tests").rglob("*.py"))]


def test_the_others_were_found() -> None:
    assert {line for _, line in OTHERS} >= {"sh .ci/setup", "sh .ci/setup test", "bash .ci/run"}


@pytest.mark.parametrize(("name", "line"), OTHERS)
def test_what_other_commands_name_is_there(name: str, line: str) -> None:
    """Files and modules exist, scripts can be parsed, somebody reads each variable."""
    words = shlex.split(re.sub(r"\[[^]]*\]", "", line))  # in brackets: what may be left out
    for word in words:
        variable, _, _ = word.partition("=")
        if variable.isupper():
            assert any(f'"{variable}"' in source for source in SOURCES), f"{name}: {variable}"
        elif "/" in word and not word.startswith(".venv/"):
            assert (ROOT / word).exists(), f"{name}: {word}"
    if words[0] in ("sh", "bash"):
        subprocess.run([words[0], "-n", str(ROOT / words[1])], check=True)
    if "-m" in words and words[words.index("-m") + 1] != "slow":
        module = words[words.index("-m") + 1]
        assert importlib.util.find_spec(module) is not None, f"{name}: {module}"


@pytest.mark.parametrize("line", sorted({x for _, x in TOLD if x.split()[0] in QUICK}))
def test_quick_ones_run(line: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    Path("outline.svg").write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="70cm" height="50cm" viewBox="0 0 70 50">'
        '<circle cx="35" cy="25" r="24"/></svg>'
    )
    words = [word for word in shlex.split(line) if word not in ("KEY", "OUT")]
    if "--size" in words and words[-1] == "--size":
        return  # an option named in a sentence, without its value
    assert main(words) == 0
    if words[0] == "new" and len(words) > 1 and not words[1].startswith("-"):
        load(Path(f"{words[1]}.toml"))


@pytest.mark.parametrize("name", TEXTS)
def test_files_of_the_other_commands_are_there(name: str) -> None:
    """What `python`, `bash`, `sh` and `ruff` are given in blocks of code stands in the checkout."""
    block = "\n".join(re.findall(r"^    (?!panejig)(.*)$", TEXTS[name], re.MULTILINE))
    paths = re.findall(r"(?<![\w/])(?:\.ci|tests|fab|params)/[\w./-]*\w", block)
    missing = [path for path in paths if not (ROOT / path).exists()]
    assert missing == []
