"""Small walls for the tests of this room, and a second, separate reckoning of a hung wall."""

from __future__ import annotations

import math
import random
from collections.abc import Callable, Iterable, Mapping, Sequence
from functools import cache

import networkx
import numpy as np

from fab.errors import InputError
from fab.layout.find import find_layout
from fab.layout.model import Layout
from fab.params.job import HangParams, LayoutParams
from fab.params.panel import HangerParams, PanelParams
from fab.params.shop import Shop, Stock, WallType
from fab.parts.keyhole import keyhole_for
from fab.parts.plan import Plan
from fab.parts.planning import plan
from fab.wall.frame import FrameModel, clips_of
from fab.wall.loaded import loaded
from fab.wall.model import Hung, JointStrength, PanelMass
from fab.wall.pick import Pick
from fab.wall.places import places
from fab.wall.problem import groups_of, state
from fab.wall.to_hang import WallToHang, located

G = 9.80665e-3  # N per gram


@cache
def plan_of(sides: int, edge: float = 69.3, **hanger: float) -> Plan:
    """The plan of a plain design with this edge length."""
    params = PanelParams(sides=sides, edge=edge, hanger=HangerParams(**hanger))
    return plan(params, Shop(stock={"opal-3": Stock()}))


def wall(
    sides: int,
    cells: Iterable[tuple[int, int]],
    turn_deg: float = 0.0,
    groups: str = "one",
    edge: float = 69.3,
) -> Layout:
    params = LayoutParams(cells=tuple(cells), turn_deg=turn_deg, groups=groups)
    return find_layout(params, lambda _: plan_of(sides, edge).cell)


def neighbours(sides: int, cell: tuple[int, int]) -> list[tuple[int, int]]:
    q, r = cell
    if sides == 6:
        return [(q + 1, r), (q - 1, r), (q, r + 1), (q, r - 1), (q + 1, r - 1), (q - 1, r + 1)]
    if sides == 4:
        return [(q + 1, r), (q - 1, r), (q, r + 1), (q, r - 1)]
    return [(q + 1, r), (q - 1, r), (q, r - 1) if (q + r) % 2 == 0 else (q, r + 1)]


def random_cells(rng: random.Random, sides: int, count: int) -> list[tuple[int, int]]:
    """A connected patch of cells."""
    cells = [(0, 0)]
    while len(cells) < count:
        cell = rng.choice(neighbours(sides, rng.choice(cells)))
        if cell not in cells:
            cells.append(cell)
    return cells


def masses(
    layout: Layout, grams: float = 250.0, z: float = 15.0, rng: random.Random | None = None
) -> dict[str, PanelMass]:
    def scatter(by: float) -> float:
        return rng.uniform(-by, by) if rng else 0.0

    return {
        p.name: PanelMass(grams * (1 + scatter(0.3)), scatter(6.0), scatter(6.0), z)
        for p in layout.panels
    }


def hung_as_forced(least: int | None, choose: Callable[[], Hung]) -> Hung | None:
    """The choice of screws, None where it is refused. It holds where brute force found one of
    `least` screws in the middle of panels; where that found none it fails, or keyholes stand aside.
    """
    try:
        hung = choose()
    except InputError:
        assert least is None
        return None
    if least is None:
        assert hung.broken or hung.lacking or hung.spots
    else:
        assert not hung.broken
        assert not hung.lacking
    return hung


def rest_of(layout: Layout, plans: Mapping[str, Plan], name: str) -> tuple[float, float]:
    """Rest of a panel's screw without inlet, straight from the keyhole."""
    panel = layout.by_name[name]
    hole = keyhole_for(plans[panel.design], (90.0 - panel.turn_deg) % 360.0, inlet=False)
    assert hole is not None
    return panel.to_wall(hole.rest)


def independent_frame(
    layout: Layout,
    plans: Mapping[str, Plan],
    weights: Mapping[str, tuple[float, float, float]],
    chosen: Sequence[str],
    strength: JointStrength,
    upright: bool | None = None,
) -> tuple[dict[str, np.ndarray], list[float], list[float]]:
    """Forces on screws and in clips: plain dense matrix in millimetres and radians, least-norm
    answer.

    No screw holds sideways unless all stand over each other; the free sideways drift is left to the
    least norm.
    """
    names = [panel.name for panel in layout.panels]
    index = {name: 3 * k for k, name in enumerate(names)}
    rests = {name: rest_of(layout, plans, name) for name in names}
    xs = [x for x, _ in rests.values()]
    upright = max(xs) - min(xs) < 20.0 if upright is None else upright
    rows, stiff = [], []

    def row(parts: Mapping[str, tuple[float, float, float]]) -> np.ndarray:
        line = np.zeros(3 * len(names))
        for name, values in parts.items():
            line[index[name] : index[name] + 3] = values
        return line

    for joint in layout.joints:
        angle = math.radians(joint.normal_deg)
        n, t = (math.cos(angle), math.sin(angle)), (-math.sin(angle), math.cos(angle))
        for at in plans[layout.by_name[joint.a].design].clip.places:
            x, y = joint.x + at * t[0], joint.y + at * t[1]
            for d, k in ((n, strength.across_n_mm), (t, strength.along_n_mm)):
                turn = x * d[1] - y * d[0]
                rows.append(row({joint.b: (d[0], d[1], turn), joint.a: (-d[0], -d[1], -turn)}))
                stiff.append(k)
    clips = len(rows)
    for name in chosen:
        x, y = rests[name]
        rows.append(row({name: (0.0, 1.0, x)}))
        stiff.append(strength.screw_n_mm)
        rows.append(row({name: (1.0, 0.0, -y)}))
        stiff.append(strength.screw_n_mm if upright else 0.0)
    b, k = np.array(rows), np.array(stiff)  # type: ignore[assignment]
    force = np.zeros(3 * len(names))
    for name, (w, x, _) in weights.items():
        force[index[name] + 1] = -w
        force[index[name] + 2] = -w * x
    scale = np.tile([1.0, 1.0, 0.01], len(names))  # turns in 1/100 rad: better conditioned
    stiffness = (b * scale).T @ (k[:, None] * (b * scale))
    move = scale * np.linalg.lstsq(stiffness, scale * force, rcond=1e-11)[0]
    pulls = k * (b @ move)
    screws = {
        name: -pulls[clips + 2 * i : clips + 2 * i + 2][::-1] for i, name in enumerate(chosen)
    }
    return screws, list(pulls[0:clips:2]), list(pulls[1:clips:2])


