"""What a house can do to a build: full disks, folders that may not be written, clocks, names, two
builds at once.
"""

from __future__ import annotations

import hashlib
import json
import os
import shutil
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from fab import outtree, workfolder, workshop
from fab.errors import OutputError
from fab.graph.product import Product
from fab.graph.run import Run
from fab.graph.store import Store
from fab.outtree import swap_in
from fab.params.read import load

ROOT = Path(__file__).parents[2]
ONE = ROOT / "tests" / "one-panel.toml"


def tree(folder: Path) -> dict[str, str]:
    return {
        path.relative_to(folder).as_posix(): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


def command(*words: str, before: str = "pass") -> subprocess.CompletedProcess[str]:
    code = f"import sys; {before}; from fab.cli.main import main; sys.exit(main({list(words)!r}))"
    return subprocess.run(
        [sys.executable, "-c", code], check=False, cwd=ROOT, capture_output=True, text=True
    )


def test_every_file_is_on_the_disk_before_the_swap(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Files, then their folders, then the exchange, then the folder above."""
    seen: list[str] = []
    sync, move = os.fsync, os.replace

    def fsync(handle: int) -> None:
        seen.append("sync " + Path(os.readlink(f"/proc/self/fd/{handle}")).name)
        sync(handle)

    def replace(a: object, b: object) -> None:
        seen.append(f"move {Path(str(a)).name} {Path(str(b)).name}")
        move(str(a), str(b))

    if not Path("/proc/self/fd").is_dir():
        pytest.skip("needs /proc to tell the name of an open file")
    swap_in(tmp_path / "wall", {"old.txt": b"1"})
    swapped = workfolder._swapped
    monkeypatch.setattr(
        workfolder,
        "_swapped",
        lambda one, other: seen.append(f"exchange {one.name} {other.name}") or swapped(one, other),  # type: ignore[func-returns-value]
    )
    monkeypatch.setattr(outtree.os, "fsync", fsync)  # type: ignore[attr-defined]
    monkeypatch.setattr(outtree.os, "replace", replace)  # type: ignore[attr-defined]
    swap_in(tmp_path / "wall", {"a.txt": b"1", "b/c.txt": b"2"})
    assert sorted(seen[:2]) == ["sync a.txt", "sync c.txt"]
    assert sorted(seen[2:4]) == ["sync b", "sync tree"]
    assert seen[4:] == ["move seen.new seen", "exchange tree wall", f"sync {tmp_path.name}"]


@pytest.mark.slow
@pytest.mark.skipif(sys.platform != "linux", reason="needs a limit on what a process may write")
def test_a_disk_that_takes_no_more(built: dict[str, Path], tmp_path: Path) -> None:
    """The system itself refuses the write (a limit on file size): exit 2, one message, the last
    build whole.
    """
    folder = tmp_path / "one-panel"
    shutil.copytree(built["one-panel"], folder)
    (tmp_path / ".one-panel.lock").touch()
    before = tree(folder)
    limit = (
        "import resource, signal; signal.signal(signal.SIGXFSZ, signal.SIG_IGN);"
        " resource.setrlimit(resource.RLIMIT_FSIZE, (20_000, 20_000))"
    )
    done = command(
        "build",
        str(ONE),
        "--out",
        str(tmp_path),
        "--set",
        "shop.stock.opal-3.kerf=0.19",
        "--only",
        "cut",  # its picture is larger
        before=limit,
    )
    assert done.returncode == 2, done.stderr
    assert "cannot be written: File too large. The last build there is unchanged." in done.stderr
    assert "Traceback" not in done.stderr
    assert tree(folder) == before
    assert sorted(path.name for path in tmp_path.iterdir()) == [
        ".one-panel.lock",
        "one-panel",
    ]


def test_a_folder_that_cannot_be_written(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Also for root, who may write into what is read-only to others: the system call is made to
    refuse.
    """
    (tmp_path / "file").write_text("")
    with pytest.raises(OutputError, match="cannot be created"):
        workshop.build(load(ONE), tmp_path / "file" / "out")

    def denied(*_: object, **__: object) -> None:
        raise PermissionError(13, "Permission denied")

    swap_in(tmp_path / "wall", {"good.txt": b"1"})
    monkeypatch.setattr(Path, "mkdir", denied)
    with pytest.raises(OutputError, match=r"cannot be (created|made|written): Permission denied"):
        swap_in(tmp_path / "wall", {"bad.txt": b"1"})
    monkeypatch.undo()
    assert list(tree(tmp_path / "wall")) == ["good.txt"]


@pytest.mark.skipif(
    not hasattr(os, "geteuid") or os.geteuid() == 0, reason="root may write everywhere"
)
def test_a_read_only_folder(tmp_path: Path) -> None:
    home = tmp_path / "out"
    home.mkdir()
    home.chmod(0o500)
    try:
        done = command("build", str(ONE), "--out", str(home))
    finally:
        home.chmod(0o700)
    assert done.returncode == 2
    assert "cannot be written" in done.stderr
    assert list(home.iterdir()) == []


def test_a_cache_that_is_read_only_or_full_fails_no_build(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def denied(*_: object, **__: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("fab.graph.store.tempfile.mkstemp", denied)
    part: Product[Any] = Product("part", bytes, (3,))
    for _ in range(2):
        with Run(Store(tmp_path)) as run:
            assert run.values([part, part]) == [bytes(3), bytes(3)]
        assert run.made == ["part"]


@pytest.mark.parametrize("stamp", [0, 4_000_000_000])
def test_a_clock_that_jumps_does_not_matter_to_the_store(tmp_path: Path, stamp: int) -> None:
    """Entries from 1970 or 2096 are found, and pruned by how they compare."""
    store, keys = Store(tmp_path), [name * 64 for name in "abc"]
    for key in keys:
        store.put(key, bytes(1000))
    for path in tmp_path.glob("*/*"):
        os.utime(path, (stamp, stamp))
    again = Store(tmp_path)
    assert again.get(keys[0]) == bytes(1000)
    assert again.prune(1500) == 2
    assert len(list(tmp_path.glob("*/*"))) == 1


def test_a_clock_that_jumps_does_not_matter_to_a_watch(tmp_path: Path) -> None:
    """A file saved with an older time than before counts as saved."""
    from fab.watch import stamp

    job = tmp_path / "job.toml"
    job.write_text("a")
    first = stamp((job,))
    os.utime(job, (0, 0))
    assert stamp((job,)) != first
    assert stamp((tmp_path / "gone.toml",)) != first


@pytest.mark.parametrize(
    "alike",  # lists and book say the job file's name
    [
        ("cut", "board"),
        pytest.param(("print", "model", "cut", "wall", "board"), marks=pytest.mark.slow),
    ],
    ids=["flat", "all"],
)
def test_folders_with_blanks_and_letters_of_all_languages(
    alike: tuple[str, ...],
    built: dict[str, Path],
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Blanks, umlauts, a right-to-left word, quotes, and a path near the longest that systems take;
    with another hash seed. What is made is the same as elsewhere.
    """
    assert built["one-panel"].is_dir()  # fills the cache
    home = tmp_path / 'my wall\'s "öld" lämp' / "שלום"
    for _ in range(8):
        home /= "long " * 20
    job = home / "Lampe süß.toml"
    home.mkdir(parents=True)
    job.write_text(ONE.read_text(encoding="utf-8"), encoding="utf-8")
    monkeypatch.setenv("PYTHONHASHSEED", "12345")
    only = [word for kind in (*alike, "lists") for word in ("--only", kind)]
    done = command("build", str(job), "--out", str(home / "fertig gebaut"), "-q", *only)
    assert done.returncode == 0, done.stderr
    folder = home / "fertig gebaut" / "one-panel"
    listed = json.loads((folder / "manifest.json").read_text(encoding="utf-8"))["files"]
    there = tree(folder)
    assert {**there, "manifest.json": ""}.keys() == {
        *(entry["path"] for entry in listed),
        "manifest.json",
    }
    elsewhere = {
        name: digest
        for name, digest in tree(built["one-panel"]).items()
        if name.split("/")[0] in alike
    }
    assert {
        name: digest for name, digest in there.items() if name.split("/")[0] in alike
    } == elsewhere


def test_a_name_that_no_file_system_takes(tmp_path: Path) -> None:
    with pytest.raises(OutputError, match=r"cannot be (created|made|written): File name too long"):
        workshop.build(load(ONE), tmp_path / ("x" * 300))
    assert list(tmp_path.iterdir()) == []


@pytest.mark.slow
def test_two_builds_of_one_job_at_once(built: dict[str, Path], tmp_path: Path) -> None:
    """Two processes into one folder: both end well, one after the other, and the tree is whole."""
    assert built["one-panel"].is_dir()  # fills the cache
    code = "import sys; from fab.cli.main import main; sys.exit(main(sys.argv[1:]))"
    words = [sys.executable, "-c", code, "build", str(ONE), "--out", str(tmp_path), "-q", "--set"]
    both = [
        subprocess.Popen([*words, f"shop.stock.opal-3.kerf={kerf}"], cwd=ROOT)
        for kerf in ("0.17", "0.16")
    ]
    assert [process.wait() for process in both] == [0, 0]
    folder = tmp_path / "one-panel"
    listed = {
        entry["path"]: entry["sha256"]
        for entry in json.loads((folder / "manifest.json").read_text())["files"]
    }
    assert {
        name: digest for name, digest in tree(folder).items() if name != "manifest.json"
    } == listed
