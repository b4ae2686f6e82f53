"""Joint forces: the wall as a frame of stiff panels on springs, the clips and the screws.

Each panel has three ways to move in the wall: (u, v) and a turn t. A clip at r holds two panels
together by a spring across the joint and one along it; a screw holds its panel up by a spring, and
sideways too where a group stands upright. One screw of every other group holds sideways as well:
nothing pulls that way, so it carries nothing, but the equations have one answer. K d = f is solved
sparsely; turns are scaled by a length so that all unknowns are alike.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeAlias, cast

from fab.outlines.contour import Point
from fab.wall.model import JointStrength
from fab.wall.problem import HangGroup
from fab.wall.to_hang import WallToHang

if TYPE_CHECKING:
    import numpy as np
    from scipy.sparse import spmatrix

    Solver: TypeAlias = Callable[[np.ndarray], np.ndarray]

DENSE_SIZE = 90  # unknowns up to which a full matrix is quicker than a sparse one
# screws by which a choice may differ from the factored one; more, and factoring anew is quicker
CHANGES = 10
Row = list[tuple[int, float]]  # column and value
Spring = tuple[int, bool]  # a screw: the panel's index, and whether it holds up or sideways


@dataclass(frozen=True)
class Clip:
    """One clip of a joint: its place, and the panels it holds together by index in the group."""

    joint: int
    a: int
    b: int
    at: Point
    normal: Point  # from a to b


@dataclass(frozen=True)
class Frame:
    """Forces in the frame, N: on each screw (sideways, up), and in each clip."""

    screws: tuple[tuple[float, float], ...]
    across: tuple[float, ...]  # pull parts the panels when positive
    along: tuple[float, ...]


def clips_of(known: WallToHang, group: HangGroup) -> tuple[Clip, ...]:
    """The clips of the group's joints, in the layout's order of joints."""
    index = {name: k for k, name in enumerate(group.names)}
    found = []
    for number, joint in enumerate(known.layout.joints):
        if joint.a not in index:
            continue
        nx, ny = math.cos(math.radians(joint.normal_deg)), math.sin(math.radians(joint.normal_deg))
        plan = known.plan_of(joint.a)
        found += [
            Clip(
                number,
                index[joint.a],
                index[joint.b],
                (joint.x - ny * at, joint.y + nx * at),
                (nx, ny),
            )
            for at in plan.clip.places
        ]
    return tuple(found)


class FrameModel:
    """The springs of one group's clips, set up once and solved for one choice of screws after the
    other.

    B holds a row per spring (what of each unknown stretches it), so K = B' diag(k) B and the pulls
    are k B d.
    """

    def __init__(self, group: HangGroup, clips: Sequence[Clip], strength: JointStrength) -> None:
        import numpy as np

        self.group, self.clips, self.strength = group, tuple(clips), strength
        x0, y0, _ = group.centre
        self.origin = (x0, y0)
        self.length = max(math.dist((x0, y0), (p.x, p.y)) for p in group.places) / 2 + 1.0
        self.size = 3 * len(group.names)
        self.force = np.zeros(self.size)
        for k, (weight, centre) in enumerate(zip(group.weights, group.centres, strict=True)):
            self.force[3 * k + 1] -= weight
            self.force[3 * k + 2] -= weight * (centre[0] - x0) / self.length
        self.dense = self.size <= DENSE_SIZE
        self.stretch = _matrix(
            [row for clip in self.clips for row in self._clip(clip)], self.size, dense=self.dense
        )
        self.stiff = np.array([strength.across_n_mm, strength.along_n_mm] * len(self.clips))
        self.joints = _stiffness(self.stretch, self.stiff, dense=self.dense)
        self.factors: Solver | None = None  # of the springs that are `known`
        self.known: dict[Spring, Row] = {}

    def _clip(self, clip: Clip) -> list[Row]:
        (nx, ny), (x, y) = clip.normal, self._scaled(clip.at)
        found = []
        for dx, dy in ((nx, ny), (-ny, nx)):
            parts = ((0, dx), (1, dy), (2, dy * x - dx * y))
            found.append(
                [
                    *((3 * clip.b + i, v) for i, v in parts),
                    *((3 * clip.a + i, -v) for i, v in parts),
                ]
            )
        return found

    def _scaled(self, point: Point) -> Point:
        return (
            (point[0] - self.origin[0]) / self.length,
            (point[1] - self.origin[1]) / self.length,
        )

    def solve(self, chosen: Sequence[int]) -> Frame:
        """Forces under the group's weight; the choice must hold it: two screws apart, or a single
        panel's one.
        """
        import numpy as np

        group = self.group
        if len(group.names) == 1:
            return Frame(tuple((0.0, group.weight / len(chosen)) for _ in chosen), (), ())
        springs: dict[Spring, Row] = {}
        for order, k in enumerate(chosen):
            x, y = self._scaled((group.places[k].x, group.places[k].y))
            springs[k, True] = [(3 * k + 1, 1.0), (3 * k + 2, x)]
            if group.upright or order == 0:
                springs[k, False] = [(3 * k, 1.0), (3 * k + 2, -y)]
        screws = _matrix(list(springs.values()), self.size, dense=self.dense)
        stiff = np.full(len(springs), self.strength.screw_n_mm)
        move = self._moves(springs, screws, stiff)
        pulls = self.stiff * (self.stretch @ move)
        held = iter((-stiff * (screws @ move)).tolist())
        found = []
        for order in range(len(chosen)):
            up = next(held)
            found.append((next(held) if group.upright or order == 0 else 0.0, up))
        return Frame(tuple(found), tuple(pulls[::2].tolist()), tuple(pulls[1::2].tolist()))

    def _moves(
        self, springs: Mapping[Spring, Row], screws: np.ndarray, stiff: np.ndarray
    ) -> np.ndarray:
        """K d = f. A large frame that differs in few screws from one that was solved is solved with
        its factors.
        """
        matrix = self.joints + _stiffness(screws, stiff, dense=self.dense)
        if self.dense:
            return _refined(matrix, self.force, _full(matrix))
        changes = [(key, row, 1.0) for key, row in springs.items() if key not in self.known]
        changes += [(key, row, -1.0) for key, row in self.known.items() if key not in springs]
        if self.factors is None or len(changes) > CHANGES:
            self.factors, self.known, changes = _factored(matrix), dict(springs), []
        rows = _matrix([row for _, row, _ in changes], self.size, dense=True)
        signs = [sign * self.strength.screw_n_mm for _, _, sign in changes]
        return _refined(matrix, self.force, _changed(self.factors, rows, signs))


def _full(matrix: np.ndarray) -> Solver:
    import numpy as np

    return lambda right: np.linalg.solve(matrix, right)


def _factored(matrix: spmatrix) -> Solver:
    from scipy.sparse.linalg import splu

    factors = splu(
        matrix, permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0, options={"SymmetricMode": True}
    )
    return cast("Solver", factors.solve)


def _changed(known: Solver, rows: np.ndarray, stiff: Sequence[float]) -> Solver:
    """Solver of K + R' diag(stiff) R from that of K (the formula of Sherman, Morrison and
    Woodbury).
    """
    import numpy as np

    if not stiff:
        return known
    spread = known(np.ascontiguousarray(rows.T))
    inner = np.diag(1.0 / np.array(stiff)) + rows @ spread

    def solve(right: np.ndarray) -> np.ndarray:
        plain = known(right)
        found: np.ndarray = plain - spread @ np.linalg.solve(inner, rows @ plain)
        return found

    return solve


def _refined(matrix: spmatrix, force: np.ndarray, solver: Solver) -> np.ndarray:
    """K d = f; steps of refinement take the residual to the last digits."""
    move = solver(force)
    for _ in range(2):
        move = move + solver(force - matrix @ move)
    return move


def _matrix(rows: Sequence[Row], width: int, *, dense: bool) -> spmatrix:
    """Sparse, or a full array where that is quicker."""
    import numpy as np

    i = [k for k, row in enumerate(rows) for _ in row]
    j = [column for row in rows for column, _ in row]
    values = [value for row in rows for _, value in row]
    if dense:
        full = np.zeros((len(rows), width))
        full[i, j] = values
        return full
    from scipy.sparse import csr_matrix

    return csr_matrix((values, (i, j)), shape=(len(rows), width))


def _stiffness(stretch: spmatrix, stiff: np.ndarray, *, dense: bool) -> spmatrix:
    return (
        stretch.T @ (stiff[:, None] * stretch)
        if dense
        else (stretch.T @ stretch.multiply(stiff[:, None])).tocsc()
    )
