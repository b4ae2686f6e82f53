"""The tree that a build leaves, read back by libraries that did not write it."""

from __future__ import annotations

import csv
import hashlib
import itertools
import json
import math
import re
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from fab.params.read import load
from fab.workshop import design_of, open_store

ROOT = Path(__file__).parents[2]
JOBS = (
    "reading-nook",
    pytest.param("bedside-lamp", marks=pytest.mark.slow),
    pytest.param("mixed-wall", marks=pytest.mark.slow),
)


def manifest(folder: Path) -> dict[str, Any]:
    return json.loads((folder / "manifest.json").read_text(encoding="utf-8"))


@pytest.mark.parametrize("job", JOBS)
def test_the_manifest_lists_exactly_the_files_there(built: dict[str, Path], job: str) -> None:
    folder = built[job]
    listed = {entry["path"]: entry for entry in manifest(folder)["files"]}
    there = {path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_file()}
    assert there == {*listed, "manifest.json"}
    for path, entry in listed.items():
        data = (folder / path).read_bytes()
        assert (entry["sha256"], entry["bytes"]) == (hashlib.sha256(data).hexdigest(), len(data))
    roles = {entry["role"] for entry in listed.values()}
    assert roles == {
        "print",
        "plate",
        "model",
        "cut-sheet",
        "cut-part",
        "template",
        "holes",
        "board",
        "list",
        "book",
    }


@pytest.mark.parametrize("job", JOBS)
def test_each_kind_of_sheet_has_a_picture_that_others_can_show(
    built: dict[str, Path], job: str
) -> None:
    entries = [entry for entry in manifest(built[job])["files"] if entry["path"].endswith(".png")]
    assert [entry["path"] for entry in entries] == [
        "cut/sheet-01.png"
    ]  # one sheet is enough for each of these jobs
    assert entries[0]["bytes"] < 400_000
    with pytest.importorskip("PIL.Image").open(built[job] / "cut" / "sheet-01.png") as image:
        assert image.size[0] == 186 * 8
        assert len(image.convert("RGB").getcolors(1 << 20)) > 8


def test_the_demo_counts_as_a_person_does_on_the_picture(built: dict[str, Path]) -> None:
    """Nine hexagons in a branch with a ring of three: nine joints, and 9 x 6 edges = 2 x joints +
    open edges.

    In a ring of three the last panel meets two at once: one joint of it can't be pushed together.
    Counted by hand.
    """
    counts = manifest(built["reading-nook"])["counts"]
    assert (counts["panels"], counts["joints"], counts["open_edges"], counts["diffusers"]) == (
        9,
        9,
        36,
        9,
    )
    assert 2 * counts["joints"] + counts["open_edges"] == 54
    assert counts["headers"] + counts["jumpers"] >= counts["joints"] - 1
    assert counts["clips"] == 2 * counts["joints"]
    assert counts["caps"] == counts["open_edges"] - counts["inlets"]
    assert sum(counts["bases"].values()) == counts["shells"] == 9


