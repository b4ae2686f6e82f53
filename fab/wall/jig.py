"""A drilling jig to be laser-cut: guide holes one panel apart, upright in the wall frame, its edges
level and plumb.

+-------------------+
|         o         |    drill the first hole, put a drill bit or pin through jig and hole,
|                   |    set a spirit level on the upper edge, drill the next one
|   o           o   |
+-------------------+
"""

from __future__ import annotations

import math
from collections import Counter

from fab.errors import refused
from fab.layout.model import Layout
from fab.outlines.contour import Outline, Point, around, circle
from fab.outlines.shapes import rectangle
from fab.params.shop import WallType
from fab.wall.model import Place

RIM_MM = 14.0  # material around a guide hole
GUIDE_PLAY_MM = 0.2  # the drill runs free in its hole; common practice, no source
RADIUS_MM = 5.0


def jig_steps(layout: Layout, places: tuple[Place, ...]) -> tuple[Point, ...]:
    """The one or two commonest ways from a screw to the screw of the neighbouring panel: right, or
    up.

    Panels without room for a screw do not count.
    """
    spots = {place.panel: place for place in places if place.keyhole is not None}
    found: Counter[Point] = Counter()
    for joint in layout.joints:
        if joint.a in spots and joint.b in spots:
            dx, dy = spots[joint.b].x - spots[joint.a].x, spots[joint.b].y - spots[joint.a].y
            if dx < -1e-6 or (abs(dx) <= 1e-6 and dy < 0):
                dx, dy = -dx, -dy
            found[(round(dx, 3) + 0.0, round(dy, 3) + 0.0)] += 1
    ranked = sorted(found, key=lambda step: (-found[step], math.hypot(*step), step))
    if not ranked:
        return ()
    second = next(
        (s for s in ranked[1:] if abs(s[0] * ranked[0][1] - s[1] * ranked[0][0]) > 1.0), None
    )
    return (ranked[0],) if second is None else (ranked[0], second)


def jig(layout: Layout, places: tuple[Place, ...], wall: WallType) -> Outline:
    """The jig as a flat part, front view, up is up; guide holes as wide as the drill.

    Raises InputError when no two neighbours can both have a screw.
    """
    steps = jig_steps(layout, places)
    if not steps:
        raise refused(
            "no two joined panels both have room for a screw, so a jig is useless",
            "Set hang.jig = false.",
            key="hang.jig",
        )
    points = [(0.0, 0.0), *steps]
    rim = RIM_MM + wall.drill / 2
    left, low, right, top = around(points)
    x0, y0, x1, y1 = left - rim, low - rim, right + rim, top + rim
    edge = rectangle(x1 - x0, y1 - y0, ((x1 - x0) / 2, (y1 - y0) / 2), RADIUS_MM)
    holes = tuple(
        circle((x - x0, y - y0), (wall.drill + GUIDE_PLAY_MM) / 2) for x, y in sorted(points)
    )
    return Outline(edge, holes)
