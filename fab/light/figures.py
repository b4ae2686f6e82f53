"""The figures that say how even a face is, at full white, seen straight on.

    dots      contrast (L at LEDs - L in the gap) / (sum) at the worst gap between neighbours; 0
              where no gap is darker
    face      least over most of the whole face, rim and corners included
    middle    least over most of the middle alone
    rim       least luminance along the edges, as a share of the mean of the middle; shown, `face`
              judges it
    corner    the same in the corners

The middle is the window shrunk to two thirds. The rim is the line `RIM_MM` inside the window's
edge, where a small luminance meter's spot would just lie on the sheet; what lies outside it fades
into the dark frame of ledge and shell. A gap is compared with the mean of the LEDs that it lies
between, so a slow fall of brightness over the face is not taken for a dot.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from fab.light.cavity import Balance
from fab.light.field import Field, direct_luminance, field, in_window
from fab.light.scene import Scene
from fab.light.shade import sector_turns
from fab.outlines.contour import Point

Array = NDArray[np.float64]
MIDDLE = 2 / 3  # of the window's size
RIM_MM = 2.0
HELD = 0.01  # a figure holds when a finer reckoning moves it by less than this share of itself ...
HELD_LEAST = 0.002  # ... or by less than this
PATCHES = (500, 1000, 2000, 4000)
SPOTS = 1200  # points over the face at the first of these; grows with the patches
QUICK_PATCHES, QUICK_SPOTS = 180, 600
# LEDs further apart than this many pitches have no gap between them (square's diagonal: 1.42)
NEIGHBOUR = 1.6


@dataclass(frozen=True)
class Evenness:
    """The evenness of one face. Luminances in cd/m2 at full white; everything else is a share.

    `face` and `middle` are least over most: 1 is even, 0.5 means that the darkest spot has half the
    light of the brightest. The face ends RIM_MM inside the window: closer to it the sheet mixes
    light with the dark over the ledge.
    """

    dots: float
    face: float  # least over most of the whole face, rim and corners included
    middle: float  # least over most of the middle alone, two thirds of the window's size
    rim: float  # least along the middle of an edge, over the mean of the middle
    corner: float  # least of the corners, over the same
    mean_cd_m2: float  # over the face
    middle_cd_m2: float  # mean of the middle
    peak_cd_m2: float
    led_cd_m2: float  # mean over the LEDs
    gap_cd_m2: float  # the worst gap
    gap: tuple[float, float]  # where the worst gap is, panel frame
    darkest: tuple[float, float]  # where the rim is darkest
    leds: int
    throw_mm: float
    patches: int
    moved: float  # largest change of a figure at the last refinement, in units of what is allowed
    balance: Balance


@lru_cache(maxsize=16)
def settled(scene: Scene) -> tuple[Evenness, Field]:
    """The figures of a scene, patches and points refined until every one of them holds, and the
    field behind them.

    `Figures.moved` tells whether they held at the last refinement (at most 1). Kept for scenes
    asked for again.
    """
    light = field(scene, PATCHES[0])
    now = measured(light, SPOTS, PATCHES[0])
    for patches in PATCHES[1:]:
        before = now
        light = field(scene, patches)
        now = measured(light, SPOTS * patches // PATCHES[0], patches)
        now = replace(now, moved=_moved(before, now))
        if now.moved <= 1:
            break
    return now, light


@lru_cache(maxsize=512)
def evenness(scene: Scene) -> Evenness:
    """The settled figures without the field, which takes far more room: kept for many scenes."""
    return settled(scene)[0]


@lru_cache(maxsize=512)
def quick(scene: Scene) -> Evenness:
    """The figures from a coarse reckoning: for searches and curves, whose answers are then looked
    at with `settled`.
    """
    return measured(field(scene, QUICK_PATCHES), QUICK_SPOTS, QUICK_PATCHES)


def measured(light: Field, spots: int, patches: int) -> Evenness:
    """The figures of a field, asked at about `spots` points besides LEDs, gaps and rim."""
    scene = light.scene
    leds, between = np.array(scene.leds), led_gaps(scene)
    gaps = between.at
    far = _rim_apothem(scene)
    middle_far = scene.window_apothem * MIDDLE
    face, weights = spread_spots(scene.sides, far, spots)
    middle, middle_weights = spread_spots(scene.sides, middle_far, spots // 2)
    rim, corners = (
        edge_spots(scene.sides, far, spots // 4, MIDDLE),
        edge_spots(scene.sides, far, 0, 1.0),
    )
    middle_rim = edge_spots(scene.sides, middle_far, spots // 8, 1.0)
    parts = (leds, gaps, face, middle, rim, corners, middle_rim)
    ends = np.cumsum([len(part) for part in parts])[:-1]
    at_leds, at_gaps, at_face, at_middle, at_rim, at_corners, at_middle_rim = np.split(
        light.luminance(np.concatenate(parts)), ends
    )
    ring = between.mean(at_leds)
    contrast = (ring - at_gaps) / (ring + at_gaps)
    worst = int(np.argmax(np.round(contrast, 9)))
    centre = float(at_middle @ middle_weights)
    darkest = int(np.argmin(np.round(at_rim / centre, 9)))

    def inside(apothem: float) -> list[Array]:
        inset = scene.window_apothem - apothem
        return [at_leds[in_window(scene, leds, inset)], at_gaps[in_window(scene, gaps, inset)]]

    whole = np.concatenate([at_face, at_rim, at_corners, *inside(far)])
    return Evenness(
        dots=max(float(contrast[worst]), 0.0),
        face=_least_over_most(whole),
        middle=_least_over_most(np.concatenate([at_middle, at_middle_rim, *inside(middle_far)])),
        rim=float(at_rim[darkest]) / centre,
        corner=float(at_corners.min()) / centre,
        mean_cd_m2=float(at_face @ weights),
        middle_cd_m2=centre,
        peak_cd_m2=float(whole.max()),
        led_cd_m2=float(at_leds.mean()),
        gap_cd_m2=float(at_gaps[worst]),
        gap=(float(gaps[worst, 0]), float(gaps[worst, 1])),
        darkest=(float(rim[darkest, 0]), float(rim[darkest, 1])),
        leds=len(leds),
        throw_mm=scene.throw,
        patches=patches,
        moved=math.inf,
        balance=light.inside.balance,
    )


def dots_of_leds(scene: Scene) -> float:
    """The dots figure with no bounced light: an upper bound, worked out in a moment."""
    gaps, leds = led_gaps(scene), np.array(scene.leds)
    light = direct_luminance(scene, np.concatenate([leds, gaps.at]))
    ring = gaps.mean(light[: len(leds)])
    return float(np.max((ring - light[len(leds) :]) / (ring + light[len(leds) :])))


def spread_spots(sides: int, apothem: float, many: int) -> tuple[Array, Array]:
    """About `many` points over a regular polygon (P, 2), and the share of its area that each stands
    for (P,).
    """
    tan = math.tan(math.pi / sides)
    along = max(2, round(math.sqrt(many / sides * 2 * tan)))
    rings = max(4, round(many / sides / along))
    a = (np.arange(rings) + 0.5) / rings * apothem
    t = ((np.arange(along) + 0.5) / along * 2 - 1) * tan
    local = np.stack([np.repeat(a, along), np.outer(a, t).ravel(), np.zeros(rings * along)], axis=1)
    weights = np.tile(np.repeat(a, along), sides)
    return (
        np.concatenate([(local @ turn)[:, :2] for turn in sector_turns(sides)]),
        weights / weights.sum(),
    )


def edge_spots(sides: int, apothem: float, many: int, share: float) -> Array:
    """About `many` points along the middle `share` of every edge of a regular polygon, ends among
    them, (P, 2).
    """
    half = apothem * math.tan(math.pi / sides) * share
    along = np.linspace(-half, half, max(many // sides // 2 * 2, 1) + 1)
    local = np.stack([np.full(len(along), apothem), along, np.zeros(len(along))], axis=1)
    return np.concatenate([(local @ turn)[:, :2] for turn in sector_turns(sides)])


def _rim_apothem(scene: Scene) -> float:
    return max(scene.window_apothem - RIM_MM, scene.window_apothem / 2)


@dataclass(frozen=True, eq=False)
class Gaps:
    """Gaps between neighbouring LEDs: the LEDs that each lies between (G, 3), the share of each in
    their mean (G, 3; 0 where there are fewer than three), and where the gap is (G, 2).
    """

    between: NDArray[np.int64]
    shares: Array
    at: Array

    def mean(self, values: Array) -> Array:
        """(G, ...): the mean over each gap's LEDs of a value of every LED."""
        return np.asarray(np.einsum("gk,gk...->g...", self.shares, values[self.between]))


