"""What panejig never does: watched by Python's own audit events (PEP 578) over whole commands in processes of their own."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parents[2]
LAMP = ROOT / "params" / "bedside-lamp.toml"

CODE = """
import json, os, sys
seen = []
WRITES = os.O_WRONLY | os.O_RDWR | os.O_CREAT | os.O_TRUNC | os.O_APPEND
def count(event, args):
    if event == "open" and isinstance(args[0], (str, bytes)) and args[2] and args[2] & WRITES:
        seen.append(("write", os.path.abspath(os.fsdecode(args[0]))))
    elif event in ("os.mkdir", "os.remove", "os.rmdir", "os.rename", "os.link", "os.symlink", "os.truncate", "shutil.rmtree"):
        seen.extend(("write", os.path.abspath(os.fsdecode(one))) for one in args[:2] if isinstance(one, (str, bytes, os.PathLike)))
    elif event.startswith(("socket.connect", "socket.getaddrinfo", "socket.bind", "urllib.", "ftplib.", "http.client", "smtplib.")):
        seen.append(("net", event + " " + repr(args[1:])))
    elif event in ("subprocess.Popen", "os.system", "os.exec", "os.posix_spawn", "os.spawn", "os.fork", "os.forkpty", "pty.spawn"):
        seen.append(("run", str(args[0]) + " " + str(args[1] if len(args) > 1 else "")))
sys.addaudithook(count)
from fab.cli.main import main
code = main(sys.argv[2:])
with open(sys.argv[1], "w") as file:
    json.dump([code, seen], file)
"""


def watched(home: Path, *words: str) -> tuple[int, dict[str, set[str]]]:
    """Exit code of a command, and what it wrote, called and ran."""
    env = os.environ | {"PYTHONPATH": str(ROOT), "PYTHONDONTWRITEBYTECODE": "1", "PANEJIG_PROCESSES": "1"}
    report = home.parent / "report.json"
    subprocess.run([sys.executable, "-c", CODE, str(report), *words], check=True, cwd=home, env=env, capture_output=True)
    code, seen = json.loads(report.read_text())
    return code, {kind: {what for one, what in seen if one == kind} for kind in ("write", "net", "run")}


def outside(paths: set[str], *allowed: Path) -> set[str]:
    """Paths that are in none of these folders, and are no device."""
    return {path for path in paths if not path.startswith("/dev/") and not any(Path(path).is_relative_to(one) for one in allowed)}


def home_of(tmp_path: Path) -> Path:
    home = tmp_path / "home"
    home.mkdir()
    return home


def test_writes_only_where_it_was_told(built: dict[str, Path], tmp_path: Path) -> None:
    """Build, nest, pack and unpack: only below the folder told, the store, and scratch folders that are gone again."""
    home, cache = home_of(tmp_path), Path(os.environ["PANEJIG_CACHE"])
    assert built["bedside-lamp"].is_dir()  # fills the cache
    scratch = Path(os.environ.get("TMPDIR", "/tmp"))
    for words, told in (
        (("build", "bedside-lamp", "--out", "here"), "here"),
        (("nest", "bedside-lamp", "--out", "here"), "here"),
        (("pack", "here/bedside-lamp", "--to", "packs/lamp.zip"), "packs"),
        (("unpack", "packs/lamp.zip", "--into", "there"), "there"),
    ):
        code, seen = watched(home, *words)
        assert code == 0, words
        left = outside(seen["write"], home / told, cache, tmp_path / "report.json")
        assert {path for path in left if not (Path(path).is_relative_to(scratch) and "panejig-" in path)} == set(), words
        assert {path for path in left if os.path.lexists(path)} == set()
        assert seen["write"]  # the watch is awake
    assert sorted(path.name for path in home.iterdir()) == ["here", "packs", "there"]


def test_never_opens_a_connection(built: dict[str, Path], tmp_path: Path) -> None:
    assert built["bedside-lamp"].is_dir()  # fills the cache
    for words in (("build", "bedside-lamp"), ("check", "bedside-lamp"), ("schema",), ("new", "den")):
        (tmp_path / words[0]).mkdir()
        _, seen = watched(home_of(tmp_path / words[0]), *words)
        assert seen["net"] == set(), words


def test_never_runs_what_a_file_says(built: dict[str, Path], tmp_path: Path) -> None:
    """Commands in every text that a job, shop, panel and drawing can hold, and in a drawing's script: none is run."""
    assert built["bedside-lamp"].is_dir()  # fills the cache
    home = home_of(tmp_path)
    trap = home / "trap"
    evil = "$(touch trap); `touch trap`"
    text = LAMP.read_text(encoding="utf-8").replace("One panel beside the bed", evil)
    assert evil in text
    (home / "job.toml").write_text(text, encoding="utf-8")
    (home / "plate.svg").write_text(
        f'<svg xmlns="http://www.w3.org/2000/svg" width="50mm" height="50mm" viewBox="0 0 50 50" onload="{evil}">'
        f"<script>{evil}</script><title>{evil}</title>"
        '<path d="M0 0H50V50H0Z"/></svg>', encoding="utf-8",
    )  # fmt: skip
    for words in (("build", "job.toml"), ("nest", "--shop", "metric-bench", "--shape", "plate.svg=1@opal-3", "--name", "n")):
        code, seen = watched(home, *words)
        assert code == 0, words
        assert {one for one in seen["run"] if "uname" not in one and "ldconfig" not in one} == set()
    assert not trap.exists()
