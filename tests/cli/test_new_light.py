"""A new wall in a size that no design is shipped in is lit to its rim."""

from __future__ import annotations

from pathlib import Path

import pytest

from fab.cli.main import main
from fab.decisions import plans_of
from fab.light.figures import settled
from fab.light.scene import scene
from fab.light.solve import LightLimits
from fab.params.read import load

MORE = [("hexagon", "160"), ("hexagon", "3.5 in"), ("square", "150"), ("triangle", "120")]


@pytest.mark.parametrize(
    ("shape", "size"),
    [("hexagon", "100"), *(pytest.param(*one, marks=pytest.mark.slow) for one in MORE)],
)
def test_a_size_of_ones_own_is_lit_to_its_rim(shape: str, size: str, tmp_path: Path) -> None:
    words = [
        "new",
        "nook",
        "--shape",
        shape,
        "--size",
        size,
        "--panels",
        "3",
        "--into",
        str(tmp_path),
    ]
    assert main([*words, "-q"]) == 0
    job = load(tmp_path / "nook.toml").job
    found, _ = settled(scene(plans_of(job)["panel"], job.shop.filament.reflectance))
    assert LightLimits(job.light).kept(found)


def test_a_new_wall_needs_no_values_for_its_light(tmp_path: Path) -> None:
    words = ["new", "nook", "--size", "140", "--panels", "3", "--into", str(tmp_path), "-q"]
    assert main(words) == 0
    told = [path.read_text() for path in tmp_path.rglob("*.toml") if "shops" not in path.parts]
    assert len(told) == 2
    assert not [one for one in told if "\n[led]" in one or "\nled." in one or "\ndepth" in one]
