"""The recipe's products: what shapes a part makes another one, what does not leaves it; same bytes
whoever makes them.
"""

from __future__ import annotations

import dataclasses
import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from fab import workshop
from fab.decisions import plans_of
from fab.graph.run import Run
from fab.graph.store import Store, _head
from fab.graph.workers import VARIABLE
from fab.layout.model import BaseKind
from fab.params.read import load
from fab.params.shop import Clearance
from fab.products import FREE_OF_PRINTER, OF_STOCK, PartSpec, lighting, plain_base, shaping
from fab.recipe import checks, files
from fab.recipe.parts import PartProducts

ROOT = Path(__file__).parents[2]
NOOK = ROOT / "params" / "reading-nook.toml"
ONE = ROOT / "tests" / "one-panel.toml"


def parts_of(*sets: str) -> PartProducts:
    loaded = load(NOOK, sets)
    found = workshop.recipe_of(loaded, Run(Store(None)), ()).parts
    found.plans = plans_of(loaded.job)
    return found


def keys(found: PartProducts) -> dict[str, str]:
    shell = PartSpec("shell", "panel")
    asked = {
        "base": found.part(plain_base("panel")),
        "shell": found.part(shell),
        "layers": found.layers(shell),
        "on bed": checks.on_bed(found, shell),
        "light": checks.light(found, "panel"),
        "stl": files.stl(found, shell),
    }
    return {name: one.key for name, one in asked.items()}


@pytest.mark.parametrize(
    ("word", "new"),
    [
        ("shop.stock.opal-3.kerf=0.25", set()),
        ("shop.stock.opal-3.price=99", set()),
        ("layout.turn_deg=20", set()),
        ("shop.printer.time_factor=1.3", {"on bed", "light"}),
        ("shop.printer.perimeters=4", {"layers", "on bed", "light"}),
        ("shop.stock.opal-3.transmission=0.6", {"light"}),
        ("shop.filament.reflectance=0.7", {"light"}),
        ("shop.printer.layer=0.25", {"base", "shell", "layers", "on bed", "light", "stl"}),
        ("panel.shell.wall=2.25", {"base", "shell", "layers", "on bed", "light", "stl"}),
    ],
)
def test_a_value_makes_new_what_it_shapes_and_nothing_else(word: str, new: set[str]) -> None:
    before, after = keys(parts_of()), keys(parts_of(word))
    assert {name for name in before if before[name] != after[name]} == new


def test_a_maker_is_given_nothing_that_is_not_in_its_key() -> None:
    """What is left out of the values that shape a part has the default's value when the maker sees
    it.
    """
    plan = plans_of(load(NOOK).job)["panel"]
    odd = dataclasses.replace(
        plan,
        printer=dataclasses.replace(
            plan.printer, bed=(123.0, 456.0), travel_mm_s=7.0, clearance=Clearance(sliding=0.31)
        ),
        stock=dataclasses.replace(plan.stock, kerf=1.9, price=1e5, thickness=4.5),
        params=dataclasses.replace(plan.params, name="odd"),
    )
    seen = shaping(odd)
    default = type(plan.printer)()
    for item in dataclasses.fields(plan.printer):
        source = default if item.name in FREE_OF_PRINTER else odd.printer
        assert getattr(seen.printer, item.name) == getattr(source, item.name)
    assert {name: getattr(seen.stock, name) for name in OF_STOCK} == {
        name: getattr(odd.stock, name) for name in OF_STOCK
    }
    assert seen.stock.kerf == type(plan.stock)().kerf
    assert seen.params.name == type(plan.params)().name
    assert (
        lighting(odd).printer == odd.printer
    )  # its remedies ask whether another panel fits the bed


def test_bases_that_differ_by_their_name_share_all_else() -> None:
    found = parts_of()
    named = [
        PartSpec("base", "panel", BaseKind(f"hanger-{name}", "panel", False, 90.0, name))
        for name in "AB"
    ]
    one, two = (found.part(spec) for spec in named)
    assert one.key != two.key
    assert [need.key for need in one.needs] == [need.key for need in two.needs]
    assert one.needs[0].name == "part base"
    first, second = (checks.on_bed(found, spec) for spec in named)
    assert first.needs[1].key == second.needs[1].key  # measured once


def test_the_one_panel_of_the_tests_has_the_solids_of_the_demo() -> None:
    """So that no other is made for its build."""
    one, nook = (plans_of(load(path).job)["panel"] for path in (ONE, NOOK))
    assert shaping(one) == shaping(nook)


@pytest.mark.slow
@pytest.mark.kernel
def test_two_processes_leave_the_same_bytes_as_one(tmp_path: Path) -> None:
    """A whole cold build of the demo each: every file, and the manifest but for its seconds."""
    found = []
    for count in ("1", "2"):
        out = tmp_path / count
        env = os.environ | {VARIABLE: count, "PANEJIG_CACHE": str(tmp_path / f"cache {count}")}
        words = ["build", str(NOOK), "--out", str(out), "-q"]
        code = f"import sys; from fab.cli.main import main; sys.exit(main({words!r}))"
        subprocess.run([sys.executable, "-c", code], check=True, env=env, cwd=ROOT)
        tree: dict[str, Any] = {
            path.relative_to(out).as_posix(): path.read_bytes()
            for path in out.rglob("*")
            if path.is_file()
        }
        manifest = json.loads(tree.pop("reading-nook/manifest.json"))
        found.append((tree, {key: value for key, value in manifest.items() if key != "seconds"}))
    assert found[0] == found[1]


@pytest.mark.slow
def test_a_store_full_of_garbage_with_right_digests_ends_in_the_same_build(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Every entry of a warm store replaced by each kind of garbage, its digest made right: the same
    files.
    """
    cache = tmp_path / "cache"
    monkeypatch.setenv("PANEJIG_CACHE", str(cache))
    lamp = load(ROOT / "params" / "bedside-lamp.toml")
    first = workshop.build(lamp, tmp_path / "out")
    for garbage in (b"", b"garbage", b"{}", b"[]"):
        entries = [path for path in cache.glob("??/*") if path.is_file()]
        for path in entries:
            key = path.parent.name + path.name
            path.write_bytes(_head(key, garbage) + garbage)
        again = workshop.build(lamp, tmp_path / f"again-{garbage.hex()}" / "out")
        assert again.manifest["files"] == first.manifest["files"]
        assert again.damaged == len(again.made) > 10
