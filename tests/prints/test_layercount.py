"""Layers of simple bodies against closed forms, and of the demo's parts against a general
slicer.
"""

from __future__ import annotations

import math
import re
import shutil
import subprocess
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import trimesh
from hypothesis import given
from hypothesis import strategies as st

from fab.params.shop import Filament, Printer
from fab.prints.layercount import layer_count, spacing_mm
from fab.prints.mass import laid_mm3, printed
from fab.prints.sections import sections
from fab.solids.mesh import Mesh

PRINTER = Printer()


def mesh_of(made: trimesh.Trimesh) -> Mesh:
    """A mesh of the other library as ours, standing on the bed."""
    made.merge_vertices()
    made.apply_translation([0, 0, -made.bounds[0][2]])
    return Mesh(np.asarray(made.vertices).round(5), np.asarray(made.faces, np.int32))


def laid(mesh: Mesh, printer: Printer) -> float:
    found = layer_count(mesh, printer)
    return laid_mm3(found.first + found.rest, printer)


@given(
    x=st.floats(20, 120),
    y=st.floats(20, 120),
    layers=st.integers(14, 60),
    infill=st.sampled_from([0.0, 0.15, 1.0]),
)
def test_a_block_is_walls_skins_and_fill(x: float, y: float, layers: int, infill: Any) -> None:
    """Three lines all round, five layers above and below, the rest filled by its share: counted by
    hand.

    Left out by hand, and so the tolerance: threads of the first skin over loose fill, ways between
    fill lines.
    """
    z = layers * 0.2
    deep = (0.45 + spacing_mm(PRINTER)) / 2 + 2 * spacing_mm(PRINTER)
    inside = (x - 2 * deep) * (y - 2 * deep)
    rim = 2 * (x + y) * (0.45 - spacing_mm(PRINTER)) / 2
    span = inside * 0.2 * (math.pi * 0.04 / 0.45 / 0.2 - 1) * (infill < 1)
    loose = inside * (z - 2.0)
    by_hand = (x * y - inside - rim) * z + inside * 2.0 + loose * infill + span
    ways = 2 * (x + y) / math.pi * 0.0815 * (layers - 10) * (0 < infill < 1)
    got = laid(mesh_of(trimesh.creation.box((x, y, z))), replace(PRINTER, infill=infill))
    assert got == pytest.approx(by_hand + ways, rel=0.02)


def test_a_wall_of_two_lines_is_two_lines() -> None:
    """A ring 0.9 mm thick: an outer line along each face and nothing behind it."""
    ring = trimesh.creation.annulus(r_min=30.0, r_max=30.9, height=10.0, sections=256)
    found = layer_count(mesh_of(ring), PRINTER)
    lines = found.first + found.rest
    middle = 2 * math.pi * (30.225 + 30.675) * 50
    assert lines.outer_mm == pytest.approx(middle, rel=0.002)
    assert lines.loose_mm == lines.bridge_mm == 0
    solid = math.pi * (30.9**2 - 30.0**2) * 10
    assert 0.94 * solid < laid(mesh_of(ring), PRINTER) < solid


def test_a_table_top_bridges_to_the_air() -> None:
    """A plate of 40 x 40 on a post of 10 x 10: what hangs out is laid as a bridge once."""
    plate = trimesh.creation.box((40, 40, 4))
    plate.apply_translation([0, 0, 12])
    post = trimesh.creation.box((10, 10, 10.001))
    post.apply_translation([0, 0, 5])
    both = trimesh.boolean.union([plate, post], engine="manifold")
    found = layer_count(mesh_of(both), PRINTER)
    deep = (0.45 + spacing_mm(PRINTER)) / 2 + 2 * spacing_mm(PRINTER)
    air = (40 - 2 * deep) ** 2 - 100
    assert (found.first + found.rest).bridge_mm == pytest.approx(air / 0.45, rel=0.01)


@given(r=st.floats(3, 60), h=st.floats(1, 60))
def test_sections_hold_the_volume(r: float, h: float) -> None:
    """Layers' areas times their height against the mesh's own volume; a cone has another section on
    every layer.
    """
    cone = mesh_of(trimesh.creation.cone(r, h, sections=48))
    found = sections(cone, h / 40)
    volume = sum(found.shapes[k].area for k in found.number) * h / 40
    assert volume == pytest.approx(cone.volume_mm3, rel=2e-3)


def test_a_prism_has_one_section() -> None:
    prism = mesh_of(trimesh.creation.cylinder(10, 30, sections=6))
    found = sections(prism, 0.2)
    assert len(found.shapes) == 1
    assert len(found.number) == 150
    assert found.shapes[0].area == pytest.approx(prism.volume_mm3 / 30, rel=1e-6)


