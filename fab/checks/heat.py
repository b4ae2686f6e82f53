"""Checks that a panel stays cool enough for its materials: the estimate of `fab/power/heat.py`."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from fab.checks.model import Verdict, Word
from fab.layout.model import Layout
from fab.params.job import PowerParams
from fab.params.shop import Filament
from fab.parts.plan import Plan
from fab.power.cautions import HEAT_IS_AN_ESTIMATE
from fab.power.heat import MARGIN_K, PanelHeat
from fab.units import fixed


def heat_checks(
    heats: Sequence[PanelHeat],
    layout: Layout,
    plans: Mapping[str, Plan],
    filament: Filament,
    power: PowerParams,
    possible: float = math.inf,
) -> tuple[Verdict, ...]:
    """`heat.rise` for the print and for the sheet, each on the panel that is nearest to its limit.

    `possible`: the brightness that supply, pins, voltage and logic allow.
    """
    if not heats:
        return ()
    cap = min(possible, *(heat.cap for heat in heats))
    design_of = {panel.name: panel.design for panel in layout.panels}

    def service_c(heat: PanelHeat) -> float:
        return plans[design_of[heat.panel]].stock.service_c

    hot = max(heats, key=lambda heat: (round(heat.print_c, 9), heat.panel))
    warm = max(heats, key=lambda heat: (round(heat.sheet_c - service_c(heat), 9), heat.panel))
    return (
        _verdict("print", hot, (hot.print_c, filament.softens_c), power, cap),
        _verdict("sheet", warm, (warm.sheet_c, service_c(warm)), power, cap),
    )


def _verdict(
    what: str, heat: PanelHeat, against: tuple[float, float], power: PowerParams, cap: float
) -> Verdict:
    have_c, limit_c = against
    over, near = have_c > limit_c + 1e-9, have_c > limit_c - MARGIN_K
    says = (
        f"The {what} of panel {heat.panel} becomes {fixed(have_c - power.ambient_c, 1)} K warmer"
        f" than a room of {fixed(power.ambient_c, 1)} degC, with {fixed(heat.watts, 2)} W."
        f" {HEAT_IS_AN_ESTIMATE}"
    )
    hundredths = math.floor(cap * 100 + 1e-9)
    remedy = ""
    if over:
        remedy = (
            f"Set power.brightness = {fixed(min(hundredths, 100) / 100)}."
            if hundredths >= 1
            else (
                "Even dark panels become too warm: use a filament and a sheet for higher"
                " temperatures, or a cooler place."
            )
        )
    elif near:
        remedy = (
            "Close to the limit: touch a panel after some hours, and lower power.brightness if it"
            " is hot."
        )
    source = {"print": "filament.softens_c", "sheet": "stock.service_c"}[what]
    word: Word = "fail" if over else "warn" if near else "pass"
    return Verdict(
        "heat.rise", word, f"{what} of {heat.panel}", have_c, limit_c, "degC", says, remedy, source
    )
