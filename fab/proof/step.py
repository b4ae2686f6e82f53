"""STEP (ISO 10303-21) read as text: corners and volume of a solid, and the outline of its top face.

No CAD kernel.

The volume is that of the divergence theorem, V = 1/3 of the integral of r . n over all faces, each
turned into an integral along its edges, so a face needs its surface and its loops only:

    plane      r . n is constant: its distance times the vector area of the loop
    cone       p = O + rho n(u) + v a, rho = R + t v:   r . N = rho (O . n + R - t O . a),
               integrated over v exactly and along the loop by du (Green); a cylinder: t = 0
    bilinear   a B-spline patch of degree 1 x 1: triangles from the middle of its loop

Any other surface makes `volume_mm3` None: nothing is guessed.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

from fab.proof.tree import Unreadable

if TYPE_CHECKING:
    import numpy as np

PER_TURN = 192  # chords of a full circle: the area of a disc is then right to 0.02 per cent
ENTITY = re.compile(r"#(\d+)\s*=\s*([A-Z0-9_]+)\s*\((.*)\)\s*", re.DOTALL)
# a number, or else a text or a reference, in which no number counts
NUMBER = re.compile(r"'[^']*'|#\d+|([-+]?\d+\.?\d*(?:[eE][-+]?\d+)?)")
REF = re.compile(r"#(\d+)")

Vector = tuple[float, float, float]


@dataclass(frozen=True)
class StepFile:
    """A STEP file: entity number to its kind and arguments as text."""

    path: str
    entities: dict[int, tuple[str, str]]

    def of(self, kind: str) -> list[int]:
        """Numbers of all entities of a kind, in the order of the file."""
        return [number for number, (name, _) in self.entities.items() if name == kind]

    def refs(self, number: int) -> list[int]:
        """Numbers of the entities that an entity refers to (#12), in order."""
        return [int(text) for text in REF.findall(self.entities[number][1])]

    def numbers(self, number: int) -> list[float]:
        """Numbers that stand in an entity, references left out."""
        return [float(found) for found in NUMBER.findall(self.entities[number][1]) if found]

    def vector(self, number: int) -> Vector:
        """The first three numbers of an entity: a point or a direction."""
        x, y, z = self.numbers(number)[:3]
        return (x, y, z)

    @cached_property
    def corners(self) -> list[Vector]:
        """The vertices of all solids."""
        return [self.vector(self.refs(number)[0]) for number in self.of("VERTEX_POINT")]

    @cached_property
    def volume_mm3(self) -> float | None:
        """The volume of all solids together; None for a surface that is an unknown key."""
        total = 0.0
        for face in self.of("ADVANCED_FACE"):
            *bounds, surface = self.refs(face)
            flux = self._flux(surface, [self._loop(bound) for bound in bounds])
            if flux is None:
                return None
            total += flux
        return total / 3.0

    def top(self) -> list[list[Vector]]:
        """The loops of the highest level face, arcs as chords.

        The loop is closed without its first point again.
        """
        best: tuple[float, list[list[Vector]]] | None = None
        for face in self.of("ADVANCED_FACE"):
            *bounds, surface = self.refs(face)
            if self.entities[surface][0] != "PLANE":
                continue
            origin, axis, _ = self.placement(self.refs(surface)[0])
            if abs(abs(axis[2]) - 1.0) > 1e-6 or (best is not None and origin[2] <= best[0]):
                continue
            loops = (self._loop(bound).tolist() for bound in bounds)
            best = (origin[2], [[(x, y, z) for x, y, z in loop] for loop in loops])
        return best[1] if best else []

    def placement(self, number: int) -> tuple[Vector, Vector, Vector]:
        """Origin, axis and first direction."""
        refs = self.refs(number)
        axis = self.vector(refs[1]) if len(refs) > 1 else (0.0, 0.0, 1.0)
        return (
            self.vector(refs[0]),
            axis,
            self.vector(refs[2]) if len(refs) > 2 else (1.0, 0.0, 0.0),
        )

    def _loop(self, bound: int) -> np.ndarray:
        """Points along a face's bound, in its own direction, shape (n, 3)."""
        import numpy as np

        loop = self.refs(bound)[0]
        forward = ".T." in self.entities[bound][1]
        edges = self.refs(loop)
        found = []
        for oriented in edges if forward else reversed(edges):
            along = (".T." in self.entities[oriented][1]) == forward
            points = self._edge(self.refs(oriented)[0])
            found.append(points[:-1] if along else points[:0:-1])
        return np.concatenate(found)

    @cached_property
    def _edges(self) -> dict[int, np.ndarray]:
        return {}

    def _edge(self, number: int) -> np.ndarray:
        """Points of an edge from its first vertex to its second, shape (n, 3)."""
        import numpy as np

        if number not in self._edges:
            first, second, curve = self.refs(number)[:3]
            a, b = self.vector(self.refs(first)[0]), self.vector(self.refs(second)[0])
            same = ".T." in self.entities[number][1]
            self._edges[number] = np.array([a, *self._between(curve, a, b, same=same), b])
        return self._edges[number]

    def _between(
        self, curve: int, a: Vector, b: Vector, *, same: bool
    ) -> Sequence[Vector] | np.ndarray:
        """Points of an edge between its two vertices, shape (n, 3)."""
        kind = self.entities[curve][0]
        if kind == "LINE":
            return []
        if kind == "B_SPLINE_CURVE_WITH_KNOTS":
            points = [self.vector(ref) for ref in self.refs(curve)]
            if self.numbers(curve)[0] != 1:
                raise KeyError(kind)
            return points[1:-1] if same else points[-2:0:-1]
        if kind not in ("CIRCLE", "ELLIPSE"):
            raise KeyError(kind)
        centre, axis, first = self.placement(self.refs(curve)[0])
        radii = self.numbers(curve)
        major, minor = radii[0], radii[-1] if kind == "ELLIPSE" else radii[0]
        second = _cross(axis, first)

        def angle(p: Vector) -> float:
            d = _minus(p, centre)
            return math.atan2(_dot(d, second) / minor, _dot(d, first) / major)

        start, sweep = angle(a), (angle(b) - angle(a)) % (2 * math.pi)
        if sweep < 1e-9 or math.dist(a, b) < 1e-9:
            sweep = 2 * math.pi
        if not same:
            sweep -= 2 * math.pi if math.dist(a, b) >= 1e-9 else 4 * math.pi
        count = max(2, math.ceil(abs(sweep) / (2 * math.pi) * PER_TURN))
        return _on_ellipse(centre, first, second, (major, minor), (start, sweep, count))

    def _flux(self, surface: int, loops: list[np.ndarray]) -> float | None:
        """Flux of the place vector through a face, mm3; None for a surface that is not known."""
        import numpy as np

        kind = self.entities[surface][0]
        if kind == "PLANE":
            origin = self.placement(self.refs(surface)[0])[0]
            return float(np.sum([_vector_area(loop) for loop in loops], axis=0) @ origin)
        if kind in ("CYLINDRICAL_SURFACE", "CONICAL_SURFACE"):
            place = self.placement(self.refs(surface)[0])
            values = self.numbers(surface)
            slope = math.tan(values[1]) if kind == "CONICAL_SURFACE" else 0.0
            return sum(_round_flux(place, values[0], slope, loop) for loop in loops)
        if kind == "B_SPLINE_SURFACE_WITH_KNOTS" and self.numbers(surface)[:2] == [1.0, 1.0]:
            return sum(_fan(loop) for loop in loops)
        return None


def read_step(path: str, data: bytes) -> StepFile:
    """The entities of a file. Raises Unreadable."""
    text = data.decode("latin-1")
    if not text.startswith("ISO-10303-21;") or "END-ISO-10303-21;" not in text[-200:]:
        raise Unreadable(path, "is no whole STEP file")
    found: dict[int, tuple[str, str]] = {}
    for part in text.replace("\r", "").replace("\n", "").split(";"):
        match = ENTITY.fullmatch(part)
        if match:
            found[int(match[1])] = (match[2], match[3])
    return StepFile(path, found)


def volume_and_corners(path: str, data: bytes) -> tuple[float | None, np.ndarray]:
    """Volume (None for a shape not known here) and the vertices as an array. Raises Unreadable."""
    import numpy as np

    file = read_step(path, data)
    try:
        corners = np.array(file.corners, dtype=float).reshape(-1, 3)
        try:
            return file.volume_mm3, corners
        except KeyError as curve:
            if str(curve).strip("'").isupper():
                return None, corners
            raise
    except (KeyError, ValueError, IndexError, ZeroDivisionError, RecursionError) as error:
        raise Unreadable(path, f"has an entity that cannot be read ({error})") from error


def _on_ellipse(
    centre: Vector,
    first: Vector,
    second: Vector,
    radii: tuple[float, float],
    over: tuple[float, float, int],
) -> np.ndarray:
    """Points between the ends of an arc, shape (n - 1, 3); `over`: its start and sweep, radians,
    and n, the number of its chords.
    """
    import numpy as np

    start, sweep, count = over
    angles = start + sweep * np.arange(1, count)[:, None] / count
    along = np.cos(angles) * radii[0] * np.array(first)
    points: np.ndarray = np.array(centre) + along + np.sin(angles) * radii[1] * np.array(second)
    return points


def _round_flux(
    place: tuple[Vector, Vector, Vector], radius: float, slope: float, loop: np.ndarray
) -> float:
    """Flux through a face of a cylinder or cone, along its loop."""
    import numpy as np

    origin, axis, first = place
    second = _cross(axis, first)
    along, steady = _dot(origin, axis), (_dot(origin, first), _dot(origin, second))
    x, y, v0 = ((loop - origin) @ np.array([first, second, axis]).T).T
    u0, v1 = np.arctan2(y, x), _after(v0)
    du = (_after(u0) - u0 + math.pi) % (2 * math.pi) - math.pi
    u, v = u0 + du / 2, (v0 + v1) / 2
    h = steady[0] * np.cos(u) + steady[1] * np.sin(u) + radius - slope * along
    return -float((h * (radius * v + slope * v * v / 2) * du).sum())


def _after(loop: np.ndarray) -> np.ndarray:
    """What follows each value of a loop."""
    import numpy as np

    return np.concatenate((loop[1:], loop[:1]))


def _vector_area(loop: np.ndarray) -> np.ndarray:
    """Half the sum of the cross products along a loop, shape (3,)."""
    after = _after(loop)
    cross = loop[:, [1, 2, 0]] * after[:, [2, 0, 1]] - loop[:, [2, 0, 1]] * after[:, [1, 2, 0]]
    half: np.ndarray = cross.sum(axis=0) / 2
    return half


def _fan(loop: np.ndarray) -> float:
    """Flux through triangles from the middle of a loop."""
    middle = loop.mean(axis=0)
    return float(middle @ _vector_area(loop - middle))


def _dot(a: Vector, b: Vector) -> float:
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]


def _minus(a: Vector, b: Vector) -> Vector:
    return (a[0] - b[0], a[1] - b[1], a[2] - b[2])


def _cross(a: Vector, b: Vector) -> Vector:
    return (a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0])
