"""Names of bought things in the parts list, against which a table of prices is held.

A name with {} takes a size: "screw M{}, pan head" is "screw M3, pan head" in a parts list. A price
without the size, "screw, pan head", is that of every size that has none of its own.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from functools import cache

ELECTRONICS, HARDWARE = "electronics", "hardware"
MOST_TOLD = 4  # names in a message


@dataclass(frozen=True)
class Trade:
    """An article that is bought under one name."""

    group: str  # of the order list
    plain: str = ""  # the name without its size
    unit: str = "piece"  # that the price is for


def _group(group: str, *names: str, unit: str = "piece") -> dict[str, Trade]:
    return {name: Trade(group, name, unit) for name in names}


TRADE: Mapping[str, Trade] = {
    **_group(
        ELECTRONICS,
        "circuit board",
        "socket",
        "LED",
        "capacitor",
        "bulk capacitor",
        "data resistor",
        "switch",
        "pull-up resistor",
        "controller",
        "level shifter",
        "header, all pins",
        "header, supply pins pulled",
        "pin row for a jumper",
        "inlet",
        "pull-down resistor",
        "load switch",
        "supply",
        "supply cable",
        "fuse holder",
    ),
    **_group(
        ELECTRONICS,
        "data wire, green",
        "ground wire, black",
        "wire, red",
        "wire, black",
        unit="metre",
    ),
    "fuse {} A": Trade(ELECTRONICS, "fuse"),
    "jumper cable {} mm": Trade(ELECTRONICS, "jumper cable"),
    "jumper cable {} mm, no supply wires": Trade(ELECTRONICS, "jumper cable, no supply wires"),
    **_group(HARDWARE, "wall screw", "wall plug", "cable clip", "cable tie", "clear adhesive"),
    "screw M{}, pan head": Trade(HARDWARE, "screw, pan head"),
    "screw M{} with washer": Trade(HARDWARE, "screw with washer"),
    "screw M{}, countersunk": Trade(HARDWARE, "screw, countersunk"),
    "heat-set insert M{}": Trade(HARDWARE, "heat-set insert"),
}
ELSEWHERE = {  # what has its price in another table of the shop
    "sheet": "The price of a sheet stands with it: stock.NAME.price.",
    "filament": "The price of filament stands with it: filament.price_per_kg.",
}


@cache
def _patterns() -> tuple[tuple[re.Pattern[str], Trade], ...]:
    """Every name as a pattern, its size a number."""
    return tuple(
        (re.compile(re.escape(name).replace(r"\{\}", r"\d+(\.\d+)?")), trade)
        for name, trade in TRADE.items()
    )


def trade_of(name: str) -> Trade | None:
    """The article behind a name of a parts list, with a size or none; None for an unknown name."""
    for pattern, trade in _patterns():
        if trade.plain == name or pattern.fullmatch(name):
            return trade
    return None


def price_of(name: str, prices: Mapping[str, float]) -> float | None:
    """The price of a name: its own, else that of all sizes; None where the table has neither."""
    trade = trade_of(name)
    return prices.get(name, None if trade is None else prices.get(trade.plain))


def nearest_name(name: str) -> str:
    """The known name that an unknown one is likeliest to mean, as a sentence."""
    word = name.strip().lower()
    first = word.split()[0] if word else ""
    if first in ELSEWHERE:
        return ELSEWHERE[first]
    known = {trade.plain.lower(): trade.plain for trade in TRADE.values()}
    known |= {full.replace("{}", "3").lower(): full.replace("{}", "3") for full in TRADE}
    close = [key for key in known if first and key.startswith(word)]
    close = close or get_close_matches(word, list(known), n=2, cutoff=0.6)
    close = close or [key for key in known if first in re.split(r"[ ,]+", key)]
    if close:
        told = " or ".join(f'"{known[key]}"' for key in close[:MOST_TOLD])
        return f"Did you mean {told}?"
    some = ", ".join(f'"{full}"' for full in list(known.values())[:MOST_TOLD])
    return f"Write a name of lists/parts.csv: {some} and others."
