"""Lifting of a piece that lies face down: by hands, or on a carrying board.

While it is turned from face down to upright its weight bends it, at worst when it still lies level.
It is a plate of panels held by N hands, each under one panel:

    reactions   R_h = W / N + a (x_h - x_m) + b (y_h - y_m), in balance with the weights: hands that
                give alike
    cut         a straight line through a joint's middle, along an edge of a joint; panels by the
                side their centre is on
    moment      M = | sum w_i d_i - sum R_h d_h | over one side, d = distance from the line
    shear       V = | sum w_i - sum R_h | over one side

Every line through every joint along every direction of edges is tried. M is held by the joints that
the line cuts, each with what it bears about its own edge times the cosine between edge and line; V
by the hooks of their clips. Elementary statics. A joint bears the bending of its clips' bars, or of
its header's pins, the larger of the two alone.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import TYPE_CHECKING

from fab.layout.model import Layout
from fab.params.shop import Filament
from fab.parts.plan import Plan
from fab.wall.model import JointStrength
from fab.wall.order import Lift
from fab.wall.strength import JERK, safe_stress

if TYPE_CHECKING:
    import numpy as np

HANDS = (2, 4)  # one person, two people
PIN_MM = 0.64  # square pin of a header; trade size, from memory
BRASS_N_MM2 = 300.0  # yield of a brass pin; from memory, on the low side
MOST_SETS = 1_000  # sets of hand places that are tried
EPS_MM = 1e-6


@dataclass(frozen=True)
class Hold:
    """A piece in hands: where they are, and the worst line."""

    hands: tuple[str, ...]  # panels
    use: float  # worst share of what the joints bear, safety factor in; 1 is all
    moment_nmm: float  # at the line with the highest use
    bears_nmm: float
    shear_n: float
    holds_n: float
    joints: tuple[int, ...]  # that the line cuts


@dataclass(frozen=True, eq=False)
class BendLines:
    """The lines that a piece may bend along, m of them, over its n panels.

    `side` (m, n): whether a panel lies beyond the line; `away` (m, n): its distance from it, mm;
    `joints`: those that a line cuts; `bears` (m,) in N mm and `holds` (m,) in N: what they bear
    together about the line, and across it.
    """

    side: np.ndarray
    away: np.ndarray
    joints: tuple[tuple[int, ...], ...]
    bears: np.ndarray
    holds: np.ndarray


def joint_moment(plan: Plan, filament: Filament, *, header: bool) -> float:
    """Return what a joint bears about its edge before the safety factor, N mm.

    Bending of a rectangle, M = stress b t^2 / 6: the bars of its clips; the pins of its header,
    when it has one.
    """
    clip = plan.params.clip
    bars = plan.params.clips_per_edge * safe_stress(filament) * clip.width * clip.bar**2 / 6
    pins = plan.params.header.pins * BRASS_N_MM2 * PIN_MM**3 / 6
    return max(bars, pins) if header else bars


def best_hold(
    layout: Layout, names: Sequence[str], weights: Mapping[str, float], lines: BendLines, hands: int
) -> Hold:
    """Return the places of `hands` hands at which the piece of panels `names` is strained least.

    `weights` in N by panel; `lines` of that piece. Exact while there are no more than `MOST_SETS`
    sets of places; beyond, sets spread over the piece are tried, and the result is on the safe
    side: a worse hold.
    """
    count = min(hands, len(names))
    best: Hold | None = None
    for chosen in _sets(layout, names, count):
        hold = held(layout, names, weights, lines, chosen)
        if best is None or hold.use < best.use - 1e-9:
            best = hold
    assert best is not None
    return best


def lines_of(
    layout: Layout, names: Sequence[str], bears: Mapping[int, float], hook_n: float
) -> BendLines:
    """Return every line through a joint along an edge of one, inside the piece of panels `names`.

    `bears`: what each joint inside the piece bears about its edge in N mm, `hook_n` what its clips
    hold out of the wall in N, both before the safety factor. Lines that part the panels alike along
    the same direction count once.
    """
    import numpy as np

    index = {name: k for k, name in enumerate(names)}
    joints = [(k, j) for k, j in enumerate(layout.joints) if j.a in index and j.b in index]
    ends = np.array([(index[j.a], index[j.b]) for _, j in joints], int).reshape(-1, 2)
    normals = np.radians([joint.normal_deg for _, joint in joints])
    borne = np.array([bears.get(k, 0.0) for k, _ in joints])
    spots = np.array([(layout.by_name[n].x, layout.by_name[n].y) for n in names])
    found: dict[
        tuple[float, bytes], tuple[np.ndarray, np.ndarray, tuple[int, ...], float, float]
    ] = {}
    for angle in sorted({round((joint.normal_deg + 90.0) % 180.0, 6) for _, joint in joints}):
        ux, uy = math.cos(math.radians(angle)), math.sin(math.radians(angle))
        across = spots[:, 1] * ux - spots[:, 0] * uy
        along = borne * np.abs(np.sin(normals - math.radians(angle)))
        for offset in sorted({round(j.y * ux - j.x * uy, 6) for _, j in joints}):
            away = across - offset
            # a panel whose centre is on the line belongs to either side
            for nudge in (EPS_MM, -EPS_MM):
                side = away > nudge
                key = (angle, side.tobytes())
                if side.all() or not side.any() or key in found:
                    continue
                cut = np.flatnonzero(side[ends[:, 0]] != side[ends[:, 1]])
                met = tuple(joints[k][0] for k in cut)
                found[key] = side, away, met, math.fsum(along[cut]), hook_n * len(met)
    sides, aways, met_by, strong, hooked = zip(*found.values(), strict=True) if found else ((),) * 5
    return BendLines(np.array(sides), np.array(aways), met_by, np.array(strong), np.array(hooked))


def _sets(layout: Layout, names: Sequence[str], count: int) -> list[tuple[int, ...]]:
    if math.comb(len(names), count) <= MOST_SETS:
        return list(combinations(range(len(names)), count))
    spots = [(layout.by_name[n].x, layout.by_name[n].y) for n in names]
    x0, x1 = min(x for x, _ in spots), max(x for x, _ in spots)
    y0, y1 = min(y for _, y in spots), max(y for _, y in spots)
    found = set()
    for share in (0.0, 0.1, 0.2, 0.25, 0.3):
        left, right = x0 + share * (x1 - x0), x1 - share * (x1 - x0)
        low, high = y0 + share * (y1 - y0), y1 - share * (y1 - y0)
        wanted = [(left, low), (right, low), (right, high), (left, high)]
        if count == 2:
            wanted = [(left, (y0 + y1) / 2), (right, (y0 + y1) / 2)]
        picked: list[int] = []
        for at in wanted:
            free = [k for k in range(len(names)) if k not in picked]
            picked.append(min(free, key=lambda k: (round(math.dist(spots[k], at), 6), k)))
        found.add(tuple(sorted(picked)))
    return sorted(found)


def held(
    layout: Layout,
    names: Sequence[str],
    weights: Mapping[str, float],
    lines: BendLines,
    chosen: Sequence[int],
) -> Hold:
    """Return how the piece is strained by hands under its panels number `chosen`."""
    import numpy as np

    hands = tuple(names[k] for k in chosen)
    pull = [weights[name] for name in names]
    reactions = _reactions(layout, names, pull, chosen)
    if reactions is None:
        return Hold(hands, math.inf, math.inf, 0.0, math.inf, 0.0, ())
    if not lines.joints:
        return Hold(hands, 0.0, 0.0, math.inf, 0.0, math.inf, ())
    net = np.array(pull)
    net[list(chosen)] -= np.array(reactions)
    moments = np.abs(np.where(lines.side, lines.away, 0.0) @ net)
    shears = np.abs(lines.side @ net)
    uses = JERK * np.maximum(_shares(moments, lines.bears), _shares(shears, lines.holds))
    k = int(np.argmax(np.round(uses, 9)))
    return Hold(
        hands,
        float(uses[k]),
        float(moments[k]),
        float(lines.bears[k]) / JERK,
        float(shears[k]),
        float(lines.holds[k]) / JERK,
        lines.joints[k],
    )


def _shares(loads: np.ndarray, bears: np.ndarray) -> np.ndarray:
    """Loads over what is borne; infinite where nothing bears a load that is there."""
    import numpy as np

    with np.errstate(divide="ignore", invalid="ignore"):
        return np.where(loads <= 1e-9, 0.0, np.where(bears > 0, loads / bears, math.inf))


def _reactions(
    layout: Layout, names: Sequence[str], pull: Sequence[float], chosen: Sequence[int]
) -> tuple[float, ...] | None:
    """Forces of the hands; None when they don't balance the piece, or a hand would have to pull
    downwards.
    """
    import numpy as np

    spots = np.array([(1.0, layout.by_name[n].x, layout.by_name[n].y) for n in names])
    spots[:, 1:] -= spots[:, 1:].mean(axis=0)
    weight = np.array(pull)
    places = spots[list(chosen)].T
    load = spots.T @ weight
    force, *_ = np.linalg.lstsq(places, load, rcond=None)
    size = max(float(np.abs(load).max()), 1.0)
    if (
        float(np.abs(places @ force - load).max()) > 1e-6 * size
        or float(force.min()) < -1e-9 * size
    ):
        return None
    return tuple(force.tolist())


@dataclass(frozen=True)
class LiftPlan:
    """The way of one piece from the table to the wall."""

    lift: Lift
    hold: Hold  # the best that hands can do
    people: int
    board: bool  # on a carrying board


def lift_plans(
    layout: Layout,
    plans: Mapping[str, Plan],
    lifts: Sequence[Lift],
    headers: Collection[int],
    weights: Mapping[str, float],
    strength: JointStrength,
    filament: Filament,
    wish: str,
) -> tuple[LiftPlan, ...]:
    """Return one plan a lift, in their order.

    `headers`: joints with a header; `weights` in N by panel; `strength` as of the clips. `wish`:
    "hands", "board", or "auto": by hands where the joints bear it, else on a board.
    """
    bears = {}
    for k, joint in enumerate(layout.joints):
        sides = (plans[layout.by_name[name].design] for name in (joint.a, joint.b))
        bears[k] = min(joint_moment(plan, filament, header=k in headers) for plan in sides)
    hook = 2 * strength.lift_n * JERK  # the strength has the safety factor in
    found = []
    for lift in lifts:
        best: tuple[Hold, int] | None = None
        lines = lines_of(layout, lift.panels, bears, hook)
        for people, hands in enumerate(HANDS, 1):
            hold = best_hold(layout, lift.panels, weights, lines, hands)
            if best is None or hold.use < best[0].use - 1e-9:
                best = (hold, people)
            if hold.use <= 1 + 1e-9:
                break
        assert best is not None
        carried = wish == "board" or (wish == "auto" and best[0].use > 1 + 1e-9)
        found.append(LiftPlan(lift, best[0], 2 if carried else best[1], carried))
    return tuple(found)
