"""A dimensioned section through panel and joint, in which every clearance is seen and named.

Drawn from the solids.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from functools import partial

from fab.outlines.contour import Point
from fab.outlines.figures import arrow, dimension, text_width_mm
from fab.outlines.page import HAIR_MM, Fill, Item, Page, Text, line
from fab.outlines.shapes import rectangle
from fab.parts import fits
from fab.parts.assembly import body_parts, cap_on, joint_parts, printed
from fab.parts.placed import Named, Printed
from fab.parts.plan import Plan
from fab.parts.sectionview import COLOURS, INK, TEXT_MM, WORDS, Gap, View, drawn, said
from fab.solids.cuts import across_edge, beside_edge, turned
from fab.solids.mesh import Mesh
from fab.units import fixed

EDGE, LOW = 0.3, 14.0  # round a page, and below the views of a row, mm of paper
HEIGHTS_MM = 30.0  # left of a row's first view, for the heights
OVER_MM = 11.0  # above a view, for its title and its gaps
SIDE = 7.4  # of a detail, mm of the parts
SHOWN = ("base", "shell", "diffuser", "board", "clip", "cap", "header", "socket", "led")
MARGIN_MM = 1.5  # of the parts, round a whole view
ASIDE = 0.013  # a cut beside a plane of symmetry, off the seams of the meshes


def section_pages(plan: Plan, made: Printed | None = None, name: str = "") -> tuple[Page, ...]:
    """Sections of one design, a picture each: the joint through header and clip; an open edge with
    its cap and a corner; then details of every fit at ten times their size. `made` are its parts as
    printed; left out, they are made. `name` is the design's, for the titles. Raises InputError for
    a blank cover: it has no header and no board to cut through.
    """
    made, name = made or printed(plan), name or plan.params.name
    joint = joint_parts(plan, made, plan, made)
    single = body_parts(plan, made)
    if not plan.params.board.none:
        single.append(cap_on(plan, made, 0))
    whole = _whole_views(plan, joint, single)
    return (
        _row(plan, whole[:2], f"Section through a joint: {name}", HEIGHTS_MM),
        _row(plan, whole[2:], f"Section through an open edge and a corner: {name}", EDGE),
        *(_close_up(view, parts) for view, parts in _details(plan, joint, single)),
    )


def _row(
    plan: Plan, views: Sequence[tuple[View, Sequence[Named]]], title: str, left: float
) -> Page:
    """Whole views side by side over the colours of their parts."""
    items: list[Item] = []
    x = left
    for view, parts in views:
        items.append(drawn(view, parts, (x, LOW)))
        items += _sides(plan, view, x)
        if left == HEIGHTS_MM and x == left:
            items += _heights(plan, view, x)
        x += (view.window[2] - view.window[0]) * view.scale + 8.0
    items += _legend(left if left > EDGE else 2.0)
    high = max((view.window[3] - view.window[1]) * view.scale for view, _ in views)
    says = "Cut from the solids of the parts. FRONT (viewer) is up, BACK (room wall) is down."
    return Page(x, LOW + high + OVER_MM, tuple(items), title, says)


def _close_up(view: View, parts: Sequence[Named]) -> Page:
    """One detail; a letter marks each clearance."""
    side = SIDE * view.scale
    says = "Ten times larger than the parts: " + ", ".join(said(gap) for gap in view.gaps) + " mm."
    size = (side + 2 * EDGE, side + EDGE + OVER_MM)
    return Page(*size, (drawn(view, parts, (EDGE, EDGE)),), view.title, says)


def fit_rows(plan: Plan) -> list[tuple[str, str, str, str]]:
    """Every fit of a design: its name, what goes into what, its kind, its clearance in mm."""
    return [
        (fit.name, f"{fit.pair[0]} in {fit.pair[1]}", fit.kind, fixed(plan.fit(fit.name), 2))
        for fit in fits.FITS.values()
        if plan.params.base.feet > 0 or "foot" not in fit.pair
    ]


def _whole_views(
    plan: Plan, joint: Sequence[Named], single: Sequence[Named]
) -> list[tuple[View, Sequence[Named]]]:
    a, top = plan.cell.apothem, plan.heights.rim_z + MARGIN_MM
    scale = min(2.4, math.floor(940.0 / (top + MARGIN_MM)) / 10)  # one decimal, as it is told
    half = 18.0
    across = partial(across_edge, angle_rad=0.0)
    window = (a - half, -MARGIN_MM, a + half, top)
    corner = math.pi / plan.cell.sides
    out = (plan.rings.body_apothem - plan.params.corner_radius) / math.cos(
        corner
    ) + plan.params.corner_radius
    return [
        (View("Joint, through the header", across, ASIDE, window, scale, swap=True), joint),
        (
            View(
                "Joint, through a clip", across, plan.clip.offset + ASIDE, window, scale, swap=True
            ),
            joint,
        ),
        (
            View(
                "Open edge with its cap",
                across,
                ASIDE,
                (a - 22.0, -MARGIN_MM, a + 4.0, top),
                scale,
                swap=True,
            ),
            single,
        ),
        (
            View(
                "Corner with its fixing",
                partial(across_edge, angle_rad=corner),
                ASIDE,
                (out - 22.0, -MARGIN_MM, out + 4.0, top),
                scale,
                swap=True,
            ),
            single,
        ),
    ]


def _details(
    plan: Plan, joint: Sequence[Named], single: Sequence[Named]
) -> list[tuple[View, Sequence[Named]]]:
    """Views at ten to one, each round one or two fits."""
    a, gap = plan.cell.apothem, plan.params.gap / 2
    across, face = partial(across_edge, angle_rad=0.0), a - gap - plan.params.shell.wall
    base, wall = face - plan.fit("lap"), a - plan.edge.wall_u
    out, foot = a - plan.clip.leg_out_u, a - plan.clip.foot_u
    clip_t, seat_z, lap_z = (
        plan.clip.offset + ASIDE,
        plan.heights.ledge_z + 1.2,
        plan.floor.shell_z + 2.0,
    )
    foot_z, leg_z = (
        (plan.clip.bar_top_z + plan.fit("clip") + plan.floor.top_z) / 2,
        plan.clip.catch_z - 2.0,
    )
    lap = [Gap((base, lap_z), (face, lap_z), "lap", (a - 4.8, lap_z + 1.4))]
    if gap > 0.05:
        lap.append(
            Gap((a - gap, lap_z + 1.0), (a, lap_z + 1.0), "half gap", (a - 1.1, lap_z + 2.3))
        )
    seat = Gap(
        (face - plan.rings.seat_gap, seat_z),
        (face, seat_z),
        "seat, as cut,",
        (a - 4.4, plan.heights.ledge_z + 2.2),
    )
    clip = Gap((foot, foot_z), (wall, foot_z), "clip", (a - 1.6, 4.6))
    pocket = Gap((a - plan.clip.cavity_u, 5.2), (out, 5.2), "clip-hook", (a - 4.6, 6.0))
    hook = Gap((a - plan.clip.cavity_u, leg_z), (out, leg_z), "clip-hook", (a - 6.4, leg_z - 1.0))
    found = [
        (
            _detail(
                "Seat and rim",
                across,
                plan.clip.offset * 0.2,
                (a - 6.8, plan.heights.rim_z + 0.6 - SIDE),
                (seat,),
            ),
            single,
        ),
        (
            _detail("Lap", across, plan.clip.offset * 1.6, (a - 6.3, lap_z - 4.5), tuple(lap)),
            single,
        ),
        (_detail("Clip: foot", across, clip_t, (a - 6.6, -0.6), (clip, pocket)), joint),
        (_detail("Clip: hook", across, clip_t, (a - 8.0, plan.clip.catch_z - 3.5), (hook,)), joint),
    ]
    if not plan.params.board.none:
        found += _cap_details(plan, single)
    if plan.params.shell.fixing == "snap":
        found.append(_snap_detail(plan, single))
    if plan.params.switch.on:
        found.append(_press_detail(plan, single))
    return found


def _detail(
    title: str,
    turn: Callable[[Mesh], Mesh],
    at: float,
    low: Point,
    gaps: tuple[Gap, ...],
    *,
    swap: bool = True,
) -> View:
    return View(title, turn, at, (*low, low[0] + SIDE, low[1] + SIDE), 10.0, swap, gaps)


def _cap_details(plan: Plan, single: Sequence[Named]) -> list[tuple[View, Sequence[Named]]]:
    a, side, port, play = (
        plan.cell.apothem,
        plan.edge.window_w / 2,
        plan.edge.port_w / 2,
        plan.fit("cap-port"),
    )
    rib = (a - plan.edge.wall_u + plan.params.base.wall / 2, side)
    middle, low = (
        a - plan.params.gap / 2 - plan.params.shell.wall / 2,
        (plan.heights.axis_z + plan.floor.top_z) / 2,
    )
    squeeze = Gap((rib[0], rib[1] - plan.fit("cap")), rib, "cap, squeeze", (a - 2.6, side + 1.8))
    slides = Gap((port - play, low), (port, low), "cap-port", (port - 1.5, low + 1.4))
    return [
        (
            _detail(
                "Cap from the front: rib",
                partial(turned, angle_rad=0.0),
                plan.heights.axis_z,
                (a - 5.8, side - 4.2),
                (squeeze,),
                swap=False,
            ),
            single,
        ),
        (
            _detail(
                "Cap from outside: port",
                partial(beside_edge, angle_rad=0.0),
                middle,
                (port - 4.0, low - 3.7),
                (slides,),
                swap=False,
            ),
            single,
        ),
    ]


def _snap_detail(plan: Plan, single: Sequence[Named]) -> tuple[View, Sequence[Named]]:
    tip, play = plan.rings.base_outer.facet + plan.snap.reach, plan.fit("shell-snap")
    z = plan.snap.catch_z + plan.snap.reach + 0.2
    rests = Gap((tip, z), (tip + play, z), "shell-snap", (tip + 0.6, z + 2.0))
    turn = partial(across_edge, angle_rad=math.pi / plan.cell.sides)
    return (
        _detail("Tongue in the shell's pocket", turn, ASIDE, (tip - 4.4, z - 4.0), (rests,)),
        single,
    )


def _press_detail(plan: Plan, single: Sequence[Named]) -> tuple[View, Sequence[Named]]:
    at, top = plan.cell.apothem - plan.press.switch_u, plan.press.rib_z - plan.params.switch.free
    free = Gap((at, top), (at, plan.press.rib_z), "free play", (at - 1.4, plan.press.rib_z + 1.2))
    return (
        _detail(
            "Press rib over its switch",
            partial(across_edge, angle_rad=0.0),
            ASIDE,
            (at - 3.4, top - 4.4),
            (free,),
        ),
        single,
    )


def _heights(plan: Plan, view: View, x: float) -> list[Item]:
    """Heights over the wall, left of the first view."""

    def up(z: float) -> float:
        return LOW + (z - view.window[1]) * view.scale

    marks = [
        ("floor", plan.floor.top_z),
        ("board", plan.heights.board_z),
        ("ledge", plan.heights.ledge_z),
        ("rim", plan.heights.rim_z),
    ]
    items: list[Item] = []
    for k, (name, z) in enumerate(marks):
        off, words = 6.0 + 6.5 * k, f"{name} {fixed(z, 2)}"
        room = up(z) - up(0.0) >= text_width_mm(words, TEXT_MM) + 2.0
        items.append(
            dimension(
                (x, up(0.0)),
                (x, up(z)),
                off,
                label=words if room else " ",
                size_mm=TEXT_MM,
                colour=INK,
            )
        )
        if not room:  # over its upper arrow
            items.append(
                Text(x - off + 1.0, up(z) + 1.5, words, TEXT_MM, turn_deg=90.0, colour=INK)
            )
    return items


def _sides(plan: Plan, view: View, x: float) -> list[Item]:
    """Words that tell which side is the front; the wall as a hatched line."""
    x0, y0, x1, _ = view.window
    wide, foot = (x1 - x0) * view.scale, LOW - y0 * view.scale
    hatch: list[Item] = [
        line((x + k, foot), (x + k - 2.0, foot - 2.0), HAIR_MM, INK)
        for k in range(2, int(wide) + 1, 4)
    ]
    # between the LEDs and the sheet nothing is cut through, left of the shell
    z = (plan.heights.board_top_z + plan.params.led.height + plan.heights.ledge_foot_z) / 2
    at = (x + 3.0, LOW + (z - y0) * view.scale - 4.0)
    return [
        line((x, foot), (x + wide, foot), 0.35, INK),
        *hatch,
        arrow(at, (at[0], at[1] + 8.0), HAIR_MM, INK),
        Text(at[0] + 1.5, at[1] + 2.0, "FRONT", TEXT_MM, colour=INK),
    ]


def _legend(left: float) -> list[Item]:
    """The colours of the parts, in two rows."""
    items: list[Item] = []
    for k, part in enumerate(SHOWN):
        px, py = left + 24.0 * (k % 5), 6.5 - 5.0 * (k // 5)
        items += [
            Fill((rectangle(4.0, 2.6, (px + 2.0, py + 1.0)),), COLOURS[part], 0.75),
            Text(px + 5.5, py, WORDS.get(part, part), TEXT_MM, colour=INK),
        ]
    return items
