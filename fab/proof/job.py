"""The job's values as the proof uses them, with its own short geometry: cells on the wall, bodies,
joints.

Deliberately a second way: nothing here is taken from the rooms that laid the wall out.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

Point = tuple[float, float]


@dataclass(frozen=True)
class WallPanel:
    """A panel on the wall: centre, turn in degrees, number of sides and centre-to-edge distance of
    its cell.
    """

    name: str
    design: str
    sides: int
    apothem: float
    x: float
    y: float
    turn_deg: float

    def normal_deg(self, edge: int) -> float:
        """Direction out of an edge in the wall frame, degrees, not reduced to 0 to 360."""
        return self.turn_deg + 360.0 * edge / self.sides

    def middle(self, edge: int) -> Point:
        """Middle of an edge in the wall frame, mm."""
        a = math.radians(self.normal_deg(edge))
        return (self.x + self.apothem * math.cos(a), self.y + self.apothem * math.sin(a))


@dataclass(frozen=True)
class Edges:
    """Joints (a, edge, b, edge) and open edges (panel, edge), from places alone."""

    joints: tuple[tuple[str, int, str, int], ...]
    free: tuple[tuple[str, int], ...]


@dataclass(frozen=True)
class JobValues:
    """The values of a job as nested plain data."""

    values: Mapping[str, Any]

    def at(self, dotted: str, other: Any = None) -> Any:
        """A value by its dotted key; `other` when it is left out."""
        found: Any = self.values
        for word in dotted.split("."):
            if not isinstance(found, Mapping) or word not in found:
                return other
            found = found[word]
        return found

    def design(self, name: str) -> JobValues:
        """The values of a design of panel."""
        own = self.values["panel"] if name in ("", "panel") else self.values["designs"][name]
        return JobValues(own)

    @cached_property
    def apothem(self) -> float:
        """Of a design: centre to edge of its cell."""
        flats, edge = self.at("across_flats"), self.at("edge")
        return float(flats / 2 if flats else edge / (2 * math.tan(math.pi / self.values["sides"])))

    def nominal_sheet(self, shop: JobValues) -> tuple[int, float, float]:
        """Of a design: sides, centre to edge and corner radius of its diffuser as it should
        measure.

        Cell less half the joint's gap, less the shell's wall, less the seat's clearance and the
        growth of the sheet from where it is cut to where it is warmest.
        """
        n = int(self.values["sides"])
        inside = self.apothem - self.at("gap") / 2 - self.at("shell.wall")
        stock = shop.at("stock")[self.at("diffuser.stock")]
        warmer = max(self.at("diffuser.warm_c") - self.at("diffuser.cut_c"), 0.0)
        seat = shop.at("printer.clearance.seat")
        gap = seat + stock.get("expansion_per_k", 0.0) * warmer * inside / math.cos(math.pi / n)
        corner = max(self.at("corner_radius") - self.at("shell.wall"), shop.at("printer.nozzle"))
        return n, inside - gap, max(corner - gap, 0.0)

    @cached_property
    def shop(self) -> JobValues:
        """The values of the shop alone. Raises KeyError where the list has none."""
        return JobValues(self.values["shop"])


def regular(sides: int, apothem: float, radius: float, turn_deg: float = 0.0) -> list[Point]:
    """A regular polygon with round corners as points, edge 0 facing `turn_deg`."""
    found = []
    half = math.pi / sides
    reach = (apothem - radius) / math.cos(half)
    for k in range(sides):
        at = math.radians(turn_deg) + (2 * k + 1) * half
        x, y = reach * math.cos(at), reach * math.sin(at)
        steps = (
            max(2, math.ceil(2 * half / (2 * math.acos(max(1 - 0.0005 / radius, 0.0)))))
            if radius > 1e-3
            else 1
        )
        for i in range(steps + 1):
            a = at - half + 2 * half * i / steps
            found.append((x + radius * math.cos(a), y + radius * math.sin(a)))
    return found


def edges_of(panels: Sequence[WallPanel]) -> Edges:
    """Joints: edges whose middles coincide and which face each other. The rest are open."""
    at: dict[tuple[int, int], list[tuple[WallPanel, int]]] = defaultdict(list)
    spots = [(panel, edge, panel.middle(edge)) for panel in panels for edge in range(panel.sides)]
    for panel, edge, (x, y) in spots:
        at[round(x), round(y)].append((panel, edge))
    joints, taken = [], set()
    for panel, edge, (x, y) in spots:
        near = [
            one
            for i in (-1, 0, 1)
            for j in (-1, 0, 1)
            for one in at.get((round(x) + i, round(y) + j), ())
        ]
        for other, its in near:
            key = ((panel.name, edge), (other.name, its))
            if panel.name == other.name or key[1] in taken or key[0] in taken:
                continue
            opposite = (
                math.cos(math.radians(panel.normal_deg(edge) - other.normal_deg(its))) < -0.999999
            )
            if opposite and math.dist((x, y), other.middle(its)) < 0.01:
                joints.append((panel.name, edge, other.name, its))
                taken |= set(key)
    free = tuple((panel.name, edge) for panel, edge, _ in spots if (panel.name, edge) not in taken)
    return Edges(tuple(joints), free)


def cells_of(job: JobValues) -> list[WallPanel] | None:
    """The panels that the job places in lattice cells or on each other, unnamed as ""; None when it
    does neither.
    """
    cells, placed = job.at("layout.cells", []), job.at("layout.panel", [])
    if not cells and not placed:
        return None
    whole = math.radians(job.at("layout.turn_deg", 0.0))
    found: dict[int, WallPanel] = {}
    asked = [{"cell": cell} for cell in cells] + list(placed)
    names = {one["name"]: k for k, one in enumerate(asked) if one.get("name")}
    for _ in range(len(asked)):
        before = len(found)
        for k, one in enumerate(asked):
            if k in found:
                continue
            design = job.design(one.get("design", ""))
            name, n, reach = (
                one.get("design") or "panel",
                int(design.values["sides"]),
                design.apothem,
            )
            if one.get("cell") is not None:
                x, y, turn = _lattice(n, reach, *one["cell"])
            elif names.get(one.get("on")) in found:
                host = found[names[one["on"]]]
                facing = math.radians(host.normal_deg(one.get("edge", 0)))
                far = host.apothem + reach
                x, y = host.x + far * math.cos(facing), host.y + far * math.sin(facing)
                turn = math.degrees(facing) + 180.0 - 360.0 * one.get("own_edge", 0) / n
            else:
                continue
            found[k] = WallPanel(one.get("name", ""), name, n, reach, x, y, turn)
        if len(found) == before:
            break
    turned = []
    for k in sorted(found):
        p = found[k]
        x, y = (
            p.x * math.cos(whole) - p.y * math.sin(whole),
            p.x * math.sin(whole) + p.y * math.cos(whole),
        )
        turned.append(
            WallPanel(
                p.name,
                p.design,
                p.sides,
                p.apothem,
                x,
                y,
                (p.turn_deg + math.degrees(whole)) % 360.0,
            )
        )
    return turned


def _lattice(sides: int, apothem: float, a: float, b: float) -> tuple[float, float, float]:
    """Cell to centre and turn: hexagon axial (q, r), square (column, row), triangle (column, row;
    even: point up).
    """
    d = 2 * apothem
    if sides == 6:
        return d * (a + b / 2), d * math.sqrt(0.75) * b, 0.0
    if sides == 4:
        return d * a, d * b, 0.0
    edge = d * math.sqrt(3.0)
    up = (a + b) % 2 == 0
    height = 3.0 * apothem
    return a * edge / 2, b * height + (apothem if up else 2 * apothem), 270.0 if up else 90.0
