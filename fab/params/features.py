"""Openings and additions of a design, in the panel frame.

On an edge a place is [t, z]: t along the edge from its middle, to the right as seen from outside, z
over the wall. On the floor of a base it is [x, y] in the panel frame, front view.
"""

from __future__ import annotations

from fab.params.spec import ParamTable, choice, count, flag, length, number, pair, points, text


class OpeningParams(ParamTable):
    """A hole through the base's floor, or through the wall of base or shell at an edge."""

    part: str = choice(
        "base",
        ("base", "shell", "both"),
        "which part it goes through; both: base and shell at one edge",
    )
    edge: int | None = count(None, "edge with the opening; left out: the floor of the base", 0, 63)
    kind: str = choice("round", ("round", "rect", "slot", "polygon"), "shape of the opening")
    at: tuple[float, float] = pair(
        (0.0, 0.0),
        "position of its middle: [t, z] on an edge, [x, y] on the floor",
        -5_000.0,
        5_000.0,
    )
    d: float | None = length(None, "diameter of a round opening, width of a slot", 0.2, 1_000.0)
    size: tuple[float, float] | None = pair(
        None, "width and height of a rectangle, overall length and width of a slot", 0.2, 2_000.0
    )
    radius: float = length(0.0, "corner radius of a rectangle", 0.0, 500.0)
    points: tuple[tuple[float, float], ...] = points(
        (), "corners of a polygon, from its middle", most_items=1_000
    )
    turn_deg: float = number(
        0.0, "turn about its middle, counter-clockwise", -360.0, 360.0, unit="deg"
    )
    name: str = text("", "purpose, a note for people", most=60)


class AdditionParams(ParamTable):
    """Something on the floor of the base, or on the wall of base or shell at an edge."""

    kind: str = choice(
        "boss",
        ("boss", "rib", "text", "vent"),
        "boss for a screw, rib, letters, or a field of air slots",
    )
    part: str = choice("base", ("base", "shell"), "part that carries the addition")
    edge: int | None = count(None, "edge with the addition; left out: the floor of the base", 0, 63)
    at: tuple[float, float] = pair(
        (0.0, 0.0),
        "position of its middle: [t, z] on an edge, [x, y] on the floor; of a rib one end",
        -5_000.0,
        5_000.0,
    )
    to: tuple[float, float] | None = pair(None, "the other end of a rib", -5_000.0, 5_000.0)
    height: float = length(
        5.0, "height of a boss or rib over floor or wall, into the panel", 0.2, 200.0
    )
    d: float = length(7.0, "diameter of a boss", 0.5, 100.0)
    hole: float = length(2.5, "pilot hole in a boss; 0: none", 0.0, 50.0)
    width: float = length(1.8, "thickness of a rib, width of an air slot", 0.2, 50.0)
    area: tuple[float, float] = pair(
        (20.0, 10.0), "width and height of a field of air slots", 1.0, 2_000.0
    )
    letters: str = text("", "letters of the text", most=60)
    size: float = length(6.0, "height of the letters", 1.0, 200.0)
    depth: float = length(0.4, "height of raised or depth of sunk letters", 0.1, 10.0)
    sunk: bool = flag(False, "letters are sunk, not raised")
    back: bool = flag(False, "letters on the back of the floor, to be read from behind")
    turn_deg: float = number(
        0.0, "turn about its middle, counter-clockwise", -360.0, 360.0, unit="deg"
    )
    name: str = text("", "purpose, a note for people", most=60)
