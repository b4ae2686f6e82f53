"""The template in one piece, as SVG or DXF: circles, scale bars and outlines, against table, panels
and keyholes.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from fab.checks.model import Verdict, at_most, judge
from fab.proof.holes import HOLES, PLACE_MM, ReadHole
from fab.proof.job import JobValues, WallPanel, regular
from fab.proof.keyholes import Hang
from fab.proof.paths import CutPath


def full_size(
    path: str,
    paths: Sequence[CutPath],
    holes: Sequence[ReadHole],
    panels: Sequence[WallPanel],
    there: Sequence[Hang],
    job: JobValues,
) -> list[Verdict]:
    """Circles, outlines and bars of the drawing in one piece."""
    circles = [
        circle
        for one in paths
        if one.layer.endswith("SCREW") and (circle := one.circle) is not None
    ]
    found = _places(path, [(x, y) for x, y, _ in circles], holes)
    found.append(
        judge(
            "proof.template-drill",
            path,
            at_most(
                max((abs(2 * r - holes[0].drill) for _, _, r in circles), default=math.inf), 0.01
            ),
            "diameter of the circles against the drill",
        )
    )
    lines = [one for one in paths if one.layer.endswith("TEXT") and len(one.segments) == 1]
    for word, flat in (("across", True), ("upwards", False)):
        long = max((_bar(one, flat=flat) for one in lines), default=0.0)
        off = min(abs(long - 100.0), abs(long - 50.0))
        found.append(
            judge(
                "proof.template-bar",
                path,
                at_most(off, 0.05),
                f"the bar {word} is {long:.2f} mm long",
            )
        )
    if panels and circles:
        bodies = [list(one.points) for one in paths if one.layer.endswith("OUTLINE")]
        verdict, shift = _outlines(path, bodies, panels, job)
        found.append(verdict)
        worst, where = 0.0, ""
        for hang in there if shift is not None else ():
            x, y = hang.x + (shift or (0.0, 0.0))[0], hang.y + (shift or (0.0, 0.0))[1]
            off = min(math.dist((x, y), circle[:2]) for circle in circles)
            if off > worst:
                worst, where = off, f" of panel {hang.panel}"
        found.append(
            judge(
                "proof.template-rest",
                path,
                at_most(worst, PLACE_MM),
                f"no mark lies on the rest of the keyhole{where}, seen from the outlines",
            )
        )
    return found


def _bar(one: CutPath, *, flat: bool) -> float:
    x0, y0, x1, y1, _ = one.segments[0]
    across, along = (abs(y1 - y0), abs(x1 - x0)) if flat else (abs(x1 - x0), abs(y1 - y0))
    return along if across < 1e-6 else 0.0


def _places(
    path: str, spots: Sequence[tuple[float, float]], holes: Sequence[ReadHole]
) -> list[Verdict]:
    """Circles of a drawing against the table, by their own distances: which is the datum is found
    by fit.
    """
    found = [
        judge(
            "proof.template-marks",
            path,
            at_most(float(abs(len(spots) - len(holes))), 0.0, "marks"),
            f"circles of screws: {len(spots)}, holes in the table: {len(holes)}",
        )
    ]
    if len(spots) != len(holes):
        return found
    left, low = min(x for x, _ in spots), min(y for _, y in spots)
    x0, y0 = min(hole.x for hole in holes), min(hole.y for hole in holes)
    worst, where = 0.0, ""
    for hole in holes:
        off = min(math.hypot(x - left - hole.x + x0, y - low - hole.y + y0) for x, y in spots)
        if off > worst:
            worst, where = off, f", panel {hole.panel}"
    return [
        *found,
        judge(
            "proof.template-place",
            path,
            at_most(worst, 0.01),
            f"a mark differs from its hole in {HOLES}{where}",
        ),
    ]


def _outlines(
    path: str,
    drawn: Sequence[Sequence[tuple[float, float]]],
    panels: Sequence[WallPanel],
    job: JobValues,
) -> tuple[Verdict, tuple[float, float] | None]:
    """Outlines of the panels' bodies, and where the drawing shows the wall's origin: as many, as
    large, and turned and placed like the panels.
    """
    import shapely

    bodies = []
    for panel in panels:
        design = job.design(panel.design)
        points = regular(
            panel.sides,
            design.apothem - design.at("gap") / 2,
            design.at("corner_radius"),
            panel.turn_deg,
        )
        bodies.append(shapely.Polygon([(x + panel.x, y + panel.y) for x, y in points]))
    shapes = [shapely.Polygon(points) for points in drawn if len(points) > 3]
    if len(shapes) != len(bodies):
        return (
            judge(
                "proof.template-outline",
                path,
                at_most(float(abs(len(shapes) - len(bodies))), 0.0, "outlines"),
                f"outlines: {len(shapes)}; panels: {len(bodies)}",
            ),
            None,
        )
    dx = min(s.bounds[0] for s in shapes) - min(b.bounds[0] for b in bodies)
    dy = min(s.bounds[1] for s in shapes) - min(b.bounds[1] for b in bodies)
    moved = [shapely.affinity.translate(body, dx, dy) for body in bodies]
    index = shapely.STRtree(shapes)
    worst, where = 0.0, ""
    for panel, body in zip(panels, moved, strict=True):
        off = body.boundary.hausdorff_distance(shapes[int(index.nearest(body.centroid))].boundary)
        if off > worst:
            worst, where = off, f" of panel {panel.name}"
    return (
        judge(
            "proof.template-outline",
            path,
            at_most(worst, 0.02),
            f"the outline{where} differs from the panel's body on the wall",
        ),
        (dx, dy),
    )
