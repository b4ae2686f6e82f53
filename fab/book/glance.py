"""A wall in a few figures, each a label and a text: for the first page of the book, and for
the page of a watch.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from fab.design import Design
from fab.layout.model import Layout
from fab.params.job import Job
from fab.units import percent

WEIGHT = "Weight"
Rows = tuple[tuple[str, str], ...]


def shape(layout: Layout, job: Job) -> Rows:
    """Facts of the layout alone."""
    x0, y0, x1, y1 = layout.box
    size = f"{x1 - x0:.0f} x {y1 - y0:.0f} mm"
    if job.shop.units == "in":
        size += f" ({(x1 - x0) / 25.4:.1f} x {(y1 - y0) / 25.4:.1f} in)"
    return (
        ("Panels", str(len(layout.panels))),
        ("Joints", str(len(layout.joints))),
        ("Open edges", str(len(layout.open_edges))),
        ("Size on the wall", size),
    )


def wall(design: Design) -> Rows:
    """Facts of wiring and hangers."""
    grams = sum(mass.grams for mass in design.masses.values())
    watts = sum(zone.current_a for zone in design.wired.zones) * design.job.power.supply_v
    return (
        (WEIGHT, f"{grams / 1000:.2f} kg"),
        ("LEDs", str(sum(load.leds for load in design.wired.loads))),
        ("Brightness limit", f"{percent(design.wired.brightness)} of full white"),
        ("Power at this brightness", f"{watts:.1f} W"),
        ("Inlets", str(design.counts.inlets)),
        ("Screws in the wall", str(design.counts.hangers)),
    )


def made(counts: Mapping[str, Any], hours: float) -> Rows:
    """Facts of sheets and plates."""
    return (
        ("Sheets to cut", str(counts["sheets"])),
        ("Plates to print", f"{counts['plates']}, about {hours:.0f} h"),
    )
