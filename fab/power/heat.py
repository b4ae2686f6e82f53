"""Temperature of a panel that has shone for hours: an estimate, on the warm side.

    wall | base | board ====== air gap ====== sheet | room
    closed       T_board      h_gap + h_rad   T_sheet T_face

All supply power ends as heat in the panel: the light that leaves is not subtracted. The wall side
and joined edges pass none.

Outside: natural convection on an upright face as high as the panel's group, and radiation, off the
front and the open sides. Inside: the upright air gap and radiation between board and sheet, then
the sheet. The print is taken to be as warm as the board it carries; hot spots (a controller, a
converter, one LED) are warmer than that.

Sources: upright plate, S. W. Churchill, H. H. S. Chu, Int. J. Heat Mass Transfer 18 (1975) 1323,
all Ra; upright gap, Catton's correlations as heat transfer textbooks give them (from memory); air,
textbook table at 1 bar (from memory).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache

from fab.layout.model import Layout
from fab.params.job import PowerParams
from fab.params.shop import Filament
from fab.parts.plan import Plan
from fab.power.model import HeatCap, Load
from fab.units import GRAVITY_M_S2

STEFAN_BOLTZMANN = 5.670374419e-8  # W/m2K4, CODATA 2018
KELVIN = 273.15
EMISSIVITY = 0.9  # plastics and lacquers, from memory 0.85 to 0.95
SHEET_W_MK = 0.19  # PMMA, from memory; card and plywood conduct alike or worse by little
# Air at 1 bar: K, kinematic viscosity m2/s, conductivity W/mK, thermal diffusivity m2/s. Textbook
# table, from memory.
AIR = (
    (250.0, 11.44e-6, 22.3e-3, 15.9e-6),
    (300.0, 15.89e-6, 26.3e-3, 22.5e-6),
    (350.0, 20.92e-6, 30.0e-3, 29.9e-6),
    (400.0, 26.41e-6, 33.8e-3, 38.3e-6),
    (450.0, 32.39e-6, 37.3e-3, 47.2e-6),
)
LEAST = 0.01  # brightness is set in whole per cent
THIN_GAP_M = 1e-4  # board and sheet that lie so near are as warm as each other
MOST_FLUX = 20_000.0  # W/m2, end of the search for a cap
# nearer to a limit than this is a warning: the estimate is no better (common practice, no source)
MARGIN_K = 5.0
HOTTEST_K = 2000.0  # end of the search; nothing printed lives to see it


@dataclass(frozen=True)
class PanelHeat:
    """One panel's steady temperatures, degC."""

    panel: str
    watts: float
    face_m2: float  # front and open sides
    face_c: float  # outside of the front
    sheet_c: float  # warm side of the sheet
    print_c: float  # the board, and the print that carries it
    # brightness at which print or sheet reaches its limit; may be over 1; 0: too warm when dark
    cap: float
    cap_by: str  # "print" or "sheet"


@dataclass(frozen=True)
class Skin:
    """The layers between a panel's board and the room, per square metre of face."""

    height_m: float  # of the group of panels
    gap_m: float
    sheet_m: float
    ambient_c: float

    def at(self, flux: float) -> tuple[float, float, float]:
        """Face, warm side of the sheet, and print, degC, at `flux` W/m2."""
        return temperatures(flux, self.ambient_c, self.height_m, self.gap_m, self.sheet_m)

    @lru_cache(maxsize=512)  # noqa: B019 (frozen values, a few numbers each)
    def most_flux(self, sheet_c: float, print_c: float) -> tuple[float, str]:
        """Flux at which sheet or print is at its limit, and which; 0 in too warm a room.

        Searched for by the face's temperature, from which all of the others follow.
        """
        air, gap = self.ambient_c + KELVIN, self.gap_m
        thin = gap <= THIN_GAP_M

        def sheet_at(face: float) -> float:
            return face + loss(face, air, self.height_m) * self.sheet_m / SHEET_W_MK

        def spare(face: float, board: float) -> float:
            """What leaves the face beyond what a board of this temperature sends to it."""
            sheet = sheet_at(face)
            if thin or sheet >= board:
                return sheet - board
            return loss(face, air, self.height_m) - across(board, sheet, self.height_m, gap)

        def flux(rises: Callable[[float], float], limit_c: float) -> float:
            face = _root(rises, air, max(limit_c + KELVIN, air))
            return min(loss(face, air, self.height_m), MOST_FLUX)

        sheet = flux(lambda face: sheet_at(face) - (sheet_c + KELVIN), sheet_c)
        prints = flux(lambda face: spare(face, print_c + KELVIN), print_c)
        return (prints, "print") if prints <= sheet else (sheet, "sheet")


