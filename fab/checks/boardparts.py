"""Parts of a board that meet something: sockets at windows, LEDs, switches under ribs."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from fab.checks import room
from fab.checks.boardmodel import (
    HEIGHT_MM,
    LARGER,
    SOCKET_DEG,
    SWITCH_MM,
    Finding,
    at,
    inwards,
    no_less,
    no_more,
)
from fab.checks.remedy import Turn
from fab.parts.board_source import BoardItem, BoardLayout, edge_of, seen_from_edge
from fab.parts.plan import Plan
from fab.parts.press_sizes import PLUNGER_R
from fab.units import fixed


def sockets(plan: Plan, layout: BoardLayout) -> Iterator[Finding]:
    """One on every edge, its axis over the edge's middle at the height of the windows."""
    header = plan.params.header
    back = [socket for socket in layout.sockets if socket.side == "back"]
    edges = [edge_of(plan, socket.at) for socket in back]
    single = [edge for edge in range(plan.cell.sides) if edges.count(edge) == 1]
    wrong = [
        f"edge {edge} has {edges.count(edge) or 'none'}"
        for edge in range(plan.cell.sides)
        if edge not in single
    ]
    front = len(layout.sockets) - len(back)
    told = [*wrong[:4], *([f"{front} on the front of the board"] if front else [])]
    says = f"Edges with exactly one socket under the board: {len(single)} of {plan.cell.sides}" + (
        f": {', '.join(told)}." if told else ""
    )
    yield Finding(
        "board.sockets",
        no_less(len(single), plan.cell.sides, ""),
        says,
        "A header can only join edges that have one.",
    )
    if not back:
        return
    seen = [
        (edge, *seen_from_edge(plan, socket.at, edge), socket)
        for edge, socket in zip(edges, back, strict=True)
    ]
    # two boards meet in a joint, each may be off
    play = max(header.play - room.out_of_line(plan), 0.0) / 2
    edge, _, t, socket = max(seen, key=lambda item: abs(item[2]))
    yield Finding(
        "board.socket-middle",
        no_more(abs(t), max(play, 0.05)),
        f"Distance of the socket of edge {edge} from the edge's middle: {fixed(abs(t))} mm, at"
        f" {at(socket.at)}.",
        f"Move it {fixed(abs(t))} mm along the edge.",
        (Turn("header.play", 0.05),),
    )
    edge, _, _, socket = max(seen, key=lambda item: _askew(plan, item[0], item[3]))
    askew = _askew(plan, edge, socket)
    yield Finding(
        "board.socket-turn",
        no_more(askew, SOCKET_DEG, "deg"),
        f"The socket of edge {edge} is turned {fixed(askew, 1)} degrees away from its edge, at"
        f" {at(socket.at)}.",
        f"Turn it to {fixed(360.0 * edge / plan.cell.sides, 2)} degrees.",
    )
    edge, u, _, socket = min(seen, key=lambda item: item[1])
    reach = header.body / 2 + header.pin - (plan.cell.apothem - u)
    yield Finding(
        "board.socket-reach",
        no_less(reach, header.reach),
        f"Reach of a header's pins into the socket of edge {edge}: {fixed(reach)} mm (minimum"
        f" {fixed(header.reach)} mm), its mouth at {at(socket.at)}.",
        f"Move it {fixed(max(header.reach - reach, 0.0))} mm outwards.",
        (Turn("header.pin", 0.1),),
    )
    edge, u, _, socket = max(seen, key=lambda item: item[1])
    gap = plan.rings.base_inner.apothem - u
    yield Finding(
        "board.socket-wall",
        no_less(gap, min(0.1, plan.params.board.fit)),
        f"Gap, mouth of the socket of edge {edge} to base wall: {fixed(gap)} mm, at"
        f" {at(socket.at)}.",
        f"Move it {fixed(max(0.1 - gap, 0.0))} mm towards the board's centre.",
        (LARGER,),
    )
    off, socket = max(
        ((abs(socket.height - header.socket_height) / 2, socket) for socket in back),
        key=lambda item: item[0],
    )
    axis = plan.heights.board_z - socket.height / 2
    yield Finding(
        "board.socket-height",
        no_more(off, HEIGHT_MM),
        f"Height of the axis over the wall: {fixed(axis)} mm for the socket of edge"
        f" {edge_of(plan, socket.at)}, {fixed(plan.heights.axis_z)} mm for the header.",
        f"Use sockets {fixed(header.socket_height)} mm high.",
        (Turn("header.socket_height", 0.1), Turn("header.socket_height", -0.1)),
    )
    pins = header.pins * header.pitch
    least, socket = min(
        ((socket.width - pins, socket) for socket in back), key=lambda item: item[0]
    )
    yield Finding(
        "board.socket-pins",
        no_less(least, -0.01),
        f"Width of the socket of edge {edge_of(plan, socket.at)}: {fixed(socket.width)} mm;"
        f" {header.pins} pins need {fixed(pins)} mm.",
        f"Use a socket with {header.pins} contacts.",
        (Turn("header.pins", -1),),
    )


