"""The plan of a design: what it leaves out is derived first, then every dimension of it."""

from __future__ import annotations

from fab.params.panel import PanelParams
from fab.params.shop import Filament, Printer, Shop, Stock
from fab.parts import fits
from fab.parts.defaults import settled
from fab.parts.plan import Plan, cell_of


def plan(params: PanelParams, shop: Shop) -> Plan:
    """The plan of a design in a shop: what the design leaves out is derived (`defaults`).

    The design's stock must exist in the shop (the door sees to it).
    """
    return planned(params, shop.printer, shop.stock[params.diffuser.stock], shop.filament)


def planned(asked: PanelParams, printer: Printer, stock: Stock, filament: Filament) -> Plan:
    """The plan of a design whose left-out values are derived here."""
    strain = fits.repeated_strain(filament)
    params = settled(asked, printer, stock, strain)
    return Plan(params, printer, stock, cell_of(params), strain, asked, filament)
