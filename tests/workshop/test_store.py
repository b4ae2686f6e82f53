"""The store of products: found when nothing changed, made again when damaged, never in the way."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from fab.checks.model import Verdict
from fab.store import Store, Task, key_of, sources, version_of
from fab.verdicts import kept, task

GARBAGE = (b"", b"garbage", b"{}", b"[]")


def test_a_product_is_made_once(tmp_path: Path) -> None:
    made: list[int] = []

    def make() -> bytes:
        made.append(1)
        return b"part"

    for _ in range(3):
        assert Store(tmp_path).once("part", {"wall": 1.6}, ("parts",), make) == b"part"
    assert len(made) == 1
    Store(tmp_path).once("part", {"wall": 2.0}, ("parts",), make)
    assert len(made) == 2


def test_a_damaged_entry_is_made_again_and_told(tmp_path: Path) -> None:
    store = Store(tmp_path)
    store.once("part", 1, (), lambda: b"good")
    entry = next(path for path in tmp_path.rglob("*") if path.is_file())
    entry.write_bytes(entry.read_bytes()[:-1] + b"!")
    again = Store(tmp_path)
    assert again.once("part", 1, (), lambda: b"good") == b"good"
    assert len(again.damaged) == 1
    assert Store(tmp_path).get(key_of("part", 1, ())) == b"good"


def test_fresh_ignores_what_is_there_and_keeps_the_new(tmp_path: Path) -> None:
    Store(tmp_path).once("part", 1, (), lambda: b"old")
    assert Store(tmp_path, read=False).once("part", 1, (), lambda: b"new") == b"new"
    assert Store(tmp_path).once("part", 1, (), lambda: b"never") == b"new"


def test_a_cache_that_cannot_be_written_is_no_reason_to_fail(tmp_path: Path) -> None:
    blocked = tmp_path / "file"
    blocked.write_bytes(b"")
    assert Store(blocked / "below").once("part", 1, (), lambda: b"part") == b"part"


def test_a_stop_while_writing_leaves_no_half_entry(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    import os

    def stop(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(os, "replace", stop)
    with pytest.raises(KeyboardInterrupt):
        Store(tmp_path).put("ab" * 32, b"part")
    assert [path for path in tmp_path.rglob("*") if path.is_file()] == []


def test_the_store_is_bounded_and_drops_the_oldest(tmp_path: Path) -> None:
    import os

    store = Store(tmp_path)
    keys = [f"{k:02x}" * 32 for k in range(4)]
    for age, key in enumerate(keys):
        store.put(key, bytes(1000))
        os.utime(store._path(key), (age, age))
    assert store.prune(2500) == 2
    assert [store.get(key) is not None for key in keys] == [False, False, True, True]


def test_the_code_of_a_room_is_part_of_the_key() -> None:
    assert key_of("part", 1, ("parts",)) != key_of("part", 1, ("sheets",))


def test_other_code_makes_another_product(tmp_path: Path) -> None:
    """Modules, styles, scripts and fonts count; what Python leaves behind, and presets, which are inputs, don't."""
    for name in ("parts/base.py", "files/assets/book.css", "files/fonts/letters.ttf", "presets/schema/job.json", "store.py"):
        (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / name).write_text("before")

    def code_version(rooms: tuple[str, ...]) -> str:
        return version_of(sources(tmp_path), rooms)

    def changed(name: str) -> set[str]:
        before = {word: code_version(rooms) for word, rooms in (("all", ()), ("parts", ("parts",)), ("files", ("files",)))}
        (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / name).write_text(f"after {name}")
        return {word for word, found in before.items() if code_version(() if word == "all" else (word,)) != found}

    assert changed("parts/base.py") == {"all", "parts"}
    assert changed("files/assets/book.css") == changed("files/fonts/letters.ttf") == {"all", "files"}
    assert changed("store.py") == {"all"}
    assert changed("parts/__pycache__/base.cpython-311.pyc") == changed("presets/schema/job.json") == set()


def test_entries_that_were_swapped_are_made_again(tmp_path: Path) -> None:
    """A digest that does not cover the key would hand out one part for another."""
    store = Store(tmp_path)
    for name in ("base", "shell"):
        store.once(name, 1, (), name.encode)
    one, other = (store._path(key_of(name, 1, ())) for name in ("base", "shell"))
    first, second = one.read_bytes(), other.read_bytes()
    one.write_bytes(second)
    other.write_bytes(first)
    again = Store(tmp_path)
    assert [again.once(name, 1, (), name.encode) for name in ("base", "shell")] == [b"base", b"shell"]
    assert len(again.damaged) == 2


def test_garbage_with_a_right_digest_is_made_again_and_counted(tmp_path: Path) -> None:
    task = Task("part", 1, (), lambda: b"[1]")
    Store(tmp_path).put(task.key, b"garbage")
    store = Store(tmp_path)
    assert store.read(task, json.loads) == [1]
    assert store.damaged == [task.key]
    assert store.made == ["part"]
    again = Store(tmp_path)
    assert again.read(task, json.loads) == [1]
    assert again.damaged == again.made == []


def test_what_can_never_be_read_is_a_fault_of_ours(tmp_path: Path) -> None:
    with pytest.raises(ValueError, match="Expecting"):
        Store(tmp_path).read(Task("part", 1, (), lambda: b"garbage"), json.loads)


def test_pruning_takes_only_what_a_store_wrote(tmp_path: Path) -> None:
    """A folder of a maker's as the store's: whatever the names, files without our mark stay."""
    mine = [tmp_path / "ab" / ("c" * 62), tmp_path / "ab" / "thesis.txt", tmp_path / "photos" / ("d" * 62), tmp_path / "letter"]
    for path in mine:
        path.parent.mkdir(exist_ok=True)
        path.write_bytes(b"years of work")
    store = Store(tmp_path)
    store.once("part", 1, (), lambda: bytes(100))
    assert store.prune(0) == 1
    assert [path.read_bytes() for path in mine] == [b"years of work"] * 4


@pytest.mark.parametrize("garbage", GARBAGE)
def test_garbage_is_no_list_of_checks(garbage: bytes, tmp_path: Path) -> None:
    """Read as none at all, it would take every check of the solids out of a build."""
    judge = task("checks", 1, (), lambda: [Verdict("fit.lap", "fail", "panel", 0.1, 0.2, "mm", "too tight")])
    Store(tmp_path).put(judge.key, garbage)
    store = Store(tmp_path)
    assert [one.verdict for one in kept(store, [judge])] == ["fail"]
    assert store.damaged == [judge.key]


@pytest.mark.slow
def test_a_store_full_of_garbage_with_right_digests_ends_in_the_same_build(built: dict[str, Path], tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Every entry of a warm store replaced by each kind of garbage, its digest made right: the same files."""
    from fab import workshop
    from fab.params.read import load
    from fab.store import _head

    cache = tmp_path / "cache"
    monkeypatch.setenv("PANEJIG_CACHE", str(cache))
    lamp = load(Path(__file__).parents[2] / "params" / "bedside-lamp.toml")
    first = workshop.build(lamp, tmp_path / "out")
    for garbage in GARBAGE:
        entries = [path for path in cache.glob("??/*") if path.is_file()]
        for path in entries:
            key = path.parent.name + path.name
            path.write_bytes(_head(key, garbage) + garbage)
        again = workshop.build(lamp, tmp_path / f"again-{garbage.hex()}" / "out")
        assert again.manifest["files"] == first.manifest["files"]
        assert again.damaged == len(again.made) > 10
