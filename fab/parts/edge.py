"""Building at an edge: everything is drawn at edge 0 in (u inwards, t along, z up) and turned to
the others.

u = 0 is the lattice edge (middle of a joint), t = 0 its middle; x = apothem - u, y = t.
"""

from __future__ import annotations

from collections.abc import Iterable

from fab.parts.plan import Plan
from fab.solids import kernel
from fab.solids.kernel import Solid


def edge_box(
    plan: Plan, u: tuple[float, float], t: tuple[float, float], z: tuple[float, float]
) -> Solid:
    """A box at edge 0."""
    a = plan.cell.apothem
    return kernel.box(a - u[1], a - u[0], t[0], t[1], z[0], z[1])


def at_edges(
    plan: Plan, solids: Iterable[Solid], edges: Iterable[int] | None = None
) -> list[Solid]:
    """The solids of edge 0 at the given edges (all when None)."""
    made = list(solids)
    chosen = range(plan.cell.sides) if edges is None else edges
    return [
        kernel.turned(solid, 360.0 * edge / plan.cell.sides) for edge in chosen for solid in made
    ]
