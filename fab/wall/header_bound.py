"""The most headers that can be mated, whatever the order of pushes: a bound from the rings round
corners.

Where panels close a ring round a corner, the last push of that ring unites two parts of it, and its
headers face one way. Walked round the ring, one of them then leads from the moving part to the
other and one leads back: two joints of the ring face opposite ways. A ring without such a pair
(three hexagons round a corner) leaves a joint without a header. Fewest joints that meet every such
ring: a linear programme, whose value no choice of whole joints goes below.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Collection

from fab.integers import least
from fab.layout.model import Layout
from fab.outlines.contour import Point


def most_headers(layout: Layout, bare: Collection[int] = ()) -> int:
    """Return a number of headers that no order of pushes and lifts exceeds.

    `bare`: joints that take none.
    """
    live = [k for k in range(len(layout.joints)) if k not in bare]
    rings = lossy_rings(layout, live)
    if not rings:
        return len(live)
    at = {k: n for n, k in enumerate(live)}
    rows = [({at[k]: 1.0 for k in ring}, 1.0, math.inf) for ring in rings]
    found = least(
        [1.0] * len(live), [0.0] * len(live), [1.0] * len(live), 0, rows, gap=0.0, nodes=1
    )
    return len(live) - (math.ceil(math.fsum(found.values) - 1e-6) if found.best else 1)


def lossy_rings(layout: Layout, live: Collection[int]) -> list[tuple[int, ...]]:
    """Return the rings of joints round a corner of which one stays without a header, by index of
    the layout's joints.
    """
    round_corner: dict[Point, list[int]] = defaultdict(list)
    for k in live:
        joint = layout.joints[k]
        corners = layout.by_name[joint.a].corners
        for x, y in (corners[joint.edge_a], corners[(joint.edge_a + 1) % len(corners)]):
            # a corner that is rounded apart only leaves a ring out
            round_corner[round(x, 2), round(y, 2)].append(k)
    found = []
    for corner, joints in round_corner.items():
        panels = {name for k in joints for name in (layout.joints[k].a, layout.joints[k].b)}
        if (
            len(joints) >= 3
            and len(panels) == len(joints)
            and not _has_opposites(layout, joints, corner)
        ):
            found.append(tuple(joints))
    return found


def _has_opposites(layout: Layout, joints: Collection[int], corner: Point) -> bool:
    """True when two joints of the ring round a corner face opposite ways, as one walks round it."""
    headings = []
    for joint in (layout.joints[k] for k in joints):
        (ax, ay), (bx, by) = (
            (panel.x - corner[0], panel.y - corner[1])
            for panel in (layout.by_name[joint.a], layout.by_name[joint.b])
        )
        headings.append(joint.normal_deg + (0.0 if ax * by > ay * bx else 180.0))
    return any(abs((one - other) % 360.0 - 180.0) < 1e-3 for one in headings for other in headings)
