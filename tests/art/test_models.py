"""What is cut through a sheet is cut through its solid: STEP files read back by the kernel."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from fab.decisions import outline
from fab.outputs.art import diffusers
from fab.outputs.models import sheet_file, stencilled, stencils
from fab.params.read import Loaded
from tests.cases import few

TOP = '[[art]]\nletters = "O"\ncapital = 60\nat = [0, 0]\nwork = "stencil"\n'
OWN = '[[panel.art]]\nletters = "I"\ncapital = 20\nat = [0, -25]\nwork = "stencil"\n'


def read_back(data: Any, tmp_path: Any) -> Any:
    import cadquery as cq

    path = tmp_path / "x.step"
    path.write_bytes(data)
    return cq.importers.importStep(str(path)).val()


@pytest.mark.parametrize("kind", few(["own", "of the wall"], 0))
def test_the_step_of_a_stencil_has_its_holes(
    wall: Callable[..., Loaded], tmp_path: Path, kind: str
) -> None:
    """Volume = area of the outline that is cut, less the kerf's doing, times the sheet's thickness;
    one body.
    """
    job = wall(TOP if kind == "of the wall" else "", OWN).job
    design = outline(job)
    plan = design.plans["panel"]
    one = next(found for found in stencils(design) if (kind == "own") == (found.item == "diffuser"))  # type: ignore[arg-type]
    solid = read_back(sheet_file(one.item, plan, tuple(one.art.holes)), tmp_path)
    flat = one.outline(design)
    assert len(flat.holes) == len(one.art.holes) >= 1
    assert solid.isValid()
    assert solid.Volume() == pytest.approx(flat.area_mm2 * plan.stock.thickness, rel=1e-6)
    box = solid.BoundingBox()
    assert (box.zmin, box.zmax) == pytest.approx(
        (plan.heights.ledge_z, plan.heights.ledge_z + plan.stock.thickness), abs=1e-6
    )
    assert box.xmax == pytest.approx(plan.rings.diffuser.box[2], abs=1e-6)


def test_each_panel_of_the_assembly_has_its_own_sheet(wall: Callable[..., Loaded]) -> None:
    """Every panel has the design's stencil; the one with the picture of the wall has both."""
    design = outline(wall(TOP, OWN).job)
    sheets = stencilled(design)  # type: ignore[arg-type]
    assert set(sheets) == {panel.name for panel in design.layout.panels}
    assert len({one.item for one in sheets.values()}) == 2
    home = next(p.name for p in design.layout.panels if abs(p.x) < 1e-6 and abs(p.y) < 1e-6)
    assert all(
        len(sheets[home].art.holes) > len(one.art.holes)
        for name, one in sheets.items()
        if name != home
    )


def test_engraving_alone_changes_no_solid(wall: Callable[..., Loaded]) -> None:
    design = outline(wall(TOP.replace("stencil", "engrave")).job)
    assert len(diffusers(design)) == 2
    assert stencils(design) == []  # type: ignore[arg-type]
