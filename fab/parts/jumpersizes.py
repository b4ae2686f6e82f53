"""Place and room of a jumper, free of the CAD kernel: the cable across a joint in place of a
header.

Section square to the edge (u = distance from the lattice edge towards the panel's centre, z from
the wall face):

      board_z   =============================   board; its pin row hangs down
                            |  | row |  |
      exit_z                |  |plug_|  |        stack under the board: the wires leave here
                 |__rim|  :    | |    : |rim|
      floor_z  __|_____|  :   /  :    : |___|____
                          :  /r  :    :              opening u0 .. u1, the plug's way in
      wire_z   ------------_/    :    :              channel to the joint, depth channel_d
               u = 0     u0      row_u  u1

Along the edge everything lies about t = 0. The wires run side by side, so pole k meets pole
n + 1 - k of the neighbour, as in a header. A wire of the shortest length lies in one bend of radius
`taut_r` that ends at the opening's rim; a longer one bows towards the panel's centre first, in
tighter bends, `least_r` at the tightest.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache

from fab.errors import PanejigError
from fab.outlines.contour import Arc, Line, Point, Segment, turn
from fab.parts.apart import point_to_box
from fab.parts.board_source import board_layout, edge_of, seen_from_edge
from fab.parts.given import given, has_own_board, on_grid
from fab.parts.plan import Plan

# between a socket and the row behind it, mm: two parts placed by hand; common practice
SOCKET_AIR = 0.3
# over and under a wire in its channel, mm: a bridged roof sags by a layer; common practice
WIRE_AIR = 0.2
SIDE_AIR = 0.3  # beside the outer wires in their channel, mm
RIM_H = 2.0  # height of the rim round the opening over the floor, mm
PAD_MM = 0.7  # radius of a soldered tail's pad; common practice
LED_AIR = 0.3  # between a pad and an LED's body, mm; common practice
STEP_MM = 0.05  # the row is moved in these steps until it is clear of the LEDs
CORNER_R = 0.5  # corners of the opening, mm; no more than the room round the plug
BOW_DEG = 45.0  # a long wire bows by so much at most


@dataclass(frozen=True)
class JumperSizes:
    """The dimensions of the jumper's half in one panel, mm, at each of its edges."""

    row_u: float  # middle of the pin row
    half_t: float  # half the length of row and plug
    exit_z: float  # where the wires leave the plug
    wire_z: float  # middle of the wires in the channel
    channel_w: float
    channel_d: float
    u0: float  # opening, towards the edge
    u1: float  # opening, towards the panel's centre
    open_t: float  # half the opening's length
    rim_t: float  # thickness of the rim
    taut_r: float  # radius of the wires' middle line in the shortest wire
    least_r: float  # least radius that the wire bears
    led_gap: float  # from a tail's pad to the nearest LED's body

    @property
    def drop(self) -> float:
        """From where the wires may begin to bend down to the middle of the channel."""
        return self.exit_z - self.wire_z


@lru_cache(maxsize=64)
def jumper_sizes(plan: Plan) -> JumperSizes:
    """Return the dimensions of the jumper's half in a panel of this design."""
    jumper, lines = plan.params.jumper, 2 * plan.printer.extrusion_width
    poles = plan.params.header.pins - 1
    half_t = poles * jumper.pitch / 2 + jumper.row_end
    channel_d = jumper.wire_d + 2 * WIRE_AIR
    wire_z, exit_z = channel_d / 2, plan.heights.board_z - jumper.stack
    row_u, led_gap = _row_place(plan)
    taut = min(exit_z - jumper.straight - wire_z, row_u - plan.edge.wall_u - lines - 0.3)
    return JumperSizes(
        row_u=row_u,
        half_t=half_t,
        exit_z=exit_z,
        wire_z=wire_z,
        channel_w=poles * jumper.pitch + jumper.wire_d + 2 * SIDE_AIR,
        channel_d=channel_d,
        u0=row_u - max(taut, jumper.row_depth / 2 + jumper.air),
        u1=row_u + jumper.row_depth / 2 + jumper.air,
        open_t=half_t + jumper.air,
        rim_t=lines,
        taut_r=taut,
        least_r=(jumper.bend + 0.5) * jumper.wire_d,
        led_gap=led_gap,
    )


