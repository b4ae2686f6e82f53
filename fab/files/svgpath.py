"""SVG path data out of segments.

The flip from y up to SVG's y down is here (`Flip`) and nowhere else.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from fab.outlines.contour import Arc, Point, Segment
from fab.units import fixed

PLACES = 4  # decimals of a coordinate in mm

# Near half a turn the radius hardly pins the centre: 0.0001 mm of rounding moves the belly of a 5
# mm half round by 0.02 mm. So an arc is written in pieces of 100 degrees or less (a quarter turn of
# a rounded corner stays whole).
_MOST_RAD = math.radians(100.0)


@dataclass(frozen=True)
class Flip:
    """From y up on a page of this height to y down; numbers with so many decimals of a mm."""

    height: float
    places: int = PLACES

    def xy(self, point: Point) -> tuple[float, float]:
        """The point with y down from the upper edge, as SVG counts it; the same unit."""
        return point[0], self.height - point[1]

    def path(self, segments: Sequence[Segment], *, closed: bool) -> str:
        """The `d` of one path: M, L, A and, when closed, Z.

        The last line of a closed path is left to Z.

        What is shorter than the last decimal is left out: an arc without length can't be told from
        a full circle.
        """
        at = self._pair(segments[0].start)
        words = [f"M{at}"]
        for place, seg in enumerate(segments):
            if closed and place == len(segments) - 1 and not isinstance(seg, Arc):
                break
            for command, end in (
                self._arc(seg) if isinstance(seg, Arc) else [("L", self._pair(seg.end))]
            ):
                if end != at:
                    words.append(f"{command}{end}")
                    at = end
        return " ".join([*words, "Z"] if closed else words)

    def _arc(self, arc: Arc) -> list[tuple[str, str]]:
        count = math.ceil(abs(arc.sweep_rad) / _MOST_RAD - 1e-9)
        radius = fixed(arc.radius_mm, self.places)
        # sweep 1 is clockwise on screen; the flip keeps the sense the eye sees
        clockwise = int(arc.sweep_rad < 0)
        command = f"A{radius} {radius} 0 0 {clockwise} " if radius != "0" else "L"
        return [(command, self._pair(arc.at(k / count))) for k in range(1, count + 1)]

    def _pair(self, point: Point) -> str:
        x, y = self.xy(point)
        return f"{fixed(x, self.places)} {fixed(y, self.places)}"