def allowed(
    layout: Layout,
    plans: Mapping[str, Plan],
    mass: Mapping[str, PanelMass],
    hang: HangParams,
    kind: WallType,
    strength: JointStrength,
    chosen: Sequence[str],
    able: Sequence[str] = (),
) -> bool:
    """Does a choice keep every rule? Written anew from the rules' wording, for walls in one
    piece. `able`: the panels that may have a screw; left out, all.
    """
    if not chosen or (len(layout.panels) > 1 and len(chosen) < 2):
        return False
    graph = networkx.Graph()
    graph.add_nodes_from(panel.name for panel in layout.panels)
    graph.add_edges_from((joint.a, joint.b) for joint in layout.joints)
    steps = networkx.multi_source_dijkstra_path_length(graph, set(chosen))
    if len(steps) < len(layout.panels) or max(steps.values()) > hang.reach:
        return False
    weights = {
        p.name: (mass[p.name].grams * G, *p.to_wall((mass[p.name].x, mass[p.name].y)))
        for p in layout.panels
    }
    total = sum(w for w, _, _ in weights.values())
    x_c = sum(w * x for w, x, _ in weights.values()) / total
    y_c = sum(w * y for w, _, y in weights.values()) / total
    z_c = sum(weights[p.name][0] * mass[p.name].z for p in layout.panels) / total
    rests = {name: rest_of(layout, plans, name) for name in chosen}
    known = able if len(able) > 1 else [panel.name for panel in layout.panels]
    everywhere = [rest_of(layout, plans, name)[0] for name in known]
    upright = len(layout.panels) > 1 and max(everywhere) - min(everywhere) < 20.0
    xs, ys = np.array([rests[n][0] for n in chosen]), np.array([rests[n][1] for n in chosen])
    low = {p.name: min(y for _, y in p.corners) for p in layout.panels}
    if len(chosen) == 1:
        up, side = np.array([total]), np.zeros(1)
        if ys[0] - y_c < 0.5:
            return False
    else:
        if not upright and min(x_c - xs.min(), xs.max() - x_c) < 10.0 - 1e-9:
            return False
        if upright and ys.max() - ys.min() - max(abs(xs - x_c)) < 10.0 - 1e-9:
            return False
        rows = [[0.0, 1.0, x - x_c] for x in xs] + (
            [[1.0, 0.0, y_c - y] for y in ys] if upright else []
        )
        b = np.array(rows) * [1.0, 1.0, 0.01]
        move = np.linalg.lstsq(b.T @ b, np.array([0.0, total, 0.0]), rcond=1e-12)[0]
        forces = b @ move
        up, side = forces[: len(xs)], (forces[len(xs) :] if upright else np.zeros(len(xs)))
    if (up < -1e-7 * total).any():
        return False
    heights = np.maximum(ys - min(low.values()), 0.0)
    whole = total * z_c * heights / (heights**2).sum()
    own = np.array(
        [max(u, 0.0) * z_c / (rests[n][1] - low[n]) for u, n in zip(up, chosen, strict=True)]
    )
    pull = np.maximum(whole, own)
    if (hang.factor * (np.hypot(up, side) / kind.shear_n + pull / kind.pull_n) > 1 + 1e-7).any():
        return False
    if len(layout.panels) == 1:
        return True
    screws, across, along = independent_frame(
        layout, plans, weights, chosen, strength, upright=upright
    )
    if max(across) > strength.across_n + 1e-7 or max(map(abs, along)) > strength.along_n + 1e-7:
        return False
    soft = np.array([screws[n] for n in chosen])
    if (soft[:, 1] < -1e-5 * total).any():
        return False
    return bool(
        (
            hang.factor * (np.hypot(soft[:, 0], soft[:, 1]) / kind.shear_n + pull / kind.pull_n)
            <= 1 + 1e-7
        ).all()
    )


def hung_on(asked: WallToHang, panels: Sequence[str]) -> Hung:
    """The wall on screws in exactly these `panels` (at least one in every group), whatever rules
    that breaks.
    """
    known = asked.under(located(asked.hang, asked.layout))
    groups = groups_of(known, places(known))
    models = [FrameModel(group, clips_of(known, group), known.joint) for group in groups]
    picks = []
    for group in groups:
        chosen = tuple(k for k, name in enumerate(group.names) if name in set(panels))
        picks.append(Pick(chosen, 1, "exhaustive", state(group, chosen).broken))
    return loaded(known.layout, groups, models, picks)
