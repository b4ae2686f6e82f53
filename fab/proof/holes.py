"""The table of holes: what a mark on a template is held against."""

from __future__ import annotations

from dataclasses import dataclass

HOLES = "wall/holes.csv"
PLACE_MM = 0.05  # of a mark; an opening's edge is a mesh in single precision


@dataclass(frozen=True)
class ReadHole:
    """A hole right and up of the datum hole, mm."""

    panel: str
    x: float
    y: float
    drill: float