def _askew(plan: Plan, edge: int, socket: BoardItem) -> float:
    return abs(math.remainder(socket.turn_deg - 360.0 * edge / plan.cell.sides, 360.0))


def leds_of(plan: Plan, layout: BoardLayout) -> Iterator[Finding]:
    """LEDs on the board, clear of screw heads and of each other."""
    leds = layout.leds
    if not leds:
        return
    edge = layout.outline.edge
    gap, led = min(
        ((inwards(edge, led.at) - led.width / 2, k) for k, led in enumerate(leds)),
        key=lambda item: item[0],
    )
    yield Finding(
        "board.led-edge",
        no_less(gap, 0.0),
        f"Gap, LED {led + 1} to board edge: {fixed(gap)} mm, at {at(leds[led].at)}.",
        "Move it towards the board's centre.",
    )
    head = plan.params.screw_head_d / 2
    if layout.holes:
        gap, led = min(
            (
                (math.dist(led.at, hole.at) - head - led.width / 2, k)
                for k, led in enumerate(leds)
                for hole in layout.holes
            ),
            key=lambda item: item[0],
        )
        yield Finding(
            "board.led-screw",
            no_less(gap, 0.0),
            f"Gap, LED {led + 1} to the head of a board screw: {fixed(gap)} mm, at"
            f" {at(leds[led].at)}.",
            "Move the LED.",
            (Turn("screw_head_d", -0.1),),
        )
    gap, led = _closest(leds)
    if led >= 0:
        yield Finding(
            "board.led-led",
            no_less(gap, 0.0),
            f"Gap, LED {led + 1} to the next LED: {fixed(gap)} mm, at {at(leds[led].at)}.",
            "Remove one of the two LEDs.",
            (Turn("led.size", -0.1),),
        )
    back = sum(1 for led in leds if led.side == "back")
    if back:
        yield Finding(
            "board.led-side",
            no_more(back, 0, ""),
            f"LEDs on the back of the board, where they light the room wall: {back}.",
            "The back of the board faces the wall: mirror the file, or swap the sides.",
        )


def _closest(leds: Sequence[BoardItem]) -> tuple[float, int]:
    """Least gap between two LEDs' bodies taken as discs in squares, and the later of the two."""
    best, found = math.inf, -1
    order = sorted(range(len(leds)), key=lambda k: (leds[k].x, leds[k].y))
    for place, k in enumerate(order):
        for j in order[place + 1 :]:
            if leds[j].x - leds[k].x - leds[k].width >= best:
                break
            gap = math.dist(leds[k].at, leds[j].at) - (leds[k].width + leds[j].width) / 2
            if gap < best:
                best, found = gap, max(k, j)
    return best, found


def switches(plan: Plan, layout: BoardLayout) -> Iterator[Finding]:
    """Each switch under its rib: the ribs stand where the innermost plunger is."""
    if not layout.switches:
        return
    seen = [(edge_of(plan, switch.at), switch) for switch in layout.switches]
    places = [(edge, *seen_from_edge(plan, switch.at, edge), switch) for edge, switch in seen]
    inner = plan.cell.apothem - plan.press.switch_u
    edge, u, _, switch = max(places, key=lambda item: item[1])
    yield Finding(
        "board.switch-line",
        no_more(u - inner, SWITCH_MM),
        f"The switch of edge {edge} is {fixed(u - inner)} mm further out than the innermost"
        f" switch, at {at(switch.at)}.",
        f"Move it {fixed(max(u - inner - SWITCH_MM, 0.0))} mm towards the board's centre.",
    )
    off, switch = max(
        ((abs(switch.height - plan.params.switch.height), switch) for switch in layout.switches),
        key=lambda item: item[0],
    )
    yield Finding(
        "board.switch-height",
        no_more(off, 0.05),
        f"Height of the plunger at {at(switch.at)}: {fixed(switch.height)} mm; its rib is made for"
        f" {fixed(plan.params.switch.height)} mm.",
        "Use switches of one height.",
        (Turn("switch.height", 0.1), Turn("switch.height", -0.1)),
    )
    half = plan.params.switch.size / 2 + 0.5 + 2 * plan.printer.extrusion_width
    left = plan.rings.shell_inner.half_edge - 1.0 - half
    edge, _, t, switch = max(places, key=lambda item: abs(item[2]))
    yield Finding(
        "board.switch-rib",
        no_less(left - abs(t), 0.0),
        f"Length of the rib beyond the switch of edge {edge}, towards the corner:"
        f" {fixed(left - abs(t))} mm; the plunger is at {at(switch.at)}.",
        f"Move the switch {fixed(max(abs(t) - left, 0.0))} mm towards the edge's middle.",
        (LARGER,),
    )
    front = plan.rings.shell_inner.apothem - (inner + PLUNGER_R)
    yield Finding(
        "board.switch-wall",
        no_less(front, 0.5),
        f"Gap, innermost plunger to shell wall: {fixed(front)} mm.",
        "Move the switches towards the board's centre.",
    )
