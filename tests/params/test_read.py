"""The door as a whole: what comes out is frozen, complete, hashed by value, and the same in every
process.
"""

from __future__ import annotations

import json
import pickle
import subprocess
import sys
from collections.abc import Callable
from dataclasses import FrozenInstanceError, fields, is_dataclass
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from fab.errors import InputError
from fab.params.digest import canonical, inputs_sha256
from fab.params.job import Job
from fab.params.keys import all_keys
from fab.params.panel import PanelParams
from fab.params.read import Loaded, load
from fab.params.spec import specs

ROOT = Path(__file__).parents[2]
FULL = """\
job = "t"
title = "x"
[shop]
extends = "metric-bench"
stock.b = { thickness = "1/8 in" }
stock.a = { thickness = 2 }
[[shop.offcut]]
stock = "a"
outline = [[0, 0], [100, 0], [0, 100]]
holes = [[[10, 10], [20, 10], [10, 20]]]
[panel]
extends = "hexagon-120"
[designs.tri]
extends = "edge90-triangle"
[layout]
cells = [[0, 0], [1, 0]]
[[layout.panel]]
on = "A"
design = "tri"
[power]
inlet = ["A"]
socket = [[1, "2 in"]]
[hang]
studs = [0, 625]
zones = [[[0, 0], [1, 0], [0, 1]]]
"""


def test_the_job_is_frozen_all_the_way_down(read: Callable[..., Loaded]) -> None:
    job = read(FULL).job

    def walk(value: Any) -> None:
        if is_dataclass(value):
            for item in fields(value):
                walk(getattr(value, item.name))
        elif isinstance(value, dict):
            assert list(value) == sorted(value)
            for item in value.values():
                walk(item)
        elif isinstance(value, tuple):
            for item in value:
                walk(item)
        else:
            assert isinstance(value, (str, int, float, bool)) or value is None

    walk(job)
    with pytest.raises(FrozenInstanceError):
        job.title = "y"  # type: ignore[misc]
    assert job.shop.offcut[0].holes == (((10, 10), (20, 10), (10, 20)),)
    assert job.power.socket == ((1, 50.8),)
    assert job.layout.cells == ((0, 0), (1, 0))
    assert isinstance(job.hang.studs[1], float)
    assert pickle.loads(pickle.dumps(job)) == job


def test_lengths_are_floats_whatever_was_written(read: Callable[..., Loaded]) -> None:
    job = read(FULL, ["panel.depth=40", "panel.gap=0"]).job
    assert isinstance(job.panel.depth, float)
    assert isinstance(job.panel.gap, float)
    assert isinstance(job.panel.sides, int)


def test_comments_order_and_ways_to_write_do_not_change_the_hash(
    read: Callable[..., Loaded],
) -> None:
    one = read(FULL).inputs_sha256
    other = FULL.replace('title = "x"\n', "").replace(
        'job = "t"', '# a comment\ntitle = "x" # more\njob = "t"'
    )
    other = other.replace(
        'stock.b = { thickness = "1/8 in" }\nstock.a = { thickness = 2 }',
        'stock.a.thickness = "2 mm"\nstock.b.thickness = 3.175',
    )
    other = other.replace("studs = [0, 625]", 'studs = [-0.0, "62.5 cm"]')
    assert read(other).inputs_sha256 == one
    assert (
        read(
            FULL.replace(
                '[panel]\nextends = "hexagon-120"',
                "[panel]\nname = 'hexagon-120'\nacross_flats = 120",
            )
        ).inputs_sha256
        == one
    )


@pytest.mark.parametrize(
    "word",
    [
        "title=y",
        "panel.depth=36.000001",
        "shop.stock.a.kerf=0.19",
        "layout.cells=[[1,0],[0,0]]",
        "power.inlet=['B']",
    ],
)
def test_any_value_changes_the_hash(read: Callable[..., Loaded], word: str) -> None:
    assert read(FULL, [word]).inputs_sha256 != read(FULL).inputs_sha256


def test_the_hash_holds_the_version_of_the_tool(
    read: Callable[..., Loaded], monkeypatch: pytest.MonkeyPatch
) -> None:
    job = read(FULL).job
    before = inputs_sha256(job)
    monkeypatch.setattr("fab.params.digest.__version__", "99")
    assert inputs_sha256(job) != before


def test_every_declared_value_is_in_the_hash() -> None:
    """A key that the canonical form left out would let a build go stale."""
    whole = canonical(Job())
    assert whole.keys() == specs(Job).keys()
    assert whole["panel"].keys() == {item.name for item in fields(PanelParams)}
    json.dumps(whole, allow_nan=False)


@pytest.mark.slow
def test_another_process_reads_the_same(write: Callable[..., Path]) -> None:
    path = write(FULL)
    code = (
        "from pathlib import Path; from fab.params.read import load;"
        f" print(load(Path({str(path)!r})).inputs_sha256)"
    )
    found = {
        subprocess.run(
            [sys.executable, "-c", code],
            cwd=ROOT,
            env={"PYTHONHASHSEED": seed, "PATH": ""},
            capture_output=True,
            text=True,
            check=True,
        ).stdout.strip()
        for seed in ("1", "2")
    }
    assert found == {load(path).inputs_sha256}