def panel_heat(
    layout: Layout,
    loads: Sequence[Load],
    plans: Mapping[str, Plan],
    filament: Filament,
    *,
    supply_v: float,
    brightness: float,
    ambient_c: float,
    clear_k: float = 0.0,
) -> tuple[PanelHeat, ...]:
    """Steady temperatures of every panel with a board, in the layout's order.

    `plans` by design; the caps keep clear of the limits by `clear_k`.
    """
    open_edges: dict[str, int] = {}
    for edge in layout.open_edges:
        open_edges[edge.panel] = open_edges.get(edge.panel, 0) + 1
    heights = _heights(layout)
    most: dict[tuple[Skin, float], tuple[float, str]] = {}
    known: dict[tuple[Skin, float], tuple[float, float, float]] = {}
    found = []
    for panel, load in zip(layout.panels, loads, strict=True):
        plan = plans[panel.design]
        if plan.params.board.none:
            continue
        skin = Skin(
            round(heights[panel.name], 6),
            plan.heights.throw / 1e3,
            plan.stock.thickness / 1e3,
            ambient_c,
        )
        face = face_m2(plan, open_edges.get(panel.name, 0))
        watts = supply_v * load.at(brightness)
        flux = round(watts / face, 9)
        if (skin, flux) not in known:
            known[skin, flux] = skin.at(flux)
        limit = (skin, plan.stock.service_c)
        if limit not in most:
            most[limit] = skin.most_flux(
                plan.stock.service_c - clear_k, filament.softens_c - clear_k
            )
        flux_cap, by = most[limit]
        cap = max(flux_cap * face / supply_v - load.idle_a, 0.0) / load.full_a
        found.append(PanelHeat(panel.name, watts, face, *known[skin, flux], cap, by))
    return tuple(found)


def heat_cap(
    layout: Layout,
    loads: Sequence[Load],
    plans: Mapping[str, Plan],
    filament: Filament,
    ambient_c: float,
    clear_k: float = 0.0,
) -> HeatCap:
    """The heat that the panels of a wall may give off, for every way in which they differ."""
    heats = panel_heat(
        layout,
        loads,
        plans,
        filament,
        supply_v=1.0,
        brightness=0.0,
        ambient_c=ambient_c,
        clear_k=clear_k,
    )
    by_name = {load.panel: load for load in loads}
    rows = {
        (by_name[h.panel].idle_a + h.cap * by_name[h.panel].full_a, by_name[h.panel]) for h in heats
    }
    return HeatCap(tuple(sorted({(watts, load.idle_a, load.full_a) for watts, load in rows})))


def aimed_cap(
    layout: Layout,
    loads: Sequence[Load],
    plans: Mapping[str, Plan],
    filament: Filament,
    power: PowerParams,
) -> HeatCap:
    """The heat that panels may give off at the brightness asked for.

    "auto" keeps `MARGIN_K` clear of the limits, where that leaves light at all, so that no wall
    warns of a brightness that nobody chose.
    """
    if power.brightness is None:
        clear = heat_cap(layout, loads, plans, filament, power.ambient_c, MARGIN_K)
        if clear.brightness(power.supply_v) >= LEAST:
            return clear
    return heat_cap(layout, loads, plans, filament, power.ambient_c)


def face_m2(plan: Plan, open_edges: int) -> float:
    """Area that gives heat off, m2: the front, and the sides along open edges."""
    cell = plan.cell
    front = cell.sides * cell.edge * cell.apothem / 2
    return (front + open_edges * cell.edge * plan.params.depth) / 1e6


