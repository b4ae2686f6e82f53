"""A dimensioned section through panel and joint, in which every clearance is seen and named. Drawn from the solids."""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import partial

from fab.outlines.figures import arrow
from fab.outlines.page import HAIR_MM, Fill, Item, Page, Text, line
from fab.outlines.shapes import rectangle
from fab.parts import fits
from fab.parts.assembly import Named, Printed, body_parts, cap_on, joint_parts, printed
from fab.parts.plan import Plan
from fab.parts.sectionview import COLOURS, INK, TEXT_MM, WORDS, Gap, View, drawn
from fab.solids.cuts import across_edge, beside_edge, turned
from fab.units import fixed

PAGE_W, PAGE_H, LEFT = 420.0, 297.0, 12.0
MARGIN_MM = 1.5  # of the parts, round a whole view
ASIDE = 0.013  # a cut beside a plane of symmetry, off the seams of the meshes


def section_page(plan: Plan, made: Printed | None = None) -> Page:
    """Sections of one design: the joint through header and clip, an open edge with its cap, a corner; details of every
    fit at ten times their size. `made` are its parts as printed; left out, they are made. Raises InputError for a blank
    cover: it has no header and no board to cut through.
    """
    made = made or printed(plan)
    joint = joint_parts(plan, made, plan, made)
    single = body_parts(plan, made)
    if not plan.params.board.none:
        single.append(cap_on(plan, made, 0))
    items: list[Item] = [
        Text(LEFT, PAGE_H - 14, f"Section through panel and joint: {plan.params.name}", 6.0, bold=True, colour=INK),
        Text(LEFT, PAGE_H - 21, "Cut from the solids of the parts. Millimetres; clearances per side. FRONT (viewer) is up, "
             "BACK (wall) is down.", 3.4, colour=INK),
    ]  # fmt: skip
    x = LEFT
    for view, parts in _whole_views(plan, joint, single):
        items.append(drawn(view, parts, (x, 160.0)))
        items += _sides(view, x)
        x += (view.window[2] - view.window[0]) * view.scale + 8.0
    x, y = LEFT, 86.0
    for view, parts in _details(plan, joint, single):
        wide = (view.window[2] - view.window[0]) * view.scale
        if x + wide > PAGE_W - LEFT:
            x, y = LEFT, y - 76.0
        items.append(drawn(view, parts, (x, y)))
        x += wide + 6.0
    items += _legend(plan)
    says = "Sections through a joint of two panels, an open edge with its cap and a corner, with every fit named."
    return Page(PAGE_W, PAGE_H, tuple(items), f"Section of {plan.params.name}", says)


def _whole_views(plan: Plan, joint: Sequence[Named], single: Sequence[Named]) -> list[tuple[View, Sequence[Named]]]:
    a, top = plan.cell.apothem, plan.rim_z + MARGIN_MM
    scale = min(2.4, 108.0 / (top + MARGIN_MM))
    half = 20.0
    across = partial(across_edge, angle_rad=0.0)
    window = (a - half, -MARGIN_MM, a + half, top)
    corner = math.pi / plan.cell.sides
    out = (plan.body_apothem - plan.params.corner_radius) / math.cos(corner) + plan.params.corner_radius
    return [
        (View("Joint, through the header", across, ASIDE, window, scale, swap=True), joint),
        (View("Joint, through a clip", across, plan.clip_offset + ASIDE, window, scale, swap=True), joint),
        (View("Open edge with its cap", across, ASIDE, (a - 24.0, -MARGIN_MM, a + 4.0, top), scale, swap=True), single),
        (View("Corner with its fixing", partial(across_edge, angle_rad=corner), ASIDE,
              (out - 24.0, -MARGIN_MM, out + 4.0, top), scale, swap=True), single),
    ]  # fmt: skip


def _details(plan: Plan, joint: Sequence[Named], single: Sequence[Named]) -> list[tuple[View, Sequence[Named]]]:
    """Views at about ten to one, each round one or two fits."""
    a, gap, scale = plan.cell.apothem, plan.params.gap / 2, 8.0
    across, face = partial(across_edge, angle_rad=0.0), a - gap - plan.params.shell.wall
    base, wall = face - plan.fit("lap"), a - plan.wall_u
    out, foot = a - plan.clip_leg_out_u, a - plan.clip_foot_u
    clip_t, mid = plan.clip_offset + ASIDE, (plan.floor_z + plan.clip_catch_z) / 2
    found = [
        (View("Seat and rim", across, plan.clip_offset * 0.2, (a - 7.0, plan.ledge_z - 3.5, a + 0.8, plan.rim_z + 1.0), scale, swap=True, gaps=(
            Gap((face - plan.seat_gap, plan.ledge_z + 1.2), (face, plan.ledge_z + 1.2), "seat, cut at 20 degC,", (a - 4.6, plan.ledge_z + 2.2)),
        )), single),
        (View("Lap", across, plan.clip_offset * 1.6, (a - 6.0, plan.floor_z - 2.5, a + 1.4, plan.floor_z + 5.5), scale, swap=True, gaps=(
            Gap((base, plan.floor_z + 2.0), (face, plan.floor_z + 2.0), "lap", (a - 4.8, plan.floor_z + 3.4)),
            Gap((a - gap, plan.floor_z + 3.0), (a, plan.floor_z + 3.0), "half gap", (a - 1.1, plan.floor_z + 4.3)),
        ) if gap > 0.05 else (
            Gap((base, plan.floor_z + 2.0), (face, plan.floor_z + 2.0), "lap", (a - 4.8, plan.floor_z + 3.4)),)), single),
        (View("Clip: foot", across, clip_t, (a - 7.0, -1.0, a + 1.0, 7.0), scale, swap=True, gaps=(
            Gap((foot, (plan.clip_bar_top_z + plan.floor_z) / 2 + 0.1), (wall, (plan.clip_bar_top_z + plan.floor_z) / 2 + 0.1), "clip", (a - 1.6, 4.6)),
            Gap((a - plan.clip_cavity_u, 5.4), (out, 5.4), "clip-hook", (a - 5.0, 6.1)),
        )), joint),
        (View("Clip: hook", across, clip_t, (a - 8.2, plan.clip_catch_z - 3.5, a - 0.6, plan.clip_catch_z + 4.0), scale, swap=True, gaps=(
            Gap((a - plan.clip_cavity_u, mid if mid > plan.clip_catch_z - 3.0 else plan.clip_catch_z - 2.0),
                (out, mid if mid > plan.clip_catch_z - 3.0 else plan.clip_catch_z - 2.0), "clip-hook", (a - 6.8, plan.clip_catch_z - 2.9)),
        )), joint),
    ]  # fmt: skip
    if not plan.params.board.none:
        found += _cap_details(plan, single)
    if plan.params.shell.fixing == "snap":
        found.append(_snap_detail(plan, single))
    return found


