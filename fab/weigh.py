"""Weight of a panel and its centre of mass: volumes, densities, and what is bought."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping

from fab.layout.model import Layout
from fab.params.shop import Shop
from fab.parts.board_source import board_mm2
from fab.parts.footsizes import FOOT_R, feet_at
from fab.parts.leds import led_grid
from fab.parts.plan import Plan
from fab.parts.snap import panel_weight_n
from fab.prints.layercount import LayerCount
from fab.prints.mass import printed
from fab.products import Figures, PartSpec, plain_base
from fab.units import GRAVITY_M_S2
from fab.wall.model import PanelMass

# From memory, rounded up: FR-4 laminate 1.85 g/cm3, an LED of 5 mm 0.1 g, a controller with its
# parts 6 g, a 4-pin socket 0.5 g, half a header 0.5 g, an M3 screw 0.7 g, adhesive of a diffuser 1
# g.
FR4_G_CM3 = 1.85
LED_G = 0.1
CONTROLLER_G = 6.0
SOCKET_G = 0.5
HEADER_G = 1.0
SCREW_G = 0.7
GLUE_G = 1.0


Counted = tuple[Figures, LayerCount]  # a part, and what its layers are made of


def panel_mass(shop: Shop, plan: Plan, base: Counted, shell: Counted, clip: Counted) -> PanelMass:
    """A finished panel with half its joints' clips and headers, and its centre of mass."""
    n = plan.cell.sides
    density = plan.stock.density

    def grams_of(part: Counted) -> float:
        return printed(part[1], shop.printer, shop.filament).grams

    rows = [
        (grams_of(base), base[0].centre[2]),
        (grams_of(shell), shell[0].centre[2] + plan.floor.shell_z),
        (grams_of(clip) * n, plan.floor.top_z),
        (
            plan.rings.diffuser.area_mm2 * plan.stock.thickness / 1000 * density + GLUE_G,
            plan.heights.ledge_z + plan.stock.thickness / 2,
        ),
        (
            board_mm2(plan) * plan.params.board.thickness / 1000 * FR4_G_CM3
            + LED_G * len(led_grid(plan)),
            plan.heights.board_top_z,
        ),
        (CONTROLLER_G + n * (SOCKET_G + HEADER_G / 2), plan.heights.axis_z),
        (SCREW_G * (plan.fixings.board_screws + len(plan.fixings.shell_screws)), plan.floor.top_z),
    ]
    if plan.params.board.none:
        rows = [*rows[:4], (SCREW_G * len(plan.fixings.shell_screws), plan.floor.top_z)]
    feet, high = len(feet_at(plan)), plan.params.base.feet
    plastic_mm3 = feet * math.pi * FOOT_R**2 * (high + plan.floor.top_z)
    rows.append((plastic_mm3 / 1000 * shop.filament.density, -high / 2))
    grams = sum(weight for weight, _ in rows)
    return PanelMass(grams, 0.0, 0.0, sum(weight * z for weight, z in rows) / grams)


def weigh_all(
    shop: Shop, plans: Mapping[str, Plan], layout: Layout, part: Callable[[PartSpec], Counted]
) -> dict[str, PanelMass]:
    """Mass of each panel by name. A base's kind changes little: the plain one stands for all."""
    by_design = {
        name: panel_mass(
            shop,
            plan,
            part(plain_base(name)),
            part(PartSpec("shell", name)),
            part(PartSpec("clip", name)),
        )
        for name, plan in plans.items()
    }
    return {panel.name: by_design[panel.design] for panel in layout.panels}


def rough_masses(plans: Mapping[str, Plan], layout: Layout) -> dict[str, PanelMass]:
    """Mass of each panel from its outlines, as if printed solid, its centre half-way between wall
    and rim: a little too heavy, and known without a solid.
    """
    of = {
        name: PanelMass(
            panel_weight_n(plan, plan.filament) / GRAVITY_M_S2 * 1000.0,
            0.0,
            0.0,
            plan.heights.rim_z / 2,
        )
        for name, plan in plans.items()
    }
    return {panel.name: of[panel.design] for panel in layout.panels}
