"""Designs that share clips and caps: parts of an edge are alike when every value that shapes them
is.
"""

from __future__ import annotations

from fab.outlines.contour import Contour
from fab.parts.cap import plate_contour
from fab.parts.clip import clip_outline
from fab.parts.footsizes import recess_depth
from fab.parts.plan import Plan


def edge_values(part: str, plan: Plan) -> tuple[object, ...]:
    """Everything that shapes a design's clip, cap or foot, to 1e-6 mm: equal values, the
    same part.
    """
    if part == "clip":
        return ("clip", _points(clip_outline(plan).edge), round(plan.params.clip.width, 6))
    if part == "foot":
        fits = (plan.fit("foot"), plan.fit("foot-stub"), plan.printer.elephant_foot)
        return (
            "foot",
            *(round(length, 6) for length in (plan.params.base.feet, recess_depth(plan), *fits)),
        )
    lengths = (
        plan.params.gap / 2,
        plan.params.shell.wall,
        plan.fit("lap"),
        plan.edge.wall_u,
        plan.params.base.wall,
        plan.edge.window_w,
        plan.edge.window_h,
        plan.fit("cap"),
        plan.fit("cap-port"),
        plan.heights.axis_z,
        plan.heights.wall_top_z,
        plan.floor.top_z,
    )
    return ("cap", _points(plate_contour(plan)), *(round(length, 6) for length in lengths))


def _points(contour: Contour) -> tuple[tuple[float, float], ...]:
    return tuple(
        (round(seg.start[0], 6) + 0.0, round(seg.start[1], 6) + 0.0) for seg in contour.segments
    )
