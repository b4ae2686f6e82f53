"""One panel, and one joint of two, as named solids where they sit on the wall: what the fit proof
measures.

Panel frame of the first panel. Parts that are made come in print orientation (`Printed`) and are
moved into place here, and nowhere else; bought parts are drawn in place.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import lru_cache

from fab.layout.model import BaseKind
from fab.parts import bought, jumper
from fab.parts.base import base
from fab.parts.board import board_plate, led_bodies, sockets, switch_bodies, tall_parts
from fab.parts.cap import cap, cap_seated
from fab.parts.clip import clip, clip_in_place
from fab.parts.diffuser import diffuser
from fab.parts.feet import foot
from fab.parts.footsizes import feet_at
from fab.parts.given import shell_is_worked
from fab.parts.jumpersizes import slackness
from fab.parts.keyhole import keyhole_of
from fab.parts.placed import Named, Pose, Printed
from fab.parts.plan import Plan
from fab.parts.shell import shell
from fab.solids import kernel
from fab.solids.kernel import Solid

PLAIN = BaseKind("plain", "panel", False, None, "")


def printed(plan: Plan, kind: BaseKind = PLAIN) -> Printed:
    """All made parts of a panel, made now."""
    front = kernel.moved(shell(plan), 0.0, 0.0, -plan.floor.shell_z)
    stands = foot(plan) if plan.params.base.feet > 0 else None
    return Printed(
        base(plan, kind), front, diffuser(plan), clip(plan), cap(plan), stands, steps=kind.steps
    )


def cap_on(plan: Plan, made: Printed, edge: int) -> Named:
    """A cap on an edge."""
    solid = kernel.turned(cap_seated(plan, made.cap), 360.0 * edge / plan.cell.sides)
    return made.named(f"cap {edge}", "cap", solid, cap_pose(plan, edge))


def cap_pose(plan: Plan, edge: int) -> Pose:
    """The pose of a printed cap at an edge."""
    turn, out = 360.0 * edge / plan.cell.sides, plan.cell.apothem - plan.params.gap / 2
    return Pose((-3, 2, 1), (out, 0.0, plan.heights.axis_z), turn)


def clip_poses(plan: Plan, edge: int) -> list[Pose]:
    """The poses of the printed clips of a joint at an edge."""
    turn, half = 360.0 * edge / plan.cell.sides, plan.params.clip.width / 2
    return [
        Pose((1, -3, 2), (plan.cell.apothem, at + half, 0.0), turn) for at in plan.clip.places[:4]
    ]


def clips_on(plan: Plan, made: Printed, edge: int) -> list[Named]:
    """The clips of a joint, half of each in the neighbour."""
    turn = 360.0 * edge / plan.cell.sides
    return [
        made.named(
            f"clip {edge}{name}",
            "clip",
            kernel.turned(clip_in_place(plan, made.clip, at), turn),
            pose,
        )
        for name, at, pose in zip("abcd", plan.clip.places, clip_poses(plan, edge), strict=False)
    ]


def feet_on(plan: Plan, made: Printed) -> list[Named]:
    """The feet of a panel in their recesses; none for bases that lie on the wall."""
    down = -plan.params.base.feet
    return [
        made.named(
            f"foot {k}", "foot", kernel.moved(made.foot, x, y, down), Pose(shift=(x, y, down))
        )
        for k, (x, y) in enumerate(feet_at(plan))
        if made.foot is not None
    ]


def body_parts(plan: Plan, made: Printed) -> list[Named]:
    """The parts of every panel, in its base's frame: base, board with all it carries, shell,
    diffuser, fixing screws.

    Board and a shell with openings of its own keep their place in the panel when the base is
    mounted some edges round.
    """
    board, screws = _bought(plan)
    on_base = (0.0, 0.0, plan.floor.shell_z)
    back = -360.0 * made.steps / plan.cell.sides
    if made.steps:
        board = tuple(one.placed(one.name, back, (0.0, 0.0, 0.0), one.group) for one in board)
    turn = back if shell_is_worked(plan.params) else 0.0
    placed = kernel.turned(kernel.moved(made.shell, *on_base), turn)
    return [
        made.named("base", "base", made.base, Pose()),
        *board,
        made.named("shell", "shell", placed, Pose(shift=on_base, turn_deg=turn)),
        made.named("diffuser", "diffuser", made.diffuser, Pose()),
        *screws,
    ]


def carried(plan: Plan) -> dict[str, Named]:
    """A board with all it carries, screws and a header by part, meshed once for all who ask."""
    board, screws = _bought(plan)
    return {one.part: one for one in (*board, *screws, *([_header(plan)] if board else []))}


@lru_cache(maxsize=16)
def _bought(plan: Plan) -> tuple[tuple[Named, ...], tuple[Named, ...]]:
    """A board with all it carries and its screws, and the shell's screws: drawn and meshed once for
    panel, neighbour and joint.
    """
    blank = plan.params.board.none
    switches = switch_bodies(plan)
    carried = (
        ("board", "board", [] if blank else [board_plate(plan)]),
        ("sockets", "socket", sockets(plan)),
        ("LEDs", "led", led_bodies(plan)),
        ("switches", "switch", switches[0::2]),
        ("plungers", "plunger", switches[1::2]),
        ("tall parts", "tall", tall_parts(plan)),
    )
    driven = [] if blank else bought.board_screws(plan)
    held = [
        Named(name, part, _one_or_group(solids), "board")
        for name, part, solids in carried
        if solids
    ]
    held += [Named("board screws", "board screw", _one_or_group(driven))] if driven else []
    shell_screws = bought.shell_screws(plan)
    return (
        tuple(held),
        (
            (Named("shell screws", "shell screw", _one_or_group(shell_screws)),)
            if shell_screws
            else ()
        ),
    )


def _one_or_group(solids: Sequence[Solid]) -> Solid:
    return solids[0] if len(solids) == 1 else kernel.group(solids)


@lru_cache(maxsize=16)
def _header(plan: Plan) -> Named:
    return Named("header", "header", bought.header_in_joint(plan))


def jumper_on(plan: Plan, edge: int, slackness: float) -> list[Named]:
    """Half a jumper at an edge of its base: the row under the board, its tails, the plug and the
    wires to the joint.
    """
    angle = 360.0 * edge / plan.cell.sides
    return [
        one.placed(
            f"{one.name} {edge}",
            angle,
            (0.0, 0.0, 0.0),
            "board" if one.part in ("pin row", "tail") else "jumper",
        )
        for one in _half_jumper(plan, slackness)
    ]


@lru_cache(maxsize=16)
def _half_jumper(plan: Plan, slackness: float) -> tuple[Named, ...]:
    return (
        Named("pin row", "pin row", jumper.pin_row(plan)),
        *(Named("tails", "tail", kernel.group(tails)) for tails in [jumper.tails(plan)] if tails),
        Named("jumper plug", "jumper plug", jumper.plug(plan)),
        Named("wires", "wire", kernel.group(jumper.wires(plan, slackness))),
    )


def panel_parts(
    plan: Plan, kind: BaseKind, made: Printed, joined: Sequence[int] = (1,)
) -> list[Named]:
    """One panel of a kind with all that touches it.

    Edges `joined` get header and clips, the others a cap; edge 0 of a base with an inlet gets
    receptacle and plug.
    """
    found = body_parts(plan, made)
    for edge in kind.jumpers:
        found += jumper_on(plan, edge, 0.5)
    inlet_edge = 0 if kind.inlet and not plan.inlet.behind else -1
    for edge in range(plan.cell.sides):
        if edge == inlet_edge:
            continue
        if edge in joined:
            turn = 360.0 * edge / plan.cell.sides
            if not plan.params.board.none:
                found.append(_header(plan).placed(f"header {edge}", turn, (0.0, 0.0, 0.0), ""))
            found += clips_on(plan, made, edge)
        elif not plan.params.board.none:
            found.append(cap_on(plan, made, edge))
    found += feet_on(plan, made)
    if kind.inlet:
        found += [Named(name, name, solid, "inlet") for name, solid in bought.receptacle(plan)]
    hole = keyhole_of(plan, kind)
    if hole is not None:
        found.append(Named("wall screw", "wall screw", bought.wall_screw(plan, hole.rest), "screw"))
        found.append(Named("screw head's way", "way", bought.head_travel(plan, hole), "screw"))
    return found


def jumper_parts(
    plan_a: Plan, made_a: Printed, edge_a: int, plan_b: Plan, made_b: Printed, edge_b: int
) -> list[Named]:
    """Two panels at a joint with a jumper in place of the header, its wires as long as they are to
    be made.

    A is turned so that its edge faces +X, B lies against it with its own; both bases have their
    opening there.
    """
    loose = slackness(plan_a, plan_b)
    away = plan_a.cell.apothem + plan_b.cell.apothem
    found = []
    sides = (("A", plan_a, made_a, edge_a, 0.0, 0.0), ("B", plan_b, made_b, edge_b, 180.0, away))
    for side, plan, made, edge, turn, x in sides:
        angle = turn - 360.0 * edge / plan.cell.sides
        for one in [*body_parts(plan, made), *jumper_on(plan, edge, loose)]:
            group = one.group and (f"{side} {one.group}" if one.group == "board" else "jumper")
            found.append(one.placed(f"{side} {one.name}", angle, (x, 0.0, 0.0), group))
    return found + clips_on(plan_a, made_a, 0)


def joint_parts(plan_a: Plan, made_a: Printed, plan_b: Plan, made_b: Printed) -> list[Named]:
    """Two panels that lie on each other: A turned so that its edge 1 (the first that never has an
    inlet) faces +X, B against it with its own edge 1; with the header and both clips of the joint
    (A's). Where one of them is a blank cover, a cap closes the other's window and there is no
    header.
    """
    found = []
    blank = plan_a.params.board.none or plan_b.params.board.none
    away = plan_a.cell.apothem + plan_b.cell.apothem
    for side, plan, made, turn, x in (
        ("A", plan_a, made_a, 0.0, 0.0),
        ("B", plan_b, made_b, 180.0, away),
    ):
        angle = turn - 360.0 / plan.cell.sides
        parts = body_parts(plan, made)
        if blank and not plan.params.board.none:
            parts.append(cap_on(plan, made, 1))
        for one in parts:
            found.append(
                one.placed(
                    f"{side} {one.name}", angle, (x, 0.0, 0.0), one.group and f"{side} {one.group}"
                )
            )
    if not blank:
        found.append(_header(plan_a))
    return found + clips_on(plan_a, made_a, 0)


def beside_edge(plan: Plan, made: Printed, edge: int) -> list[Named]:
    """A like panel as neighbour on an edge, its own edge of that number lying on it, caps on its
    others.
    """
    turn = math.radians(360.0 * edge / plan.cell.sides)
    x, y = 2 * plan.cell.apothem * math.cos(turn), 2 * plan.cell.apothem * math.sin(turn)
    found = []
    caps = (
        []
        if plan.params.board.none
        else [cap_on(plan, made, k) for k in range(plan.cell.sides) if k != edge]
    )
    for one in [*body_parts(plan, made), *caps]:
        group = one.group and f"neighbour {one.group}"
        found.append(one.placed(f"neighbour's {one.name}", 180.0, (x, y, 0.0), group))
    return found
