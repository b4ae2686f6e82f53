"""A flat drawing: closed contours and open strokes on layers, in mm, x right, y up.

Every 2D file is written from it.
"""

from __future__ import annotations

from dataclasses import dataclass

from fab.outlines.contour import Contour, Point, Segment


@dataclass(frozen=True)
class Layer:
    """One operation: its contours in the order of work, open strokes (polylines), and open runs of
    lines and arcs.
    """

    name: str
    colour: str  # #rrggbb
    aci: int  # colour index of readers without true colour
    contours: tuple[Contour, ...] = ()
    strokes: tuple[tuple[Point, ...], ...] = ()
    runs: tuple[tuple[Segment, ...], ...] = ()


@dataclass(frozen=True)
class Drawing:
    """Layers on a page whose lower left corner is (0, 0)."""

    width: float
    height: float
    layers: tuple[Layer, ...]
    title: str = ""
    notes: tuple[str, ...] = ()  # kerf, thickness, view: go into the file's metadata
