"""How long light takes: one panel of about 100 LEDs on a 0.5 mm grid (bound 1 s), a wall of 1,000
panels (bound 5 s).

    python tests/benchmarks/light_speed.py

Prints seconds after imports, the best of three, and leaves with 1 when a bound is broken.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable
from dataclasses import replace

from fab.layout.model import Layout, PlacedPanel
from fab.light import figures
from fab.light.face import face
from fab.light.solve import CURVE_POINTS, LightLimits, depth_curve, least_depth
from fab.light.wallpicture import wall_png
from fab.params.job import LightParams
from fab.params.panel import LedParams, PanelParams
from fab.params.shop import Shop, Stock
from fab.parts.leds import led_grid
from fab.parts.plan import Plan
from fab.parts.planning import plan

WHITE = 0.8
PANEL_BOUND_S, WALL_BOUND_S = 1.0, 5.0


def best(work: Callable[[], object], times: int = 3) -> float:
    """Seconds of the quickest run; nothing is kept from one to the next."""
    found = []
    for _ in range(times):
        for kept in (figures.settled, figures.evenness, figures.quick):
            kept.cache_clear()
        begin = time.perf_counter()
        work()
        found.append(time.perf_counter() - begin)
    return min(found)


def wall(made: Plan, columns: int, rows: int) -> Layout:
    """Hexagons side by side, placed straight away: no layout room in this timing."""
    wide, high = made.cell.apothem * 2, made.cell.circumradius * 1.5
    panels = tuple(
        PlacedPanel(
            f"P{r}-{c}", "panel", made.cell, wide * (c + r % 2 / 2), high * r, 60.0 * ((r + c) % 6)
        )
        for r in range(rows)
        for c in range(columns)
    )
    return Layout(panels, (), (), ())


def main() -> int:
    shop = Shop(stock={"opal-3": Stock()})
    made = plan(PanelParams(across_flats=160.0, led=LedParams(pitch=13.5)), shop)
    leds = len(led_grid(made))
    one = best(lambda: face(made, WHITE))
    print(f"one panel, {leds} LEDs, 0.5 mm grid: {one:.3f} s (bound {PANEL_BOUND_S:g} s)")
    lit = face(made, WHITE)
    layout = wall(made, 40, 25)
    thousand = best(lambda: wall_png(layout, {"panel": made}, {"panel": lit}))
    print(f"picture of {len(layout.panels)} panels: {thousand:.3f} s (bound {WALL_BOUND_S:g} s)")
    curve = best(lambda: depth_curve(made, WHITE))
    print(f"curve over depth, {CURVE_POINTS} points: {curve:.3f} s")
    flat = replace(made, params=replace(made.params, depth=30.0))
    print(
        "least depth for the default limits:"
        f" {best(lambda: least_depth(flat, WHITE, LightLimits(LightParams()))):.3f} s"
    )
    return int(one > PANEL_BOUND_S or thousand > WALL_BOUND_S or leds < 90)


if __name__ == "__main__":
    sys.exit(main())
