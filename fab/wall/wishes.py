"""Preferred places of keyholes when rules forbid places, or leave the weight outside: ways of
placing all screws of a wall, tried one after the other.

    middle     each in the middle of its panel, else as near to it as can be
    outwards   as far from the centre of mass as can be: what leaves that outside its screws here
               leaves it outside in every way
    gathered   each as near to the middle line of a stud as can be: a single stud carries the wall
               by screws over each other
    spread     as near under the centre of mass as can be, in lower panels as low as can be: what
               leaves screws over each other too near here leaves them too near in every way
"""

from __future__ import annotations

import math
from collections.abc import Mapping

from fab.layout.model import Layout, PlacedPanel
from fab.wall.model import PanelMass
from fab.wall.places import Wish
from fab.wall.to_hang import WallToHang


def wishes(known: WallToHang) -> tuple[Wish | None, ...]:
    """The ways to try, the plainest first."""
    centre, hang = _centres(known.layout, known.masses), known.hang

    def outwards(panel: PlacedPanel, x: float) -> float:
        return (centre[panel.name] - x) * (1 if panel.x >= centre[panel.name] else -1)

    def gathered(_: PlacedPanel, x: float) -> float:
        return min(abs(x - stud) for stud in hang.studs)

    def inwards(panel: PlacedPanel, x: float) -> float:
        return abs(x - centre[panel.name])

    if not hang.studs:
        return (None, Wish(outwards))
    low = _low_half(known.layout)
    return (
        None,
        Wish(outwards),
        Wish(gathered),
        Wish(inwards, lambda panel: panel.name in low, column=True),
    )


def _centres(layout: Layout, masses: Mapping[str, PanelMass]) -> dict[str, float]:
    """The x of the centre of mass of each panel's group, wall frame, mm."""
    found: dict[str, float] = {}
    for names in layout.groups:
        grams = [masses[name].grams for name in names]
        xs = [layout.by_name[n].to_wall((masses[n].x, masses[n].y))[0] for n in names]
        total = math.fsum(grams)
        at = math.fsum(g * x for g, x in zip(grams, xs, strict=True)) / total if total else xs[0]
        found.update(dict.fromkeys(names, at))
    return found


def _low_half(layout: Layout) -> frozenset[str]:
    """The panels under the middle of their group."""
    found: set[str] = set()
    for names in layout.groups:
        ys = [layout.by_name[name].y for name in names]
        middle = (min(ys) + max(ys)) / 2 - 1e-6
        found |= {name for name, y in zip(names, ys, strict=True) if y < middle}
    return frozenset(found)
