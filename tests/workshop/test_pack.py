"""A build as one archive: same bytes, opened safely, built again to the same files."""

from __future__ import annotations

import hashlib
import io
import json
import os
import random
import shutil
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

from fab.errors import InputError
from fab.pack import pack, unpack
from fab.params.read import load


def test_a_pack_is_the_same_twice(built: dict[str, Path]) -> None:
    assert pack(built["one-panel"]) == pack(built["one-panel"])


@pytest.mark.slow
def test_a_pack_can_be_built_again(built: dict[str, Path], tmp_path: Path) -> None:
    from fab import workshop

    folder = built["one-panel"]
    opened = unpack(io.BytesIO(pack(folder)), tmp_path)
    assert opened.name == "one-panel"
    again = workshop.build(load(opened / "lists" / "job.toml"), tmp_path / "again")
    before = json.loads((folder / "manifest.json").read_text(encoding="utf-8"))
    same = {entry["path"]: entry["sha256"] for entry in before["files"] if entry["role"] != "book"}
    now = {
        entry["path"]: entry["sha256"]
        for entry in again.manifest["files"]
        if entry["role"] != "book"
    }
    assert same == now
    # a pack's job names every number, those that the maker left out too: other words for the same
    # wall
    third = load(again.folder / "lists" / "job.toml")
    assert third.inputs_sha256 == again.manifest["inputs_sha256"]


def test_the_clock_stays_out_of_a_pack(built: dict[str, Path]) -> None:
    with zipfile.ZipFile(io.BytesIO(pack(built["one-panel"]))) as archive:
        assert {entry.date_time for entry in archive.infolist()} == {(1980, 1, 1, 0, 0, 0)}
        manifest = json.loads(archive.read("one-panel/manifest.json"))
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
        (b"", "not a complete pack"),
        (b"PK\x03\x04 nonsense", "not a complete pack"),
        (archive(["wall/../../evil.txt", "wall/manifest.json"]), "could leave its folder"),
        (archive(["/etc/passwd"]), "could leave its folder"),
        (archive(["wall/manifest.json", "other/a.txt"]), "not a pack of a build"),
        (archive(["a.txt"]), "does not belong in a pack"),
        (archive(["wall/manifest.json"], link=True), "does not belong in a pack"),
        (archive(["wall/a.txt"]), "not a pack of a build"),
        (archive(["wall/manifest.json", "wall/a.txt", "wall/A.txt"]), "more than once"),
        (archive(["wall/manifest.json", "wall/aux.txt"]), "could leave its folder"),
        (archive(["wall/manifest.json", "wall/a. "]), "could leave its folder"),
    ],
)
def test_a_strangers_archive_is_refused(data: bytes, says: str, tmp_path: Path) -> None:
    with pytest.raises(InputError, match=says):
        unpack(io.BytesIO(data), tmp_path / "in")
    assert not (tmp_path / "in").exists()
    assert [path.name for path in tmp_path.iterdir()] == []


