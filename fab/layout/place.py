"""From lattice cells and edge-to-edge attachment to poses, before any turn of the whole."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass

from fab.errors import Fault, InputError
from fab.layout.model import Cell, PlacedPanel
from fab.outlines.contour import turn
from fab.params.job import LayoutParams, PlacedParams
from fab.params.wallmap import LATTICE_SIDES, read_map
from fab.units import fixed


@dataclass(frozen=True)
class Request:
    """One panel as asked for, from either way in."""

    key: str  # "layout.map[4]" (its row), "layout.cells[3]" or "layout.panel[2]"
    wanted: PlacedParams
    place: str = ""  # "row 5, column 2" of a drawing


def requests(layout: LayoutParams, sides: int) -> tuple[Request, ...]:
    """Drawn panels first, then cells, then the panels placed one by one.

    `sides`: of the job's main panel.

    An entry with the name of a drawn panel and no place of its own gives that panel its design.
    """
    listed = [
        Request(f"layout.cells[{k}]", PlacedParams(cell=cell))
        for k, cell in enumerate(layout.cells)
    ]
    single = [Request(f"layout.panel[{k}]", panel) for k, panel in enumerate(layout.panel)]
    if not layout.map:
        return (*listed, *single)
    found = read_map(layout.map, sides)
    if found.faults:
        raise InputError(
            [Fault(f"layout.map[{fault.row}]", fault.says, fault.works) for fault in found.faults]
        )
    names = {panel.name for panel in found.panels if panel.name}
    designed = {}
    for request in list(single):
        wanted = request.wanted
        if (
            wanted.cell is None
            and not wanted.on
            and wanted.name in names
            and wanted.name not in designed
        ):
            designed[wanted.name] = wanted.design
            single.remove(request)
    drawn = [
        Request(
            f"layout.map[{panel.row}]",
            PlacedParams(name=panel.name, design=designed.get(panel.name, ""), cell=panel.cell),
            f"row {panel.row + 1}, column {panel.column + 1}",
        )
        for panel in found.panels
    ]
    return (*drawn, *listed, *single)


def lattice_pose(cell: Cell, at: tuple[int, int]) -> tuple[float, float, float]:
    """Centre and turn of a lattice cell.

    Hexagon: axial q, r with neighbours `across flats` apart, x = d (q + r/2), y = d sqrt(3)/2 r.
    Square: column, row. Triangle: column, row; the point is up when the sum is even.
    """
    first, second = at
    if cell.sides == 6:
        pitch = 2 * cell.apothem
        return (pitch * (first + second / 2), pitch * math.sqrt(3) / 2 * second, 0.0)
    if cell.sides == 4:
        return (2 * cell.apothem * first, 2 * cell.apothem * second, 0.0)
    high = cell.edge * math.sqrt(3) / 2
    up = (first + second) % 2 == 0
    y = second * high + (high / 3 if up else 2 * high / 3)
    return (first * cell.edge / 2, y, 270.0 if up else 90.0)


def place(
    layout: LayoutParams, cell_of: Callable[[str], Cell]
) -> tuple[tuple[Request, PlacedPanel], ...]:
    """Every requested panel with its pose, the layout's turn included; unnamed ones keep "".

    Raises InputError with every fault: cells of a shape without a lattice, `on` that names no
    panel, rings of `on`.
    """
    faults: list[Fault] = []
    asked = requests(layout, cell_of("").sides if layout.map else 0)
    done: dict[int, PlacedPanel] = {}
    by_name = {request.wanted.name: k for k, request in enumerate(asked) if request.wanted.name}
    for k, request in enumerate(asked):
        wanted, cell = request.wanted, cell_of(request.wanted.design)
        if wanted.on:
            if wanted.cell is not None:
                faults.append(Fault(request.key, "has both a cell and `on`", "Give one of them."))
            continue
        if wanted.cell is None:
            faults.append(
                Fault(request.key, "has no position", "Give it a cell, or `on` and `edge`.")
            )
        elif cell.sides not in LATTICE_SIDES:
            faults.append(
                Fault(
                    request.key,
                    f"a panel with {cell.sides} sides does not fill a lattice",
                    "Place it with `on` and `edge`; only 3, 4 and 6 sides have cells.",
                )
            )
        else:
            x, y, angle = lattice_pose(cell, wanted.cell)
            done[k] = PlacedPanel(
                wanted.name, wanted.design or "panel", cell, x, y, angle, wanted.cell
            )
    if not faults and not done and asked:
        # a wall of attached panels only: the first one stands at the origin
        faults += _origin_fault(asked)
    _attach(asked, by_name, cell_of, done, faults)
    if faults:
        raise InputError(faults)
    return tuple((asked[k], _turned(done[k], layout.turn_deg)) for k in sorted(done))


def _origin_fault(asked: tuple[Request, ...]) -> list[Fault]:
    return [
        Fault(
            asked[0].key,
            "every panel sits on another panel",
            "Give one panel a cell, for example [0, 0].",
        )
    ]


def _attach(
    asked: tuple[Request, ...],
    by_name: Mapping[str, int],
    cell_of: Callable[[str], Cell],
    done: dict[int, PlacedPanel],
    faults: list[Fault],
) -> None:
    waiting = {
        k: request
        for k, request in enumerate(asked)
        if request.wanted.on and request.wanted.cell is None
    }
    for k, request in list(waiting.items()):
        if request.wanted.on not in by_name:
            near = ", ".join(sorted(by_name)[:12]) or "none; give the other panel a name"
            faults.append(
                Fault(
                    request.key + ".on",
                    f'unknown panel "{request.wanted.on}"',
                    f"Named panels: {near}.",
                )
            )
            del waiting[k]
    progress = True
    while waiting and progress:
        progress = False
        for k, request in list(waiting.items()):
            host = done.get(by_name[request.wanted.on])
            if host is None:
                continue
            fault = _edge_fault(request, host, cell_of(request.wanted.design))
            if fault:
                faults.append(fault)
            else:
                done[k] = _beside(request.wanted, host, cell_of(request.wanted.design))
            del waiting[k]
            progress = True
    if not faults:
        faults += [
            Fault(
                request.key + ".on",
                f'"{request.wanted.on}" has no position itself',
                "These panels sit on each other in a circle: give one of them a cell.",
            )
            for request in waiting.values()
        ]


def _edge_fault(request: Request, host: PlacedPanel, cell: Cell) -> Fault | None:
    wanted = request.wanted
    if wanted.edge >= host.cell.sides:
        return Fault(
            request.key + ".edge",
            f"panel {host.name} has edges 0 to {host.cell.sides - 1}, not {wanted.edge}.",
            f"Write an edge from 0 to {host.cell.sides - 1}.",
        )
    if wanted.own_edge >= cell.sides:
        return Fault(
            request.key + ".own_edge",
            f"this panel has edges 0 to {cell.sides - 1}, not {wanted.own_edge}.",
            f"Write an edge from 0 to {cell.sides - 1}.",
        )
    if abs(cell.edge - host.cell.edge) > 1e-6 * host.cell.edge:
        return Fault(
            request.key,
            f"its edges are {fixed(cell.edge)} mm long, those of panel {host.name}"
            f" {fixed(host.cell.edge)} mm",
            "Panels join only along edges of one length: set `edge` to the same value in both"
            " designs.",
        )
    return None


def _beside(wanted: PlacedParams, host: PlacedPanel, cell: Cell) -> PlacedPanel:
    """The panel whose `own_edge` lies on the host's `edge`."""
    facing = host.normal_deg(wanted.edge)
    reach = host.cell.apothem + cell.apothem
    x = host.x + reach * math.cos(math.radians(facing))
    y = host.y + reach * math.sin(math.radians(facing))
    angle = (facing + 180.0 - 360.0 * wanted.own_edge / cell.sides) % 360.0
    return PlacedPanel(wanted.name, wanted.design or "panel", cell, x, y, angle)


def _turned(panel: PlacedPanel, by_deg: float) -> PlacedPanel:
    x, y = turn((panel.x, panel.y), math.radians(by_deg)) if by_deg else (panel.x, panel.y)
    return PlacedPanel(
        panel.name, panel.design, panel.cell, x, y, (panel.turn_deg + by_deg) % 360.0, panel.lattice
    )
