"""The store of products: found when nothing changed, made again when damaged, never in the way; and
the keys.
"""

from __future__ import annotations

import enum
import os
from dataclasses import dataclass
from functools import partial
from importlib.metadata import distributions
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

import fab
from fab.graph.product import Product, digest
from fab.graph.program import ENDINGS, LIBRARIES, source, versions
from fab.graph.run import run
from fab.graph.store import Store

KEY = "ab" * 32


def part(word: str, *_: bytes) -> bytes:
    return word.encode()


def other(word: str, *_: bytes) -> bytes:
    return word.encode()


def test_a_damaged_entry_is_made_again_and_told(tmp_path: Path) -> None:
    one: Product[Any] = Product("part", part, ("good",))
    run([one], Store(tmp_path))
    entry = next(path for path in tmp_path.rglob("*") if path.is_file())
    entry.write_bytes(entry.read_bytes()[:-1] + b"!")
    again = Store(tmp_path)
    assert run([one], again) == [b"good"]
    assert len(again.damaged) == 1
    assert Store(tmp_path).get(one.key) == b"good"


def test_fresh_ignores_what_is_there_and_keeps_the_new(tmp_path: Path) -> None:
    one: Product[Any] = Product("part", part, ("new",))
    Store(tmp_path).put(one.key, b"old")
    assert run([one], Store(tmp_path)) == [b"old"]
    for many in (1, 2):
        fresh = Store(tmp_path, read=False)
        assert run([one], fresh, many) == [b"new"]
    assert run([one], Store(tmp_path)) == [b"new"]


def test_a_stop_while_writing_leaves_no_half_entry(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def stop(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(os, "replace", stop)
    with pytest.raises(KeyboardInterrupt):
        Store(tmp_path).put(KEY, b"part")
    assert [path for path in tmp_path.rglob("*") if path.is_file()] == []


def test_the_store_is_bounded_and_drops_the_oldest(tmp_path: Path) -> None:
    store = Store(tmp_path)
    keys = [f"{k:02x}" * 32 for k in range(4)]
    for age, key in enumerate(keys):
        store.put(key, bytes(1000))
        os.utime(store._path(key), (age, age))
    assert store.prune(2500) == 2
    assert [store.get(key) is not None for key in keys] == [False, False, True, True]


def test_entries_that_were_swapped_are_made_again(tmp_path: Path) -> None:
    """A digest that does not cover the key would hand out one part for another."""
    made: list[Product[Any]] = [Product(name, part, (name,)) for name in ("base", "shell")]
    store = Store(tmp_path)
    run(made, store)
    one, two = (store._path(each.key) for each in made)
    first, second = one.read_bytes(), two.read_bytes()
    one.write_bytes(second)
    two.write_bytes(first)
    again = Store(tmp_path)
    assert run(made, again) == [b"base", b"shell"]
    assert len(again.damaged) == 2


def test_pruning_takes_only_what_a_store_wrote(tmp_path: Path) -> None:
    """A folder of a maker's as the store's: whatever the names, files without our mark stay."""
    mine = [
        tmp_path / "ab" / ("c" * 62),
        tmp_path / "ab" / "thesis.txt",
        tmp_path / "photos" / ("d" * 62),
        tmp_path / "letter",
    ]
    for path in mine:
        path.parent.mkdir(exist_ok=True)
        path.write_bytes(b"years of work")
    store = Store(tmp_path)
    store.put(KEY, bytes(100))
    assert store.prune(0) == 1
    assert [path.read_bytes() for path in mine] == [b"years of work"] * 4


@dataclass(frozen=True)
class Plan:
    wall: float
    name: str = ""


class Colour(enum.Enum):
    RED = 1


def test_a_key_covers_function_values_needs_and_how_they_are_read(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    need: Product[Any] = Product("need", part, ("a",))
    keys = [
        Product("p", part, (Plan(1.6),), (need,)).key,
        Product("p", other, (Plan(1.6),), (need,)).key,
        Product("p", part, (Plan(1.7),), (need,)).key,
        Product("p", part, (Plan(1.6),), ()).key,
        Product("p", part, (Plan(1.6),), (Product("need", part, ("b",)),)).key,
        Product("p", part, (Plan(1.6),), (Product("need", part, ("a",), read=str),)).key,
        Product("p", partial(part, "x"), (Plan(1.6),), (need,)).key,
    ]
    assert len(set(keys)) == len(keys)
    assert Product("another name", part, (Plan(1.6),), (need,)).key == keys[0]
    monkeypatch.setattr("fab.graph.product.program", lambda: "another program")
    assert Product("p", part, (Plan(1.6),), (need,)).key != keys[0]


PLAIN = st.recursive(
    st.none()
    | st.booleans()
    | st.integers(-3, 3)
    | st.floats(-2, 2)
    | st.text(max_size=3)
    | st.binary(max_size=3),
    lambda inner: (
        st.lists(inner, max_size=3)
        | st.tuples(inner, inner)
        | st.dictionaries(st.text(max_size=2), inner, max_size=2)
    ),
    max_leaves=6,
)


def exact(value: object) -> object:
    """What tells 1, 1.0 and True apart, which Python calls equal."""
    if isinstance(value, dict):
        return ("map", [(exact(key), exact(one)) for key, one in value.items()])
    if isinstance(value, list | tuple):
        return (type(value).__name__, [exact(one) for one in value])
    return (type(value).__name__, repr(value))


@given(PLAIN, PLAIN)
def test_two_values_have_one_digest_only_when_they_are_the_same(a: object, b: object) -> None:
    assert (digest(a) == digest(b)) == (exact(a) == exact(b))


@pytest.mark.parametrize("value", [object(), lambda: b"", Path("x"), Colour.RED, (1, object())])
def test_what_has_no_plain_content_is_no_input(value: object) -> None:
    with pytest.raises(TypeError, match="no input of a product"):
        digest(value)


def test_other_code_makes_another_product(tmp_path: Path) -> None:
    """Modules, styles, templates, scripts and fonts count; what Python leaves behind, and presets,
    which are inputs, don't.
    """
    names = (
        "parts/base.py",
        "files/assets/book.css",
        "files/assets/page.html",
        "files/fonts/letters.ttf",
        "presets/schema/job.json",
        "store.py",
    )
    for name in names:
        (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / name).write_text("before")

    def changes(name: str) -> bool:
        before = source(tmp_path)
        (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / name).write_text(f"after {name}")
        return source(tmp_path) != before

    assert all(map(changes, (*names[:4], names[5], "parts/new.py")))
    assert not any(map(changes, ("parts/__pycache__/base.cpython-311.pyc", names[4])))


def test_every_kind_of_file_in_the_package_is_code_that_counts() -> None:
    """But the licence of the font and the types of scripts, which no build reads."""
    files = (one for one in Path(fab.__file__).parent.rglob("*") if one.is_file())
    kinds = {one.suffix for one in files if one.parent.name != "__pycache__"}
    assert ".py" in kinds
    assert kinds - {".txt", ".ts"} <= ENDINGS


def test_versions_of_libraries_are_those_that_the_installer_tells() -> None:
    told = {one.metadata["Name"].lower().replace("_", "-"): one for one in distributions()}
    assert versions() == [f"{name} {told[name].version}" for name in LIBRARIES if name in told]
    assert len(versions()) > 10
