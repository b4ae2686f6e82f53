"""Passes of the beam on one sheet, each from piercing to the end, and all of them in order."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from fab.outlines.contour import Contour, Point, Segment

Operation = Literal["engrave", "mark", "inner", "outer", "rest"]
SURFACE = ("engrave", "mark")  # what does not go through the sheet


@dataclass(frozen=True)
class Pass:
    """One go of the beam from piercing to the end."""

    operation: Operation
    owner: str  # "diffuser 3"; several for a shared line
    segments: tuple[Segment, ...]  # in the sheet frame, in the direction of cutting
    points: tuple[Point, ...] = ()  # of a mark

    @property
    def closed(self) -> bool:
        """True when the beam ends where it began, within 1e-6 mm."""
        return (
            len(self.segments) > 0
            and math.dist(self.segments[-1].end, self.segments[0].start) < 1e-6
        )

    @property
    def start(self) -> Point:
        """Point at which the beam is switched on."""
        return self.segments[0].start if self.segments else self.points[0]

    @property
    def end(self) -> Point:
        """Point at which the beam is switched off."""
        return self.segments[-1].end if self.segments else self.points[-1]

    @property
    def length_mm(self) -> float:
        """Length that the beam travels switched on."""
        if self.segments:
            return math.fsum(seg.length_mm for seg in self.segments)
        return math.fsum(
            math.dist(a, b) for a, b in zip(self.points, self.points[1:], strict=False)
        )


@dataclass(frozen=True)
class CutPlan:
    """The passes of one sheet in order, and their sums."""

    passes: tuple[Pass, ...]
    cut_mm: float
    mark_mm: float
    travel_mm: float
    pierces: int
    seconds: float
    over_freed: int  # ways between cuts that run over something already cut free
    notes: tuple[str, ...] = ()


def closed_contours(plan: CutPlan, operation: Operation) -> tuple[Contour, ...]:
    """The closed passes of an operation as contours, in order."""
    return tuple(
        Contour(step.segments)
        for step in plan.passes
        if step.operation == operation and step.closed
    )
