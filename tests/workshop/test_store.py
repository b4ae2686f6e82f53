"""The store of products: found when nothing changed, made again when damaged, never in the way."""

from __future__ import annotations

from pathlib import Path

import pytest

from fab.store import Store, key_of, sources, version_of


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
