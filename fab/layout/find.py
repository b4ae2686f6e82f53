"""The layout of a job: names, joints by geometry, open edges, groups; overlaps are refused."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Callable, Iterator, Sequence

from fab.errors import Fault, InputError, refused
from fab.layout.groups import connected
from fab.layout.model import Cell, Joint, Layout, OpenEdge, PlacedPanel
from fab.layout.place import Request, place
from fab.outlines.contour import Point
from fab.params.job import LayoutParams
from fab.units import SAME_EDGE_TOL, some


def find_layout(params: LayoutParams, cell_of: Callable[[str], Cell]) -> Layout:
    """Place all panels, name them, find what touches.

    `cell_of` gives the lattice cell of a design's name.

    Raises InputError naming panels that overlap or share a place, names given twice, and a wall in
    pieces.
    """
    placed = place(params, cell_of)
    if not placed:
        raise refused(
            "the wall has no panel",
            "Draw it under [layout], a letter a panel: map = 'A'.",
            key="layout",
        )
    panels = _named(placed)
    _refuse_overlaps(panels)
    joints, open_edges = _joints(panels)
    groups = connected([panel.name for panel in panels], [(joint.a, joint.b) for joint in joints])
    if len(groups) > 1 and params.groups == "one":
        raise InputError([_in_pieces(groups, placed, panels)])
    return Layout(panels, joints, open_edges, groups)


def _in_pieces(
    groups: Sequence[Sequence[str]],
    placed: Sequence[tuple[Request, PlacedPanel]],
    panels: Sequence[PlacedPanel],
) -> Fault:
    """The pieces of a wall, by names; of a drawn wall with each first panel's place."""
    at = {(panel.x, panel.y): request for request, panel in placed}
    first = {panel.name: at[panel.x, panel.y] for panel in panels}
    listed = "; ".join(
        ", ".join(group[:6])
        + (" ..." if len(group) > 6 else "")
        + (f" ({first[group[0]].place})" if first[group[0]].place else "")
        for group in groups[:5]
    )
    key = next((first[group[0]].key for group in groups[1:] if first[group[0]].place), "layout")
    works = 'Move them edge to edge, or write groups = "separate" if you want separate groups.'
    return Fault(
        key, f"the wall is in {some(len(groups), 'piece')} that do not touch: {listed}", works
    )


def _named(placed: Sequence[tuple[Request, PlacedPanel]]) -> tuple[PlacedPanel, ...]:
    """Panels in reading order (rows from the top, left to right); A, B, C ... for unnamed ones."""
    row = 0.25 * min(panel.cell.apothem for _, panel in placed)
    order = sorted(placed, key=lambda item: -item[1].y)
    lines: list[list[PlacedPanel]] = []
    for _, panel in order:
        if lines and lines[-1][0].y - panel.y < row:
            lines[-1].append(panel)
        else:
            lines.append([panel])
    reading = [panel for line in lines for panel in sorted(line, key=lambda p: p.x)]
    given = [panel.name for panel in reading if panel.name]
    doubles = (
        sorted({name for name in given if given.count(name) > 1})
        if len(set(given)) < len(given)
        else []
    )
    if doubles:
        raise InputError(
            [
                Fault("layout.panel", f'the name "{name}" is given twice', "Names must differ.")
                for name in doubles
            ]
        )
    taken, free = set(given), _letters()
    named = []
    for panel in reading:
        name = panel.name
        while not name:
            candidate = next(free)
            name = candidate if candidate not in taken else ""
        named.append(
            PlacedPanel(
                name, panel.design, panel.cell, panel.x, panel.y, panel.turn_deg, panel.lattice
            )
        )
    return tuple(named)


def _letters() -> Iterator[str]:
    """A to Z, AA, AB, ..."""
    index = 0
    while True:
        name, rest = "", index
        while True:
            name = chr(ord("A") + rest % 26) + name
            rest = rest // 26 - 1
            if rest < 0:
                break
        yield name
        index += 1


