"""What is a maker's in an output folder stays, whatever a build does: every byte of it is held
against what was there.
"""

from __future__ import annotations

import json
import os
import re
import shutil
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fab import workshop
from fab.errors import OutputError
from fab.makerfiles import is_listing, listing_bytes, standing
from fab.outtree import recover, swap_in
from fab.params.read import load
from tests.workshop.swapping import NAME, TOOL, looked, renewed

ROOT = Path(__file__).parents[2]
ONE = ROOT / "tests" / "one-panel.toml"
KERF = ("shop.stock.opal-3.kerf=0.19",)

PLACES = (
    "cut",
    "cut/a.svg",
    "cut/b.svg",
    "lists/p.csv",
    "notes",
    "notes/n.txt",
    "cut/mine.txt",
    "deep/er/x",
    ".git/config",
    "manifest.json",
    "book",
)
ACTS = ("file", "read-only", "link", "dead link", "folder", "change", "remove")
deeds = st.lists(
    st.tuples(st.sampled_from(PLACES), st.sampled_from(ACTS), st.binary(max_size=4)), max_size=6
)
trees = st.dictionaries(
    st.sampled_from(("cut/a.svg", "cut/b.svg", "lists/p.csv", "book/i.html", "deep/er/y")),
    st.binary(max_size=4),
    min_size=1,
)


def done(folder: Path, place: str, act: str, data: bytes) -> None:
    """One thing that a maker does to a folder; what the system doesn't allow is not done."""
    path = folder / place
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        if act == "folder":
            path.mkdir()
        elif act == "link":
            path.symlink_to("/etc/hostname" if len(data) % 2 else "lists")
        elif act == "dead link":
            path.symlink_to("nowhere")
        elif act == "remove":
            path.unlink()
        else:
            path.write_bytes(b"mine " + data)
            if act == "read-only":
                path.chmod(0o400)
    except OSError:
        pass


@given(first=st.none() | trees, second=trees, deeds=deeds)
@settings(max_examples=200)
def test_what_is_the_makers_is_kept_byte_for_byte(
    tmp_path_factory: pytest.TempPathFactory,
    first: dict[str, bytes] | None,
    second: dict[str, bytes],
    deeds: list[tuple[str, str, bytes]],
) -> None:
    """Random trees: a build or none, then own files, changed ones, links, read-only ones, folders;
    then another build.

    It goes through with all that is the maker's in it as it was, or is refused with all as it was.
    """
    home = tmp_path_factory.mktemp("home")
    folder = home / "wall"
    ours: dict[str, bytes] = {}
    if first is not None:
        renewed(folder, first)
        ours = first | {NAME: (folder / NAME).read_bytes()}
    for place, act, data in deeds:
        done(folder, place, act, data)
    before = looked(folder) if folder.exists() else {}
    if before.get(NAME, ("", 0, b""))[2] != ours.get(NAME):
        ours = {}  # without the listing nothing says that a file is ours: all is the maker's
    makers = {
        path: what
        for path, what in before.items()
        if what[0] != "folder" and not (what[0] == "file" and ours.get(path) == what[2])
    }
    empty = {
        path
        for path, what in before.items()
        if what[0] == "folder" and not any(other.startswith(f"{path}/") for other in before)
    }
    try:
        told = renewed(folder, second)
    except OutputError:
        assert looked(folder) == before
        assert makers or empty, "refused with nothing in the way"
    else:
        after = looked(folder)
        assert {path: after.get(path) for path in makers} == makers
        assert empty <= set(after)
        assert set(told) == set(makers) | empty
        assert {path: what[2] for path, what in after.items() if path in second} == second
        assert {path for path, what in after.items() if what[0] != "folder"} == {
            *makers,
            *second,
            NAME,
        }
    assert [path.name for path in home.iterdir() if path.name != "wall"] == []
    shutil.rmtree(home, ignore_errors=True)


@pytest.mark.parametrize("tail", [".old", ".new"])
def test_folders_that_look_like_work_of_ours_stay(tmp_path: Path, tail: str) -> None:
    own = tmp_path / f".wall{tail}"
    own.mkdir()
    (own / "thesis.txt").write_text("years")
    also = tmp_path / ".wall.panejig-mine"
    also.mkdir()
    (also / "mark").write_text("mine")
    for data in (b"1", b"2"):
        renewed(tmp_path / "wall", {"cut/a.svg": data})
        recover(tmp_path / "wall")
    assert (own / "thesis.txt").read_text() == "years"
    assert (also / "mark").read_text() == "mine"


def test_what_comes_in_while_the_tree_is_swapped_moves_over(tmp_path: Path) -> None:
    """A file that comes, and one that is changed, after it was decided what is the maker's."""
    folder = tmp_path / "wall"
    renewed(folder, {"cut/a.svg": b"1", "cut/b.svg": b"1"})
    there = standing(folder, NAME, TOOL)
    (folder / "cut" / "late.txt").write_text("just in time")
    (folder / "cut" / "b.svg").write_text("changed by hand")
    swap_in(folder, {"cut/a.svg": b"2", "cut/b.svg": b"2"}, there.carried, there.seen)
    assert (folder / "cut" / "late.txt").read_text() == "just in time"
    assert {path.read_text() for path in (folder / "cut").glob("b.svg*")} == {
        "2",
        "changed by hand",
    }