def wire_path(plan: Plan, slackness: float) -> tuple[Segment, ...]:
    """Return the middle line of a wire in (u, z) from the plug to the joint; `slackness` 0:
    shortest, 1: longest.

    Lines and arcs that go on into each other.
    """
    size = jumper_sizes(plan)
    radius = size.taut_r + slackness * (size.least_r - size.taut_r)
    fall = size.drop - plan.params.jumper.straight
    bow = (
        math.asin(min(max((fall / radius - 1) / 2, 0.0), math.sin(math.radians(BOW_DEG))))
        * slackness
    )
    down = plan.params.jumper.straight + max(fall - radius * (1 + 2 * math.sin(bow)), 0.0)
    foot = (size.row_u, size.exit_z - down)
    found: list[Segment] = []
    if down > 1e-9:
        found.append(Line((size.row_u, size.exit_z), foot))
    if bow > 1e-9:
        found.append(Arc(foot, (foot[0] + radius, foot[1]), bow))
        foot = found[-1].end
    # the second bend's middle lies on the side of the joint
    middle = (foot[0] - radius * math.cos(bow), foot[1] - radius * math.sin(bow))
    found.append(Arc(foot, middle, -(math.pi / 2 + bow)))
    end = found[-1].end
    found.append(Line(end, (0.0, end[1])))
    return tuple(found)


def path_mm(path: tuple[Segment, ...]) -> float:
    """Return the length of a path, mm."""
    return sum(
        (
            seg.radius_mm * abs(seg.sweep_rad)
            if isinstance(seg, Arc)
            else math.dist(seg.start, seg.end)
        )
        for seg in path
    )


def wire_range(one: Plan, other: Plan) -> tuple[float, float]:
    """Return the shortest and the longest wire, plug to plug, that lies in a joint of two designs,
    mm.
    """
    shortest, longest = (
        sum(path_mm(wire_path(plan, slack)) for plan in (one, other)) for slack in (0.0, 1.0)
    )
    return shortest, longest


def wire_length(one: Plan, other: Plan) -> float:
    """Return the length of wire between the two plugs as it is to be made, in whole mm."""
    return float(round(sum(wire_range(one, other)) / 2))


def slackness(one: Plan, other: Plan) -> float:
    """Return how slack a wire of the length to be made lies: the same in both panels, 0 to 1."""
    wanted, low, high = wire_length(one, other), 0.0, 1.0
    for _ in range(50):
        middle = (low + high) / 2
        if sum(path_mm(wire_path(plan, middle)) for plan in (one, other)) < wanted:
            low = middle
        else:
            high = middle
    return (low + high) / 2


def pole_ohm(one: Plan, other: Plan) -> float:
    """Return the resistance of one pole of a jumper between two designs: two contacts and the wire,
    ohm.
    """
    a, b = one.params.jumper, other.params.jumper
    return (
        a.contact_ohm
        + b.contact_ohm
        + max(a.wire_ohm_per_m, b.wire_ohm_per_m) * wire_length(one, other) / 1000
    )


def pole_a(one: Plan, other: Plan) -> float:
    """Return the current that one pole of a jumper between two designs may carry, A."""
    return min(one.params.jumper.contact_a, other.params.jumper.contact_a)


# -- places in the panel frame
# -------------------------------------------------------------------------------------


def rim_corners(plan: Plan, edge: int) -> tuple[Point, ...]:
    """Return the rim's outer corners at an edge, counter-clockwise, in the base's frame."""
    size = jumper_sizes(plan)
    return _at_edge(
        plan, edge, size.u0 - size.rim_t, size.u1 + size.rim_t, size.open_t + size.rim_t
    )


def channel_corners(plan: Plan, edge: int) -> tuple[Point, ...]:
    """Return the channel's corners at an edge, from joint to opening, in the base's frame."""
    size = jumper_sizes(plan)
    return _at_edge(plan, edge, 0.0, size.u0, size.channel_w / 2)


