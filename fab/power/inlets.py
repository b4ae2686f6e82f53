"""The panel of a zone that carries the inlet, and the edge by which its cable leaves."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from fab.layout.model import Layout
from fab.outlines.contour import Point
from fab.power.model import EdgeRoom, Inlet

DENSE = 100  # panels of a zone up to which its matrix is inverted whole
EVEN_V = 1e-6  # volts within this are alike; then the way of the cable decides


@dataclass(frozen=True)
class ZoneWires:
    """One zone on its own: panels 0 .. m-1, its joints, their resistances, what panels draw."""

    joints: Sequence[tuple[int, int]]
    supply_ohm: Sequence[float]
    ground_ohm: Sequence[float]
    load_a: Sequence[float]
    least_v: Sequence[float]  # what each panel needs
    entry_ohm: Sequence[float]  # of an inlet at each panel


def margins(wires: ZoneWires, candidates: Sequence[int], volts: float) -> list[float]:
    """For an inlet at each candidate the least, over the zone, of a panel's volts over its need.

    With G the inverse of a rail's conductance matrix grounded at panel 0, the drop from inlet s to
    panel j is (G I)_j - (G I)_s - T (G_js - G_ss), T the zone's whole current; both rails add up.
    Loads are constant currents and the zone's ground stands alone here; the whole wall is solved
    once the inlets are chosen.
    """
    import numpy as np

    m = len(wires.load_a)
    load = np.asarray(wires.load_a, dtype=float)
    total = float(load.sum())
    at = np.asarray(candidates, dtype=int)
    drop = np.zeros((m, len(at)))
    for ohms in (wires.supply_ohm, wires.ground_ohm):
        columns, spread = _grounded(m, wires.joints, ohms, at, load)
        drop += (
            spread[:, None]
            - spread[at][None, :]
            - total * (columns - columns[at, np.arange(len(at))][None, :])
        )
    left = (
        volts
        - total * np.asarray(wires.entry_ohm)[at][None, :]
        - drop
        - np.asarray(wires.least_v)[:, None]
    )
    return [float(value) for value in left.min(axis=0)]


def _grounded(
    m: int, joints: Sequence[tuple[int, int]], ohms: Sequence[float], at: Any, load: Any
) -> tuple[Any, Any]:
    """Columns `at` of G, and G times the load, with panel 0 at 0 V."""
    import numpy as np

    if m == 1:
        return np.zeros((1, len(at))), np.zeros(1)
    a = np.array([joint[0] for joint in joints], dtype=int)
    b = np.array([joint[1] for joint in joints], dtype=int)
    g = 1.0 / np.asarray(ohms, dtype=float)
    rows, cols = np.concatenate([a, b, a, b]), np.concatenate([a, b, b, a])
    values = np.concatenate([g, g, -g, -g])
    right = np.zeros((m, len(at) + 1))
    right[at, np.arange(len(at))] = 1.0
    right[:, -1] = load
    if m <= DENSE:
        matrix = np.zeros((m, m))
        np.add.at(matrix, (rows, cols), values)
        inner = np.linalg.solve(matrix[1:, 1:], right[1:])
    else:
        from scipy.sparse import csc_matrix
        from scipy.sparse.linalg import splu

        matrix = csc_matrix((values, (rows, cols)), shape=(m, m))
        inner = splu(matrix[1:, 1:].tocsc()).solve(right[1:])
    whole = np.vstack([np.zeros((1, right.shape[1])), inner])
    return whole[:, :-1], whole[:, -1]


def towards(layout: Layout, room: EdgeRoom, sockets: Sequence[Point]) -> tuple[float, float, float]:
    """The fitness of an edge for the cable, larger is better: first by the way to the nearest
    socket, or down; then away from the wall's middle; then to the right.
    """
    angle = math.radians(room.facing_deg)
    ux, uy = math.cos(angle), math.sin(angle)
    x0, y0, x1, y1 = layout.box
    out = ux * (room.x - (x0 + x1) / 2) + uy * (room.y - (y0 + y1) / 2)
    if not sockets:
        return (round(-uy, 6), round(out, 3), round(ux, 6))
    sx, sy = min(sockets, key=lambda s: (math.dist(s, (room.x, room.y)), s))
    away = math.dist((sx, sy), (room.x, room.y))
    along = (ux * (sx - room.x) + uy * (sy - room.y)) / away if away > 1e-9 else 1.0
    return (round(along, 6), round(out, 3), round(ux, 6))


def best_edge(
    layout: Layout,
    rooms: Sequence[EdgeRoom],
    usable: Mapping[tuple[str, int], bool],
    sockets: Sequence[Point],
) -> Inlet:
    """The open edge of a panel for its cable: a usable one, else the one with most room."""

    def key(room: EdgeRoom) -> tuple[object, ...]:
        fits = usable[(room.panel, room.edge)]
        return (
            fits,
            0.0 if fits else round(room.free_mm, 6),
            not room.enclosed,
            towards(layout, room, sockets),
            -room.edge,
        )

    room = max(rooms, key=key)
    return Inlet(room.panel, room.edge, room, usable[(room.panel, room.edge)])


def best_inlet(
    edges: Sequence[Inlet], margin_v: Sequence[float], suits: Sequence[tuple[float, ...]]
) -> Inlet:
    """The inlet, of one a panel, with the best worst volts; of even ones the best cable way."""
    most = max(margin_v)
    even = [k for k, value in enumerate(margin_v) if value >= most - EVEN_V]
    return edges[max(even, key=lambda k: (suits[k], -k))]
