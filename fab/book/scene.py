"""The wall as data for the view in three dimensions: each mesh once, in 1/50 mm or coarser steps,
and where it stands.

A panel whose sheet has art shows its stencil and its engraving; all others share the plain sheet of
their design.
"""

from __future__ import annotations

import base64
import json
import math
from collections.abc import Mapping
from importlib.resources import files
from typing import Any

from fab.book import artscene
from fab.book.pictures import shown_panel
from fab.decisions import Design
from fab.outlines.contour import Outline
from fab.outputs.art import diffusers
from fab.outputs.assembled import COLOURS
from fab.products import Made, PartSpec
from fab.units import fixed

# Alpha below 1 is seen through.
LOOKS: dict[str, dict[str, Any]] = {
    "base": {"c": [*COLOURS["base"]], "a": 1, "lift": 0},
    "board": {"c": [*COLOURS["board"]], "a": 1, "lift": 0.45},
    "shell": {"c": [*COLOURS["shell"]], "a": 1, "lift": 0.8},
    "diffuser": {"c": [*COLOURS["diffuser"]], "a": 0.45, "lift": 1.2},
    "engraving": {"c": [0.83, 0.37, 0.0], "a": 1, "lift": 1.2},
}
MOST_FACES = 65_535  # corners that 16 bit can number


def script() -> str:
    """The viewer's own script."""
    return (files("fab.book") / "assets" / "view3d.js").read_text(encoding="utf-8")


def shown(design: Design) -> list[PartSpec]:
    """The parts that are shown, each once; of the bases of a design the last without a name, or the
    first.
    """
    bases: dict[str, PartSpec] = {}
    for (name, _), kind in design.kinds.items():
        if name not in bases or not kind.label:
            bases[name] = PartSpec("base", name, kind)
    found = list(bases.values())
    for name, plan in design.plans.items():
        blank = plan.params.board.none
        found += [
            PartSpec(part, name) for part in ("shell", "diffuser", *([] if blank else ["board"]))
        ]
    return found


def scene(design: Design, made: Mapping[tuple[str, str], Made]) -> str:
    """JSON of the wall. `made` maps (part, design) to the part; a base stands for all its kinds."""
    import numpy as np

    meshes: list[dict[str, Any]] = []
    index: dict[tuple[str, str], int] = {}

    def put(key: tuple[str, str], vertices: Any, triangles: Any) -> None:
        if not 0 < len(vertices) <= MOST_FACES:
            return
        step = float(np.abs(vertices).max()) / 32_000.0
        points = np.round(vertices / step).astype("<i2")
        index[key] = len(meshes)
        meshes.append(
            {
                "step": round(step, 9),
                "points": _text(points.tobytes()),
                "faces": _text(triangles.astype("<u2").tobytes()),
            }
        )

    for key, part in sorted(made.items()):
        if key[0] in LOOKS:
            put(key, part.mesh.vertices, part.mesh.triangles)
    own: dict[str, str] = {}  # panel to the key of its sheet, where that has art
    for one in diffusers(design):
        plan = design.plans[one.design]
        top = plan.heights.ledge_z + plan.stock.thickness
        if one.art.holes:
            put(
                ("diffuser", f"sheet {one.item}"),
                *artscene.sheet(
                    Outline(plan.rings.diffuser, one.art.holes), plan.heights.ledge_z, top
                ),
            )
        if one.art.marks:
            z = (
                plan.heights.ledge_z - artscene.ABOVE_MM
                if one.art.back
                else top + artscene.ABOVE_MM
            )
            put(("engraving", f"sheet {one.item}"), *artscene.ribbons(one.art.marks, z))
        own |= dict.fromkeys(one.panels, f"sheet {one.item}")
    items = []
    for panel in design.layout.panels:
        made_plan = design.plans[panel.design]
        heights = {
            "base": 0.0,
            "shell": made_plan.floor.shell_z,
            "board": 0.0,
            "diffuser": 0.0,
            "engraving": 0.0,
        }
        for name, z in heights.items():
            at = (name, own.get(panel.name, ""))
            at = at if at in index else (name, panel.design)
            if at in index:
                items.append(
                    {
                        "mesh": index[at],
                        "part": name,
                        "panel": panel.name,
                        "x": _short(panel.x),
                        "y": _short(panel.y),
                        "z": _short(z),
                        "a": round(math.radians(panel.turn_deg), 6),
                    }
                )
    looks = {
        name: look
        for name, look in LOOKS.items()
        if name != "engraving" or any(key[0] == name for key in index)
    }
    x0, y0, x1, y1 = design.layout.box
    first = shown_panel(design)
    plan = design.plans[first.design]
    half_z = plan.heights.rim_z / 2
    return json.dumps(
        {
            "says": (
                f"The wall {design.job.job} with {len(design.layout.panels)} panels in three"
                " dimensions."
            ),
            "meshes": meshes,
            "items": items,
            "parts": looks,
            "first": first.name,
            "one": True,
            "turn": 0.5,
            "tilt": 0.6,
            "lift": _short(plan.cell.circumradius * 0.9),
            "small": {
                "x": _short(first.x),
                "y": _short(first.y),
                "z": half_z,
                "r": _short(plan.cell.circumradius * 1.1),
            },
            "whole": {
                "x": _short((x0 + x1) / 2),
                "y": _short((y0 + y1) / 2),
                "z": half_z,
                "r": _short(max(x1 - x0, y1 - y0) * 0.56),
            },
        },
        separators=(",", ":"),
    )


def _text(data: bytes) -> str:
    return base64.b64encode(data).decode()


def _short(value: float) -> float:
    return float(fixed(value, 3))
