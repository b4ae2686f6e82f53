"""What panejig never does: watched by Python's own audit events (PEP 578) over whole commands in a
process of their own.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
from dataclasses import dataclass
from html import unescape
from html.parser import HTMLParser
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
ONE = ROOT / "tests" / "one-panel.toml"

CODE = """
import json, os, sys
seen = []
WRITES = os.O_WRONLY | os.O_RDWR | os.O_CREAT | os.O_TRUNC | os.O_APPEND
def count(event, args):
    if event == "open" and isinstance(args[0], (str, bytes)) and args[2] and args[2] & WRITES:
        seen.append(("write", os.path.abspath(os.fsdecode(args[0]))))
    elif event in (
        "os.mkdir", "os.remove", "os.rmdir", "os.rename", "os.link", "os.symlink", "os.truncate",
        "shutil.rmtree",
    ):
        paths = [one for one in args[:2] if isinstance(one, (str, bytes, os.PathLike))]
        seen.extend(("write", os.path.abspath(os.fsdecode(one))) for one in paths)
    elif event.startswith((
        "socket.connect", "socket.getaddrinfo", "socket.bind", "urllib.", "ftplib.", "http.client",
        "smtplib.",
    )):
        seen.append(("net", event + " " + repr(args[1:])))
    elif event in (
        "subprocess.Popen", "os.system", "os.exec", "os.posix_spawn", "os.spawn", "os.fork",
        "os.forkpty", "pty.spawn",
    ):
        seen.append(("run", str(args[0]) + " " + str(args[1] if len(args) > 1 else "")))
sys.addaudithook(count)
from fab.cli.main import main
report, commands = sys.argv[1:]
told = []
for words in json.loads(commands):
    seen.clear()
    told.append([main(words), list(seen)])
with open(report, "w") as file:
    json.dump(told, file)
"""


def watched(home: Path, commands: list[tuple[str, ...]]) -> list[tuple[int, dict[str, set[str]]]]:
    """Exit code of each command, and what it wrote, called and ran."""
    env = os.environ | {
        "PYTHONPATH": str(ROOT),
        "PYTHONDONTWRITEBYTECODE": "1",  # a compiled file would be one that it writes
        "PANEJIG_PROCESSES": "1",
    }
    report = home.parent / "report.json"
    subprocess.run(
        [sys.executable, "-c", CODE, str(report), json.dumps(commands)],
        check=True,
        cwd=home,
        env=env,
        capture_output=True,
    )
    return [
        (
            code,
            {kind: {what for one, what in seen if one == kind} for kind in ("write", "net", "run")},
        )
        for code, seen in json.loads(report.read_text())
    ]


def outside(paths: set[str], *allowed: Path) -> set[str]:
    """Paths that are in none of these folders, and are no device."""
    return {
        path
        for path in paths
        if not path.startswith("/dev/")
        and not any(Path(path).is_relative_to(one) for one in allowed)
    }


EVIL = "<script>alert('x')</script><img src=x onerror=alert(1)>$(touch trap); `touch trap`"


@dataclass(frozen=True)
class Run:
    """A command of a maker's: where it may write, and what it did."""

    words: tuple[str, ...]
    told: str
    code: int
    seen: dict[str, set[str]]


@pytest.fixture(scope="module")
def home(built: dict[str, Path], tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A maker's folder: a job and a drawing with commands and scripts in every text that they can
    hold.
    """
    assert built["one-panel"].is_dir()  # fills the cache
    home = tmp_path_factory.mktemp("promises") / "home"
    home.mkdir()
    text = ONE.read_text(encoding="utf-8").replace("One panel beside the bed", EVIL)
    assert EVIL in text
    (home / "job.toml").write_text(text, encoding="utf-8")
    (home / "plate.svg").write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="50mm" height="50mm" viewBox="0 0 50 50"'
        f' onload="touch trap"><script>{EVIL[30:]}</script><title>$(touch trap)</title><path d="M0'
        ' 0H50V50H0Z"/></svg>',
        encoding="utf-8",
    )
    return home


@pytest.fixture(scope="module")
def runs(home: Path) -> list[Run]:
    """Each command once, one after the other."""
    commands = (
        (("build", "job.toml", "--out", "here"), "here"),
        (("check", "job.toml"), "here"),
        (("nest", "job.toml", "--shape", "plate.svg=1@opal-3", "--out", "here"), "here"),
        (("pack", "here/one-panel", "--to", "packs/lamp.zip"), "packs"),
        (("unpack", "packs/lamp.zip", "--into", "there"), "there"),
        (("schema", "--into", "schemas"), "schemas"),
        (("new", "den", "--shape", "hexagon", "--panels", "3", "--into", "den"), "den"),
    )
    done = watched(home, [words for words, _ in commands])
    return [Run(*asked, *found) for asked, found in zip(commands, done, strict=True)]


def test_writes_only_where_it_was_told(home: Path, runs: list[Run]) -> None:
    """Only below the folder told, the store, and scratch folders that are gone again."""
    cache, scratch = Path(os.environ["PANEJIG_CACHE"]), Path(os.environ.get("TMPDIR", "/tmp"))
    for run in runs:
        assert run.code == 0, run.words
        left = outside(run.seen["write"], home / run.told, cache)
        assert {
            path for path in left if not (Path(path).is_relative_to(scratch) and "panejig-" in path)
        } == set(), run.words
        assert {path for path in left if os.path.lexists(path)} == set()
        wrote = run.words[0] != "check"  # which finds all in the store that the build filled
        assert bool(run.seen["write"]) == wrote, run.words  # the watch is awake
    assert sorted(path.name for path in home.iterdir()) == sorted(
        {"job.toml", "plate.svg", *(run.told for run in runs)}
    )


def test_never_opens_a_connection(runs: list[Run]) -> None:
    for run in runs:
        assert run.seen["net"] == set(), run.words


def test_never_runs_what_a_file_says(home: Path, runs: list[Run]) -> None:
    """Commands in every text that a job, shop, panel and drawing can hold, and in a drawing's
    script: none is run.
    """
    for run in runs:
        assert {
            one for one in run.seen["run"] if "uname" not in one and "ldconfig" not in one
        } == set(), run.words
    assert list(home.rglob("trap")) == []


def test_names_are_text_in_the_book_and_its_pictures(home: Path, runs: list[Run]) -> None:
    """A title with a script tag: nothing in page or pictures runs it.

    Read by the standard library's parser.
    """
    assert runs[0].code == 0
    folder = home / "here" / "one-panel"
    found: list[tuple[str, dict[str, str | None]]] = []

    class Reader(HTMLParser):
        def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
            found.append((tag, dict(attrs)))

    pages = [folder / "book" / "index.html", *sorted(folder.rglob("*.svg"))]
    for page in pages:
        text = page.read_text(encoding="utf-8")
        assert "<script>alert" not in text
        Reader().feed(text)
    assert EVIL.split("<img", maxsplit=1)[0] in unescape(pages[0].read_text(encoding="utf-8"))
    assert not [tag for tag, attrs in found if any(name.startswith("on") for name in attrs)]
    assert not [tag for tag, attrs in found if tag == "img" and attrs.get("src") == "x"]