def temperatures(
    flux: float, ambient_c: float, height_m: float, gap_m: float, sheet_m: float
) -> tuple[float, float, float]:
    """Face, warm side of the sheet, and board, degC, for `flux` W/m2 through the face."""
    air = ambient_c + KELVIN
    face = _root(lambda t: loss(t, air, height_m) - flux, air, HOTTEST_K)
    sheet = face + flux * sheet_m / SHEET_W_MK
    board = (
        _root(lambda t: across(t, sheet, height_m, gap_m) - flux, sheet, sheet + HOTTEST_K)
        if gap_m > THIN_GAP_M
        else sheet
    )
    return face - KELVIN, sheet - KELVIN, board - KELVIN


def loss(face_k: float, air_k: float, height_m: float) -> float:
    """Heat off an upright face into a room, W/m2: natural convection and radiation."""
    return plate_h(face_k, air_k, height_m) * (face_k - air_k) + EMISSIVITY * STEFAN_BOLTZMANN * (
        face_k**4 - air_k**4
    )


def plate_h(face_k: float, air_k: float, height_m: float) -> float:
    """Convection of an upright plate, W/m2K."""
    viscosity, conductivity, diffusivity = air_at((face_k + air_k) / 2)
    rayleigh = _rayleigh(face_k, air_k, height_m, viscosity, diffusivity)
    return plate_nusselt(rayleigh, viscosity / diffusivity) * conductivity / height_m


def plate_nusselt(rayleigh: float, prandtl: float) -> float:
    """Churchill and Chu, upright plate, any Rayleigh number."""
    share: float = (1 + (0.492 / prandtl) ** (9 / 16)) ** (8 / 27)
    root: float = 0.825 + 0.387 * rayleigh ** (1 / 6) / share
    return root**2


def across(hot_k: float, cold_k: float, height_m: float, gap_m: float) -> float:
    """Heat across an upright air gap, W/m2: conduction or convection (the more), and radiation."""
    viscosity, conductivity, diffusivity = air_at((hot_k + cold_k) / 2)
    rayleigh = _rayleigh(hot_k, cold_k, gap_m, viscosity, diffusivity)
    still = gap_nusselt(rayleigh, viscosity / diffusivity, height_m / gap_m) * conductivity / gap_m
    between = STEFAN_BOLTZMANN / (2 / EMISSIVITY - 1)
    return still * (hot_k - cold_k) + between * (hot_k**4 - cold_k**4)


def gap_nusselt(rayleigh: float, prandtl: float, slenderness: float) -> float:
    """Catton's correlations for an upright gap, height over width up to 10; slimmer: as 10."""
    driven = prandtl / (0.2 + prandtl) * rayleigh
    if slenderness < 2:
        return max(1.0, 0.18 * math.pow(driven, 0.29))
    return max(1.0, 0.22 * math.pow(driven, 0.28) * math.pow(min(slenderness, 10.0), -0.25))


def air_at(kelvin: float) -> tuple[float, float, float]:
    """Viscosity, conductivity, diffusivity: linear between the table's rows and beyond its ends."""
    row = next((k for k in range(1, len(AIR) - 1) if kelvin <= AIR[k][0]), len(AIR) - 1)
    low, high = AIR[row - 1], AIR[row]
    share = (kelvin - low[0]) / (high[0] - low[0])
    viscosity, conductivity, diffusivity = (low[i] + share * (high[i] - low[i]) for i in (1, 2, 3))
    return viscosity, conductivity, diffusivity


def _rayleigh(
    hot_k: float, cold_k: float, length_m: float, viscosity: float, diffusivity: float
) -> float:
    expansion = 2 / (hot_k + cold_k)  # ideal gas
    return max(
        GRAVITY_M_S2 * expansion * (hot_k - cold_k) * length_m**3 / (viscosity * diffusivity), 0.0
    )


def _heights(layout: Layout) -> dict[str, float]:
    """Height of each panel's group, m: the air has warmed on its way up to the top one."""
    found = {}
    for group in layout.groups:
        ys = [y for name in group for _, y in layout.by_name[name].corners]
        found.update(dict.fromkeys(group, (max(ys) - min(ys)) / 1000))
    return found


def _root(rises: Callable[[float], float], low: float, high: float) -> float:
    """The zero of a rising function, by halving; `high` when it never gets there."""
    for _ in range(48):
        middle = (low + high) / 2
        if rises(middle) < 0:
            low = middle
        else:
            high = middle
    return (low + high) / 2
