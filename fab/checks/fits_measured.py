"""Every fit of the table, measured between the faces that it belongs to: how far one part can go
until it meets the other.

Measured on cuts through the meshes of the parts in place. Flat faces are exact in a mesh; round
ones are out by less than 0.003 mm at the radii of these fits.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from fab.checks import gaps
from fab.checks.base_fits import of_base
from fab.checks.clip_fits import clip_fits
from fab.checks.fit_stated import FAULT, WITHIN, as_stated, edge_way, the_part
from fab.checks.model import Verdict, at_least, at_most, judge
from fab.parts import spaces
from fab.parts.placed import Named
from fab.parts.plan import Plan
from fab.solids import cuts
from fab.solids.cuts import Cut, cut_at
from fab.units import fixed


def clearances(plan: Plan, parts: Sequence[Named], subject: str) -> list[Verdict]:
    """One verdict for every fit that the parts at hand take part in."""
    found = [_lap(plan, parts, subject), _seat(plan, parts, subject)]
    for one in parts:
        if one.part == "clip":
            found += clip_fits(plan, parts, one, subject)
        if one.part == "cap":
            found += _cap(plan, parts, one, subject)
        if one.part == "foot":
            found += _foot(plan, parts, one, subject)
    found += of_base(plan, parts, subject)
    if plan.params.shell.fixing == "snap":
        found.append(_shell_snap(plan, parts, subject))
    return found


def _lap(plan: Plan, parts: Sequence[Named], subject: str) -> Verdict:
    z = plan.floor.shell_z + plan.printer.elephant_foot + 0.57
    base, shell = cut_at(the_part(parts, "base").mesh, z), cut_at(the_part(parts, "shell").mesh, z)
    readings = [
        (f"at edge {edge}", gaps.travel(base, shell, edge_way(plan, edge)))
        for edge in range(plan.cell.sides)
    ]
    return as_stated("fit.lap", subject, readings, plan.fit("lap"), "the base in the shell")


def _seat(plan: Plan, parts: Sequence[Named], subject: str) -> Verdict:
    sheet, shell = the_part(parts, "diffuser"), the_part(parts, "shell")
    z = _beside(sheet, shell)
    a, b = cut_at(sheet.mesh, z), cut_at(shell.mesh, z)
    growth = spaces.seat_growth(
        plan, max(plan.params.diffuser.warm_c - plan.params.diffuser.cut_c, 0.0)
    )
    readings = [
        (f"at edge {edge}", gaps.travel(a, b, edge_way(plan, edge)))
        for edge in range(plan.cell.sides)
    ]
    return as_stated(
        "fit.seat", subject, readings, plan.fit("seat") + growth, "the diffuser in its rebate"
    )


def _beside(sheet: Named, shell: Named) -> float:
    """A height at which sheet and rim lie beside each other."""
    foot = sheet.mesh.box[0][2]
    return foot + 0.37 * (min(sheet.mesh.box[1][2], shell.mesh.box[1][2]) - foot)


def _cap(plan: Plan, parts: Sequence[Named], cap: Named, subject: str) -> list[Verdict]:
    edge = int(cap.name.split()[-1])
    angle = 2 * math.pi * edge / plan.cell.sides
    base, shell = the_part(parts, "base"), the_part(parts, "shell")
    named = f"{subject}, {cap.name}"
    # squeeze: the ribs against the sides of the window, cut level through the plug
    z = plan.heights.axis_z
    out = plan.cell.apothem - plan.edge.wall_u
    ribs, window = (cut_at(cuts.turned(one.mesh, -angle), z) for one in (cap, base))
    inside, outside = out + 0.1, out + plan.params.base.wall - 0.1
    tips = [t for x, t in ribs.segments.reshape(-1, 2) if inside < x < outside]
    jambs = [
        seg[:, 1].mean()
        for seg, n in zip(window.segments, window.normals, strict=True)
        if abs(n[1]) > 0.99
        and inside < seg[:, 0].mean() < outside
        and abs(seg[:, 1].mean()) < plan.edge.window_w
    ]
    low = [t for t in jambs if t < 0] or [-99.0]
    high = [t for t in jambs if t > 0] or [99.0]
    readings = [
        ("on one side", min(high) - max(tips, default=0.0)),
        ("on the other side", min(tips, default=0.0) - max(low)),
    ]
    # sliding: the plate in the port, cut upright through the shell's wall
    at = plan.cell.apothem - plan.params.gap / 2 - plan.params.shell.wall * 0.5
    plate, port = (cut_at(cuts.beside_edge(one.mesh, angle), at) for one in (cap, shell))
    port = gaps.shifted(port, 0.0, -plan.floor.press_room)
    slides = [
        (where, gaps.travel(plate, port, way))
        for where, way in (
            ("sideways", (1.0, 0.0)),
            ("sideways, the other way", (-1.0, 0.0)),
            ("upwards", (0.0, 1.0)),
        )
    ]
    return [
        as_stated("fit.cap", named, readings, plan.fit("cap"), "a crush rib in the window"),
        as_stated(
            "fit.cap-port",
            named,
            slides,
            plan.fit("cap-port"),
            "a cap's plate in the port of the shell (pressed down)",
        ),
    ]


def _foot(plan: Plan, parts: Sequence[Named], one: Named, subject: str) -> list[Verdict]:
    """The stub and its ribs in the recess: corners of both cuts lie on the round faces
    themselves.
    """
    import numpy as np

    z = one.mesh.box[1][2] / 2  # half way up the part of the stub that is in the floor
    stub, floor = cut_at(one.mesh, z), cut_at(the_part(parts, "base").mesh, z)
    (x0, y0, _), (x1, y1, _) = one.mesh.box
    middle = np.array([(x0 + x1) / 2, (y0 + y1) / 2])
    out = np.linalg.norm(stub.segments.reshape(-1, 2) - middle, axis=1)
    recess = float(np.linalg.norm(floor.segments.reshape(-1, 2) - middle, axis=1).min())
    named = f"{subject}, {one.name}"
    ribs = [("at the ribs", recess - float(out.max()))]
    between = [("between the ribs", recess - float(out.min()))]
    return [
        as_stated("fit.foot", named, ribs, plan.fit("foot"), "a foot's stub in its recess"),
        as_stated(
            "fit.foot-stub", named, between, plan.fit("foot-stub"), "a foot's stub in its recess"
        ),
    ]


def _shell_snap(plan: Plan, parts: Sequence[Named], subject: str) -> Verdict:
    base, shell = the_part(parts, "base"), the_part(parts, "shell")
    readings = []
    for corner in plan.fixings.fixing_corners:
        angle = (2 * corner + 1) * math.pi / plan.cell.sides
        # nose and pocket alone: the rims that rest on each other below are another matter
        low, high = (
            (plan.floor.shell_z + 1.0, plan.rings.base_inner.facet - 1.0),
            (plan.heights.corner_top_z, plan.cell.circumradius),
        )
        nose, pocket = (
            gaps.cropped(cut_at(cuts.across_edge(one.mesh, angle), 0.013), low, high)
            for one in (base, shell)
        )
        readings.append((f"outwards at corner {corner}", gaps.travel(nose, pocket, (0.0, 1.0))))
        readings.append((f"forwards at corner {corner}", gaps.travel(pocket, nose, (1.0, 0.0))))
    return as_stated(
        "fit.shell-snap", subject, readings, plan.fit("shell-snap"), "a tongue's nose in its pocket"
    )


def diffuser(plan: Plan, parts: Sequence[Named], subject: str) -> list[Verdict]:
    """The sheet: thickest, thinnest, warmest, coldest."""
    sheet, shell = the_part(parts, "diffuser"), the_part(parts, "shell")
    params, stock = plan.params.diffuser, plan.stock
    proud = sheet.mesh.box[1][2] + plan.heights.thickness_tolerance - shell.mesh.box[1][2]
    foot, z = sheet.mesh.box[0][2], _beside(sheet, shell)
    cold, warm = cut_at(sheet.mesh, z), cut_at(shell.mesh, z)
    grown = gaps.scaled(cold, 1 + stock.expansion_per_k * max(params.warm_c - params.cut_c, 0.0))
    shrunk = gaps.scaled(cold, 1 - stock.expansion_per_k * max(params.cut_c - params.cold_c, 0.0))
    ledge = cut_at(shell.mesh, foot - plan.heights.ledge_lip / 2)
    left, cover = math.inf, math.inf
    for edge in range(plan.cell.sides):
        way = edge_way(plan, edge)
        back = (-way[0], -way[1])
        left = min(left, gaps.travel(grown, warm, way))
        slide = gaps.travel(shrunk, warm, back)  # pushed away from this edge as far as it goes
        far = (
            max(x * way[0] + y * way[1] for x, y in shrunk.segments.reshape(-1, 2).tolist()) - slide
        )
        lip = _inner_face(ledge, way)
        cover = min(cover, far - lip)
    left, cover = min(left, 99.0), max(cover, -99.0)  # it may lie beside its seat altogether
    tall = (
        "ISO 7823-1/-2 thickness tolerance as quoted by a sheet maker"
        if stock.made != "measured"
        else "measured stock"
    )
    return [
        judge(
            "fit.diffuser-proud",
            subject,
            at_most(proud, params.proud, tolerance=1e-4),
            f"Height of the thickest sheet over the rim: {fixed(proud, 2)} mm.",
            remedy=FAULT,
            source=tall,
        ),
        judge(
            "fit.diffuser-warm",
            subject,
            at_least(left, plan.fit("seat"), tolerance=WITHIN),
            f"Free space on every side of the sheet at {fixed(params.warm_c)} degC:"
            f" {fixed(left, 2)} mm.",
            remedy=FAULT,
            source="PMMA grows about 7e-5 per kelvin",
        ),
        judge(
            "fit.diffuser-cold",
            subject,
            at_least(cover, 0.3, tolerance=WITHIN),
            f"Cover of the ledge by the sheet at {fixed(params.cold_c)} degC, pushed to one side:"
            f" {fixed(cover, 2)} mm.",
            remedy=(
                "Set panel.shell.ledge ="
                f" {fixed(math.ceil((plan.params.shell.ledge + 0.3 - cover) * 10) / 10, 1)}."
            ),
            source="PMMA grows about 7e-5 per kelvin",
        ),
    ]


def _inner_face(ledge: Cut, way: tuple[float, float]) -> float:
    """The distance at which the ledge's inner edge lies in a direction."""
    facing = [
        float(seg.mean(axis=0) @ way)
        for seg, n in zip(ledge.segments, ledge.normals, strict=True)
        if n @ way < -0.99
    ]
    return max(facing)
