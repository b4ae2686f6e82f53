"""Centred grids of pitch 1, and the order in which the data line visits their points."""

from __future__ import annotations

import math
from collections import defaultdict

from fab.outlines.contour import Point, turn


def unit_grid(sides: int, pattern: str, phase: str, reach: float) -> list[Point]:
    """Grid points of pitch 1 within `reach` of the centre.

    `phase` says what lies in the centre: "site" an LED, "cell" the middle of a cell, "turned" of a
    triangular one that points the other way, "bond" the middle between two LEDs.
    """
    if pattern == "rings":
        return _unit_rings(sides, phase, reach)
    line = math.sqrt(0.75) if pattern == "triangular" else 1.0
    dx, dy = {
        ("triangular", "cell"): (line * 2 / 3, 0.0),
        ("triangular", "turned"): (line / 3, 0.5),
        ("square", "cell"): (0.5, 0.5),
    }.get((pattern, phase), (0.0, 0.5) if phase == "bond" else (0.0, 0.0))
    found = []
    most = math.ceil(reach / line) + 1
    for i in range(-most, most + 1):
        x = i * line + dx
        shift = dy + (0.5 * (i % 2) if pattern == "triangular" else 0.0)
        if abs(x) > reach:
            continue
        half = math.sqrt(reach * reach - x * x)
        for j in range(math.ceil(-half - shift), math.floor(half - shift) + 1):
            found.append((x, j + shift))
    return found


def _unit_rings(sides: int, phase: str, reach: float) -> list[Point]:
    """Rings of radius 0, 1, 2 ...

    ("site") or 1/2, 3/2 ... ("cell"), LEDs about 1 apart and never closer.

    A ring holds a whole multiple of the panel's sides where it holds as many, so the grid is as
    symmetric.
    """
    found: list[Point] = []
    first = {"site": 0.0, "cell": 0.5}.get(phase)
    if first is None:
        return found
    for k in range(math.floor(reach - first) + 1):
        radius = first + k
        if radius == 0:
            found.append((0.0, 0.0))
            continue
        most = math.floor(math.pi / math.asin(0.5 / radius) + 1e-9)  # more would sit closer than 1
        many = most // sides * sides or most
        found += [turn((radius, 0.0), 2 * math.pi * j / many) for j in range(many)]
    return found


def serpentine(points: list[Point], pitch: float) -> list[Point]:
    """The points column by column from the right, up and down in turn: the shortest data line of a
    grid.

    Columns are told apart to a thousandth of the pitch.
    """
    lines: dict[int, list[Point]] = defaultdict(list)
    for p in points:
        lines[round(p[0] / pitch * 1000)].append(p)
    ordered: list[Point] = []
    for index, key in enumerate(sorted(lines, reverse=True)):
        ordered += sorted(lines[key], key=lambda p: p[1], reverse=index % 2 == 1)
    return ordered


def rings(points: list[Point]) -> list[Point]:
    """The points ring by ring from the outside in, the sense reversed from ring to ring.

    Points whose distance to the centre agrees to 0.001 mm are of one ring.
    """
    rings: dict[int, list[Point]] = defaultdict(list)
    for p in points:
        rings[round(math.hypot(*p) * 1000)].append(p)
    ordered: list[Point] = []
    for index, key in enumerate(sorted(rings, reverse=True)):
        ordered += sorted(rings[key], key=_bearing, reverse=index % 2 == 1)
    return ordered


def _bearing(p: Point) -> float:
    """Angle from +X, anticlockwise, 0 <= angle < 2 pi; a hair below +X counts as +X."""
    return (math.atan2(p[1], p[0]) + 1e-9) % (2 * math.pi)
