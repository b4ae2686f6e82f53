"""Placed panels, joints and open edges, frozen, in the wall frame (X right, Y up, mm, degrees)."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

from fab.outlines.contour import Point, around


@dataclass(frozen=True)
class Cell:
    """The regular polygon that a panel fills on the lattice, gap included.

    Edge 0 faces +X of the panel.
    """

    sides: int
    apothem: float  # centre to edge, mm

    @property
    def edge(self) -> float:
        """Length of an edge, mm: twice the apothem times tan(pi / sides)."""
        return 2 * self.apothem * math.tan(math.pi / self.sides)

    @property
    def circumradius(self) -> float:
        """Centre to corner, mm."""
        return self.apothem / math.cos(math.pi / self.sides)


@dataclass(frozen=True)
class PlacedPanel:
    """One panel on the wall: name, design ("panel" is the main one), cell and pose."""

    name: str
    design: str
    cell: Cell
    x: float
    y: float
    turn_deg: float  # of the panel frame in the wall frame, anticlockwise, 0 <= turn < 360
    lattice: tuple[int, int] | None = None

    def to_wall(self, point: Point) -> Point:
        """A point of the panel frame in the wall frame."""
        angle = math.radians(self.turn_deg)
        cos, sin = math.cos(angle), math.sin(angle)
        return (self.x + point[0] * cos - point[1] * sin, self.y + point[0] * sin + point[1] * cos)

    def normal_deg(self, edge: int) -> float:
        """Direction in which an edge faces, in the wall frame."""
        return (self.turn_deg + 360.0 * edge / self.cell.sides) % 360.0

    def edge_middle(self, edge: int) -> Point:
        """Middle of an edge in the wall frame, mm."""
        angle = math.radians(self.normal_deg(edge))
        return (
            self.x + self.cell.apothem * math.cos(angle),
            self.y + self.cell.apothem * math.sin(angle),
        )

    @cached_property
    def corners(self) -> tuple[Point, ...]:
        """The lattice cell's corners, anticlockwise from the low end of edge 0."""
        n, r = self.cell.sides, self.cell.circumradius
        return tuple(
            self.to_wall(
                (r * math.cos((2 * k - 1) * math.pi / n), r * math.sin((2 * k - 1) * math.pi / n))
            )
            for k in range(n)
        )


@dataclass(frozen=True)
class Joint:
    """Two edges that lie on each other; `a` comes before `b` in the layout."""

    a: str
    edge_a: int
    b: str
    edge_b: int
    x: float  # middle of the joint
    y: float
    normal_deg: float  # from a to b


@dataclass(frozen=True)
class OpenEdge:
    """An edge of a panel with no neighbour."""

    panel: str
    edge: int


@dataclass(frozen=True)
class Layout:
    """All placed panels in reading order, their joints and open edges."""

    panels: tuple[PlacedPanel, ...]
    joints: tuple[Joint, ...]
    open_edges: tuple[OpenEdge, ...]
    groups: tuple[tuple[str, ...], ...]  # names of panels that hang together

    @cached_property
    def by_name(self) -> Mapping[str, PlacedPanel]:
        """Each panel by its name."""
        return {panel.name: panel for panel in self.panels}

    @cached_property
    def neighbours(self) -> Mapping[str, tuple[tuple[int, str, int], ...]]:
        """Panel name to (own edge, neighbour, neighbour's edge), by own edge."""
        found: dict[str, list[tuple[int, str, int]]] = {panel.name: [] for panel in self.panels}
        for joint in self.joints:
            found[joint.a].append((joint.edge_a, joint.b, joint.edge_b))
            found[joint.b].append((joint.edge_b, joint.a, joint.edge_a))
        return {name: tuple(sorted(items)) for name, items in found.items()}

    @cached_property
    def box(self) -> tuple[float, float, float, float]:
        """Bounding box of all cells."""
        return around(corner for panel in self.panels for corner in panel.corners)


@dataclass(frozen=True)
class BaseKind:
    """Everything that sets one printed base apart; panels that need the same share it."""

    key: str  # "plain", "inlet", "hanger-A", "inlet-hanger-A"
    design: str
    inlet: bool  # at the base's edge 0
    # direction of the wall's up in the base's own frame, when it carries a hanger
    up_deg: float | None
    label: str  # raised inside; "" for none
    # how far it is mounted round: what keeps its place in the panel is turned back by that
    steps: int = 0
    # edges with an opening and a channel for a jumper, in the base's own frame, sorted
    jumpers: tuple[int, ...] = ()
    aside_mm: float = 0.0  # of the keyhole's middle line, to the wall's right of the panel's centre
    rest_mm: float | None = None  # its rest over the panel's centre; None: as high as it is free


@dataclass(frozen=True)
class BaseUse:
    """The base that a panel gets, and by how many edges it is turned against the panel."""

    panel: str
    kind: BaseKind
    steps: int  # base edge 0 lies on the panel's edge `steps`