def led_gaps(scene: Scene) -> Gaps:
    """The gaps between a scene's neighbouring LEDs.

    Middles of pairs and of triples that are all neighbours of each other (a square's centre is the
    middle of its diagonal); each LED has at least its nearest. A lone LED has a spot half-way to
    the window's edge.
    """
    gaps = _gaps(scene.leds)
    if len(scene.leds) > 1:
        return gaps
    far = (scene.window_apothem - math.hypot(*scene.leds[0])) / 2
    return replace(gaps, at=gaps.at + np.array([[far, 0.0]]))


@lru_cache(maxsize=64)
def _gaps(places: tuple[Point, ...]) -> Gaps:
    """`led_gaps`, that of a lone LED on the LED itself."""
    groups = _groups(places) if len(places) > 1 else ((0,),)
    between = np.array([(*group, *group[:1] * (3 - len(group))) for group in groups])
    counts = np.array([len(group) for group in groups])
    shares = np.where(np.arange(3) < counts[:, None], 1 / counts[:, None], 0.0)
    bare = Gaps(between, shares, np.empty((0, 2)))
    return replace(bare, at=bare.mean(np.array(places)))


def _groups(places: tuple[Point, ...]) -> tuple[tuple[int, ...], ...]:
    leds = np.array(places)
    apart = np.sqrt(((leds[:, None, :] - leds[None, :, :]) ** 2).sum(axis=2))
    np.fill_diagonal(apart, math.inf)
    near = apart <= NEIGHBOUR * float(np.median(apart.min(axis=1)))
    near[np.arange(len(leds)), apart.argmin(axis=1)] = True
    near |= near.T
    groups: list[tuple[int, ...]] = []
    for i in range(len(leds)):
        for j in np.flatnonzero(near[i, i + 1 :]) + i + 1:
            groups.append((i, int(j)))
            groups += [
                (i, int(j), int(k))
                for k in np.flatnonzero(near[i, j + 1 :] & near[j, j + 1 :]) + j + 1
            ]
    return tuple(groups)


def _least_over_most(values: Array) -> float:
    return float(values.min()) / float(values.max())


def _moved(before: Evenness, now: Evenness) -> float:
    """The largest change, in units of what counts as holding."""
    shares = (
        (getattr(before, key), getattr(now, key)) for key in ("dots", "face", "middle", "rim")
    )
    moves: list[float] = [abs(b - a) / max(HELD * abs(b), HELD_LEAST) for a, b in shares]
    moves.append(abs(now.mean_cd_m2 / before.mean_cd_m2 - 1) / HELD)
    moves.append(abs(now.balance.error) / HELD)
    return max(moves)
