"""The fits of a joint of two panels in place: pins in sockets, axis, play in windows, clips."""

from __future__ import annotations

from collections.abc import Sequence

from fab.checks import gaps, room
from fab.checks.clip_fits import clip_foot, clip_leg
from fab.checks.fit_stated import the_part
from fab.checks.model import Verdict, at_least, at_most, judge
from fab.parts.placed import Named
from fab.parts.plan import Plan
from fab.solids import cuts
from fab.solids.cuts import cut_at
from fab.units import fixed


def header(plan_a: Plan, plan_b: Plan, parts: Sequence[Named], subject: str) -> list[Verdict]:
    """Pins in both sockets, and both windows on one axis."""
    if not any(one.part == "header" for one in parts):
        return []  # one side is a blank cover
    pins = the_part(parts, "header")
    found = []
    for side, plan in (("A", plan_a), ("B", plan_b)):
        mouth = _mouth(
            plan_a, plan_b, side, next(one for one in parts if one.name == f"{side} sockets")
        )
        reach = (mouth - pins.mesh.box[0][0]) if side == "A" else (pins.mesh.box[1][0] - mouth)
        need = plan.params.header.reach
        found.append(
            judge(
                "fit.header-in",
                f"{subject}, side {side}",
                at_least(reach, need, tolerance=1e-4),
                f"Reach of the pins into the socket: {fixed(reach, 2)} mm.",
                remedy=f"Set panel.header.pin = {fixed(plan.params.header.pin + need - reach, 1)}.",
            )
        )
    axes = [
        _socket_axis(next(one for one in parts if one.name == f"{side} sockets")) for side in "AB"
    ]
    found.append(
        judge(
            "fit.header-axis",
            subject,
            at_most(abs(axes[0] - axes[1]), 0.01),
            f"Height of the sockets over the wall: {fixed(axes[0], 2)} mm on one board,"
            f" {fixed(axes[1], 2)} mm on the other.",
            remedy=f"Set board.height = {fixed(plan_a.heights.board_z, 1)} in both designs.",
        )
    )
    play = min(
        _window_play(plan_a, pins, next(one for one in parts if one.name == f"{side} base"), side)
        for side in "AB"
    )
    need = max(room.out_of_line(plan_a), room.out_of_line(plan_b))
    found.append(
        judge(
            "fit.header-window",
            subject,
            at_least(play, need, tolerance=1e-3),
            f"Play of the header's body in the windows: {fixed(play, 2)} mm; two boards and clips"
            f" may be {fixed(need, 2)} mm out of line.",
            remedy=f"Set panel.header.play = {fixed(plan_a.params.header.play + need - play, 2)}.",
        )
    )
    return found


def _mouth(plan_a: Plan, plan_b: Plan, side: str, sockets: Named) -> float:
    """x of a socket's mouth at the joint."""
    xs = sockets.mesh.vertices[:, 0]
    return float(xs.max() if side == "A" else xs.min())


def _socket_axis(sockets: Named) -> float:
    z = sockets.mesh.vertices[:, 2]
    return float((z.min() + z.max()) / 2)


def _window_play(plan: Plan, pins: Named, base: Named, side: str) -> float:
    """From the header's body, looked at along its pins, to the window's sides and sill."""
    body = cut_at(cuts.beside_edge(pins.mesh, 0.0), plan.cell.apothem + 0.01)
    reach = plan.edge.wall_u - plan.params.base.wall / 2
    at = plan.cell.apothem + (-reach if side == "A" else reach)
    window = cut_at(cuts.beside_edge(base.mesh, 0.0), at)
    ways = ((1.0, 0.0), (-1.0, 0.0), (0.0, -1.0))
    return min(gaps.travel(body, window, way) for way in ways)


def clips(plan_a: Plan, plan_b: Plan, parts: Sequence[Named], subject: str) -> list[Verdict]:
    """The clips of a joint in both bases: A's clips must fit B's pockets too."""
    found = []
    for clip in (one for one in parts if one.part == "clip"):
        for side, plan, way in (("A", plan_a, (1.0, 0.0)), ("B", plan_b, (-1.0, 0.0))):
            base = next(one for one in parts if one.name == f"{side} base")
            where = f"{subject}, side {side}"
            found.append(clip_foot(plan, base, clip, way, where, "fit.joint-clip"))
            found.append(clip_leg(plan, base, clip, way, where, "fit.joint-clip-hook"))
    return found