def test_where_the_disk_swaps_no_names_and_knows_no_second_ones(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def none(*_: object, **__: object) -> None:
        raise OSError(95, "Operation not supported")

    monkeypatch.setattr("fab.workfolder._swapped", lambda one, other: False)
    monkeypatch.setattr(os, "link", none)
    folder = tmp_path / "wall"
    renewed(folder, {"cut/a.svg": b"1"})
    (folder / "notes.txt").write_text("mine")
    (folder / "notes.txt").chmod(0o400)
    (folder / "way").symlink_to("nowhere")
    before = looked(folder)
    renewed(folder, {"cut/a.svg": b"2"})
    after = looked(folder)
    assert {name: after[name] for name in ("notes.txt", "way")} == {
        name: before[name] for name in ("notes.txt", "way")
    }
    assert after["cut/a.svg"][2] == b"2"
    assert [path.name for path in tmp_path.iterdir()] == ["wall"]


def test_a_build_with_a_makers_things_in_its_way_is_refused_before_it_makes_anything(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """As seen: a folder of the job's name, a source folder, a plain file, a job file in its own
    folder; by the command.
    """
    from fab.cli.main import main

    def way(name: str, make: Callable[[Path], None]) -> None:
        home = tmp_path / name
        home.mkdir()
        make(home)
        before = looked(home)
        assert main(["build", str(ONE), "--out", str(home)]) == 2
        says = capsys.readouterr().err
        assert "--out" in says
        assert "another name" in says or "is a" in says or "is not a lock" in says
        assert looked(home) == before, name

    def write(place: str) -> Callable[[Path], None]:
        def make(home: Path) -> None:
            (home / place).parent.mkdir(parents=True, exist_ok=True)
            (home / place).write_text("mine")

        return make

    way("notes", write("one-panel/notes.txt"))
    way("source", write("one-panel/main.py"))
    way("file", write("one-panel"))
    way("job", write("one-panel/one-panel.toml"))
    way("manifest", write("one-panel/manifest.json"))
    way("link", lambda home: (home / "one-panel").symlink_to(tmp_path))
    way("lock", write(".one-panel.lock"))


@pytest.mark.slow
def test_notes_in_a_build_stay_and_are_told(built: dict[str, Path], tmp_path: Path) -> None:
    folder = tmp_path / "one-panel"
    shutil.copytree(built["one-panel"], folder)
    job = folder / "one-panel.toml"
    job.write_bytes(ONE.read_bytes())
    (folder / "photos").mkdir()
    (folder / "photos" / "wall.jpg").write_bytes(b"\xff\xd8")
    same = workshop.build(load(job), tmp_path)
    assert same.kept == ("one-panel.toml", "photos/wall.jpg")
    assert same.summary[0] == "Nothing changed."
    other = workshop.build(load(job, KERF), tmp_path)
    assert (
        "Kept files that do not belong to this build: one-panel.toml, photos/wall.jpg"
        in other.summary
    )
    assert job.read_bytes() == ONE.read_bytes()
    assert (folder / "photos" / "wall.jpg").read_bytes() == b"\xff\xd8"
    (folder / "lists" / "parts.csv").write_text("with my notes")
    before = looked(folder)
    with pytest.raises(
        OutputError, match=r"holds files of yours: lists/parts.csv. Nothing was written"
    ):
        workshop.build(load(job), tmp_path)
    assert looked(folder) == before


def test_one_kind_is_renewed_and_the_rest_stands(built: dict[str, Path], tmp_path: Path) -> None:
    """Of the same values: the whole build again, and nothing left to do.

    Of others: told, listed, and not packed.
    """
    from fab.errors import InputError
    from fab.pack import pack

    folder = tmp_path / "one-panel"
    shutil.copytree(built["one-panel"], folder)
    whole = looked(folder)
    (folder / "cut" / "diffuser.dxf").unlink()  # so that there is something to do
    cut = workshop.build(load(ONE), tmp_path, only=frozenset({"cut"}))
    assert {name: what for name, what in looked(folder).items() if name != NAME} == {
        name: what for name, what in whole.items() if name != NAME
    }
    assert "old" not in cut.manifest
    assert workshop.build(load(ONE), tmp_path).summary[0] == "Nothing changed."
    # a kind that is not renewed may be changed
    (folder / "wall" / "holes.csv").write_text("a maker's own")
    other = workshop.build(load(ONE, KERF), tmp_path, only=frozenset({"cut"}))
    after = looked(folder)
    assert after["wall/holes.csv"][2] == b"a maker's own"
    assert after["cut/diffuser.dxf"] != whole["cut/diffuser.dxf"]
    assert {name for name in whole if name.split("/")[0] != "cut"} <= set(after)
    old = {
        name
        for name, what in whole.items()
        if what[0] == "file" and name != NAME and not name.startswith("cut/")
    }
    assert set(other.manifest["old"]) == old
    assert any(line.startswith("Out of date: all files of print/") for line in other.summary)
    with pytest.raises(InputError, match="made from other values"):
        pack(folder)


def test_a_listing_is_ours_only_as_it_was_written() -> None:
    data = listing_bytes({"tool": TOOL, "files": [], "seconds": {"cut": 1.5}})
    assert is_listing(data, TOOL)
    assert not is_listing(data, "another")
    assert not is_listing(data + b" ", TOOL)
    assert not is_listing(data.replace(b'"files": []', b'"files": [1]'), TOOL)
    assert not is_listing(json.dumps(json.loads(data)).encode(), TOOL)
    assert is_listing(data.replace(b'"cut": 1.5', b'"cut": 2.5'), TOOL)  # seconds are not sealed
    assert not is_listing(data.replace(b'"cut": 1.5', b'"cut": 1.5, "files": []'), TOOL)
    assert not is_listing(re.sub(rb',\n  "seal".*', b"", data), TOOL)
    for k in range(0, len(data), 7):
        if not data[k : k + 1].isspace() and b"1.5"[:1] not in data[k : k + 1]:
            assert (
                not is_listing(data[:k] + bytes([data[k] ^ 4]) + data[k + 1 :], TOOL)
                or b"seconds" in data[:k]
            )
