"""JSON Schemas: fresh, valid, and of one mind with the door on what it can say."""

from __future__ import annotations

import json
import re
import tomllib
from collections.abc import Callable
from functools import cache
from pathlib import Path

import jsonschema
import pytest

from fab.errors import InputError
from fab.params import presets
from fab.params.read import load
from fab.params.schema import MODELS, files, schema

ROOT = Path(__file__).parents[2]
GOOD = 'job = "t"\n[shop]\nextends = "metric-bench"\n[layout]\ncells = [[0, 0]]\n[panel]\n'


@cache
def _validator(kind: str) -> jsonschema.Draft7Validator:
    return jsonschema.Draft7Validator(schema(kind))


@pytest.mark.parametrize("kind", list(MODELS))
def test_the_schema_is_a_valid_schema(kind: str) -> None:
    jsonschema.Draft7Validator.check_schema(schema(kind))


def test_the_shipped_schemas_are_fresh() -> None:
    """Make them again with `panejig schema --into params/schema`."""
    shipped = {path.name: path.read_bytes() for path in (ROOT / "params" / "schema").glob("*")}
    assert shipped == files()


@pytest.mark.parametrize(
    "preset", presets.listed(), ids=lambda preset: f"{preset.kind}-{preset.name}"
)
def test_every_preset_names_its_schema_and_holds_to_it(preset: presets.Preset) -> None:
    text = preset.path.read_text(encoding="utf-8")
    named = re.match(r"#:schema (\S+)\n", text)
    assert named is not None
    target = (preset.path.parent / named[1]).resolve()
    assert target == (ROOT / "params" / "schema" / f"{preset.kind}.schema.json").resolve()
    errors = list(_validator(preset.kind).iter_errors(tomllib.loads(text)))
    assert not errors, errors


@pytest.mark.parametrize(
    "line",
    [
        "edge = 90\ndepth = '36 mm'",
        "edge = '3 1/2 in'",
        "across_flats = 120\nsides = 3",
        "edge = 90\nled.pattern = 'rings'",
        "edge = 90\nbase.vents = true",
        "extends = 'hexagon-120'",
        "edge = 90\n[designs]\na = 'edge90-square'",
        "edge = 90\n[power]\nsocket = [[1, '2 in']]",
        "edge = 90\n[hang]\nzones = [[[0, 0], [1, 0], [0, 1]]]",
    ],
)
def test_schema_and_door_take_the_same(line: str, write: Callable[..., Path]) -> None:
    text = GOOD + line
    assert not list(_validator("job").iter_errors(tomllib.loads(text)))
    load(write(text))


@pytest.mark.parametrize(
    "line",
    [
        "edge = 90\ndpeth = 3",
        "edge = 90\ndepth = 900",
        "edge = 90\ndepth = -1",
        "edge = 90\ndepth = true",
        "edge = 90\ndepth = '36'",
        "edge = 90\ndepth = '36,5 mm'",
        "edge = 90\ndepth = '1/0 in'",
        "edge = 90\nsides = 2",
        "edge = 90\nsides = 3.5",
        "edge = 90\nacross_flats = 120",
        "edge = 90\nled.pattern = 'dots'",
        "edge = 90\nbase = 3",
        "edge = 90\nbase.vents = 'yes'",
        "edge = 90\nname = 'my panel'",
        "edge = 90\nextends = 3",
        "edge = 90\n[power]\ninlet = 'A'",
        "edge = 90\n[power]\nsupply_v = '5'",
        "edge = 90\n[power]\nsocket = [[1, 2, 3]]",
        "edge = 90\n[hang]\nzones = [[[0, 0], [1, 0]]]",
        "edge = 90\n[designs.'my tri']\nedge = 90",
        "edge = 90\n[designs.a]\nkerf = 1",
        "edge = 90\n[[layout.panel]]\ncell = [0]",
        "edge = 90\n[shop.stock.x]\nmade = 'rolled'",
        "edge = 90\n[hang]\nmust = ['A', 'A']",
    ],
)
def test_schema_and_door_refuse_the_same(line: str, write: Callable[..., Path]) -> None:
    text = GOOD + line
    assert list(_validator("job").iter_errors(tomllib.loads(text)))
    with pytest.raises(InputError):
        load(write(text))


def test_an_editor_shows_what_a_key_is_for() -> None:
    made = schema("panel")
    depth = made["properties"]["depth"]
    assert depth["description"].startswith("Depth of the panel, from wall to rim. 5 to 500 mm")
    assert "left out: 48 mm; more" in depth["description"]
    assert "default" not in depth
    assert made["properties"]["gap"]["default"] == 0.4
    assert depth["anyOf"][0] == {"type": "number", "minimum": 5, "maximum": 500}
    assert "extends" in made["properties"]
    assert "extends" not in schema("job")["properties"]
    assert "NaN" not in json.dumps(made)


def test_every_reference_leads_somewhere() -> None:
    for kind in MODELS:
        made = schema(kind)
        named = set(re.findall(r'"#/definitions/(\w+)"', json.dumps(made)))
        assert named == set(made["definitions"])