@pytest.mark.parametrize("job", JOBS)
def test_counts_agree_everywhere(built: dict[str, Path], job: str) -> None:
    folder = built[job]
    told = manifest(folder)
    counts = told["counts"]
    by_part: dict[str, int] = {}
    for entry in told["files"]:
        if entry["role"] == "print":
            assert entry["path"].endswith(f"_x{entry['count']}.stl")
            kind = entry["part"].split("-")[0]
            by_part[kind] = by_part.get(kind, 0) + entry["count"]
    assert by_part["base"] == counts["panels"]
    assert by_part["shell"] == counts["shells"]
    assert (by_part.get("clip", 0), by_part.get("cap", 0)) == (counts["clips"], counts["caps"])
    with open(folder / "lists" / "parts.csv", encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    listed = {
        part: sum(int(row["count"]) for row in rows if row["part"] == part)
        for part in ("base", "shell", "clip", "cap", "diffuser", "header")
    }
    assert listed == {
        "base": counts["panels"],
        "shell": counts["shells"],
        "clip": counts["clips"],
        "cap": counts["caps"],
        "diffuser": counts["diffusers"],
        "header": counts["headers"],
    }
    with open(folder / "lists" / "panels.csv", encoding="utf-8", newline="") as file:
        panels = list(csv.DictReader(file))
    assert len(panels) == counts["panels"]
    assert sum(len(row["neighbours"].split()) for row in panels) == 2 * counts["joints"]
    assert (
        json.loads((folder / "lists" / "panels.json").read_text(encoding="utf-8"))["panels"][0][
            "name"
        ]
        == panels[0]["name"]
    )


@pytest.mark.parametrize("job", JOBS)
def test_every_stl_is_one_closed_body_on_the_bed(built: dict[str, Path], job: str) -> None:
    """Read by trimesh: watertight, one body, wound outwards, volume of the solid, on z = 0, on the
    bed.
    """
    import trimesh

    folder = built[job]
    loaded = load(ROOT / "params" / f"{job}.toml")
    bed = loaded.job.shop.printer.bed
    for path in sorted((folder / "print").glob("*.stl")):
        mesh = trimesh.load_mesh(path)
        assert mesh.is_watertight, path.name
        assert mesh.is_winding_consistent, path.name
        assert mesh.body_count == 1, path.name
        assert mesh.volume > 0, path.name
        assert mesh.bounds[0][2] == 0.0, path.name
        wide, deep = sorted(mesh.extents[:2])
        assert wide <= min(bed)
        assert deep <= max(bed)


@pytest.mark.slow
def test_the_mesh_has_the_volume_of_the_solid(built: dict[str, Path]) -> None:
    """Chords of 0.02 mm on these parts are worth less than 0.1 % of volume.

    STEP read back by the kernel, STL by trimesh.
    """
    import cadquery as cq
    import trimesh

    folder = built["reading-nook"]
    for path in sorted((folder / "print").glob("*.stl")):
        name = path.stem.rpartition("_x")[0]
        solid = cq.importers.importStep(str(folder / "model" / f"{name}.step")).val()
        assert solid.isValid()
        assert trimesh.load_mesh(path).volume == pytest.approx(solid.Volume(), rel=1e-3)


@pytest.mark.slow
def test_every_plate_opens_in_the_reference_implementation_without_a_warning(
    built: dict[str, Path],
) -> None:
    """lib3mf in strict mode; the copies on all plates together are the counts of the STL files."""
    lib3mf = pytest.importorskip("lib3mf")
    wrapper = lib3mf.get_wrapper() if hasattr(lib3mf, "get_wrapper") else lib3mf.Wrapper()
    for job in ("reading-nook", "one-panel"):
        folder = built[job]
        copies: dict[str, int] = {}
        for path in sorted((folder / "print").glob("plate-*.3mf")):
            model = wrapper.CreateModel()
            reader = model.QueryReader("3mf")
            reader.SetStrictModeActive(True)
            reader.ReadFromFile(str(path))
            assert reader.GetWarningCount() == 0, path.name
            items = model.GetBuildItems()
            while items.MoveNext():
                found = items.GetCurrent().GetObjectResource()
                copies[found.GetName()] = copies.get(found.GetName(), 0) + 1
        wanted = {
            entry["part"]: entry["count"]
            for entry in manifest(folder)["files"]
            if entry["role"] == "print"
        }
        assert copies == wanted


@pytest.mark.parametrize("job", JOBS)
def test_every_sheet_audits_clean_and_holds_every_diffuser(
    built: dict[str, Path], job: str
) -> None:
    """ezdxf: no audit errors; areas inside the cut paths = count x (diffuser grown by half a kerf)
    to 0.01 %.
    """
    import ezdxf

    folder = built[job]
    loaded = load(ROOT / "params" / f"{job}.toml")
    design = design_of(loaded, open_store())
    wanted = 0.0
    for name, plan in design.plans.items():
        half = plan.stock.kerf / 2
        outline = plan.rings.diffuser
        # Steiner: a convex body with round corners grown by half a kerf
        grown = outline.area_mm2 + outline.length_mm * half + math.pi * half**2
        wanted += grown * design.panels_of[name]
    total = 0.0
    for path in sorted((folder / "cut").glob("sheet-*.dxf")):
        document = ezdxf.readfile(path)  # type: ignore[attr-defined]
        assert document.header["$INSUNITS"] == 4
        assert not document.audit().has_errors
        for line in document.modelspace().query("LWPOLYLINE"):
            assert line.closed  # type: ignore[attr-defined]
            with_arcs = ezdxf.path.make_path(line)
            points = list(with_arcs.flattening(0.0005))
            total += abs(sum(a.x * b.y - b.x * a.y for a, b in itertools.pairwise(points))) / 2
    assert total == pytest.approx(wanted, rel=1e-4)


@pytest.mark.parametrize("job", JOBS)
def test_the_outline_is_the_section_of_the_solid(built: dict[str, Path], job: str) -> None:
    """The diffuser's solid is extruded from the contour that is cut."""
    import cadquery as cq

    from tests.sections import section_area

    folder = built[job]
    design = design_of(load(ROOT / "params" / f"{job}.toml"), open_store())
    for name, plan in design.plans.items():
        stem = "diffuser" if name == "panel" else f"diffuser-{name}"
        solid = cq.importers.importStep(str(folder / "model" / f"{stem}.step")).val()
        middle = plan.heights.ledge_z + plan.stock.thickness / 2
        assert section_area(solid, middle) == pytest.approx(plan.rings.diffuser.area_mm2, rel=1e-9)  # type: ignore[arg-type]


@pytest.mark.slow
def test_the_assembled_wall_holds_every_part(built: dict[str, Path]) -> None:
    """STEP of the wall read back by the kernel's own reader: made and bought parts by the lists."""
    import cadquery as cq

    folder = built["reading-nook"]
    counts = manifest(folder)["counts"]
    with open(folder / "lists" / "parts.csv", encoding="utf-8", newline="") as file:
        listed = {row["item"]: int(row["count"]) for row in csv.DictReader(file)}
    screws = sum(count for item, count in listed.items() if re.match("screw M|wall screw", item))
    solids = cq.importers.importStep(str(folder / "model" / "assembly.step")).solids().vals()
    made = 4 * counts["panels"] + counts["clips"] + counts["caps"]
    assert len(solids) == made + counts["headers"] + screws + 2 * counts["inlets"]


def test_the_template_is_true_to_size(built: dict[str, Path]) -> None:
    """Read by pypdf: ISO 216 A4 pages (595.276 x 841.890 pt), and no scaling asked of the print
    dialog.
    """
    from pypdf import PdfReader

    reader = PdfReader(built["reading-nook"] / "wall" / "template-a4.pdf")
    for page in reader.pages:
        size = sorted((float(page.mediabox.width), float(page.mediabox.height)))
        assert size == pytest.approx([595.276, 841.890], abs=0.01)
    assert reader.trailer["/Root"]["/ViewerPreferences"]["/PrintScaling"] == "/None"
    assert "100 mm" in "".join(page.extract_text() for page in reader.pages)


def test_holes_lie_where_the_slots_of_the_bases_end(built: dict[str, Path]) -> None:
    """A second path: the base's solid placed in the wall frame and cut; the slot's upper end is the
    screw mark.
    """
    import cadquery as cq

    from fab.parts.keyhole import keyhole_for
    from fab.wall.holes import datum_panel

    folder = built["reading-nook"]
    design = design_of(load(ROOT / "params" / "reading-nook.toml"), open_store())
    with open(folder / "wall" / "holes.csv", encoding="utf-8", newline="") as file:
        holes = {
            row["panel"]: (float(row["x_mm"]), float(row["y_mm"])) for row in csv.DictReader(file)
        }
    datum = design.hung.by_panel[datum_panel(design.hung)]
    for name, (x, y) in holes.items():
        panel, use = design.layout.by_name[name], design.use_of[name]
        plan = design.plans[panel.design]
        solid = cq.importers.importStep(str(folder / "model" / f"base-{use.kind.key}.step")).val()
        turn = panel.turn_deg + use.steps * 360.0 / panel.cell.sides
        placed = solid.rotate(cq.Vector(), cq.Vector(0, 0, 1), turn).translate(
            cq.Vector(panel.x, panel.y, 0)
        )
        hole = keyhole_for(plan, use.kind.up_deg or 0.0, inlet=use.kind.inlet)
        assert hole is not None
        ends = [
            edge.Center()
            for edge in placed.Edges()
            if edge.geomType() == "CIRCLE"
            and abs(edge.radius() - hole.slot_w / 2) < 1e-6
            and abs(edge.Center().z) < 0.01
        ]
        centres = [
            edge.arcCenter()
            for edge in placed.Edges()
            if edge.geomType() == "CIRCLE" and abs(edge.radius() - hole.slot_w / 2) < 1e-6
        ]
        assert ends
        best = min(math.dist((c.x - datum.x, c.y - datum.y), (x, y)) for c in centres)
        assert best < 0.01, name


@pytest.mark.slow
def test_same_inputs_same_bytes_in_another_process(built: dict[str, Path], tmp_path: Path) -> None:
    """Another process, hash seed and an empty cache: every file but the manifest's seconds is the
    same. With kept parts in the default run:
    `test_folders_with_blanks_and_letters_of_all_languages`.
    """
    import os

    env = os.environ | {"PYTHONHASHSEED": "12345", "PANEJIG_CACHE": str(tmp_path / "cache")}
    code = (
        "import sys; from fab.cli.main import main; sys.exit(main(['build',"
        f" {str(ROOT / 'params' / 'bedside-lamp.toml')!r}, '--out', {str(tmp_path)!r}, '-q']))"
    )
    subprocess.run([sys.executable, "-c", code], check=True, env=env, cwd=ROOT)
    first, second = manifest(built["bedside-lamp"]), manifest(tmp_path / "bedside-lamp")
    assert {e["path"]: e["sha256"] for e in first["files"]} == {
        e["path"]: e["sha256"] for e in second["files"]
    }
    assert {k: v for k, v in first.items() if k != "seconds"} == {
        k: v for k, v in second.items() if k != "seconds"
    }


def test_an_unchanged_rebuild_loads_neither_kernel_nor_numbers(built: dict[str, Path]) -> None:
    out = built["reading-nook"].parent
    code = (
        "import sys; from fab.cli.main import main\ncode = main(['build',"
        f" {str(ROOT / 'params' / 'reading-nook.toml')!r}, '--out', {str(out)!r}])\nheavy ="
        " {'cadquery', 'OCP', 'numpy', 'scipy', 'shapely', 'ezdxf', 'reportlab'} &"
        " set(sys.modules)\nassert code == 0 and not heavy, (code, heavy)"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], check=False, cwd=ROOT, capture_output=True, text=True
    )
    assert done.returncode == 0, done.stderr
    assert "Nothing changed" in done.stdout


@pytest.mark.slow  # in the default run: the keys of the products, tests/workshop/test_products.py
def test_a_laser_value_remakes_no_solid(built: dict[str, Path], tmp_path: Path) -> None:
    from fab import workshop

    assert built["reading-nook"].is_dir()  # fills the cache
    loaded = load(ROOT / "params" / "reading-nook.toml", ["shop.stock.opal-3.kerf=0.21"])
    again = workshop.build(loaded, tmp_path)
    assert not [name for name in again.made if name.startswith(("part", "step", "stl", "plate"))]


@pytest.mark.slow
def test_a_layout_value_remakes_no_part_that_is_there(
    built: dict[str, Path], tmp_path: Path
) -> None:
    from fab import workshop

    assert built["reading-nook"].is_dir()  # fills the cache
    loaded = load(
        ROOT / "params" / "reading-nook.toml",
        ["layout.cells=[[0,0],[1,0],[1,1],[2,1],[3,0],[4,0],[4,1],[2,2]]"],
    )
    again = workshop.build(loaded, tmp_path)
    assert not [
        name
        for name in again.made
        if name in ("part shell", "part clip", "part cap", "part board", "part diffuser")
    ]
