"""The board of a design as one type, drawn here or given: outline, holes, sockets, LEDs, switches,
tall parts.

        y            edge 1
        |        ___________          hole     mounting hole, over a post of the base
        |      /  s   ^      \\         socket   under the board, its mouth at the middle of an edge
        |     /  o  . . .  o  \\        led      in the order of the data line
        |     \\     . . .     /        switch   at an edge, under a rib of the shell
        |      \\ o________ o /         part     anything else that stands up
        +------------> x  edge 0 at +X

All places are in the panel frame, front view, on a grid of 1e-6 mm, so that a board written to our
own files and read back is this same value.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from fab.errors import BrokenGeometry
from fab.outlines.contour import Contour, Outline, Point, circle, turn
from fab.outlines.curves import contour_of, corners_of
from fab.parts.given import given, on_grid
from fab.parts.leds import led_grid
from fab.parts.plan import Plan
from fab.parts.rings import Ring

# corners of a board drawn here are rounded off by this where its edges are long enough, mm
CORNER_R = 1.0
SAME_HOLE_MM = 0.05  # a hole of the list and one of the outline nearer than this are one


@dataclass(frozen=True)
class BoardItem:
    """One thing on the board, mm and degrees; of a socket x and y are the middle of its mouth."""

    kind: str
    x: float
    y: float
    turn_deg: float  # where it faces
    width: float
    depth: float
    height: float  # off the board's face
    side: str  # front, back or both
    name: str = ""

    @property
    def at(self) -> Point:
        """Its middle in the panel frame, mm."""
        return (self.x, self.y)

    @property
    def corners(self) -> tuple[Point, ...]:
        """Its footprint, anticlockwise; a socket reaches inwards from its mouth."""
        far, near = (
            (0.0, -self.depth) if self.kind == "socket" else (self.depth / 2, -self.depth / 2)
        )
        half, angle = self.width / 2, math.radians(self.turn_deg)
        box = ((near, -half), (far, -half), (far, half), (near, half))
        return tuple(
            (self.x + dx, self.y + dy) for dx, dy in (turn(corner, angle) for corner in box)
        )


@dataclass(frozen=True)
class BoardLayout:
    """A board: panejig's own, or a user's."""

    outline: Outline
    holes: tuple[BoardItem, ...]
    sockets: tuple[BoardItem, ...]
    leds: tuple[BoardItem, ...]
    switches: tuple[BoardItem, ...]
    parts: tuple[BoardItem, ...]


def board_layout(plan: Plan) -> BoardLayout | None:
    """The board of a design; None for a blank cover.

    Raises InputError when its LEDs can't be placed and BrokenGeometry when a given outline is none.
    """
    if plan.params.board.none:
        return None
    plan = plan.mounted(0)  # the board lies in the panel frame, however its base is mounted
    holes = _holes(plan)
    return BoardLayout(
        _outline(plan, holes), holes, _sockets(plan), _leds(plan), _switches(plan), _parts(plan)
    )


def edge_of(plan: Plan, point: Point) -> int:
    """The edge that a point of the board is nearest to by its bearing."""
    share = math.atan2(point[1], point[0]) / (2 * math.pi) * plan.cell.sides
    return round(share + 1e-9) % plan.cell.sides


def seen_from_edge(plan: Plan, point: Point, edge: int) -> Point:
    """A point as (distance from the centre towards the edge's middle, offset along the edge)."""
    return turn(point, -2 * math.pi * edge / plan.cell.sides)


def lit_floor(plan: Plan) -> Ring:
    """The board's face as a ring of equal area: what throws light back; its drawn ring for a board
    drawn here.
    """
    if not plan.params.board.outline:
        return plan.rings.board
    drawn = abs(drawn_edge(plan).area_mm2)
    share = math.sqrt(abs(contour_of(plan.params.board.outline[0]).area_mm2) / drawn)
    if abs(share - 1.0) < 1e-9:
        return plan.rings.board
    room = plan.rings.base_inner
    share = min(share, room.apothem / plan.rings.board.apothem, room.facet / plan.rings.board.facet)
    return Ring(plan.cell.sides, plan.rings.board.apothem * share, plan.rings.board.facet * share)


def board_mm2(plan: Plan) -> float:
    """Area of the plate, its holes counted in; 0 for a blank cover. Needs no LED grid."""
    if plan.params.board.none:
        return 0.0
    curves = plan.params.board.outline
    return abs((contour_of(curves[0]) if curves else drawn_edge(plan)).area_mm2)


def drawn_edge(plan: Plan) -> Contour:
    """The edge of a board drawn to fit the base."""
    ring = plan.rings.board
    bend = math.pi / ring.sides if ring.half_facet > 0 else 2 * math.pi / ring.sides
    shortest = min(ring.half_edge, ring.half_facet) if ring.half_facet > 0 else ring.half_edge
    return contour_of(corners_of(ring.contour(min(CORNER_R, 0.9 * shortest / math.tan(bend / 2)))))


def _outline(plan: Plan, holes: tuple[BoardItem, ...]) -> Outline:
    """The edge and every hole through the board: those of its outline and those that only the list
    of parts knows.
    """
    curves = plan.params.board.outline
    edge = contour_of(curves[0]) if curves else drawn_edge(plan)
    cut = [contour_of(curve) for curve in curves[1:]]
    known = [found[0] for found in (contour.circle() for contour in cut) if found is not None]
    for hole in holes:
        if all(math.dist(hole.at, centre) > SAME_HOLE_MM for centre in known):
            if hole.width <= 0:
                raise BrokenGeometry(f"a mounting hole at {hole.at} has no diameter")
            cut.append(circle(hole.at, hole.width / 2))
    return Outline(
        edge, tuple(sorted(cut, key=corners_of))
    )  # in one order, whatever the order of the file


def _holes(plan: Plan) -> tuple[BoardItem, ...]:
    usual = plan.params.board.hole
    rows = given(plan.params, "hole")
    if rows:
        sizes = [row.width or usual for row in rows]
        return tuple(
            BoardItem("hole", row.x, row.y, 0.0, size, size, 0.0, "both", row.name)
            for row, size in zip(rows, sizes, strict=True)
        )
    mark = plan.fixings.mark
    widths = [
        plan.fixings.mark_hole_d if mark is not None and k == mark.index else usual
        for k in range(len(plan.fixings.board_holes))
    ]
    return tuple(
        BoardItem("hole", x, y, 0.0, wide, wide, 0.0, "both")
        for (x, y), wide in zip(plan.fixings.board_holes, widths, strict=True)
    )


def _sockets(plan: Plan) -> tuple[BoardItem, ...]:
    header = plan.params.header
    wide = header.pins * header.pitch
    rows = given(plan.params, "socket")
    if rows:
        return tuple(
            BoardItem(
                "socket",
                row.x,
                row.y,
                row.turn_deg,
                row.width or wide,
                row.depth or header.socket_depth,
                row.height or header.socket_height,
                row.side,
                row.name,
            )
            for row in rows
        )
    found = []
    for k in range(plan.cell.sides):
        x, y = on_grid(turn((plan.rings.board.apothem, 0.0), 2 * math.pi * k / plan.cell.sides))
        bearing = round(360.0 * k / plan.cell.sides, 6)
        found.append(
            BoardItem(
                "socket", x, y, bearing, wide, header.socket_depth, header.socket_height, "back"
            )
        )
    return tuple(found)


def _leds(plan: Plan) -> tuple[BoardItem, ...]:
    led = plan.params.led
    rows = given(plan.params, "led")
    if rows:
        return tuple(
            BoardItem(
                "led",
                row.x,
                row.y,
                row.turn_deg,
                row.width or led.size,
                row.depth or row.width or led.size,
                row.height or led.height,
                row.side,
                row.name,
            )
            for row in rows
        )
    return tuple(
        BoardItem("led", x, y, 0.0, led.size, led.size, led.height, "front")
        for x, y in led_grid(plan)
    )


def _switches(plan: Plan) -> tuple[BoardItem, ...]:
    switch = plan.params.switch
    if not switch.on:
        return ()
    rows = given(plan.params, "switch")
    if rows:
        return tuple(
            BoardItem(
                "switch",
                row.x,
                row.y,
                row.turn_deg,
                row.width or switch.size,
                row.depth or row.width or switch.size,
                row.height or switch.height,
                row.side,
                row.name,
            )
            for row in rows
        )
    reach, found = plan.cell.apothem - plan.press.switch_u, []
    for k in range(plan.cell.sides):
        x, y = on_grid(turn((reach, 0.0), 2 * math.pi * k / plan.cell.sides))
        bearing = round(360.0 * k / plan.cell.sides, 6)
        found.append(
            BoardItem("switch", x, y, bearing, switch.size, switch.size, switch.height, "front")
        )
    return tuple(found)


def _parts(plan: Plan) -> tuple[BoardItem, ...]:
    """Everything else, and switches that no edge presses."""
    rows = given(plan.params, "part")
    if not plan.params.switch.on:
        rows += given(plan.params, "switch")
    return tuple(
        BoardItem(
            "part",
            row.x,
            row.y,
            row.turn_deg,
            row.width,
            row.depth or row.width,
            row.height,
            row.side,
            row.name,
        )
        for row in rows
    )
