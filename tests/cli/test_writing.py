"""Every command that writes a file which the maker named: never over one that is not ours, unless
it is told to.
"""

from __future__ import annotations

import os
import shutil
from pathlib import Path

import pytest

from fab.cli.main import main
from fab.seal import OPEN, is_sealed, sealed, sealed_page

ROOT = Path(__file__).parents[2]
ONE = str(ROOT / "tests" / "one-panel.toml")
MINE = b"years of work\n"


def commands(lamp: Path, folder: Path) -> dict[str, tuple[list[str], Path]]:
    """Command line, and the file that it writes."""
    return {
        "pack": (["pack", str(lamp), "--to", str(folder / "lamp.zip")], folder / "lamp.zip"),
        "compare": (
            ["compare", str(lamp), str(lamp), "--page", str(folder / "page.html")],
            folder / "page.html",
        ),
        "schema": (["schema", "--into", str(folder)], folder / "job.schema.json"),
        "pictures": (["pictures", ONE, "--into", str(folder)], folder / "wall.svg"),
        "coupon": (
            ["coupon", ONE, "--kind", "kerf", "--stock", "opal-3", "--out", str(folder)],
            folder / "kerf-opal-3.svg",
        ),
        "sweep table": (
            [
                "sweep",
                ONE,
                "--over",
                "nest.seconds=0",
                "--workers",
                "1",
                "--table",
                str(folder / "t.csv"),
            ],
            folder / "t.csv",
        ),
        "sweep plot": (
            [
                "sweep",
                ONE,
                "--over",
                "nest.seconds=0",
                "--workers",
                "1",
                "--table",
                str(folder / "t.csv"),
                "--plot",
                str(folder / "p.svg"),
            ],
            folder / "p.svg",
        ),
    }


NAMES = list(commands(Path(), Path()))


def run(words: list[str], name: str, monkeypatch: pytest.MonkeyPatch) -> int:
    """The command; a sweep without its processes."""
    if name.startswith("sweep"):
        row = {
            "nest.seconds": "0",
            "exit": 0,
            "fails": "",
            "warns": "",
            "says": "",
            "light.dots": 1.0,
        }
        monkeypatch.setattr(
            "fab.sweep._in_processes",
            lambda workers: lambda job, todo, into: [(one, dict(row)) for one in todo],
        )
    return main(words)


@pytest.mark.parametrize("name", NAMES)
def test_never_writes_over_what_it_did_not_write(
    name: str,
    built: dict[str, Path],
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    """A maker's file, a read-only one, links, a folder, a changed file of ours: refused, and every
    byte as it was. A file of ours is written again; with --force all but a folder is.
    """
    folder = tmp_path / "to"
    words, target = commands(built["one-panel"], folder)[name]
    assert run(words, name, monkeypatch) == 0
    ours = target.read_bytes()
    assert run(words, name, monkeypatch) == 0  # ours, and as it was
    kept = tmp_path / "kept"

    def refused(says: str) -> None:
        before = {path: path.read_bytes() for path in folder.rglob("*") if path.is_file()}
        links = {path: os.readlink(path) for path in folder.rglob("*") if path.is_symlink()}
        capsys.readouterr()
        assert run(words, name, monkeypatch) == 2
        assert says in capsys.readouterr().err
        assert {path: path.read_bytes() for path in folder.rglob("*") if path.is_file()} == before
        assert {path: os.readlink(path) for path in folder.rglob("*") if path.is_symlink()} == links

    for data in (MINE, ours + b"\n", ours[:-40], ours.replace(b"0", b"1", 1), b""):
        target.write_bytes(data)
        refused("Nothing was written. Give another name, or --force to write over.")
    target.write_bytes(MINE)
    target.chmod(0o400)
    refused("--force")
    target.chmod(0o600)
    shutil.move(target, kept)
    target.symlink_to(kept)
    refused("--force")
    target.unlink()
    target.symlink_to(tmp_path / "nowhere")
    refused("--force")
    assert not (tmp_path / "nowhere").exists()
    target.unlink()
    target.mkdir()
    (target / "note").write_bytes(MINE)
    refused("is not a file")
    shutil.rmtree(target)
    target.write_bytes(MINE)
    assert run([*words, "--force"], name, monkeypatch) == 0
    assert target.read_bytes() == ours or name == "coupon"
    assert kept.read_bytes() == MINE


def test_a_journal_that_is_none_stays(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    journal = tmp_path / "t.csv.journal"
    for data in (MINE, b'{"day": 1}\n'):
        journal.write_bytes(data)
        assert (
            main(["sweep", ONE, "--over", "nest.seconds=0", "--table", str(tmp_path / "t.csv")])
            == 2
        )
        assert "is not the journal of a sweep" in capsys.readouterr().err
        assert journal.read_bytes() == data
    assert [path.name for path in tmp_path.iterdir()] == ["t.csv.journal"]


def test_a_file_of_the_name_of_kept_nests_stays(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    shutil.copy(ROOT / "params" / "bedside-lamp.toml", "wall.toml")
    Path("wall.nest.json").write_bytes(MINE)
    for words in (["build", "wall.toml", "--nest-seconds", "1"], ["nest", "wall.toml"]):
        assert main(words) == 2
        assert "is not a file of panejig" in capsys.readouterr().err
    assert Path("wall.nest.json").read_bytes() == MINE
    assert sorted(path.name for path in tmp_path.iterdir()) == ["wall.nest.json", "wall.toml"]


def test_a_seal_covers_every_byte() -> None:
    data = sealed_page(b"<svg><!-- " + OPEN.encode() + b" --><g/></svg>\n")
    assert is_sealed(data)
    for place in range(len(data)):
        assert not is_sealed(data[:place] + bytes([data[place] ^ 1]) + data[place + 1 :])
    assert not is_sealed(data + b" ")
    assert not is_sealed(b"")
    with pytest.raises(ValueError, match="no place"):
        sealed(b"nothing")