SLICER = shutil.which("prusa-slicer")
WIDTHS = (
    "",
    "first-layer-",
    "perimeter-",
    "external-perimeter-",
    "infill-",
    "solid-infill-",
    "top-infill-",
)


@pytest.mark.slow
@pytest.mark.kernel
@pytest.mark.skipif(SLICER is None, reason="no general slicer is installed")
@pytest.mark.parametrize("infill", [0.0, 0.15, 1.0])
@pytest.mark.parametrize("part", ["base", "shell", "clip"])
def test_grams_and_hours_against_a_general_slicer(part: str, infill: float, tmp_path: Path) -> None:
    """The demo's parts at the same widths, walls, skins and speeds: grams within 5 %, hours within
    20 %.
    """
    from fab.decisions import plans_of
    from fab.files.stl import stl
    from fab.params.presets import path_of
    from fab.params.read import load
    from fab.products import PartSpec, base_on, blank, body, made, plain_base
    from fab.products import part as made_part

    job = load(path_of("job", "reading-nook")).job  # type: ignore[arg-type]
    plan = plans_of(job)["panel"]
    spec = plain_base("panel") if part == "base" else PartSpec(part, "panel")
    data = (
        base_on(plan, spec.kind, body(plan, False, blank(plan)))
        if spec.kind
        else made_part(plan, part)
    )
    mesh = made(spec, data).mesh
    shop = replace(job.shop.printer, infill=infill)
    use = printed(layer_count(mesh, shop), shop, Filament())
    (tmp_path / "part.stl").write_bytes(stl(mesh, "part"))
    grams, hours = sliced(tmp_path, shop)
    assert use.grams == pytest.approx(grams, rel=0.05)
    assert use.hours == pytest.approx(hours, rel=0.20)


def sliced(folder: Path, printer: Printer) -> tuple[float, float]:
    """Grams and hours by the slicer, with this printer's lines and speeds."""
    assert SLICER is not None
    words = [
        SLICER,
        "--export-gcode",
        "--output",
        str(folder / "part.gcode"),
        "--nozzle-diameter",
        f"{printer.nozzle}",
        "--layer-height",
        f"{printer.layer}",
        "--first-layer-height",
        f"{printer.layer}",
        "--perimeters",
        f"{printer.perimeters}",
        "--top-solid-layers",
        f"{printer.skin_layers}",
        "--bottom-solid-layers",
        f"{printer.skin_layers}",
        "--fill-density",
        f"{printer.infill * 100:g}%",
        "--fill-pattern",
        "rectilinear",
        "--solid-infill-below-area",
        "0",
        "--skirts",
        "0",
        "--cooling=0",
        "--filament-density",
        "1.27",
        "--filament-diameter",
        "1.75",
        "--perimeter-speed",
        f"{printer.inner_mm_s}",
        "--external-perimeter-speed",
        f"{printer.outer_mm_s}",
        "--small-perimeter-speed",
        f"{printer.outer_mm_s}",
        "--infill-speed",
        f"{printer.fill_mm_s}",
        "--solid-infill-speed",
        f"{printer.fill_mm_s}",
        "--top-solid-infill-speed",
        f"{printer.fill_mm_s}",
        "--gap-fill-speed",
        f"{printer.inner_mm_s}",
        "--bridge-speed",
        f"{printer.bridge_mm_s}",
        "--first-layer-speed",
        f"{printer.first_mm_s}",
        "--travel-speed",
        f"{printer.travel_mm_s}",
        "--max-volumetric-speed",
        f"{printer.flow_mm3_s}",
        "--default-acceleration",
        f"{printer.acceleration_mm_s2}",
        "--machine-limits-usage",
        "time_estimate_only",
        "--gcode-flavor",
        "marlin",
    ]
    for name in WIDTHS:
        words += [f"--{name}extrusion-width", f"{printer.extrusion_width}"]
    for name in ("extruding", "travel", "x", "y"):
        words += [f"--machine-max-acceleration-{name}", f"{printer.acceleration_mm_s2}"]
    subprocess.run([*words, str(folder / "part.stl")], check=True, capture_output=True, timeout=300)
    text = (folder / "part.gcode").read_text()
    grams = float(re.search(r"filament used \[g\] = ([\d.]+)", text)[1])
    said = re.search(r"printing time \(normal mode\) = (.*)", text)[1]
    each = {unit: float(number) for number, unit in re.findall(r"(\d+)([dhms])", said)}
    return (
        grams,
        each.get("d", 0) * 24 + each.get("h", 0) + each.get("m", 0) / 60 + each.get("s", 0) / 3600,
    )