def _cap_details(plan: Plan, single: Sequence[Named]) -> list[tuple[View, Sequence[Named]]]:
    a, scale = plan.cell.apothem, 8.0
    side = plan.window_w / 2
    rib = (a - plan.wall_u + plan.params.base.wall / 2, side)
    port, play = plan.port_w / 2, plan.fit("cap-port")
    middle = a - plan.params.gap / 2 - plan.params.shell.wall / 2
    low = (plan.axis_z + plan.floor_z) / 2
    return [
        (View("Cap from the front: crush rib", partial(turned, angle_rad=0.0), plan.axis_z, (a - 5.2, side - 3.6, a + 1.2, side + 3.0), scale, gaps=(
            Gap((rib[0], rib[1] - plan.fit("cap")), rib, "cap, squeeze", (a - 2.9, side + 1.6)),
        )), single),
        (View("Cap in its port, from outside", partial(beside_edge, angle_rad=0.0), middle, (port - 4.0, low - 3.0, port + 3.0, low + 3.5), scale, gaps=(
            Gap((port - play, low), (port, low), "cap-port", (port - 1.5, low + 1.4)),
        )), single),
    ]  # fmt: skip


def _snap_detail(plan: Plan, single: Sequence[Named]) -> tuple[View, Sequence[Named]]:
    corner = math.pi / plan.cell.sides
    tip, play = plan.base_outer.facet + plan.snap_reach, plan.fit("shell-snap")
    z = plan.snap_catch_z + plan.snap_reach + 0.2
    return (
        View("Tongue of the base in the shell's pocket", partial(across_edge, angle_rad=corner), ASIDE,
             (tip - 4.5, z - 4.0, tip + 3.0, z + 3.5), 8.0, swap=True,
             gaps=(Gap((tip, z), (tip + play, z), "shell-snap", (tip + 0.6, z + 2.2)),)),
        single,
    )  # fmt: skip


def _sides(view: View, x: float) -> list[Item]:
    """Which way is front; the wall as a hatched line."""
    x0, y0, x1, y1 = view.window
    wide, foot = (x1 - x0) * view.scale, 160.0 - y0 * view.scale
    hatch: list[Item] = [line((x + k, foot), (x + k - 2.0, foot - 2.0), HAIR_MM, INK) for k in range(2, int(wide) + 1, 4)]
    at = (x + wide - 5.0, 160.0 + (y1 - y0) * view.scale - 12.0)
    return [
        line((x, foot), (x + wide, foot), 0.35, INK), *hatch,
        arrow(at, (at[0], at[1] + 8.0), HAIR_MM, INK), Text(at[0] - 1.5, at[1] + 2.0, "FRONT", TEXT_MM, "end", colour=INK),
    ]  # fmt: skip


def _legend(plan: Plan) -> list[Item]:
    """Colours, and the table of fits."""
    items: list[Item] = []
    x, y = PAGE_W - 118.0, 76.0
    items.append(Text(x, y, "Fits (per side; negative is squeeze)", 3.4, bold=True, colour=INK))
    for k, fit in enumerate(fits.FITS.values()):
        row = y - 5.2 - 4.4 * k
        words = f"{fit.name}: {fit.pair[0]} in {fit.pair[1]}, {fit.kind}"
        items += [Text(x, row, words, TEXT_MM, colour=INK),
                  Text(x + 104.0, row, f"{fixed(plan.fit(fit.name), 2)} mm", TEXT_MM, "end", colour=INK)]  # fmt: skip
    y = 24.0
    shown = ["base", "shell", "diffuser", "board", "clip", "cap", "header", "socket", "led"]
    for k, part in enumerate(shown):
        px, py = x + 36.0 * (k % 3), y - 5.0 * (k // 3)
        items += [Fill((rectangle(4.0, 2.6, (px + 2.0, py + 1.0)),), COLOURS[part], 0.75),
                  Text(px + 5.5, py, WORDS.get(part, part), TEXT_MM, colour=INK)]  # fmt: skip
    return items
