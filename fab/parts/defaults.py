"""Values of a design that its maker left out, derived from those that are set: the one place of
these rules.

What each rule says stands beside the key (`follows` in `params/`), so that `panejig params` tells
it. Two kinds:

edge   what two panels must have alike where they meet (base wall, clips) follows the edge's length,
       the walls and the printer alone: the room on the edge of a hexagon decides for triangle and
       square too, so that they mate.
own    screws, pins, ledge and depth follow the panel itself.

LED pitch and margin are derived in `leds` when they are asked for: they need the whole plan.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any

from fab.layout.model import Cell
from fab.params.panel import ClipParams, PanelParams
from fab.params.shop import Printer, Stock
from fab.parts import spaces
from fab.parts.given import has_own_board
from fab.parts.heights import BESIDE_SOCKET_MM
from fab.parts.leds import wanted_throw
from fab.parts.plan import Plan, cell_of

SHELL_WALL_MM = 1.8
LINES = 3  # of the base wall
CLIP_MM, CLIP_EDGE_MM, CLIP_STEP_MM = 8.0, 90.0, 10.0
MANY_CLIPS_EDGE_MM = 105.0
PIN_MM, LEDGE_MM, DEPTH_MM = 8.0, 2.0, 48.0
STEP_MM = 0.5
ROUNDING_MM = 1e-9  # screws stand exactly two lines from a corner: rounding must not refuse them
BESIDE_PORT_MM = 1.5
TIE_BAR_MM = 1.5  # between a round cable and the ribs beside it


@dataclass(frozen=True)
class Screw:
    """A machine screw: head, pilot hole, heat-set insert; the sources stand beside the keys."""

    d: float
    head: float
    pilot: float
    insert: float
    insert_l: float


SCREWS = (
    Screw(3.0, 5.6, 2.5, 4.0, 5.7),
    Screw(2.5, 5.0, 2.1, 3.6, 5.0),
    Screw(2.0, 4.0, 1.7, 3.2, 4.0),
)


@dataclass(frozen=True)
class Grade:
    """The margins with which an edge is built."""

    lines: int  # of the base wall
    clip: float  # at most so wide, mm
    near: bool  # clips as near to the edge's middle as the inlet allows
    screw: Screw


GRADES = (
    Grade(LINES, 60.0, False, SCREWS[0]),
    Grade(LINES, 60.0, True, SCREWS[0]),
    Grade(LINES, 6.0, True, SCREWS[0]),
    Grade(LINES, 6.0, True, SCREWS[1]),
    Grade(2, 6.0, True, SCREWS[1]),
    Grade(2, 5.0, True, SCREWS[2]),
    Grade(2, 4.0, True, SCREWS[2]),
    Grade(2, 3.0, True, SCREWS[2]),
    Grade(2, 2.5, True, SCREWS[2]),
)


@lru_cache(maxsize=512)
def settled(asked: PanelParams, printer: Printer, stock: Stock, strain_limit: float) -> PanelParams:
    """The design with a value behind every key that was left out, but for LED pitch and margin."""
    line = printer.extrusion_width
    shell_lines = max(round(SHELL_WALL_MM / line), 2)
    shell = _given(
        asked.shell, wall=_mm(shell_lines * line), snap_tongue=_mm(2 * line), ledge=LEDGE_MM
    )
    clip = _given(asked.clip, leg=_mm(2 * line))
    header = _given(asked.header, pin=PIN_MM)
    led = _given(asked.led, pattern="square" if asked.sides == 4 else "triangular")
    edge = cell_of(asked).edge
    start = replace(
        asked,
        shell=shell,
        clip=clip,
        header=header,
        led=led,
        depth=DEPTH_MM if asked.depth is None else asked.depth,
        clips_per_edge=asked.clips_per_edge or (4 if edge >= MANY_CLIPS_EDGE_MM else 2),
    )

    def made(params: PanelParams, cell: Cell) -> Plan:
        return Plan(params, printer, stock, cell, strain_limit)

    cell = cell_of(asked)
    sides = max(cell.sides, 6)
    whose = Cell(sides, cell.edge / 2 / math.tan(math.pi / sides))
    for grade in GRADES:
        trial = made(_screwed(_edged(start, grade, printer), grade.screw), whose)
        if _edge_fits(trial):
            break
    start = _edged(start, grade, printer)
    for screw in SCREWS:
        own = made(_screwed(start, screw), cell)
        if _fits(own):
            break
    return _deep_enough(_seated(_reached(own, asked), asked), asked).params


def _edged(params: PanelParams, grade: Grade, printer: Printer) -> PanelParams:
    """Base wall and clips of a grade, where they are not set."""
    line = printer.extrusion_width
    base = _given(params.base, wall=_mm(grade.lines * line))
    params = replace(params, base=base)
    clip = _given(params.clip, width=min(clip_width(cell_of(params).edge, printer), grade.clip))
    return replace(
        params, clip=_given(clip, offset=_clip_offset(params, clip, printer, near=grade.near))
    )


def clip_width(edge_mm: float, printer: Printer) -> float:
    """Width of a clip that an edge of this length gets where there is room, mm."""
    wide = CLIP_MM + STEP_MM * max(math.floor((edge_mm - CLIP_EDGE_MM) / CLIP_STEP_MM + 1e-9), 0)
    bridged = math.floor((printer.bridge - 2 * printer.clearance.location) / STEP_MM) * STEP_MM
    return max(min(wide, bridged), 2.0)


def _clip_offset(params: PanelParams, clip: ClipParams, printer: Printer, *, near: bool) -> float:
    """Middle of the inner clip: beside the port, or as near as window and inlet allow, mm."""
    plan = Plan(replace(params, clip=clip), printer, Stock(), cell_of(params), 1.0)
    inlet, wall = params.inlet, params.base.wall
    free = wall + printer.nozzle
    start = inlet.cable_d / 2 + TIE_BAR_MM + plan.inlet.rib_wall + printer.nozzle
    if inlet.kind == "usb-c":
        start = inlet.board_w / 2 + plan.fit("inlet") + (0.0 if near else free)
    if near:
        start = max(start, plan.edge.socket_half + BESIDE_SOCKET_MM - wall - plan.fit("clip"))
    else:
        start = max(start, plan.edge.port_w / 2 + BESIDE_PORT_MM)
    return _mm(math.ceil(start * 20 - 1e-6) / 20 + plan.clip.block_w / 2)


def _edge_fits(plan: Plan) -> bool:
    """True when the clips of an edge have room beside each other and the standoffs."""
    if spaces.clip_room(plan) < 0.2 or spaces.clip_corner(plan) < 0.2:
        return False
    return not plan.fixings.board_holes or spaces.post_clip(plan) >= 0.0


def _fits(plan: Plan) -> bool:
    """True when the screws of a panel have room in its corners."""
    if spaces.clip_room(plan) < 0.2:
        return False
    lines = 2 * plan.printer.extrusion_width - ROUNDING_MM
    if plan.params.shell.fixing == "screw" and spaces.corner_screw(plan) < lines:
        return False
    if has_own_board(plan.params) or plan.params.board.none:
        return True
    return (
        spaces.post_clip(plan) >= 0.0
        and spaces.post_socket(plan) >= 0.2
        and spaces.hole_to_edge(plan) >= 0.8
    )


def _screwed(params: PanelParams, screw: Screw) -> PanelParams:
    """All that a machine screw asks for, where it is not set: a set screw_d wins."""
    d = screw.d if params.screw_d is None else params.screw_d
    found = next((known for known in SCREWS if abs(known.d - d) < 0.01), None)
    found = found or Screw(d, 2 * d, _mm(d * 5 / 6), d + 1.0, 2 * d)
    screwed: PanelParams = replace(
        _given(
            params,
            screw_d=found.d,
            screw_head_d=found.head,
            pilot_d=found.pilot,
            insert_d=found.insert,
            insert_l=found.insert_l,
        ),
        board=_given(params.board, hole=_mm(d + 0.2)),
    )
    return screwed


def _reached(plan: Plan, asked: PanelParams) -> Plan:
    """Header pins long enough for gap and walls."""
    header = plan.params.header
    if asked.header.pin is not None:
        return plan
    short = header.reach - spaces.header_reach(plan)
    pin = PIN_MM + max(math.ceil(short / STEP_MM - 1e-9), 0) * STEP_MM
    return _with(plan, header=replace(header, pin=pin))


def _seated(plan: Plan, asked: PanelParams) -> Plan:
    """A ledge wide enough for the coldest sheet."""
    if asked.shell.ledge is not None:
        return plan
    short = 0.3 - spaces.seat_cover(plan)
    ledge = _mm(LEDGE_MM + max(math.ceil(short * 10 - 1e-9), 0) / 10)
    ledge = max(ledge, _mm(2 * plan.printer.extrusion_width))
    return _with(plan, shell=replace(plan.params.shell, ledge=ledge))


def _deep_enough(plan: Plan, asked: PanelParams) -> Plan:
    """Deep enough for the throw, and for screws, corners and press ribs under the ledge."""
    if asked.depth is not None:
        return plan
    short = [wanted_throw(plan) - plan.heights.throw, 0.2 - spaces.under_ledge(plan)]
    if plan.params.switch.on:
        rib = max(plan.press.rib_z + 1.5, spaces.rib_tip_z(plan) + 1.0)
        short.append(rib + plan.heights.ledge_lip - plan.heights.ledge_z)
    deeper = max(math.ceil(max(short) / STEP_MM - 1e-6), 0) * STEP_MM
    return _with(plan, depth=DEPTH_MM + deeper)


def _with(plan: Plan, **changes: Any) -> Plan:
    return replace(plan, params=replace(plan.params, **changes))


def _given(holder: Any, **values: Any) -> Any:
    """The holder with these values where it has none."""
    left_out = {key: value for key, value in values.items() if getattr(holder, key) is None}
    return replace(holder, **left_out)


def _mm(value: float) -> float:
    """A length without the tail of binary fractions."""
    return round(value, 4)
