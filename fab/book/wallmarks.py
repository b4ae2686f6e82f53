"""Marks on pictures of the wall: screws, headers, jumpers, caps, inlets, zones; their legend."""

from __future__ import annotations

import math
from collections.abc import Callable

from fab.design import Design
from fab.layout.joint_table import JointTable
from fab.outlines.contour import Point, circle, polygon
from fab.outlines.figures import text_width_mm
from fab.outlines.inks import (
    BLUE,
    GREEN,
    GREY,
    INK,
    ORANGE,
    PURPLE,
    SKY,
    SOFT_INK,
    VERMILION,
    YELLOW,
)
from fab.outlines.page import Fill, Item, Stroke, Text, line, ring

# Okabe-Ito, published as safe for the colour-blind; used as light tints with names beside them.
BLANK = GREY  # panels without electronics
TINTS = (SKY, ORANGE, GREEN, PURPLE, YELLOW, BLUE, VERMILION)
SOFT, HIDDEN = "#8a8f98", "#b8bcc4"


def zone_tint(zone: int) -> str:
    """The tint of a zone's panels; zone 0 has no electronics."""
    return TINTS[(zone - 1) % len(TINTS)] if zone else BLANK


def header_mark(at: Point, normal_deg: float, *, power: bool, scale: float) -> Stroke:
    """A line across a joint, whole where the header passes supply on, else dotted."""
    angle = math.radians(normal_deg)
    reach = max(min(7.0 * scale, 3.0), 0.8)
    dx, dy = math.cos(angle) * reach, math.sin(angle) * reach
    return line(
        (at[0] - dx, at[1] - dy),
        (at[0] + dx, at[1] + dy),
        0.9,
        INK if power else SOFT,
        () if power else (0.6, 0.6),
    )


def jumper_mark(at: Point, normal_deg: float, *, power: bool, scale: float) -> list[Item]:
    """A header's line with a ring at each end: two plugs and the wires between them."""
    angle = math.radians(normal_deg)
    reach = max(min(9.0 * scale, 3.6), 1.0)
    ends = [
        (at[0] + side * math.cos(angle) * reach, at[1] + side * math.sin(angle) * reach)
        for side in (-1.0, 1.0)
    ]
    return [
        line(ends[0], ends[1], 0.5, INK if power else SOFT),
        *(ring(circle(end, 0.8), 0.4, INK) for end in ends),
    ]


def cap_mark(at: Point, facing_deg: float, length: float) -> Stroke:
    """A bar along an edge whose middle is `at`."""
    angle = math.radians(facing_deg)
    dx, dy = -math.sin(angle) * length / 2, math.cos(angle) * length / 2
    return line((at[0] - dx, at[1] - dy), (at[0] + dx, at[1] + dy), 1.3, PURPLE)


def inlet_places(design: Design) -> list[tuple[Point, float]]:
    """Places and directions of the cables that leave panels: at an open edge, or of bases on feet
    inside, through the floor.
    """
    found = []
    for name, edge in design.wired.inlets.items():
        panel, facing = design.layout.by_name[name], design.layout.by_name[name].normal_deg(edge)
        plan = design.plans[panel.design]
        if plan.inlet.behind:
            out = plan.cell.apothem - plan.inlet.mouth_u
            angle = math.radians(facing)
            spot = (panel.x + out * math.cos(angle), panel.y + out * math.sin(angle))
            found.append((spot, (facing + 180.0) % 360.0))
        else:
            found.append((panel.edge_middle(edge), facing))
    return found


def inlet_mark(at: Point, facing_deg: float) -> list[Item]:
    """An arrow 6 mm long that ends at a point, from the side that an inlet faces."""
    angle = math.radians(facing_deg)
    dx, dy = math.cos(angle), math.sin(angle)
    tail = (at[0] + dx * 6.0, at[1] + dy * 6.0)
    wing = [
        (at[0] + dx * 2.2 - dy * 1.1, at[1] + dy * 2.2 + dx * 1.1),
        at,
        (at[0] + dx * 2.2 + dy * 1.1, at[1] + dy * 2.2 - dx * 1.1),
    ]
    return [line(tail, at, 0.6, VERMILION), Fill((polygon(wing),), VERMILION)]


TINTED = "tints: zones"

Entry = tuple[Callable[[float, float], list[Item]], float, str]


def legend(table: JointTable, *, hung: bool) -> list[Entry]:
    """The legend of the wall's picture: each mark drawn with its left end at (x, y), its
    width in mm, and its word.
    """
    counts = table.counts
    plain = counts["header without supply"]
    entries: list[tuple[bool, Entry]] = [
        (hung, (lambda x, y: screw_mark((x + 1.6, y)), 3.2, "screw")),
        (
            bool(counts["header"]),
            (lambda x, y: [line((x, y), (x + 5.0, y), 0.9, INK)], 5.0, "header"),
        ),
        (
            bool(table.jumpers),
            (lambda x, y: jumper_mark((x + 3.4, y), 0.0, power=True, scale=0.3), 6.8, "jumper"),
        ),
        (
            bool(plain),
            (
                lambda x, y: [line((x, y), (x + 5.0, y), 0.9, SOFT, (0.6, 0.6))],
                5.0,
                "header without supply",
            ),
        ),
        (True, (lambda x, y: inlet_mark((x, y), 0.0), 6.0, "inlet, its cable leaves here")),
    ]
    return [entry for there, entry in entries if there]


def legend_row(x: float, y: float, table: JointTable, *, hung: bool) -> list[Item]:
    """The legend in one row that begins at (x, y)."""
    items: list[Item] = []
    for marks, width, word in legend(table, hung=hung):
        items += marks(x, y)
        items.append(Text(x + width + 1.5, y - 1.1, word, 3.0, colour=SOFT_INK))
        x += width + 4.5 + text_width_mm(word, 3.0)
    items.append(Text(x, y - 1.1, TINTED, 3.0, colour=SOFT_INK))
    return items


def screw_mark(at: Point) -> list[Item]:
    """A crossed ring: a screw in the room wall."""
    x, y = at
    return [
        line((x - 1.6, y), (x + 1.6, y), 0.25),
        line((x, y - 1.6), (x, y + 1.6), 0.25),
        ring(circle(at, 1.0), 0.25),
    ]
