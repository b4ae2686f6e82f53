"""Strip instances for the nest benchmark: ten of our own, and public ones from a folder of JSON
files.

Own ones: what a shop of light panels cuts in one go, diffusers of several sizes with spares,
coupons, jigs, plates. Public ones: the strips of the ESICUP collection in the JSON form of an open
converter ("strip_height", "items" with "shape", "demand", "allowed_orientations").
"""

from __future__ import annotations

import json
import math
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from fab.outlines.contour import Arc, Contour, Line, Outline, circle, polygon, turn
from fab.outlines.shapes import rectangle, regular
from fab.sheets.model import Piece, Turns


@dataclass(frozen=True)
class Instance:
    """Pieces for a strip of a given height; turns in degrees for the library."""

    name: str
    height: float
    gap: float
    pieces: tuple[Piece, ...]

    @property
    def area(self) -> float:
        return math.fsum(piece.outline.area_mm2 * piece.count for piece in self.pieces)


def _panel(name: str, sides: int, across: float, count: int) -> Piece:
    return Piece(name, Outline(regular(sides, across / 2, 3.0)), count, "s", "symmetry")


def _other(name: str, outline: Outline, count: int, turns: Turns = "quarter") -> Piece:
    return Piece(name, outline, count, "s", turns)


def _disc(radius: float, hole: float = 0.0) -> Outline:
    return Outline(circle((0, 0), radius), (circle((0, 0), hole),) if hole else ())


def _card(width: float, height: float, wall: float = 0.0) -> Outline:
    inner = (rectangle(width - 2 * wall, height - 2 * wall),) if wall else ()
    return Outline(rectangle(width, height, radius_mm=2.0), inner)


def _angle(a: float, b: float, w: float) -> Outline:
    return Outline(polygon([(0, 0), (a, 0), (a, w), (w, w), (w, b), (0, b)]))


def _tee(a: float, b: float, w: float) -> Outline:
    h = w / 2
    return Outline(
        polygon(
            [(-a / 2, 0), (a / 2, 0), (a / 2, w), (h, w), (h, b), (-h, b), (-h, w), (-a / 2, w)]
        )
    )


def _arch(radius: float, width: float) -> Outline:
    r = radius - width
    segments = (
        Line((r, 0), (radius, 0)),
        Arc((radius, 0), (0, 0), math.pi),
        Line((-radius, 0), (-r, 0)),
        Arc((-r, 0), (0, 0), -math.pi),
    )
    return Outline(Contour(segments))


def _star(points: int, outer: float, inner: float) -> Outline:
    return Outline(
        polygon(
            [
                turn((outer if k % 2 == 0 else inner, 0), k * math.pi / points)
                for k in range(2 * points)
            ]
        )
    )


_PLATE = Outline(
    polygon([(0, 0), (140, 0), (160, 30), (150, 60), (90, 70), (80, 110), (40, 120), (0, 80)])
)


def own() -> list[Instance]:
    """Ten instances of our own."""

    def of(name: str, height: float, *pieces: Piece) -> Instance:
        return Instance(name, height, 2.0, pieces)

    return [
        of("hexes", 600, _panel("hex", 6, 100, 24)),
        of(
            "wall", 400, _panel("hex", 6, 120, 12), _panel("tri", 3, 40, 12), _panel("sq", 4, 69, 8)
        ),
        of(
            "spares",
            400,
            _panel("hex", 6, 100, 12),
            _panel("tri", 3, 57.7, 12),
            _other("coupon", _card(20, 8), 24),
            _other("disc", _disc(30), 6),
        ),
        of(
            "jigs",
            400,
            _other("jig", _card(180, 120, 15), 4),
            _panel("hex", 6, 80, 8),
            _other("coupon", _card(80, 20), 10),
        ),
        of(
            "rings",
            500,
            _other("ring", _disc(70, 52), 6),
            _other("disc", _disc(35), 6),
            _panel("sq", 4, 60, 8),
            _other("coupon", _card(60, 14), 8),
        ),
        of(
            "angles",
            400,
            _other("angle", _angle(120, 90, 30), 10),
            _other("tee", _tee(110, 90, 28), 8),
            _other("coupon", _card(70, 24), 8),
        ),
        of(
            "arches",
            450,
            _other("arch", _arch(80, 26), 10),
            _other("disc", _disc(25), 8),
            _panel("hex", 6, 60, 6),
        ),
        of(
            "stars",
            400,
            _other("star", _star(5, 60, 26), 12),
            _panel("tri", 3, 30, 12),
            _other("coupon", _card(40, 10), 10),
        ),
        of(
            "plates",
            300,
            _other("plate", _PLATE, 7),
            _panel("hex", 6, 70, 8),
            _other("angle", _angle(60, 60, 18), 8),
        ),
        of(
            "many",
            500,
            _panel("hex", 6, 60, 30),
            _panel("tri", 3, 34.6, 24),
            _panel("sq", 4, 35, 20),
            _other("coupon", _card(30, 10), 20),
        ),
    ]


def public(folder: Path) -> list[Instance]:
    """The strips in a folder, by name; lengths in the file's own unit."""
    return [_read(path) for path in sorted(folder.glob("*.json"))]


def _read(path: Path) -> Instance:
    data = json.loads(path.read_text())
    pieces = []
    for item in data["items"]:
        corners = [(float(x), float(y)) for x, y in item["shape"]["data"]]
        pieces.append(
            Piece(
                f"p{item['id']}",
                Outline(polygon(_open(corners))),
                int(item["demand"]),
                "s",
                _rule(item["allowed_orientations"]),
            )
        )
    return Instance(data["name"], float(data["strip_height"]), 0.0, tuple(pieces))


def _open(corners: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    kept: list[tuple[float, float]] = []
    for corner in corners:
        if not kept or math.dist(kept[-1], corner) > 1e-6:
            kept.append(corner)
    return kept[:-1] if math.dist(kept[0], kept[-1]) <= 1e-6 else kept


def _rule(degrees: Sequence[float]) -> Turns:
    rules: dict[tuple[float, ...], Turns] = {
        (0.0,): "none",
        (0.0, 180.0): "half",
        (0.0, 90.0, 180.0, 270.0): "quarter",
    }
    return rules[tuple(sorted(float(d) for d in degrees))]
