"""Places of all LEDs on the wall: lists/pixels.csv and pixels.json. Front view, as the viewer sees
them.

Wall frame: x right, y up, mm. The scaled places run from 0 to 1 along the longer side of the box
round all LEDs, with
the same scale on the shorter side; (0, 0) is that box's lower left corner.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from fab.design import Design
from fab.files.table import Cell, csv_bytes, json_bytes
from fab.outputs.model import OutFile
from fab.parts.board_source import board_layout
from fab.power.route import DataRoute

PIXEL_COLUMNS: Mapping[str, str] = {
    "index": (
        "number of the LED on the wall, from 0: panel by panel in the order of the data line"
    ),
    "panel": "name of its panel",
    "panel_index": "number of the LED on its board, from 0, in the order of the data line",
    "x_mm": "place on the wall, right, mm",
    "y_mm": "place on the wall, up, mm",
    "x": "the same, scaled: 0 to 1 along the longer side of the box around all LEDs",
    "y": "the same, up",
}
PLACES_MM, PLACES = 3, 6  # decimals


@dataclass(frozen=True)
class Pixel:
    """One LED."""

    index: int
    panel: str
    panel_index: int
    x_mm: float
    y_mm: float


def pixels(design: Design, order: Sequence[str]) -> tuple[Pixel, ...]:
    """Return all LEDs of the wall; `order`: the panels in the order of the data line."""
    found: list[Pixel] = []
    on_board = {name: board_layout(plan) for name, plan in design.plans.items()}
    for name in order:
        panel = design.layout.by_name[name]
        board = on_board[panel.design]
        for k, led in enumerate(board.leds if board is not None else ()):
            x, y = panel.to_wall(led.at)
            found.append(Pixel(len(found), name, k, x, y))
    return tuple(found)


def box_of(some: Sequence[Pixel]) -> tuple[float, float, float]:
    """Return the lower left corner of the box round all LEDs, and its longer side; all mm."""
    if not some:
        return 0.0, 0.0, 0.0
    x0, y0 = min(p.x_mm for p in some), min(p.y_mm for p in some)
    return x0, y0, max(max(p.x_mm for p in some) - x0, max(p.y_mm for p in some) - y0)


def rows(some: Sequence[Pixel]) -> list[dict[str, Cell]]:
    """Return one row an LED; keys are `PIXEL_COLUMNS`."""
    x0, y0, side = box_of(some)
    scale = 1.0 / side if side > 0 else 0.0
    return [
        {
            "index": p.index,
            "panel": p.panel,
            "panel_index": p.panel_index,
            "x_mm": round(p.x_mm, PLACES_MM) + 0.0,
            "y_mm": round(p.y_mm, PLACES_MM) + 0.0,
            "x": round((p.x_mm - x0) * scale, PLACES) + 0.0,
            "y": round((p.y_mm - y0) * scale, PLACES) + 0.0,
        }
        for p in some
    ]


def panel_rows(
    design: Design, order: Sequence[str], some: Sequence[Pixel]
) -> list[dict[str, object]]:
    """Return, per panel in the order of the data line, what its controller needs to know of where
    it hangs.
    """
    first: dict[str, int] = {}
    many: dict[str, int] = {}
    for p in some:
        first.setdefault(p.panel, p.index)
        many[p.panel] = many.get(p.panel, 0) + 1
    found: list[dict[str, object]] = []
    for name in order:
        panel = design.layout.by_name[name]
        found.append(
            {
                "panel": name,
                "design": panel.design,
                "sides": panel.cell.sides,
                "x_mm": round(panel.x, PLACES_MM) + 0.0,
                "y_mm": round(panel.y, PLACES_MM) + 0.0,
                "turn_deg": round(panel.turn_deg % 360.0, PLACES_MM) + 0.0,
                "edge_0_faces_deg": round(panel.normal_deg(0) % 360.0, PLACES_MM) + 0.0,
                "first": first.get(name),
                "leds": many.get(name, 0),
                "neighbours": _neighbours(design, name),
            }
        )
    return found


def _neighbours(design: Design, name: str) -> list[dict[str, object]]:
    """One entry an edge of the panel that meets another, in the order of the edges."""
    found: list[dict[str, object]] = []
    for edge, other, its_edge in design.layout.neighbours[name]:
        row = design.table.at(name, edge)
        joined = row is not None and row.joined
        found.append({"edge": edge, "panel": other, "panel_edge": its_edge, "joined": joined})
    return found


def files(design: Design, route: DataRoute) -> list[OutFile]:
    """lists/pixels.csv and lists/pixels.json."""
    order = route.order
    some = pixels(design, order)
    table = rows(some)
    x0, y0, side = box_of(some)
    content = {
        "job": design.job.job,
        "control": design.job.power.control,
        "view": "front; x right, y up, mm; turns counter-clockwise",
        "scaled": {
            "x0_mm": round(x0, PLACES_MM) + 0.0,
            "y0_mm": round(y0, PLACES_MM) + 0.0,
            "longer_side_mm": round(side, PLACES_MM) + 0.0,
        },
        "columns": dict(PIXEL_COLUMNS),
        "panels": panel_rows(design, order, some),
        "pixels": [list(row.values()) for row in table],
    }
    data = csv_bytes(tuple(PIXEL_COLUMNS), [tuple(row.values()) for row in table])
    return [
        OutFile("lists/pixels.csv", "list", data, "pixels"),
        OutFile("lists/pixels.json", "list", json_bytes(content), "pixels"),
    ]