def row_corners(plan: Plan, edge: int) -> tuple[Point, ...]:
    """Return the corners of the pin row and of the plug on it."""
    size, half = jumper_sizes(plan), plan.params.jumper.row_depth / 2
    return _at_edge(plan, edge, size.row_u - half, size.row_u + half, size.half_t)


def row_places(plan: Plan) -> tuple[Point, ...]:
    """Return the middle of the pin row at each edge, panel frame; none for a blank cover."""
    if plan.params.board.none:
        return ()
    reach = plan.cell.apothem - jumper_sizes(plan).row_u
    return tuple(
        on_grid(turn((reach, 0.0), 2 * math.pi * k / plan.cell.sides))
        for k in range(plan.cell.sides)
    )


def _at_edge(plan: Plan, edge: int, u0: float, u1: float, half: float) -> tuple[Point, ...]:
    a, angle = plan.cell.apothem, 2 * math.pi * edge / plan.cell.sides
    return tuple(
        turn(point, angle)
        for point in ((a - u1, -half), (a - u0, -half), (a - u0, half), (a - u1, half))
    )


def _row_place(plan: Plan) -> tuple[float, float]:
    """Return the row's u and its gap to the LEDs: as near to the edge as the socket and the LEDs in
    front allow.

    A given board says itself where its rows are.
    """
    first = (
        plan.cell.apothem - plan.rings.board.apothem + plan.params.header.socket_depth + SOCKET_AIR
    )
    first = round(
        math.ceil((first + plan.params.jumper.row_depth / 2) / STEP_MM - 1e-6) * STEP_MM, 4
    )
    rows = given(plan.params, "jumper")
    if rows:
        reach = seen_from_edge(plan, (rows[0].x, rows[0].y), edge_of(plan, (rows[0].x, rows[0].y)))[
            0
        ]
        first = round(plan.cell.apothem - reach, 4)
    if plan.params.jumper.tail <= 0:
        return first, 99.0  # no part of it comes through to the LEDs
    leds = _leds_from_edge(plan)
    gap = min(_led_gaps(plan, leds, first), default=99.0)
    if has_own_board(plan.params) or gap >= LED_AIR:
        return first, gap
    last = plan.cell.apothem - plan.params.jumper.row_depth
    for k in range(1, max(int((last - first) / STEP_MM), 0)):
        u = round(first + k * STEP_MM, 4)
        if all(near >= LED_AIR for near in _led_gaps(plan, leds, u)):  # most end at the first LED
            return u, min(_led_gaps(plan, leds, u), default=99.0)
    return first, gap


def _leds_from_edge(plan: Plan) -> list[tuple[float, float, tuple[Point, ...]]]:
    """Return the LEDs' bodies as each edge sees them, those near the row's way: where each begins
    and ends from the centre outwards, and its corners.
    """
    try:
        layout = board_layout(plan)
    except (PanejigError, ValueError):
        return []  # the LEDs have a check of their own
    wide = plan.params.header.pins * plan.params.jumper.pitch + plan.params.led.size
    found = []
    for led in layout.leds if layout is not None else ():
        for edge in range(plan.cell.sides):
            seen = [seen_from_edge(plan, corner, edge) for corner in led.corners]
            if seen[0][0] > 0 and min(abs(t) for _, t in seen) < wide:
                found.append((min(seen)[0], max(seen)[0], tuple(seen)))
    return found


def _led_gaps(
    plan: Plan, leds: list[tuple[float, float, tuple[Point, ...]]], u: float
) -> Iterator[float]:
    """Yield the gaps between the pads of a row at u and the LEDs' bodies that are near, mm."""
    x, poles, pitch = plan.cell.apothem - u, plan.params.header.pins, plan.params.jumper.pitch
    reach = PAD_MM + LED_AIR
    pads = [(x, (k - (poles - 1) / 2) * pitch) for k in range(poles)]
    for low, high, led in leds:
        if low - reach < x < high + reach:
            yield from (point_to_box(pad, led) - PAD_MM for pad in pads)
