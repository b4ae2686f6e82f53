"""The name raised in a base reads as that name: letter by letter, upright as it hangs, and not
mirrored.

The letters are found in the mesh, a hair over the floor, and turned so that the keyhole's slot
points upwards. Each is compared with the capitals and digits of a font that came with a picture
library, upright and mirrored: the letter that the list names must be nearer than any other, its own
mirror image among them where that differs.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from functools import lru_cache
from typing import TYPE_CHECKING, Any

from fab.checks.model import Verdict, at_most, judge
from fab.proof.job import JobValues
from fab.proof.keyholes import base_file, keyhole
from fab.proof.mesh import ReadMesh, read_stl, section
from fab.proof.table import panels_of, rows_of, truth
from fab.proof.tree import Tree

if TYPE_CHECKING:
    import numpy as np
    from shapely.geometry.base import BaseGeometry

KNOWN = "ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789"
WIDE, HIGH = 24, 32  # points that a letter is compared on
NEAR_POINTS = 3  # a stroke's width apart is no difference
CLEARER = 0.05  # a wrong reading must fit so much better before the right one is doubted
SYMMETRIC = "AHIMOTUVWXY08"  # their own mirror images, and drawn in more ways: doubted later
CLEARER_SYMMETRIC = 0.15
LOOSE_MM = 0.1  # round a place on the floor
ALIKE = (
    {"0", "O"},
    {"1", "I"},
    {"8", "B"},
    {"5", "S"},
    {"2", "Z"},
    {"U", "V"},
)  # no eye tells them safely


def prove(tree: Tree, job: JobValues) -> list[Verdict]:
    """Verdicts on the names in print/base*.stl."""
    if not tree.names("print/base", ".stl") or "lists/panels.csv" not in tree:
        return []
    panels = {panel.name: panel for panel in panels_of(tree, job)}
    found, seen = [], set()
    for row in rows_of(tree, "lists/panels.csv", ("name", "base", "base_turn_edges", "hanger")):
        panel = panels[row["name"]]
        design = job.design(panel.design)
        name = row["name"].upper()  # small letters are drawn as capitals
        if not truth(row["hanger"]) or not design.at("base.label", True) or row["base"] in seen:
            continue
        seen.add(row["base"])
        path = base_file(tree, panel, row["base"])
        mesh = read_stl(path, tree.read(path))
        rest, entry = keyhole(path, mesh, design)
        turned = 360.0 * float(row["base_turn_edges"]) / panel.sides
        up_rad = math.atan2(rest[1] - entry[1], rest[0] - entry[0])
        said = raised(mesh, float(design.at("base.floor")), up_rad, _own(design, turned))
        if not said or any(char not in KNOWN for char in name):
            continue  # no room for a name, or letters that this proof does not know
        found.append(_compared(path, name, said))
    return found


def _own(design: JobValues, turn_deg: float) -> list[BaseGeometry]:
    """Places on the floor of a base where the maker's own low things stand: letters, ribs, art.

    In the base's frame; they keep their place in the panel when a base is mounted `turn_deg` on.
    """
    import shapely
    from shapely import affinity

    found = []
    for one in (*design.at("addition", ()), *design.at("art", ())):
        if one.get("part", one.get("on")) != "base" or one.get("edge") is not None or one["back"]:
            continue
        x, y = one["at"]
        if one.get("kind") == "rib":
            end = one.get("to") or (x + 10.0, y)
            place = shapely.LineString([(x, y), end]).buffer(one["width"] / 2, cap_style="square")
        elif one.get("kind") == "boss":
            place = shapely.Point(x, y).buffer(one["d"] / 2)
        else:
            wide, high = _text(one) if "kind" in one else _graphic(one)
            turned = affinity.rotate(_box(wide, high), one["turn_deg"], origin=(0, 0))
            place = affinity.translate(turned, x, y)
        found.append(affinity.rotate(place.buffer(LOOSE_MM), -turn_deg, origin=(0, 0)))
    return found


def _box(wide: float, high: float) -> BaseGeometry:
    import shapely

    return shapely.box(-wide / 2, -high / 2, wide / 2, high / 2)


def _text(one: Mapping[str, Any]) -> tuple[float, float]:
    """Most room that a line of letters takes: each as wide as high, with hooks above and below."""
    return one["size"] * len(one["letters"]), 1.5 * one["size"]


def _graphic(one: Mapping[str, Any]) -> tuple[float, float]:
    """Room of a graphic about its middle, its corners alone: round sides swell a little further."""
    xs, ys = ([2 * abs(p[k]) for ring in one["shape"] for p in ring] for k in (0, 1))
    wide, high = max(xs, default=0.0), max(ys, default=0.0)
    scale = one["width"] / wide if one.get("width") and wide else 1.0
    return 1.2 * wide * scale, 1.2 * high * scale


def raised(
    mesh: ReadMesh, floor: float, up_rad: float, own: Sequence[BaseGeometry] = ()
) -> list[BaseGeometry]:
    """Islands a hair over the floor that are as low as letters, from left to right as the base
    hangs; without those in `own`, the places of other low things in the base's frame.
    """
    from shapely import affinity

    low = float(mesh.corners[:, 2].min())
    above, higher = (section(mesh, low + floor + z) for z in (0.05, 1.5))
    standing = [one for one in getattr(higher, "geoms", [higher]) if not one.is_empty]
    letters = [
        affinity.rotate(one, math.pi / 2 - up_rad, origin=(0, 0), use_radians=True)
        for one in getattr(above, "geoms", [above])
        if not one.is_empty
        and not any(one.intersects(other) for other in standing)
        and not any(place.contains(one) for place in own)
    ]
    return sorted(letters, key=lambda one: float(one.bounds[0]))


def _compared(path: str, name: str, islands: list[BaseGeometry]) -> Verdict:
    """The first island is the arrow, each other one a letter."""
    arrow, letters = islands[0], islands[1:]
    x0, y0, x1, y1 = arrow.bounds
    wrong = []
    if len(letters) != len(name):
        wrong.append(f"{len(letters)} raised letters for the name {name}")
    if arrow.centroid.y < (y0 + y1) / 2 or abs(arrow.centroid.x - (x0 + x1) / 2) > 0.1 * (x1 - x0):
        wrong.append(f"no arrow points upwards left of the name {name}")
    for char, shape in zip(name, letters, strict=False):
        read = reading(shape, char)
        if read:
            wrong.append(f"the letter {char} of the name {name} reads as {read}")
    says = "; ".join(wrong) or f"the raised name reads {name}"
    return judge("proof.print-name", path, at_most(float(len(wrong)), 0.0, "letters"), says)


def reading(shape: BaseGeometry, char: str) -> str:
    """The letter that an island reads as when that is not the right one; "" when it is."""
    points = _points(shape)
    scores = {
        (other, mirrored): _alike(points, _letter(other)[:, ::-1] if mirrored else _letter(other))
        for other in KNOWN
        for mirrored in (False, True)
    }
    right = max(scores[one, False] for one in _eyes(char))
    (best, mirrored), score = max(
        ((key, value) for key, value in scores.items() if key[1] or key[0] not in _eyes(char)),
        key=lambda one: one[1],
    )
    if score <= right + (CLEARER_SYMMETRIC if char in SYMMETRIC else CLEARER):
        return ""
    return f"{best}, mirrored" if mirrored else best


def _eyes(char: str) -> set[str]:
    return {char}.union(*(group for group in ALIKE if char in group))


def _points(shape: BaseGeometry) -> np.ndarray:
    """A shape drawn on WIDE x HIGH points, row 0 at its top; a thin one keeps its proportions."""
    import numpy as np
    import shapely

    x0, y0, x1, y1 = shape.bounds
    wide = max(x1 - x0, 0.3 * (y1 - y0))
    left = (x0 + x1 - wide) / 2
    columns = left + (np.arange(WIDE) + 0.5) / WIDE * wide
    rows = y1 - (np.arange(HIGH) + 0.5) / HIGH * (y1 - y0)
    across, down = np.meshgrid(columns, rows)
    inside: np.ndarray = shapely.contains_xy(shape, across, down)
    return inside


@lru_cache(maxsize=64)
def _letter(char: str) -> BaseGeometry:
    """A capital or digit of the picture library's own font, on the same points."""
    import numpy as np
    from PIL import Image, ImageDraw, ImageFont

    font = ImageFont.load_default(160)
    picture = Image.new("L", (240, 240), 0)
    ImageDraw.Draw(picture).text((40, 20), char, fill=255, font=font)
    left, top, right, low = picture.getbbox() or (0, 0, 1, 1)
    wide = max(right - left, 0.3 * (low - top))
    start = (left + right - wide) / 2
    columns = np.clip((start + (np.arange(WIDE) + 0.5) / WIDE * wide).astype(int), 0, 239)
    rows = (top + (np.arange(HIGH) + 0.5) / HIGH * (low - top)).astype(int)
    return np.asarray(picture)[np.ix_(rows, columns)] > 127


def _alike(one: BaseGeometry, other: BaseGeometry) -> float:
    """The share, 0 to 1, by which two letters cover each other: the worse of both ways."""
    from scipy import ndimage

    away = (ndimage.distance_transform_edt(~shape) for shape in (other, one))
    return float(min(_closeness(far, shape) for far, shape in zip(away, (one, other), strict=True)))


def _closeness(far: np.ndarray, shape: BaseGeometry) -> float:
    """Mean closeness of the points of a shape: 1 on the other shape, 0 from NEAR_POINTS away on."""
    import numpy as np

    return float(np.clip(1.0 - far[shape] / NEAR_POINTS, 0.0, 1.0).mean()) if shape.any() else 0.0
