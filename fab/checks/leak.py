"""Checks of light that leaves a panel beside its diffuser: rays from the LEDs through the solids.

The scene: the panel with caps on its open edges, receptacle and plug at its inlet, and a neighbour
at one joint. A ray is a leak when it meets nothing at all, the diffuser included, and does not end
on the wall behind a panel's own outline. Rays are aimed at every gap that could let light through,
and all around.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from fab.checks import rays
from fab.checks.leak_spots import channel_spots, gap_spots, opening_spots
from fab.checks.model import Verdict, at_most, judge
from fab.layout.model import BaseKind
from fab.outlines.contour import turn
from fab.params.designs import called
from fab.parts.assembly import beside_edge, panel_parts
from fab.parts.features import features
from fab.parts.placed import Named, Printed
from fab.parts.plan import Plan
from fab.units import fixed

if TYPE_CHECKING:
    import numpy as np

AROUND = 8_000  # rays all around
# corners of LEDs, by distance from a spot, that are aimed at it
RANKS = (0, 1, 2, 4, 7, 11, 17, 26, 38, 54, 76)
SHOWN = 4  # leaks that are listed with their place
# no part of the scene: an imagined room, screws buried in the corners, the source
OPEN = ("way", "shell screw", "led")


@dataclass(frozen=True)
class Leak:
    """One way out: from an LED through a place on the panel's outside."""

    origin: tuple[float, float, float]
    place: tuple[float, float, float]
    where: str


def checks(
    plan: Plan, kind: BaseKind, made: Printed, design_name: str = "panel"
) -> tuple[Verdict, ...]:
    """Verdict `light.leak` of one panel with one kind of base: one edge joined to a neighbour, caps
    on the others. The windows of the joint stand open to each other: where no push mates a header,
    there is none, and no cap either.
    """
    if plan.params.board.none:
        return ()
    edge = kind.jumpers[0] if kind.jumpers else 1
    parts = [one for one in panel_parts(plan, kind, made, joined=(edge,)) if one.part != "header"]
    parts += beside_edge(plan, made, edge)
    subject = f"{called(design_name)} with base {kind.key}"
    return leak_verdicts(
        plan, parts, subject, inlet=kind.inlet, steps=kind.steps, jumpers=kind.jumpers
    )


def leak_verdicts(
    plan: Plan,
    parts: Sequence[Named],
    subject: str,
    *,
    inlet: bool = False,
    steps: int = 0,
    jumpers: Sequence[int] = (),
) -> tuple[Verdict, ...]:
    """Verdict `light.leak` for parts in place, in the frame of a base that is mounted `steps` edges
    round; leaks are listed in the panel's frame. Needs no CAD kernel where the meshes are known.
    """
    found, count = leaks(plan, parts, inlet=inlet, steps=steps, jumpers=jumpers)
    says = f"Of {count} rays from the LEDs none gets out beside the diffuser."
    if found:
        told = "; ".join(
            f"{leak.where} at x {fixed(leak.place[0], 1)}, y {fixed(leak.place[1], 1)}, z"
            f" {fixed(leak.place[2], 1)}"
            for leak in found[:SHOWN]
        )
        says = f"Rays that get out beside the diffuser: {len(found)} of {count}: {told}."
    cure = (
        "Move the LEDs towards the panel's centre (panel.led.margin), or close the gap that is"
        " named. If no gap is named, this is an internal error."
    )
    own = (
        [item.told for item in features(plan) if item.through and item.part == "shell"]
        if found
        else []
    )
    if own:
        cure = (
            f"Light gets out through your own openings ({', '.join(own[:SHOWN])}): move them below"
            f" the board, close them, or use --allow light.leak if the light is wanted. {cure}"
        )
    return (judge("light.leak", subject, at_most(len(found), 0, "rays"), says, remedy=cure),)


def leaks(
    plan: Plan, parts: Sequence[Named], *, inlet: bool, steps: int = 0, jumpers: Sequence[int] = ()
) -> tuple[list[Leak], int]:
    """All rays that get out, and how many were sent."""
    import numpy as np

    sources = _sources(parts)
    if len(sources) == 0:
        return [], 0
    triangles = rays.soup([one.mesh for one in parts if one.part not in OPEN])
    spots = np.concatenate(
        [gap_spots(plan, inlet=inlet), *opening_spots(plan, steps), *channel_spots(plan, jumpers)]
    )
    origins, ways = _aimed(sources, spots)
    all_origins, all_ways = _around(sources)
    origins, ways = np.concatenate([origins, all_origins]), np.concatenate([ways, all_ways])
    out = rays.unblocked(origins, ways, triangles)
    beside = any(one.name.startswith("neighbour") for one in parts)
    out = out[~_on_the_wall(plan, origins[out], ways[out], beside=beside)]
    return [_leak(plan, origins[k], ways[k], steps) for k in out], len(origins)


