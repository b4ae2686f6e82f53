"""A build as one archive: same bytes, opened safely, built again to the same files."""

from __future__ import annotations

import io
import json
import zipfile
from pathlib import Path

import pytest

from fab.errors import InputError
from fab.pack import pack, unpack
from fab.params.read import load


def test_a_pack_is_the_same_twice_and_can_be_built_again(built: dict[str, Path], tmp_path: Path) -> None:
    from fab import workshop

    folder = built["bedside-lamp"]
    data = pack(folder)
    assert data == pack(folder)
    opened = unpack(data, tmp_path)
    assert opened.name == "bedside-lamp"
    again = workshop.build(load(opened / "lists" / "job.toml"), tmp_path / "again")
    before = json.loads((folder / "manifest.json").read_text(encoding="utf-8"))
    same = {entry["path"]: entry["sha256"] for entry in before["files"] if entry["role"] != "book"}
    now = {entry["path"]: entry["sha256"] for entry in again.manifest["files"] if entry["role"] != "book"}
    assert same == now
    assert again.manifest["inputs_sha256"] == before["inputs_sha256"]


def test_the_clock_stays_out_of_a_pack(built: dict[str, Path]) -> None:
    with zipfile.ZipFile(io.BytesIO(pack(built["bedside-lamp"]))) as archive:
        assert {entry.date_time for entry in archive.infolist()} == {(1980, 1, 1, 0, 0, 0)}
        manifest = json.loads(archive.read("bedside-lamp/manifest.json"))
    assert manifest["seconds"] == {}


def archive(names: list[str], *, link: bool = False) -> bytes:
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w") as out:
        for name in names:
            entry = zipfile.ZipInfo(name)
            if link:
                entry.external_attr = 0o120777 << 16
            out.writestr(entry, b"x")
    return stream.getvalue()


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (b"", "not a whole pack"),
        (b"PK\x03\x04 nonsense", "not a whole pack"),
        (archive(["wall/../../evil.txt", "wall/manifest.json"]), "could leave its folder"),
        (archive(["/etc/passwd"]), "could leave its folder"),
        (archive(["wall/manifest.json", "other/a.txt"]), "not a pack of a build"),
        (archive(["a.txt"]), "has no place in a pack"),
        (archive(["wall/manifest.json"], link=True), "has no place in a pack"),
        (archive(["wall/a.txt"]), "not a pack of a build"),
    ],
)
def test_a_strangers_archive_is_refused(data: bytes, says: str, tmp_path: Path) -> None:
    with pytest.raises(InputError, match=says):
        unpack(data, tmp_path / "in")
    assert not (tmp_path / "in").exists()
    assert [path.name for path in tmp_path.iterdir()] == []


def test_a_pack_that_unfolds_to_too_much_is_not_opened(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("fab.pack.MOST_BYTES", 3)
    with pytest.raises(InputError, match="more than a build can be"):
        unpack(archive(["wall/manifest.json", "wall/a", "wall/b", "wall/c"]), tmp_path)


def test_a_folder_that_is_there_is_not_overwritten(built: dict[str, Path], tmp_path: Path) -> None:
    (tmp_path / "bedside-lamp").mkdir()
    with pytest.raises(InputError, match="already there"):
        unpack(pack(built["bedside-lamp"]), tmp_path)


def test_half_a_build_is_not_packed(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="not a whole build"):
        pack(tmp_path)
