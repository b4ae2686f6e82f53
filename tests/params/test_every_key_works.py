"""Another value of a key of shop and job changes what is made or checked: a figure of the plan, a
verdict, a list, or a drawing. Solids, layer counts and weights stay those of the first job.

Keys of tables that may stand several times (art, offcuts, panels, what a drawing means) have their
effects tested in their own rooms.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest

from fab.checks.hang_order import template_checks
from fab.decisions import decide
from fab.design import Design
from fab.errors import PanejigError
from fab.outputs.assemble import drawn, listed
from fab.outputs.prepared import prepare
from fab.params.changing import value_of, with_values
from fab.params.job import Job
from fab.params.keys import Key, all_keys
from fab.params.read import load
from fab.products import Figures, PartSpec
from fab.verdicts import cut_verdicts, early_verdicts, light_verdicts
from fab.workshop import open_store, recipe_of, run_of
from tests.conftest import Built

from .test_no_dead_key import fingerprint, others, room_text

pytestmark = [pytest.mark.slow, pytest.mark.kernel]

HOLD_ALL = "lists/job.toml"  # it tells every value, whatever comes of it
KINDS = ("lists", "wall", "board", "cut")  # from quick to slow
NAMES = {"stock": "opal-3", "wall": "plaster", "roll": "blue"}
# With these a key speaks that is silent otherwise.
WITH: dict[str, list[tuple[str, str]]] = {
    "shop.roll": [("panel.shell.roll", '"blue"')],
    "hang.stud": [("hang.studs", "[-60.0, 60.0]")],
    "hang.rail": [("hang.rails", "[60.0]")],
    "hang.jig": [("hang.jig", "true")],
    "power.cable_mm": [("power.socket", "[[0.0, -400.0]]")],
    "shop.laser.engrave": [("shop.laser.part_names", "true")],
    "shop.laser.mark": [("panel.diffuser.mark", "true")],
}
# Where a step from the value, or from none, is no value.
VALUES = {
    "shop.filament.snap_strain": ["0.03"],
    "shop.stock.<name>.tolerance": ["0.6"],
    "shop.roll.<name>.reflectance": ["0.1"],
    "power.inlets": ["2"],
    "hang.wall": ['"brick"'],
    "hang.jig_stock": ['"ply-3"'],
}
# Read by the book alone, or by a search that has time: the room that does.
ELSEWHERE = {
    "licence": "pack",
    "summary.price": "book",
    "summary.note": "book",
    "nest.seconds": "outputs",
}


@dataclass(frozen=True)
class Ground:
    """The first job, what was measured of its solids, and what it comes to."""

    job: Job
    masses: Mapping[str, Any]
    made: Mapping[PartSpec, Figures]
    layers: Mapping[PartSpec, Any]
    known: dict[tuple[Any, ...], dict[str, Any]] = field(default_factory=dict)

    def first(self, changes: Sequence[tuple[str, str]], *, lit: bool) -> dict[str, Any]:
        """What the first job comes to, with the changes that make a key speak."""
        asked = (*changes, lit)
        if asked not in self.known:
            job = with_values(self.job, changes)
            self.known[asked] = dict(effects(self, job, lit=lit))
        return self.known[asked]


class Alike(dict[PartSpec, Any]):
    """Measures by part; for a part that the first job has not, those of one of its kind."""

    def __missing__(self, spec: PartSpec) -> Any:
        return next(value for one, value in self.items() if one.part == spec.part)


@pytest.fixture(scope="module")
def ground(built: Built) -> Ground:
    assert built["one-panel"]  # its solids are in the store
    path = Path(__file__).parents[1] / "one-panel.toml"
    roll = 'shop.roll.blue={ colour = "#0072b2" }'
    loaded = load(path, ["layout.cells=[[0, 0], [1, 0], [0, 1]]", roll])
    with run_of(open_store()) as run:
        recipe = recipe_of(loaded, run, ("checks",))
        layers = {spec: run.value(recipe.parts.layers(spec)) for spec in recipe.counted}
        return Ground(loaded.job, recipe.design.masses, Alike(recipe.made), Alike(layers))


def effects(ground: Ground, job: Job, *, lit: bool) -> Iterator[tuple[str, Any]]:
    """All that a job comes to, quick things first."""
    design = decide(job, lambda _plans, _layout: ground.masses)
    for name, made in design.plans.items():
        yield name, tuple(fingerprint(made))
    yield "design", (design.counts, design.hung, design.wired, design.order, design.uses)
    early = early_verdicts(design, tried=False, ways=False)
    yield "checks", _judged(early)
    if lit:
        yield "light", _judged(light_verdicts(job, design.plans, remedies=False, coarse=True))
    yield from _files(ground, design)


def _files(ground: Ground, design: Design) -> Iterator[tuple[str, Any]]:
    prepared = prepare(design, ground.made, ground.layers)
    yield "sheets", _judged([*cut_verdicts(prepared), *template_checks(prepared.template.tiling)])
    yield "plates", prepared.plates
    tables = listed(design, prepared)
    yield "tables", tables
    for kind in KINDS:
        for file in drawn(kind, design, prepared, tables):
            if file.path != HOLD_ALL:
                yield file.path, file.data


def _judged(found: Any) -> Any:
    return [(one.id, one.verdict, one.measured, one.limit, one.says) for one in found]


SCALAR = ("number", "length", "count", "flag", "choice", "text", "pair")
KEYS = [
    key
    for key in all_keys()
    if key.path[0] not in ("panel", "designs")
    and key.spec.kind in SCALAR
    and key.spec.made_of is None
    and "[]" not in key.dotted
]


def texts(key: Key, now: Any) -> list[str]:
    """Other values as they stand in a file."""
    kind = key.spec.kind
    if key.dotted in VALUES:
        return VALUES[key.dotted]
    if kind == "pair":
        return [str([round(0.7 * side, 3) for side in now]), str([2 * side for side in now])]
    if kind == "text":
        return ['"#123456"'] if key.path[-1] == "colour" else ['"YARD"']
    values = others(key, now if now is not None else 20.0)
    return [
        str(one).lower() if isinstance(one, bool) else repr(one).replace("'", '"') for one in values
    ]


@pytest.mark.parametrize("key", KEYS, ids=lambda key: key.dotted)
def test_another_value_of_a_key_changes_something(key: Key, ground: Ground) -> None:
    dotted = key.dotted
    if dotted in ELSEWHERE:
        assert re.search(rf"[.\"]{key.path[-1]}\b", room_text(ELSEWHERE[dotted])), dotted
        return
    named = dotted.replace("<name>", NAMES[key.path[1]]) if "<name>" in dotted else dotted
    changes = next((values for begins, values in WITH.items() if dotted.startswith(begins)), [])
    lit = dotted.startswith(("light.", "shop.stock", "shop.filament", "shop.roll"))
    job = with_values(ground.job, changes)
    before = ground.first(changes, lit=lit)
    for text in texts(key, value_of(job, named)):
        try:
            for name, value in effects(ground, with_values(job, [(named, text)]), lit=lit):
                if before.get(name) != value:
                    return
        except (PanejigError, ValueError, ZeroDivisionError):
            continue
    raise AssertionError(f"no other value of {dotted} changes anything")


def test_the_same_job_comes_to_the_same(ground: Ground) -> None:
    """Else every key would pass."""
    assert dict(effects(ground, ground.job, lit=True)) == ground.first([], lit=True)
