"""A new job: it reads, it is the maker's own, and its wall is drawn in it."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fab.errors import InputError
from fab.layout.find import find_layout
from fab.params.job import LayoutParams
from fab.params.new_job import SHAPES, SIDES, arrangement, draft
from fab.params.read import load
from fab.params.wallmap import drawn, pieces_of
from fab.parts.plan import cell_of


def _written(folder: Path, files: dict[str, bytes]) -> None:
    for name, data in files.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(data)


@pytest.mark.parametrize("shop", ["metric-bench", "inch-bench"])
@pytest.mark.parametrize("shape", list(SHAPES))
@pytest.mark.parametrize("size", ["", "100", "4 in", '4 1/2"'])
def test_a_new_job_reads_with_its_own_copies(
    shape: str, shop: str, size: str, tmp_path: Path
) -> None:
    _written(tmp_path, draft("den", shape, arrangement(shape, 5), shop, size))
    loaded = load(tmp_path / "den.toml")
    assert loaded.job.job == "den"
    assert all(path.is_relative_to(tmp_path) for path in loaded.sources)
    assert len(drawn(loaded.job.layout.map, loaded.job.panel.sides)) == 5
    assert loaded.job.panel.depth is None  # it follows the size
    found = loaded.job.panel.across_flats if shape == "hexagon" else loaded.job.panel.edge
    assert (
        found
        == {"": 120 if shape == "hexagon" else 90, "100": 100, "4 in": 101.6, '4 1/2"': 114.3}[size]
    )
    schema = (tmp_path / "den.toml").read_text().splitlines()[0].removeprefix("#:schema ")
    assert (tmp_path / schema).is_file()


@pytest.mark.parametrize("shape", list(SHAPES))
@pytest.mark.parametrize("panels", [1, 2, 7, 26, 27, 40])
def test_an_arrangement_is_one_piece_and_is_drawn_as_it_is(
    shape: str, panels: int, tmp_path: Path
) -> None:
    cells = arrangement(shape, panels)
    _written(tmp_path, draft("den", shape, cells, "metric-bench"))
    job = load(tmp_path / "den.toml").job
    layout = find_layout(job.layout, lambda name: cell_of(job.design(name)))
    assert len(layout.panels) == panels
    assert len(layout.groups) == 1
    listed = find_layout(LayoutParams(cells=tuple(cells)), lambda name: cell_of(job.design(name)))
    assert len(layout.joints) == len(listed.joints)
    if shape != "triangle":  # their middles lie in two lines a row
        assert [panel.name for panel in layout.panels] == [panel.name for panel in listed.panels]
    if panels > 5:
        assert len(layout.joints) >= panels  # there is a ring in it


@settings(deadline=None)
@given(st.integers(1, 1000), st.sampled_from(list(SHAPES)))
def test_an_arrangement_has_as_many_cells_as_asked(panels: int, shape: str) -> None:
    cells = arrangement(shape, panels)
    assert len(set(cells)) == panels
    assert pieces_of(cells, SIDES[shape]) == 1


def test_cells_that_do_not_touch_are_written_as_separate_groups(tmp_path: Path) -> None:
    _written(tmp_path, draft("den", "square", [(0, 0), (2, 0)], "metric-bench"))
    job = load(tmp_path / "den.toml").job
    assert job.layout.groups == "separate"
    assert len(find_layout(job.layout, lambda name: cell_of(job.design(name))).groups) == 2


@pytest.mark.parametrize(
    ("words", "says"),
    [
        ({"name": "my den"}, r'NAME: "my den" is not allowed here.*For example "my-den"'),
        ({"name": "../den"}, r"NAME: .*not allowed here"),
        ({"name": "con"}, r"NAME: .*reserved name of Windows"),
        ({"cells": []}, r"--panels: 0 panels: out of range"),
        ({"cells": [(0, 0), (0, 0)]}, r"--cells: \[0, 0\] is listed more than once"),
        ({"cells": [(0, 999_999)]}, r"--cells: .*more than 100000"),
        ({"shop": "mine"}, r"--shop: there is no shop preset \"mine\".*inch-bench, metric-bench"),
        ({"size": "2 mm"}, r'--size: "2 mm" is less than 5 mm'),
        ({"size": "nan"}, r"--size: nan is not a usable number"),
        ({"size": "big"}, r'--size: "big" is not a length'),
        ({"size": "5,5"}, r"--size: .*decimal comma"),
    ],
)
def test_what_can_not_be_drafted_is_told(words: dict[str, object], says: str) -> None:
    usual: dict[str, object] = {
        "name": "den",
        "shape": "hexagon",
        "cells": [(0, 0)],
        "shop": "metric-bench",
        "size": "",
    }
    with pytest.raises(InputError, match=says):
        draft(**{**usual, **words})  # type: ignore[arg-type]
