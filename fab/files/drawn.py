"""An entity of a drawing as it was read: its lines and arcs, its layers and its colour."""

from __future__ import annotations

from dataclasses import dataclass

from fab.outlines.contour import Arc, Segment

FLAT_MM = 0.005  # the most that a chord of an ellipse or a curve strays


@dataclass(frozen=True)
class Drawn:
    """Segments in mm that belong together. `layers`: the innermost first. `colour`: #rrggbb."""

    segments: tuple[Segment, ...]
    layers: tuple[str, ...] = ()
    colour: str = ""

    @property
    def corners(self) -> int:
        """Corners that count against the limit of a drawing: 1 a line, 2 an arc, which takes twice
        the time and memory.
        """
        return len(self.segments) + sum(isinstance(seg, Arc) for seg in self.segments)
