"""What ships: every preset reads, and the jobs are what their first lines promise."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from fab.layout.find import find_layout
from fab.layout.model import Layout
from fab.params import presets
from fab.params.panel import PanelParams
from fab.params.read import Loaded, load
from fab.parts.plan import cell_of


def _load(job: str) -> Loaded:
    path = presets.path_of("job", job)
    assert path is not None
    return load(path)


def _layout(job: str) -> Layout:
    found = _load(job).job
    return find_layout(found.layout, lambda name: cell_of(found.design(name)))


def test_two_shops_four_panels_and_three_jobs_ship() -> None:
    assert presets.names("shop") == ["inch-bench", "metric-bench"]
    assert presets.names("panel") == [
        "edge90-hexagon",
        "edge90-square",
        "edge90-triangle",
        "hexagon-120",
    ]
    assert presets.names("job") == ["bedside-lamp", "mixed-wall", "reading-nook"]
    assert all(preset.says for preset in presets.listed())
    assert presets.path_of("job", "../reading-nook") is None
    assert presets.path_of("shop", "reading-nook") is None


def test_presets_of_a_wheel_are_found_beside_the_package(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "fab" / "presets" / "shops").mkdir(parents=True)
    (tmp_path / "fab" / "presets" / "shops" / "wheel.toml").write_text("# From a wheel.\n")
    monkeypatch.setattr(presets, "__file__", str(tmp_path / "fab" / "params" / "presets.py"))
    presets.home.cache_clear()
    try:
        assert presets.names("shop") == ["wheel"]
        assert [preset.says for preset in presets.listed()] == ["From a wheel."]
        monkeypatch.setattr(
            presets, "__file__", str(tmp_path / "nowhere" / "params" / "presets.py")
        )
        presets.home.cache_clear()
        assert presets.home() is None
        assert presets.listed() == []
    finally:
        presets.home.cache_clear()


@pytest.mark.parametrize("job", presets.names("job"))
def test_a_shipped_job_reads_and_bears_its_file_name(job: str) -> None:
    assert _load(job).job.job == job


@pytest.mark.parametrize("panel", presets.names("panel"))
@pytest.mark.parametrize("shop", presets.names("shop"))
def test_every_panel_goes_with_every_shop(shop: str, panel: str, tmp_path: Path) -> None:
    path = tmp_path / "job.toml"
    path.write_text(f'shop = "{shop}"\npanel = "{panel}"\nlayout.cells = [[0, 0]]\n')
    assert load(path).job.panel.name == panel


def test_the_demo_counts_as_a_person_counts() -> None:
    """Nine hexagons have 54 edges; a branch has one joint fewer than panels, a ring one more."""
    layout = _layout("reading-nook")
    assert len(layout.panels) == 9
    assert len(layout.joints) == 9
    assert len(layout.open_edges) == 54 - 2 * 9 == 36
    assert len(layout.groups) == 1


def test_the_mixed_wall_is_a_rocket_in_one_piece() -> None:
    layout = _layout("mixed-wall")
    assert sorted(panel.cell.sides for panel in layout.panels) == [3, 3, 3, 4, 4, 6]
    assert len(layout.joints) == 5
    assert len(layout.groups) == 1
    by_name = layout.by_name
    assert by_name["nose"].y > by_name["cabin"].y > by_name["hull"].y > by_name["engine"].y
    assert by_name["nose"].x == pytest.approx(by_name["engine"].x)
    assert by_name["left"].x < by_name["hull"].x < by_name["right"].x
    top = max(by_name["nose"].corners, key=lambda corner: corner[1])
    assert top[0] == pytest.approx(by_name["nose"].x)  # its point is up


def test_the_lamp_is_one_panel_of_an_inch_shop() -> None:
    job = _load("bedside-lamp").job
    assert job.shop.units == "in"
    assert job.panel.edge == pytest.approx(3.25 * 25.4)
    assert job.panel.across_flats is None
    assert len(_layout("bedside-lamp").panels) == 1


def test_the_edge_family_shares_edge_and_interface() -> None:
    """Edge 90 mm: apothems 90/2/tan(pi/n) = 77.942, 45, 25.981 mm.

    Source: regular polygons, closed form.
    """
    found = {}
    for panel in ("edge90-hexagon", "edge90-square", "edge90-triangle"):
        path = presets.path_of("panel", panel)
        assert path is not None
        job = path.parent.parent / "reading-nook.toml"
        found[panel] = load(job, [f"panel={panel}", "layout.map=A"]).job.panel
    assert {panel.edge for panel in found.values()} == {90}
    apothems = [cell_of(panel).apothem for panel in found.values()]
    assert apothems == pytest.approx([90 / 2 * math.sqrt(3), 45, 90 / 2 / math.sqrt(3)])
    for key in (
        "gap",
        "depth",
        "base",
        "shell",
        "board",
        "header",
        "clip",
        "inlet",
        "corner_radius",
    ):
        assert len({repr(getattr(panel, key)) for panel in found.values()}) == 1


def test_the_hexagon_is_120_across_flats() -> None:
    panel = _load("reading-nook").job.panel
    assert isinstance(panel, PanelParams)
    assert cell_of(panel).apothem == 60
    assert cell_of(panel).edge == pytest.approx(69.28203, abs=1e-5)  # 120 / sqrt(3)


def test_both_shops_measure_their_opal_sheet_alike() -> None:
    metric, inch = _load("reading-nook").job.shop, _load("bedside-lamp").job.shop
    assert metric.stock["opal-3"].thickness == 3
    assert inch.stock["opal-3"].thickness == pytest.approx(2.9972)  # 0.118 in
    assert (inch.stock["opal-3"].width, inch.stock["opal-3"].height) == pytest.approx(
        (609.6, 304.8)
    )
    assert metric.paper.size == "A4"
    assert inch.paper.size == "Letter"
    assert metric.stock["opal-3"].kerf != inch.stock["opal-3"].kerf


@pytest.mark.parametrize("shop", presets.names("shop"))
def test_walls_of_a_shop_say_what_to_use_there(shop: str) -> None:
    path = presets.path_of("job", "reading-nook")
    assert path is not None
    walls = load(path, [f"shop={shop}"]).job.shop.wall
    assert len(walls) == 4
    assert all(wall.note and wall.shear_n <= 120 and wall.pull_n <= 60 for wall in walls.values())