def _sources(parts: Sequence[Named]) -> np.ndarray:
    """Upper corners of all LEDs: the light of an LED leaves between them."""
    import numpy as np

    lit = [
        one.mesh.vertices
        for one in parts
        if one.part == "led" and not one.name.startswith("neighbour")
    ]
    if not lit:
        return np.zeros((0, 3))
    corners = np.concatenate(lit)
    upper: np.ndarray = corners[corners[:, 2] > corners[:, 2].max() - 1e-6]
    return upper


def _aimed(sources: np.ndarray, spots: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Rays to every spot from near LEDs and far ones: a slanted gap is seen from afar."""
    import numpy as np
    from scipy.spatial import cKDTree

    ranks = [rank for rank in RANKS if rank < len(sources)]
    _, near = cKDTree(sources).query(spots, k=[rank + 1 for rank in ranks])
    origins = sources[near].reshape(-1, 3)
    way = np.repeat(spots, len(ranks), axis=0) - origins
    return origins, way / np.linalg.norm(way, axis=1)[:, None]


def _around(sources: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Evenly spread directions (a spiral on the sphere), dealt out to the LEDs in turn."""
    import numpy as np

    k = np.arange(AROUND) + 0.5
    z = 1 - 2 * k / AROUND
    turn = math.pi * (1 + math.sqrt(5.0)) * k
    ring = np.sqrt(1 - z * z)
    ways = np.stack([ring * np.cos(turn), ring * np.sin(turn), z], axis=1)
    return sources[(np.arange(AROUND) * 7) % len(sources)], ways


def _on_the_wall(plan: Plan, origins: np.ndarray, ways: np.ndarray, *, beside: bool) -> np.ndarray:
    """Rays that end on the wall behind the outline of the panel or of its neighbour at edge 1, if
    there is one.
    """
    import numpy as np

    with np.errstate(divide="ignore", invalid="ignore"):
        reach = -origins[:, 2] / ways[:, 2]
    ends = origins[:, :2] + np.where(np.isfinite(reach), reach, 0.0)[:, None] * ways[:, :2]
    pitch = 2 * math.pi / plan.cell.sides
    normals = np.array([(math.cos(k * pitch), math.sin(k * pitch)) for k in range(plan.cell.sides)])
    away = 2 * plan.cell.apothem * np.array([math.cos(pitch), math.sin(pitch)])
    own = (ends @ normals.T <= plan.cell.apothem + 1e-6).all(axis=1)
    # the neighbour is the panel turned by half about the joint's middle: its normals are the
    # negatives
    other = ((ends - away) @ -normals.T <= plan.cell.apothem + 1e-6).all(axis=1)
    ends_there: np.ndarray = (ways[:, 2] < 0) & (reach > 0) & (own | (other & beside))
    return ends_there


def _leak(plan: Plan, origin: np.ndarray, way: np.ndarray, steps: int = 0) -> Leak:
    """The point at which a ray leaves the body, in the panel's frame."""
    reach, where = math.inf, "through the rim"
    for k in range(plan.cell.sides):
        angle = 2 * math.pi * k / plan.cell.sides
        out = float(way[0] * math.cos(angle) + way[1] * math.sin(angle))
        room = plan.rings.body_apothem - float(
            origin[0] * math.cos(angle) + origin[1] * math.sin(angle)
        )
        if out > 1e-12 and room / out < reach:
            reach, where = room / out, f"through edge {(k + steps) % plan.cell.sides}"
    if way[2] > 0 and (plan.heights.rim_z - origin[2]) / way[2] < reach:
        reach, where = (plan.heights.rim_z - float(origin[2])) / float(way[2]), "past the rim"
    place = origin + reach * way
    (ax, ay, az), (bx, by, bz) = origin.tolist(), place.tolist()
    on = 2 * math.pi * steps / plan.cell.sides
    return Leak((*turn((ax, ay), on), az), (*turn((bx, by), on), bz), where)
