"""One view of a section: parts in place, cut by a plane, drawn in a frame at a scale, with the gaps
named.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from fab.outlines.contour import Contour, Line, Point, circle
from fab.outlines.figures import CAP_HEIGHT, arrow_head, size_to_fit_mm
from fab.outlines.inks import BLUE, GREEN, GREY, ORANGE, PURPLE, SKY, VERMILION, WHITE, YELLOW
from fab.outlines.page import HAIR_MM, Fill, Group, Item, Stroke, Text, line, polyline
from fab.parts.placed import Named
from fab.solids.cuts import cut_at, loops_of
from fab.solids.mesh import Mesh
from fab.units import JOIN_TOL_MM, fixed

# Okabe and Ito's colours, told apart also by the colour-blind
COLOURS = {
    "base": ORANGE,
    "shell": SKY,
    "diffuser": YELLOW,
    "board": GREEN,
    "clip": VERMILION,
    "cap": PURPLE,
    "header": BLUE,
    "socket": GREY,
    "led": "#F7F3C0",
    "switch": GREY,
    "plunger": "#555555",
    "shell screw": "#777777",
    "board screw": "#777777",
    "wall screw": "#777777",
    "receptacle": "#777777",
    "inlet board": GREEN,
    "pin row": BLUE,
    "tail": "#555555",
    "jumper plug": VERMILION,
    "wire": PURPLE,
}
WORDS = {"led": "LED"}
TEXT_MM = 2.6
TAIL_MM = 2.2  # length of an arrow beside its gap
INK = "#222222"
KEY_R = 2.0  # ring round a letter, mm
BEYOND_MM = 1.0  # that a cut part goes on outside its window, mm of paper
STRAY_MM = 0.01  # how far a drawn outline may stray from the cut, mm of paper
DIM = "#B00020"
DIM_TEXT = "#5A0010"  # dark enough to be read on every part's colour (WCAG 2.2: 4.5 to 1)


@dataclass(frozen=True)
class Gap:
    """A clearance between two points of a view, with the name of its fit; its letter stands at
    `at`, the words over the view.
    """

    a: Point
    b: Point
    name: str
    at: Point


@dataclass(frozen=True)
class View:
    """A view of the meshes: their turn, the height of the cut in it, and the window in the turned
    coordinates.
    """

    title: str
    turn: Callable[[Mesh], Mesh]
    at: float
    window: tuple[float, float, float, float]  # least x, least y, most x, most y, mm of the parts
    scale: float
    swap: bool = False  # the turned mesh's first coordinate is z: put it upright
    gaps: tuple[Gap, ...] = ()


def drawn(view: View, parts: Sequence[Named], place: Point) -> Group:
    """The view with its lower left corner at `place` of the page."""
    x0, y0, x1, y1 = view.window
    wide, high = (x1 - x0) * view.scale, (y1 - y0) * view.scale

    def spot(p: Point) -> Point:
        return ((p[0] - x0) * view.scale, (p[1] - y0) * view.scale)

    items: list[Item] = []
    for one in parts:
        if one.part not in COLOURS:
            continue
        rings = loops_of(cut_at(view.turn(one.mesh), view.at))
        contours = tuple(
            loop
            for ring in rings
            for loop in _loops([spot(_upright(view, p)) for p in ring], wide, high)
        )
        if contours:
            items.append(Fill(contours, COLOURS[one.part], 0.75))
            items += [Stroke(contour.segments, HAIR_MM, INK) for contour in contours]
    inside = Group(tuple(items), clip=(0.0, 0.0, wide, high))
    frame = polyline(
        [(0.0, 0.0), (wide, 0.0), (wide, high), (0.0, high)], HAIR_MM, INK, closed=True
    )
    scale = "" if view.gaps else f", {fixed(view.scale)} : 1"
    words = f"{view.title}{scale}"
    # the next view is 8 mm away
    size = size_to_fit_mm(words, wide + 6.0, TEXT_MM + 0.4, bold=True)
    keyed = list(zip("abcdef", view.gaps, strict=False))
    title = Text(0.0, high + (6.0 if keyed else 1.5), words, size, bold=True, colour=INK)
    named = [item for key, gap in keyed for item in _gap(key, gap, spot)]
    over = []
    if keyed:
        legend = "   ".join(f"{key}: {said(gap)}" for key, gap in keyed)
        size = size_to_fit_mm(legend, wide, TEXT_MM)
        over = [Text(0.0, high + 1.5, legend, size, colour=DIM_TEXT)]
    return Group((inside, frame, title, *over, *named), shift=place)


def said(gap: Gap) -> str:
    """Name and size of a clearance, as it stands over its view."""
    return f"{gap.name} {fixed(math.dist(gap.a, gap.b), 2)}"


def _upright(view: View, p: Sequence[float]) -> Point:
    return (float(p[1]), float(p[0])) if view.swap else (float(p[0]), float(p[1]))


def _loops(points: Sequence[Point], wide: float, high: float) -> Iterator[Contour]:
    """The pieces of a ring in a window; each goes on a little beyond, so that no cut is drawn."""
    from shapely import Polygon, box, get_parts

    if len(points) < 3:
        return
    ring = Polygon(points).simplify(STRAY_MM)
    if ring.is_valid:
        ring = ring.intersection(box(-BEYOND_MM, -BEYOND_MM, wide + BEYOND_MM, high + BEYOND_MM))
    for seen in get_parts(ring):
        if seen.geom_type != "Polygon" or seen.is_empty:
            continue
        kept = [(round(x, 3), round(y, 3)) for x, y in seen.exterior.coords[:-1]]
        lines = [
            Line(a, b)
            for a, b in zip(kept, [*kept[1:], kept[0]], strict=True)
            if math.dist(a, b) > JOIN_TOL_MM
        ]
        if len(set(kept)) >= 3:
            yield Contour(tuple(lines))


def _gap(key: str, gap: Gap, spot: Callable[[Point], Point]) -> list[Item]:
    """Two arrow heads that face each other over the gap, and a leader to its letter in a ring."""
    a, b, at = spot(gap.a), spot(gap.b), spot(gap.at)
    wide = math.dist(a, b)
    ux, uy = ((b[0] - a[0]) / wide, (b[1] - a[1]) / wide) if wide > JOIN_TOL_MM else (1.0, 0.0)
    tail_a = (a[0] - ux * TAIL_MM, a[1] - uy * TAIL_MM)
    tail_b = (b[0] + ux * TAIL_MM, b[1] + uy * TAIL_MM)
    middle = ((a[0] + b[0]) / 2, (a[1] + b[1]) / 2)
    far = math.dist(middle, at)
    reach = (far - KEY_R) / far if far > KEY_R else 0.0
    rim = (middle[0] + (at[0] - middle[0]) * reach, middle[1] + (at[1] - middle[1]) * reach)
    disc = circle(at, KEY_R)
    return [
        line(tail_a, a, HAIR_MM, DIM),
        line(b, tail_b, HAIR_MM, DIM),
        *([line(middle, rim, HAIR_MM, DIM)] if reach else []),
        arrow_head(a, tail_a, 1.1, DIM),
        arrow_head(b, tail_b, 1.1, DIM),
        Fill((disc,), WHITE),
        Stroke(disc.segments, HAIR_MM, DIM),
        Text(at[0], at[1] - TEXT_MM * CAP_HEIGHT / 2, key, TEXT_MM, "middle", colour=DIM_TEXT),
    ]
