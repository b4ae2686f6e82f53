"""The swap of a finished tree: the last good build survives whatever happens before it."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import textwrap
import time
from pathlib import Path

import pytest

from fab.errors import OutputError
from fab.outtree import locked, recover, safe, swap_in


def tree(folder: Path) -> dict[str, bytes]:
    return {
        path.relative_to(folder).as_posix(): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


def test_a_new_tree_replaces_the_old_one_whole(tmp_path: Path) -> None:
    folder = tmp_path / "a wall"
    swap_in(folder, {"a/b.txt": b"1", "c.txt": b"2"})
    assert tree(folder) == {"a/b.txt": b"1", "c.txt": b"2"}
    swap_in(folder, {"d.txt": b"3"})
    assert tree(folder) == {"d.txt": b"3"}
    assert sorted(path.name for path in tmp_path.iterdir()) == ["a wall"]


def test_a_full_disk_leaves_the_last_build(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    folder = tmp_path / "wall"
    swap_in(folder, {"good.txt": b"good"})

    def full(handle: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(
        OutputError, match=r"No space left on device.*last build there is unchanged"
    ):
        swap_in(folder, {"bad.txt": b"bad"})
    assert tree(folder) == {"good.txt": b"good"}
    assert sorted(path.name for path in tmp_path.iterdir()) == ["wall"]


def test_a_stop_by_hand_leaves_the_last_build(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = tmp_path / "wall"
    swap_in(folder, {"good.txt": b"good"})

    def stop(handle: int) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(os, "fsync", stop)
    with pytest.raises(KeyboardInterrupt):
        swap_in(folder, {"bad.txt": b"bad"})
    assert tree(folder) == {"good.txt": b"good"}


def test_death_between_the_two_moves_is_mended(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Where the system swaps no two names at once: dead after the old tree is out and before the
    new one is in.
    """

    def dead(*_: object) -> None:
        raise SystemExit

    folder = tmp_path / "wall"
    swap_in(folder, {"good.txt": b"good"})
    (folder / "mine.txt").write_text("mine")
    monkeypatch.setattr("fab.workfolder._swapped", lambda one, other: False)
    monkeypatch.setattr("fab.workfolder._clear", lambda work, target: None)
    rename = os.rename
    moves = iter((rename, dead))
    monkeypatch.setattr(os, "rename", lambda one, other: next(moves)(one, other))  # noqa: PLW0108 (each time another)
    with pytest.raises(SystemExit):
        swap_in(folder, {"new.txt": b"new"}, ("mine.txt",))
    assert not folder.exists()
    monkeypatch.undo()
    recover(folder)
    assert tree(folder) == {"good.txt": b"good", "mine.txt": b"mine"}
    assert sorted(path.name for path in tmp_path.iterdir()) == ["wall"]


def test_a_link_as_output_is_refused(tmp_path: Path) -> None:
    (tmp_path / "real").mkdir()
    (tmp_path / "wall").symlink_to(tmp_path / "real")
    with pytest.raises(OutputError, match="is a link"):
        swap_in(tmp_path / "wall", {"a.txt": b""})


@pytest.mark.parametrize(
    "name",
    [
        "/etc/x",
        "../x",
        "a/../../x",
        "con.txt",
        "a/NUL",
        "a/CON .txt",
        "COM¹",
        "conin$",
        "a./b",
        "a /b",
        "b.",
        "",
        ".",
        "a:b",
        "a\x00b",
        "a\\b",
    ],
)
def test_names_that_do_not_work_everywhere_are_refused(name: str) -> None:
    with pytest.raises(OutputError, match="cannot be a file name on every system"):
        safe(name)


def test_a_second_build_waits_and_says_so(tmp_path: Path) -> None:
    with (
        locked(tmp_path / "wall"),
        pytest.raises(OutputError, match="another build is writing"),
        locked(tmp_path / "wall", 0.05),
    ):
        pass


@pytest.mark.skipif(os.name != "posix", reason="needs a signal that cannot be caught")
def test_killed_at_any_moment_the_tree_is_whole(tmp_path: Path) -> None:
    """kill -9 at many moments of swapping back and forth: one of the two whole trees is there each
    time.
    """
    folder = tmp_path / "wall"
    first, second = ({f"{k:02d}.bin": bytes([tag]) * 2000 for k in range(25)} for tag in (1, 2))
    swap_in(folder, first)
    code = textwrap.dedent(f"""
        from pathlib import Path
        from fab.outtree import locked, swap_in
        folder = Path({str(folder)!r})
        trees = [{{f"{{k:02d}}.bin": bytes([tag]) * 2000 for k in range(25)}} for tag in (2, 1)]
        print("ready", flush=True)
        while True:
            for tree in trees:
                with locked(folder):
                    swap_in(folder, tree)
        """)
    for moment in range(8):
        process = subprocess.Popen(
            [sys.executable, "-c", code], stdout=subprocess.PIPE, cwd=Path(__file__).parents[2]
        )
        assert process.stdout is not None
        process.stdout.readline()
        time.sleep(0.013 * moment)
        process.send_signal(signal.SIGKILL)
        process.wait()
        process.stdout.close()
        with locked(folder, 5.0):
            recover(folder)
            assert tree(folder) in (first, second)