def test_a_pack_that_unfolds_to_too_much_is_not_opened(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("fab.packcheck.MOST_BYTES", 3)
    with pytest.raises(InputError, match="larger than any build"):
        unpack(io.BytesIO(archive(["wall/manifest.json", "wall/a", "wall/b", "wall/c"])), tmp_path)


def test_a_folder_that_is_there_is_not_overwritten(built: dict[str, Path], tmp_path: Path) -> None:
    (tmp_path / "one-panel").mkdir()
    with pytest.raises(InputError, match="already there"):
        unpack(io.BytesIO(pack(built["one-panel"])), tmp_path)


@pytest.fixture
def lamp(built: dict[str, Path], tmp_path: Path) -> Path:
    """A copy of a build to do harm to."""
    shutil.copytree(built["one-panel"], tmp_path / "lamp")
    return tmp_path / "lamp"


def test_what_is_not_as_the_build_left_it_is_not_packed(lamp: Path, tmp_path: Path) -> None:
    """All at once: a file that was changed, one that is gone, a link to elsewhere, a folder that is
    a link.
    """
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
    assert told["positions.csv"] == "was changed after the build"
    assert told["diffuser.svg"] == "cannot be read: No such file or directory"
    assert told["parts.csv"] == told["holes.csv"] == "cannot be read: it is a link"
    (lamp / "manifest.json").unlink()
    (lamp / "manifest.json").symlink_to(secret / "manifest.json")
    with pytest.raises(InputError, match="not a complete build"):
        pack(lamp)


@pytest.mark.parametrize(
    "change",
    [
        {"job": "../x"},
        {"job": 3},
        {"files": 3},
        {"files": [{"path": "../../x", "sha256": ""}]},
        {"files": [{"path": "/etc/passwd", "sha256": ""}]},
    ],
    ids=str,
)
def test_a_manifest_of_a_stranger_leads_nowhere(lamp: Path, change: dict[str, object]) -> None:
    manifest = json.loads((lamp / "manifest.json").read_text(encoding="utf-8"))
    (lamp / "manifest.json").write_text(json.dumps(manifest | change), encoding="utf-8")
    with pytest.raises(InputError, match="not a complete build"):
        pack(lamp)


@pytest.mark.parametrize("changes", [10, pytest.param(40, marks=pytest.mark.slow)])
def test_a_damaged_pack_is_told(built: dict[str, Path], tmp_path: Path, changes: int) -> None:
    """Bytes changed anywhere in the archive: told, or (in what nothing reads) the files come out as
    they were.
    """
    data = pack(built["one-panel"])
    dice = random.Random(7)
    told = 0
    for k in range(changes):
        place = dice.randrange(len(data))
        broken = data[:place] + bytes([data[place] ^ (1 << dice.randrange(8))]) + data[place + 1 :]
        try:
            folder = unpack(io.BytesIO(broken), tmp_path / str(k))
        except InputError:
            told += 1
            assert not (tmp_path / str(k)).exists()
        else:
            assert all(
                (folder / path.relative_to(built["one-panel"])).is_file()
                for path in built["one-panel"].rglob("*.stl")
            )
    assert told > 0.75 * changes
    with pytest.raises(InputError, match="not a complete pack"):
        unpack(io.BytesIO(data[: len(data) // 2]), tmp_path / "half")


def test_what_is_no_archive_is_told_by_the_command(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    from fab.cli.main import main

    for name, says in (
        (str(tmp_path), "is not a file"),
        ("nowhere.zip", "No such file"),
        (os.devnull, "is not a file"),
        ("a\0b", "cannot be read"),
    ):
        assert main(["unpack", name, "--into", str(tmp_path)]) == 2
        assert says in capsys.readouterr().err


def test_half_a_build_is_not_packed(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="not a complete build"):
        pack(tmp_path)


LISTED = ("lists/a.txt",)


def forged(
    names: dict[str, bytes],
    *,
    job: str = "wall",
    listed: dict[str, bytes] | None = None,
    top: str = "wall",
    method: int = zipfile.ZIP_DEFLATED,
) -> bytes:
    """A pack that somebody made by hand: its manifest lists `listed`, or all that is in it."""
    from fab.makerfiles import listing_bytes

    lines = [
        {"path": path, "sha256": hashlib.sha256(data).hexdigest()}
        for path, data in (names if listed is None else listed).items()
    ]
    manifest = listing_bytes({"tool": "panejig", "job": job, "files": lines, "seconds": {}})
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", method) as out:
        for path, data in {"manifest.json": manifest, **names}.items():
            out.writestr(
                (
                    zipfile.ZipInfo(f"{top}/{path}")
                    if method == zipfile.ZIP_STORED
                    else f"{top}/{path}"
                ),
                data,
            )
    return stream.getvalue()


def far(data: bytes) -> bytes:
    """The same with a record of an archive of over 4 GB before its end."""
    at = data.rindex(b"PK\x05\x06")
    return data[:at] + b"PK\x06\x07" + bytes(16) + data[at:]


HOSTILE = {
    **{
        f"top {top}": forged({"a": b"x"}, top=top, job=top)
        for top in (".git", ".ssh", "..", "con", "-x", "a b", "~", "w" * 61, "wall.", "é")
    },
    **{
        f"name {name!r}": forged({name: b"x"})
        for name in (
            ".git/config",
            "lists/.htaccess",
            "a.",
            "b ",
            "c./d",
            "lists/\u202egpj.exe",
            "a\u200bb",
            "a\u2066b",
            "a\x07b",
            "a\x7f",
            "a\u00adb",
            "a\ue000",
            "nul",
            "x/COM1.txt",
            "a:b",
            "a\\b",
            "../a",
            "/".join("d" * 9),
            "n" * 201,
            "/etc/x",
            "a//b",
            "./a",
            "a/./b",
        )
    },
    "deep": forged({"a/" * 2000 + "b": b"x"}),
    "unlisted": forged({"a": b"x", "b": b"y"}, listed={"a": b"x"}),
    "listed only": forged({"a": b"x"}, listed={"a": b"x", "b": b"y"}),
    "changed": forged({"a": b"x"}, listed={"a": b"y"}),
    "another job": forged({"a": b"x"}, job="other"),
    "twice by case": forged({"a": b"x", "A": b"x"}),
    "twice by form": forged({"\u00e9": b"x", "e\u0301": b"x"}),
    "file and folder": forged({"a": b"x", "a/b": b"x"}),
    "lzma": forged({"a": b"x"}, method=zipfile.ZIP_LZMA),
    "bzip2": forged({"a": b"x"}, method=zipfile.ZIP_BZIP2),
    "over 4 GB": far(forged({"a": b"x"})),
    "manifest of brackets": archive(["wall/a"]).replace(b"wall/a", b"wall/b"),
}


@pytest.mark.parametrize("name", HOSTILE)
def test_a_hostile_pack_ends_with_2_and_nothing_written(
    name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Names that hide, lead out, turn the writing or clash; lists that lie; ways of packing that
    ask for memory.
    """
    from fab.cli.main import main

    path = tmp_path / "pack.zip"
    path.write_bytes(HOSTILE[name])
    for words in (["--into", str(tmp_path / "in")], ["--check"]):
        assert main(["unpack", str(path), *words]) == 2
        says = capsys.readouterr().err
        assert "an internal error" not in says
        assert "Traceback" not in says
        assert says.isprintable() or says.strip().isprintable()
    assert [one.name for one in tmp_path.iterdir()] == ["pack.zip"]


def test_check_only_tells(
    built: dict[str, Path], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    from fab.cli.main import main

    path = tmp_path / "lamp.zip"
    assert main(["pack", str(built["one-panel"]), "--to", str(path)]) == 0
    capsys.readouterr()
    assert main(["unpack", str(path), "--check"]) == 0
    assert capsys.readouterr().out.startswith("The pack of one-panel is complete: ")
    assert [one.name for one in tmp_path.iterdir()] == ["lamp.zip"]


def test_a_licence_is_listed_in_its_pack(lamp: Path, tmp_path: Path) -> None:
    from fab.makerfiles import listing_bytes

    values = lamp / "lists" / "values.json"
    values.write_text(
        json.dumps(json.loads(values.read_text(encoding="utf-8")) | {"licence": "CC0-1.0"}),
        encoding="utf-8",
    )
    manifest = json.loads((lamp / "manifest.json").read_text(encoding="utf-8"))
    for line in manifest["files"]:
        if line["path"] == "lists/values.json":
            line["sha256"] = hashlib.sha256(values.read_bytes()).hexdigest()
    (lamp / "manifest.json").write_bytes(listing_bytes(manifest))
    folder = unpack(io.BytesIO(pack(lamp)), tmp_path / "in")
    assert "Creative Commons" in (folder / "LICENCE.txt").read_text(encoding="utf-8")
    assert pack(folder) == pack(lamp)


MEMORY = """
import re, sys
from pathlib import Path
from fab.cli.main import main
code = main(["unpack", sys.argv[1], "--into", sys.argv[2], "-q"])
print(code, re.search("VmHWM:\\s+(\\d+)", Path("/proc/self/status").read_text())[1])
"""


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="needs the peak of memory in kB")
@pytest.mark.parametrize(
    "kind",
    [
        pytest.param("large", marks=pytest.mark.slow),
        pytest.param("many", marks=pytest.mark.slow),
        pytest.param("names", marks=pytest.mark.slow),
        "values",
    ],
)
def test_unpack_stays_within_64_mb(kind: str, tmp_path: Path) -> None:
    """Peak memory of the whole process, of a file of 300 MB, of 10,000 files, of long names, of a
    manifest of brackets.
    """
    if kind == "large":
        data = forged({"big.bin": bytes(300_000_000)})
    elif kind == "many":
        data = forged({f"lists/{k:05d}.txt": b"x" for k in range(10_000)})
    elif kind == "names":
        data = forged({"n" * 180 + f"{k:05d}": b"x" for k in range(12_000)}, listed={})
    else:
        stream = io.BytesIO()
        with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as out:
            out.writestr(
                "wall/manifest.json", b'{"tool": "panejig", "files": [' + b"[]," * 900_000 + b"[]]}"
            )
        data = stream.getvalue()
    path = tmp_path / "pack.zip"
    path.write_bytes(data)
    done = subprocess.run(
        [sys.executable, "-c", MEMORY, str(path), str(tmp_path / "in")],
        check=True,
        capture_output=True,
        text=True,
        cwd=Path(__file__).parents[2],
    )
    code, peak = (int(word) for word in done.stdout.split()[-2:])
    assert code == (0 if kind in ("large", "many") else 2), done.stderr
    assert peak <= 64 * 1024, kind
