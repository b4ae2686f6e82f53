"""The roll of filament of each printed part: colour, price and reflectance by its name."""

from __future__ import annotations

from fab.params.job import Job
from fab.params.panel import PanelParams
from fab.params.shop import Shop


def roll_of(part: str, params: PanelParams) -> str:
    """Name of the roll that a part of a design is printed from; "" is the shop's filament.

    A clip, cap or foot is printed with the bases.
    """
    return params.shell.roll if part == "shell" else params.base.roll


def material(shop: Shop, roll: str) -> str:
    """The name of a roll in words: "PETG", "PETG blue"."""
    return f"{shop.filament.material} {roll}".strip()


def price_per_kg(shop: Shop, roll: str) -> float:
    """Price of a kilogram of a roll."""
    own = shop.roll[roll].price_per_kg if roll else None
    return shop.filament.price_per_kg if own is None else own


def reflectance(job: Job, params: PanelParams) -> float:
    """Of the inside of a panel, 0 to 1: the darker of its base and its shell."""
    usual = job.shop.filament.reflectance
    own = [job.shop.roll[roll].reflectance for roll in _rolls(params)]
    return min([usual if one is None else one for one in own], default=usual)


def _rolls(params: PanelParams) -> tuple[str, ...]:
    return tuple(roll for roll in (params.base.roll, params.shell.roll) if roll)


def shown(shop: Shop, params: PanelParams) -> str:
    """The colour of a design's front frame as #rrggbb; "" for the shop's filament."""
    return shop.roll[params.shell.roll].colour if params.shell.roll else ""