def test_what_differs_from_the_defaults_is_told(read: Callable[..., Loaded]) -> None:
    rows = {row.key: row for row in read(FULL).changed}
    assert rows["shop.stock.b.thickness"].value == '"1/8 in"'
    assert rows["shop.stock.b.thickness"].default == "3"
    assert rows["shop.stock.b.thickness"].where == "job.toml:5"
    assert rows["layout.cells"].value == "[[0, 0], [1, 0]]"
    assert rows["layout.panel"].value == "1 entry"
    assert rows["designs.tri.sides"].default == "6"
    assert "shop.printer.nozzle" not in rows  # written in the preset, but as the default is
    assert rows["designs.tri.depth"].value == "48"  # of the shipped design
    assert "panel.gap" not in rows


def test_labels_are_the_same_wherever_the_job_lies(tmp_path: Path) -> None:
    rows = []
    for folder in ("a", "b/c"):
        path = tmp_path / folder / "job.toml"
        path.parent.mkdir(parents=True)
        path.write_text(FULL)
        rows.append(load(path).changed)
    assert rows[0] == rows[1]


def test_every_default_is_allowed(read: Callable[..., Loaded]) -> None:
    """Each default of the declarations, written out in a file, is taken and comes back."""
    from fab.params.values import convert

    def listed(value: Any) -> Any:
        return [listed(item) for item in value] if isinstance(value, tuple) else value

    empty_is_told = {"shop.offcut[].stock"}
    for key in all_keys():
        if key.spec.kind == "prices":  # a table of values, read name by name
            continue
        if key.spec.made_of is None and key.default is not None and key.dotted not in empty_is_told:
            assert convert(key.spec, listed(key.default)) == key.default, key.dotted


def test_each_bound_is_taken_and_what_lies_beyond_is_not() -> None:
    from fab.params.one_value import Bad
    from fab.params.values import convert

    for key in all_keys():
        spec = key.spec
        if spec.kind in ("length", "number", "count"):
            assert spec.least is not None
            assert spec.most is not None
            assert spec.least <= spec.most, key.dotted
            step = 1 if spec.kind == "count" else max(abs(spec.most), 1) * 1e-9
            make = int if spec.kind == "count" else float
            for bound, beyond in ((spec.least, spec.least - step), (spec.most, spec.most + step)):
                assert convert(spec, make(bound)) == bound
                with pytest.raises(Bad, match=r"(less|more) than"):
                    convert(spec, make(beyond))


@pytest.mark.slow
def test_ten_thousand_placed_panels_are_read(read: Callable[..., Loaded]) -> None:
    text = 'job = "t"\nshop = "metric-bench"\npanel = "hexagon-120"\n'
    text += "".join(
        f"[[layout.panel]]\ncell = [{k % 100}, {k // 100}]\nname = 'n{k}'\n" for k in range(10_000)
    )
    job = read(text).job
    assert len(job.layout.panel) == 10_000
    assert job.layout.panel[9_999].cell == (99, 99)


SCALARS = st.one_of(
    st.integers(-(10**20), 10**20),
    st.floats(),
    st.booleans(),
    st.text(max_size=12),
    st.sampled_from(["3 mm", "1/8 in", "opal-3", "A"]),
)
TREES = st.recursive(
    SCALARS,
    lambda inner: (
        st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=8), inner, max_size=3)
    ),
    max_leaves=8,
)
PATHS = st.sampled_from([key.path for key in all_keys()])


def _toml(value: Any) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return json.dumps(value).replace("\x7f", "\\u007f")
    if isinstance(value, dict):
        return (
            "{"
            + ", ".join(f"{json.dumps(key)} = {_toml(item)}" for key, item in value.items())
            + "}"
        )
    if isinstance(value, list):
        return "[" + ", ".join(map(_toml, value)) + "]"
    return (
        repr(value)
        if isinstance(value, int) or "e" in repr(value) or "n" in repr(value)
        else f"{value:f}"
    )


@settings(
    deadline=None, max_examples=300, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(st.lists(st.tuples(PATHS, TREES), min_size=1, max_size=4))
def test_any_value_anywhere_is_taken_or_told(
    write: Callable[..., Path], rows: list[tuple[tuple[str, ...], Any]]
) -> None:
    """Fuzz of the door: a job with anything behind any key is a Loaded or an InputError, never
    another exception.
    """
    text = (
        'job = "t"\nlayout.cells = [[0, 0]]\nshop.extends = "metric-bench"\npanel.extends ='
        ' "hexagon-120"\n'
    )
    for path, value in rows:
        dotted = ".".join("x" if part == "<name>" else part.removesuffix("[]") for part in path)
        if dotted not in text:
            text += f"{dotted} = {_toml(value)}\n"
    try:
        job = load(write(text)).job
    except InputError as refused:
        message = str(refused)
    else:
        message = ""
        assert inputs_sha256(job)
    assert not any(ord(mark) < 32 and mark != "\n" for mark in message)


@settings(
    deadline=None, max_examples=200, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(st.data())
def test_a_damaged_preset_is_taken_or_told(write: Callable[..., Path], data: st.DataObject) -> None:
    """Fuzz of the door: bytes of a good job cut out, doubled or replaced."""
    whole = bytearray((ROOT / "params" / "mixed-wall.toml").read_bytes())
    for _ in range(data.draw(st.integers(1, 4))):
        start = data.draw(st.integers(0, len(whole) - 1))
        stop = data.draw(st.integers(start, min(start + 20, len(whole))))
        whole[start:stop] = data.draw(
            st.one_of(st.just(whole[start:stop] * 2), st.binary(max_size=6))
        )
    try:
        load(write(bytes(whole)))
    except InputError as refused:
        assert str(refused)  # noqa: PT017 - the point is that nothing else is raised
