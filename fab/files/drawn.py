"""One thing of a drawing as it was read: its lines and arcs, its layers and its colour."""

from __future__ import annotations

from dataclasses import dataclass

from fab.outlines.contour import Segment

FLAT_MM = 0.005  # the most that a chord of an ellipse or a curve strays


@dataclass(frozen=True)
class Drawn:
    """Segments in mm that belong together. `layers`: the innermost first. `colour`: #rrggbb."""

    segments: tuple[Segment, ...]
    layers: tuple[str, ...] = ()
    colour: str = ""
