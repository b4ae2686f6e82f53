"""A build as one archive: same bytes, opened safely, built again to the same files."""

from __future__ import annotations

import io
import json
import os
import random
import shutil
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
        (archive(["wall/manifest.json", "wall/a.txt", "wall/A.txt"]), "more than once"),
        (archive(["wall/manifest.json", "wall/aux.txt"]), "could leave its folder"),
        (archive(["wall/manifest.json", "wall/a. "]), "could leave its folder"),
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


@pytest.fixture
def lamp(built: dict[str, Path], tmp_path: Path) -> Path:
    """A copy of the lamp's build to do harm to."""
    shutil.copytree(built["bedside-lamp"], tmp_path / "lamp")
    return tmp_path / "lamp"


def test_what_is_not_as_the_build_left_it_is_not_packed(lamp: Path, tmp_path: Path) -> None:
    """All at once: a file that was changed, one that is gone, a link to elsewhere, a folder that is a link."""
    secret = tmp_path / "secret"
    secret.mkdir()
    (secret / "parts.csv").write_text("not for others")
    (lamp / "board" / "positions.csv").write_text("changed")
    (lamp / "cut" / "diffuser.svg").unlink()
    (lamp / "lists" / "parts.csv").unlink()
    (lamp / "lists" / "parts.csv").symlink_to(secret / "parts.csv")
    shutil.move(lamp / "wall", secret / "wall")
    (lamp / "wall").symlink_to(secret / "wall")
    with pytest.raises(InputError) as refused:
        pack(lamp)
    told = {Path(fault.where).name: fault.says for fault in refused.value.faults}
    assert told["positions.csv"] == "is not as the build left it"
    assert told["diffuser.svg"] == "can't be read: No such file or directory"
    assert told["parts.csv"] == told["holes.csv"] == "can't be read: it is a link"
    (lamp / "manifest.json").unlink()
    (lamp / "manifest.json").symlink_to(secret / "manifest.json")
    with pytest.raises(InputError, match="not a whole build"):
        pack(lamp)


@pytest.mark.parametrize(
    "change", [{"job": "../x"}, {"job": 3}, {"files": 3}, {"files": [{"path": "../../x", "sha256": ""}]}, {"files": [{"path": "/etc/passwd", "sha256": ""}]}],
    ids=str,
)  # fmt: skip
def test_a_manifest_of_a_stranger_leads_nowhere(lamp: Path, change: dict[str, object]) -> None:
    manifest = json.loads((lamp / "manifest.json").read_text(encoding="utf-8"))
    (lamp / "manifest.json").write_text(json.dumps(manifest | change), encoding="utf-8")
    with pytest.raises(InputError, match="not a whole build"):
        pack(lamp)


def test_a_damaged_pack_is_told(built: dict[str, Path], tmp_path: Path) -> None:
    """Bytes changed anywhere in the archive: told, or (in what nothing reads) the files come out as they were."""
    data = pack(built["bedside-lamp"])
    dice = random.Random(7)
    told = 0
    for k in range(40):
        place = dice.randrange(len(data))
        broken = data[:place] + bytes([data[place] ^ (1 << dice.randrange(8))]) + data[place + 1 :]
        try:
            folder = unpack(broken, tmp_path / str(k))
        except InputError:
            told += 1
            assert not (tmp_path / str(k)).exists()
        else:
            assert all((folder / path.relative_to(built["bedside-lamp"])).is_file() for path in built["bedside-lamp"].rglob("*.stl"))
    assert told > 30
    with pytest.raises(InputError, match="not a whole pack"):
        unpack(data[: len(data) // 2], tmp_path / "half")


def test_what_is_no_archive_is_told_by_the_command(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    from fab.cli.main import main

    for name, says in ((str(tmp_path), "is no file that a pack could be"), ("nowhere.zip", "No such file"), (os.devnull, "is no file that a pack"), ("a\0b", "can't be read")):
        assert main(["unpack", name, "--into", str(tmp_path)]) == 2
        assert says in capsys.readouterr().err


def test_half_a_build_is_not_packed(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="not a whole build"):
        pack(tmp_path)
