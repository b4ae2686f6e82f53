"""The two rails of the wall as a network of resistors, and its steady state.

Unknowns are the volts of every panel's supply rail and ground rail, and the current of every
inlet's supply (modified nodal analysis: C.-W. Ho, A. Ruehli, P. Brennan, IEEE Trans. Circuits and
Systems 22, 1975, 504-509):

    supply node i:   sum over joints (p_i - p_j) / R  - s_k (where inlet k sits)  = - I_i
    ground node i:   sum over joints (g_i - g_j) / R  + s_k                       = + I_i
    inlet k:         p - g + R_k s_k = V

Each supply floats (SELV), so its current comes back to it through the ground pins, also through
other zones' panels: their ground is joined. One ground node of each ground-connected part is 0 V. A
load draws a constant current, or a constant power (Newton's method on I = P / (p - g)). Loops are
in the matrix as they are in the wall.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeAlias, cast

from fab.layout.groups import Parts

if TYPE_CHECKING:
    import numpy as np

    Solver: TypeAlias = Callable[[np.ndarray], np.ndarray]

# unknowns up to which a dense solve is quicker; beyond it starts threads, which costs more than it
# gives
DENSE = 100
NEWTON_STEPS = 60
SETTLED_V = 1e-11


@dataclass(frozen=True)
class WallCircuit:
    """Panels 0 .. n-1, their joints, and where supplies come in."""

    panels: int
    joints: Sequence[tuple[int, int]]
    supply_ohm: Sequence[float | None]  # per joint; None: no supply pins
    ground_ohm: Sequence[float | None]  # None: no header at all
    inlets: Sequence[tuple[int, float]]  # panel, resistance of cable and entry both ways
    volts: float


@dataclass(frozen=True)
class NetworkState:
    """A steady state: numpy arrays, amperes and volts."""

    supply_v: np.ndarray  # per panel
    ground_v: np.ndarray
    inlet_a: np.ndarray  # per inlet
    supply_a: np.ndarray  # per joint, from its first panel to its second
    ground_a: np.ndarray
    load_a: np.ndarray  # per panel
    residual_a: float  # largest sum of currents into a node


class Network:
    """A circuit made ready; `solve` may be called again and again with other loads."""

    def __init__(self, circuit: WallCircuit) -> None:
        import numpy as np

        n, k = circuit.panels, len(circuit.inlets)
        self.circuit, self.n, self.size = circuit, n, 2 * n + k
        self.grounds = _first_of_each_part(circuit)
        rows: list[np.ndarray] = []
        cols: list[np.ndarray] = []
        values: list[np.ndarray] = []

        def put(i: np.ndarray, j: np.ndarray, value: np.ndarray) -> None:
            rows.append(i)
            cols.append(j)
            values.append(value)

        a = np.array([joint[0] for joint in circuit.joints], dtype=int)
        b = np.array([joint[1] for joint in circuit.joints], dtype=int)
        self.a, self.b = a, b
        self.g_supply = np.array([0.0 if r is None else 1.0 / r for r in circuit.supply_ohm])
        self.g_ground = np.array([0.0 if r is None else 1.0 / r for r in circuit.ground_ohm])
        for shift, g in ((0, self.g_supply), (n, self.g_ground)):
            on = g > 0
            i, j, w = a[on] + shift, b[on] + shift, g[on]
            for row, col, sign in ((i, i, 1.0), (j, j, 1.0), (i, j, -1.0), (j, i, -1.0)):
                put(row, col, sign * w)
        self.at = np.array([panel for panel, _ in circuit.inlets], dtype=int)
        source = 2 * n + np.arange(k)
        ohm = np.array([r for _, r in circuit.inlets], dtype=float)
        one = np.ones(k)
        for row, col, w in (
            (self.at, source, -one),
            (n + self.at, source, one),
            (source, self.at, one),
            (source, n + self.at, -one),
            (source, source, ohm),
        ):
            put(row, col, w)
        self.rows = np.concatenate(rows)
        self.cols = np.concatenate(cols)
        self.values = np.concatenate(values)
        keep = ~np.isin(self.rows, n + self.grounds)
        pins = n + self.grounds
        self.rows = np.concatenate([self.rows[keep], pins])
        self.cols = np.concatenate([self.cols[keep], pins])
        self.values = np.concatenate([self.values[keep], np.ones(len(pins))])
        # the factored matrix for constant currents: it does not change with the load, so it is kept
        self.plain: Solver | None = None

    def solve(
        self, load_a: Sequence[float] | np.ndarray, *, constant_power: bool = False
    ) -> NetworkState | None:
        """The steady state with these loads (amperes at the nominal volts).

        None when there is none: constant power asks more than the wires can pass.
        """
        import numpy as np

        load = np.asarray(load_a, dtype=float)
        if not constant_power:
            if self.plain is None:
                self.plain = self._solver(np.zeros(self.n))
            return self._state(self._refined(self.plain, load), load)
        power = load * self.circuit.volts
        volts = np.full(self.n, self.circuit.volts)
        for _ in range(NEWTON_STEPS):
            # I = P / V put as a line at the last volts: I(V) = 2 P / V0 - (P / V0^2) V
            slope = -power / volts**2
            x = self._solver(slope)(self._right_side(2 * power / volts))
            new = x[: self.n] - x[self.n : 2 * self.n]
            # no steady state: a converter that starves draws ever more
            if not np.all(new > 0):
                return None
            step = float(np.max(np.abs(new - volts)))
            volts = new
            if step < SETTLED_V * self.circuit.volts * 10:
                return self._state(x, power / volts)
        return None

    def _right_side(self, load: np.ndarray) -> np.ndarray:
        import numpy as np

        right = np.concatenate([-load, load, np.full(len(self.at), self.circuit.volts)])
        # these rows say "this ground is at 0 V" instead of Kirchhoff's law, which the others imply
        right[self.n + self.grounds] = 0.0
        return right

    def _matrix(self, slope: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """Rows, columns and values, with a conductance `slope` between the rails of every panel."""
        import numpy as np

        if not np.any(slope):
            return self.rows, self.cols, self.values
        p, g = np.arange(self.n), self.n + np.arange(self.n)
        rows = np.concatenate([p, p, g, g])
        cols = np.concatenate([p, g, g, p])
        values = np.concatenate([slope, -slope, slope, -slope])
        keep = ~np.isin(rows, self.n + self.grounds)
        return (
            np.concatenate([self.rows, rows[keep]]),
            np.concatenate([self.cols, cols[keep]]),
            np.concatenate([self.values, values[keep]]),
        )

    def _solver(self, slope: np.ndarray) -> Solver:
        rows, cols, values = self._matrix(slope)
        if self.size <= DENSE:
            import numpy as np

            matrix = np.zeros((self.size, self.size))
            np.add.at(matrix, (rows, cols), values)
            return lambda right: np.linalg.solve(matrix, right)
        from scipy.sparse import csc_matrix
        from scipy.sparse.linalg import splu

        factors = splu(csc_matrix((values, (rows, cols)), shape=(self.size, self.size)))
        return cast("Solver", factors.solve)

    def _refined(self, solver: Solver, load: np.ndarray) -> np.ndarray:
        """The solution after one step of iterative refinement."""
        import numpy as np

        right = self._right_side(load)
        x = solver(right)
        product = np.zeros(self.size)
        np.add.at(product, self.rows, self.values * x[self.cols])
        refined: np.ndarray = x + solver(right - product)
        return refined

    def _state(self, x: np.ndarray, load: np.ndarray) -> NetworkState:
        import numpy as np

        n = self.n
        p, g, s = x[:n], x[n : 2 * n], x[2 * n :]
        supply = (p[self.a] - p[self.b]) * self.g_supply
        ground = (g[self.a] - g[self.b]) * self.g_ground
        into = np.zeros((2, n))
        for rail, flow in ((0, supply), (1, ground)):
            np.add.at(into[rail], self.a, -flow)
            np.add.at(into[rail], self.b, flow)
        np.add.at(into[0], self.at, s)
        np.add.at(into[1], self.at, -s)
        into[0] -= load
        into[1] += load
        return NetworkState(p, g, s, supply, ground, load, float(np.max(np.abs(into))))


def _first_of_each_part(circuit: WallCircuit) -> np.ndarray:
    """One panel of every ground-connected part, the first inlet of each part where it has one."""
    import numpy as np

    parts = Parts(circuit.panels)
    for (a, b), ohm in zip(circuit.joints, circuit.ground_ohm, strict=True):
        if ohm is not None:
            parts.join(a, b)
    chosen: dict[int, int] = {}
    for panel, _ in circuit.inlets:
        chosen.setdefault(parts.find(panel), panel)
    for panel in range(circuit.panels):
        chosen.setdefault(parts.find(panel), panel)
    return np.array(sorted(chosen.values()), dtype=int)
