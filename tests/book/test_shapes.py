"""The view's script is told in types what it is handed: the demo's scene has that shape."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest

from tests.shapes import Shapes

SCENE = re.compile(r'<script type="application/json" [^>]*>(?P<scene>.*?)</script>', re.DOTALL)


def test_a_scene_has_the_shape_that_its_script_expects(built: dict[str, Path]) -> None:
    page = (built["reading-nook"] / "book" / "index.html").read_text(encoding="utf-8")
    (found,) = SCENE.finditer(page)
    shapes = Shapes.read("fab/book/assets/scene.d.ts")
    assert shapes.faults(json.loads(found["scene"]), "Scene") == []
    assert {kind for kind, _ in shapes.seen} - {"Record<string, Kind>"} == set(shapes.known)
    assert shapes.unseen() == []


@pytest.mark.parametrize(
    ("thing", "told"),
    [
        ({"name": "Base", "count": 2, "file": "", "note": ""}, ""),
        ({"name": "Base", "count": 2, "file": ""}, "note is missing"),
        ({"name": "Base", "count": "2", "file": "", "note": ""}, "'2' is no number"),
        ({"name": "Base", "count": True, "file": "", "note": ""}, "True is no number"),
        ({"name": None, "count": 2, "file": "", "note": ""}, "None is no string"),
        ({"name": "Base", "count": 2, "file": "", "note": "", "more": 1}, "more is in no shape"),
    ],
)
def test_another_shape_is_told(thing: dict[str, Any], told: str) -> None:
    """One fault each, none for the right shape."""
    faults = Shapes.read("fab/book/assets/scene.d.ts").faults([thing], "Thing[]")
    assert len(faults) == bool(told)
    assert all(told in fault for fault in faults)
