"""Where keyholes would rather stand when rules forbid places, or leave the weight outside: ways of
placing all screws of a wall, tried one after the other.

    middle     each in the middle of its panel, else as near to it as can be
    outwards   as far from the centre of mass as can be: what leaves that outside its screws here
               leaves it outside in every way
    gathered   each as near to the middle line of a stud as can be: a single stud carries the wall
               by screws over each other
"""

from __future__ import annotations

import math
from collections.abc import Mapping

from fab.layout.model import Layout, PlacedPanel
from fab.params.job import HangParams
from fab.wall.model import PanelMass
from fab.wall.places import Wish


def wishes(
    layout: Layout, masses: Mapping[str, PanelMass], hang: HangParams
) -> tuple[Wish | None, ...]:
    """The ways to try, the plainest first."""
    outwards = _outwards(layout, masses)
    return (None, outwards, _gathered(hang)) if hang.studs else (None, outwards)


def _outwards(layout: Layout, masses: Mapping[str, PanelMass]) -> Wish:
    middle: dict[str, float] = {}
    for names in layout.groups:
        grams = [masses[name].grams for name in names]
        xs = [layout.by_name[n].to_wall((masses[n].x, masses[n].y))[0] for n in names]
        total = math.fsum(grams)
        at = math.fsum(g * x for g, x in zip(grams, xs, strict=True)) / total if total else xs[0]
        middle.update(dict.fromkeys(names, at))

    def wish(panel: PlacedPanel, x: float) -> float:
        centre = middle[panel.name]
        return centre - x if panel.x >= centre else x - centre

    return wish


def _gathered(hang: HangParams) -> Wish:
    return lambda _, x: min(abs(x - stud) for stud in hang.studs)
