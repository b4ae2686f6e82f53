"""Panels and bare scenes to shine light into."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from fab.light.scene import Scene
from fab.params.panel import LedParams, PanelParams, SwitchParams
from fab.params.shop import Shop, Stock
from fab.parts.plan import Plan
from fab.parts.planning import plan as plan_of
from fab.parts.rings import Ring

WHITE = 0.8  # filament


@pytest.fixture(scope="session")
def make() -> Callable[..., Plan]:
    """`make(led={...}, switch={...}, stock={...}, sides=6, across_flats=120.0, ...)`: the plan of a
    design.

    What is left out is that of the demo (params/reading-nook.toml; a test holds
    it).
    """

    def made(led: Any = None, switch: Any = None, stock: Any = None, **panel: Any) -> Plan:
        size = {} if {"edge", "across_flats"} & panel.keys() else {"across_flats": 120.0}
        panel.setdefault("depth", 40.0)
        params = PanelParams(
            led=LedParams(**{"margin": 3.6, "pitch": 15.1, **(led or {})}),
            switch=SwitchParams(**(switch or {})),
            **size,  # type: ignore[arg-type]
            **panel,
        )
        return plan_of(params, Shop(stock={"opal-3": Stock(**(stock or {}))}))

    return made


@pytest.fixture(scope="session")
def box() -> Callable[..., Scene]:
    """A bare box: square of side 200, LEDs as given, no ledge to speak of; anything may be
    replaced.
    """

    def made(leds: Any = ((0.0, 0.0),), **changed: Any) -> Scene:
        bare: dict[str, Any] = {
            "sides": 4,
            "wall_apothem": 100.0,
            "window_apothem": 99.99,
            "board": Ring(4, 100.0, 1000.0),
            "floor_z": 0.0,
            "led_z": 0.0,
            "foot_z": 19.98,
            "lip_z": 19.99,
            "sheet_z": 20.0,
            "leds": tuple(leds),
            "led_order": 1.0,
            "led_lumen": 10.0,
            "board_reflectance": 0.0,
            "wall_reflectance": 0.0,
            "sheet_transmission": 1.0,
            "sheet_reflectance": 0.0,
            "sheet_order": 1.0,
            "sheet_thickness": 0.01,
        }
        return Scene(**{**bare, **changed})

    return made