def _buckets(panels: Sequence[PlacedPanel]) -> tuple[float, dict[tuple[int, int], list[int]]]:
    size = 2 * max(panel.cell.circumradius for panel in panels)
    grid: dict[tuple[int, int], list[int]] = defaultdict(list)
    for k, panel in enumerate(panels):
        grid[(math.floor(panel.x / size), math.floor(panel.y / size))].append(k)
    return size, grid


def _pairs(panels: Sequence[PlacedPanel]) -> Iterator[tuple[PlacedPanel, PlacedPanel]]:
    """Pairs near enough to touch, each once."""
    _, grid = _buckets(panels)
    for (i, j), members in grid.items():
        near = [k for di in (-1, 0, 1) for dj in (-1, 0, 1) for k in grid.get((i + di, j + dj), ())]
        for k in members:
            for other in near:
                if k < other:
                    yield panels[k], panels[other]


def _refuse_overlaps(panels: Sequence[PlacedPanel]) -> None:
    faults = []
    for a, b in _pairs(panels):
        depth = _overlap(a, b)
        if depth > 1e-6 * min(a.cell.apothem, b.cell.apothem):
            same = math.dist((a.x, a.y), (b.x, b.y)) < 1e-6 * a.cell.apothem
            says = f"panels {a.name} and {b.name} " + (
                "are in the same place" if same else f"overlap by {depth:.2f} mm"
            )
            faults.append(Fault("layout", says, "Move or remove one of them."))
    if faults:
        raise InputError(faults[:20])


def _overlap(a: PlacedPanel, b: PlacedPanel) -> float:
    """Overlap of two convex cells by separating axes, mm; 0 or less: apart or touching."""
    if math.dist((a.x, a.y), (b.x, b.y)) >= a.cell.circumradius + b.cell.circumradius:
        return 0.0
    least = math.inf
    for here, there in ((a, b), (b, a)):
        for edge in range(here.cell.sides):
            angle = math.radians(here.normal_deg(edge))
            nx, ny = math.cos(angle), math.sin(angle)
            reach = here.x * nx + here.y * ny + here.cell.apothem
            least = min(least, reach - min(x * nx + y * ny for x, y in there.corners))
            if least <= 0:
                return least
    return least


def _joints(panels: Sequence[PlacedPanel]) -> tuple[tuple[Joint, ...], tuple[OpenEdge, ...]]:
    """Edges that coincide and run opposite ways, within 1e-6 of the pitch; all others are open."""
    order = {panel.name: k for k, panel in enumerate(panels)}
    joined: set[tuple[str, int]] = set()
    joints: list[Joint] = []
    for a, b in _pairs(panels):
        tolerance = SAME_EDGE_TOL * 2 * max(a.cell.apothem, b.cell.apothem)
        if math.dist((a.x, a.y), (b.x, b.y)) > a.cell.apothem + b.cell.apothem + tolerance:
            continue
        edges = _shared(a, b, tolerance)
        if edges is not None:
            x, y = a.edge_middle(edges[0])
            joints.append(Joint(a.name, edges[0], b.name, edges[1], x, y, a.normal_deg(edges[0])))
            joined |= {(a.name, edges[0]), (b.name, edges[1])}
    joints.sort(key=lambda joint: (order[joint.a], joint.edge_a))
    free = tuple(
        OpenEdge(panel.name, edge)
        for panel in panels
        for edge in range(panel.cell.sides)
        if (panel.name, edge) not in joined
    )
    return tuple(joints), free


def _shared(a: PlacedPanel, b: PlacedPanel, tolerance: float) -> tuple[int, int] | None:
    ends_a, ends_b = _edges(a), _edges(b)
    for i, (start, end) in enumerate(ends_a):
        for j, (other_start, other_end) in enumerate(ends_b):
            if (
                math.dist(start, other_end) <= tolerance
                and math.dist(end, other_start) <= tolerance
            ):
                return i, j
    return None


def _edges(panel: PlacedPanel) -> list[tuple[Point, Point]]:
    points = panel.corners
    return [(points[k], points[(k + 1) % len(points)]) for k in range(len(points))]
