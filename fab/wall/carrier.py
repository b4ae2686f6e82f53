"""The carrying board of a piece: the wall is put together face down on it, and goes to the room
wall with it.

Back view, as the panels lie (face down, their top away from the reader): mirrored left to right.

    +--------------------------+
    |      ____    ____        |     MARGIN round the panels
    |     /    \\__/    \\       |
    |     \\____/  \\____/       |
    |     [==]      [==]       |     ledge blocks under the lower open edges, two screws each
    +--------------------------+

Upright, the piece stands on the blocks and leans on the board, which the people hold on their side.
At the room wall the keyholes go over the screws' heads, the piece comes down, and the board is
taken away.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from fab.layout.model import Layout
from fab.outlines.contour import Contour, Point, around, circle, polygon
from fab.outlines.drawing import Drawing, Layer
from fab.outlines.inks import BLACK
from fab.outlines.strokes import strokes
from fab.units import fixed
from fab.wall.marks import LEVEL, OUTLINE, SCREW

MARGIN_MM = 60.0  # board round the panels: room for blocks and hands
# a ledge block along (shorter at a short edge) and out of the edge, mm
BLOCK_W, BLOCK_H = (40.0, 20.0)
BLOCK_PLAY = 0.5  # between edge and block
SCREW_D = 4.0
LOWER_DEG = 61.0  # an edge that faces down by less than this carries
BOARD_T = 9.0  # plywood, mm; common practice, no source
BOARD_G_CM3 = 0.65  # plywood; from memory


@dataclass(frozen=True)
class LedgeBlock:
    """One ledge block: panel and edge it lies under, its corners and its screws, wall frame."""

    panel: str
    edge: int
    corners: tuple[Point, ...]
    screws: tuple[Point, ...]


@dataclass(frozen=True)
class Carrier:
    """The board of one piece; its box in the wall frame, mm."""

    panels: tuple[str, ...]
    box: tuple[float, float, float, float]
    blocks: tuple[LedgeBlock, ...]
    middle_x: float  # of the panels, wall frame

    @property
    def size(self) -> tuple[float, float]:
        """Width and height, whole mm upwards."""
        x0, y0, x1, y1 = self.box
        return (math.ceil(x1 - x0), math.ceil(y1 - y0))

    @property
    def steady_mm(self) -> float:
        """The distance by which the middle of the piece lies inside the outer corners of its
        blocks, across; negative: outside.
        """
        xs = [x for block in self.blocks for x, _ in block.corners]
        return min(self.middle_x - min(xs), max(xs) - self.middle_x) if xs else -MARGIN_MM

    @property
    def grams(self) -> float:
        """Weight of the board without its blocks."""
        return self.size[0] * self.size[1] * BOARD_T / 1000 * BOARD_G_CM3


def carrier(layout: Layout, names: Sequence[str]) -> Carrier:
    """Return the board for a piece of panels."""
    inside = set(names)
    corners = [corner for name in names for corner in layout.by_name[name].corners]
    x0, y0, x1, y1 = around(corners)
    box = (x0 - MARGIN_MM, y0 - MARGIN_MM, x1 + MARGIN_MM, y1 + MARGIN_MM)
    inner = {(j.a, j.edge_a) for j in layout.joints if j.b in inside} | {
        (j.b, j.edge_b) for j in layout.joints if j.a in inside
    }
    blocks = []
    for name in names:
        panel = layout.by_name[name]
        for edge in range(panel.cell.sides):
            down = abs((panel.normal_deg(edge) - 270.0 + 180.0) % 360.0 - 180.0)
            if down < LOWER_DEG and (name, edge) not in inner:
                block = _block(
                    name,
                    edge,
                    panel.edge_middle(edge),
                    panel.normal_deg(edge),
                    min(BLOCK_W, 0.55 * panel.cell.edge),
                )
                if _clear(layout, names, block):
                    blocks.append(block)
    middle = math.fsum(layout.by_name[name].x for name in names) / len(names)
    return Carrier(tuple(names), box, tuple(blocks), middle)


def _block(name: str, edge: int, middle: Point, normal_deg: float, long: float) -> LedgeBlock:
    angle = math.radians(normal_deg)
    ux, uy = math.cos(angle), math.sin(angle)

    def at(along: float, out: float) -> Point:
        return (middle[0] + ux * out - uy * along, middle[1] + uy * out + ux * along)

    half, far = long / 2, BLOCK_PLAY + BLOCK_H
    corners = (at(-half, BLOCK_PLAY), at(-half, far), at(half, far), at(half, BLOCK_PLAY))
    screws = tuple(at(side * 0.3 * long, BLOCK_PLAY + BLOCK_H / 2) for side in (-1, 1))
    return LedgeBlock(name, edge, corners, screws)


def _clear(layout: Layout, names: Sequence[str], block: LedgeBlock) -> bool:
    """True when a block lies beside all panels: no panel's faces hold one of its corners or its
    middle inside.
    """
    middle = tuple(sum(values) / 4 for values in zip(*block.corners, strict=True))
    reach = max(math.dist(middle, corner) for corner in block.corners)
    for name in names:
        panel = layout.by_name[name]
        if math.dist(middle, (panel.x, panel.y)) > panel.cell.circumradius + reach:
            continue  # too far away to meet it at all
        faces = [math.radians(panel.normal_deg(edge)) for edge in range(panel.cell.sides)]
        for x, y in (*block.corners, middle):
            deep = max((x - panel.x) * math.cos(a) + (y - panel.y) * math.sin(a) for a in faces)
            if deep < panel.cell.apothem - 1e-6:
                return False
    return True


def drawing(made: Carrier, layout: Layout, title: str = "") -> Drawing:
    """Return the board 1:1 in back view: its edge, the panels' outlines, blocks and screw
    places.
    """
    x0, y0, x1, y1 = made.box
    wide, high = x1 - x0, y1 - y0

    def seen(point: Point) -> Point:
        return (x1 - point[0], point[1] - y0)

    def ring(points: Sequence[Point]) -> Contour:
        return polygon([seen(point) for point in reversed(points)])  # mirrored: the other way round

    bodies = tuple(ring(layout.by_name[name].corners) for name in made.panels)
    blocks = tuple(ring(block.corners) for block in made.blocks)
    spots = [seen(at) for block in made.blocks for at in block.screws]
    words: list[tuple[Point, ...]] = []
    for name in made.panels:
        panel = layout.by_name[name]
        tall = min(8.0, panel.cell.apothem / 4)
        x, y = seen((panel.x, panel.y))
        words += strokes(name, tall, "middle", (x, y - tall / 2))
    label = (
        f"CARRYING BOARD {fixed(made.size[0])} X {fixed(made.size[1])} MM   BACK VIEW, PANELS FACE"
        " DOWN   TOP ↑"
    )
    words += strokes(label, 4.0, "start", (12.0, 12.0))
    layers = (
        Layer(
            "CARRIER-EDGE",
            OUTLINE,
            8,
            (polygon([(0.0, 0.0), (wide, 0.0), (wide, high), (0.0, high)]),),
        ),
        Layer("CARRIER-PANELS", LEVEL, 5, bodies),
        Layer("CARRIER-BLOCKS", OUTLINE, 8, blocks),
        Layer("CARRIER-SCREW", SCREW, 30, tuple(circle(at, SCREW_D / 2) for at in spots)),
        Layer("TEMPLATE-TEXT", BLACK, 7, (), tuple(words)),
    )
    notes = (
        "carrying board, 1:1, BACK view as the panels lie face down",
        (
            f"ledge blocks {fixed(BLOCK_W)} x {fixed(BLOCK_H)} mm, lower than the panels are deep,"
            " two screws each"
        ),
    )
    return Drawing(wide, high, layers, title or "carrying board", notes)
