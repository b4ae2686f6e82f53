"""Every fit of the table, measured between the faces that it belongs to: how far one part can go
until it meets the other.

Measured on cuts through the meshes of the parts in place. Flat faces are exact in a mesh; round
ones are out by less than 0.003 mm at the radii of these fits.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from fab.checks import gaps
from fab.checks.model import Verdict, at_least, at_most
from fab.outlines.contour import turn
from fab.parts import spaces
from fab.parts.assembly import Named
from fab.parts.plan import Plan
from fab.solids import cuts
from fab.solids.cuts import Cut, cut_at
from fab.solids.mesh import Mesh
from fab.units import fixed

WITHIN = 0.01  # mm: a measured clearance may stray this far from what its class states
FAULT = "This is an internal error or comes from a changed part: please report it."
FIT_SOURCE = "clearance class of the shop, measured with the fit coupon"


def clearances(plan: Plan, parts: Sequence[Named], subject: str) -> list[Verdict]:
    """One verdict for every fit that the parts at hand take part in."""
    found = [_lap(plan, parts, subject), _seat(plan, parts, subject)]
    for one in parts:
        if one.part == "clip":
            found += _clip(plan, parts, one, subject)
        if one.part == "cap":
            found += _cap(plan, parts, one, subject)
        if one.part == "foot":
            found += _foot(plan, parts, one, subject)
    found += of_base(plan, parts, subject)
    if plan.params.shell.fixing == "snap":
        found.append(_shell_snap(plan, parts, subject))
    return found


def of_base(plan: Plan, parts: Sequence[Named], subject: str) -> list[Verdict]:
    """The fits in which the kinds of base differ: inlet, hanger, and the peg of the mark."""
    found = []
    for one in parts:
        if one.part == "board" and plan.fixings.mark is not None:
            found.append(_mark(plan, parts, one, subject))
        if one.part == "inlet board":
            found.append(_inlet(plan, parts, one, subject))
        if one.part == "wall screw":
            found += _hanger(plan, parts, one, subject)
    return found


def _stated(
    check: str, subject: str, readings: Sequence[tuple[str, float]], stated: float, what: str
) -> Verdict:
    """The reading that strays furthest from the stated clearance decides."""
    where, worst = max(readings, key=lambda reading: abs(reading[1] - stated))
    measured = min(worst, 99.0)  # nothing to meet at all
    return Verdict(
        check,
        "pass" if abs(measured - stated) <= WITHIN else "fail",
        subject,
        measured,
        stated,
        "mm",
        f"Clearance of {what}, {where}: {fixed(measured, 2)} mm (fit: {fixed(stated, 2)} mm).",
        "" if abs(measured - stated) <= WITHIN else FAULT,
        FIT_SOURCE,
    )


def edge_way(plan: Plan, edge: int) -> tuple[float, float]:
    """Unit vector out of an edge's middle, in the panel frame."""
    angle = 2 * math.pi * edge / plan.cell.sides
    return (math.cos(angle), math.sin(angle))


def _lap(plan: Plan, parts: Sequence[Named], subject: str) -> Verdict:
    z = plan.floor.shell_z + plan.printer.elephant_foot + 0.57
    base, shell = cut_at(_one(parts, "base").mesh, z), cut_at(_one(parts, "shell").mesh, z)
    readings = [
        (f"at edge {edge}", gaps.travel(base, shell, edge_way(plan, edge)))
        for edge in range(plan.cell.sides)
    ]
    return _stated("fit.lap", subject, readings, plan.fit("lap"), "the base in the shell")


def _seat(plan: Plan, parts: Sequence[Named], subject: str) -> Verdict:
    sheet, shell = _one(parts, "diffuser"), _one(parts, "shell")
    z = _beside(sheet, shell)
    a, b = cut_at(sheet.mesh, z), cut_at(shell.mesh, z)
    growth = spaces.seat_growth(
        plan, max(plan.params.diffuser.warm_c - plan.params.diffuser.cut_c, 0.0)
    )
    readings = [
        (f"at edge {edge}", gaps.travel(a, b, edge_way(plan, edge)))
        for edge in range(plan.cell.sides)
    ]
    return _stated(
        "fit.seat", subject, readings, plan.fit("seat") + growth, "the diffuser in its rebate"
    )


def _beside(sheet: Named, shell: Named) -> float:
    """A height at which sheet and rim lie beside each other."""
    foot = sheet.mesh.box[0][2]
    return foot + 0.37 * (min(sheet.mesh.box[1][2], shell.mesh.box[1][2]) - foot)


def _clip(plan: Plan, parts: Sequence[Named], clip: Named, subject: str) -> list[Verdict]:
    """Foot in the floor, leg in the pocket; the half of the clip that is in this base."""
    edge = int(clip.name.split()[-1][:-1])
    way = edge_way(plan, edge)
    base = _one(parts, "base")
    return [
        clip_foot(plan, base, clip, way, subject, "fit.clip"),
        clip_leg(plan, base, clip, way, subject, "fit.clip-hook"),
        *_clip_holds(plan, base, clip, math.atan2(way[1], way[0]), subject),
    ]


def clip_foot(
    plan: Plan, base: Named, clip: Named, way: tuple[float, float], subject: str, check: str
) -> Verdict:
    """The play of a clip's foot in the floor against the clearance that its fit states.

    Measured between sections of both meshes at half the foot's height, towards the joint (`way`)
    and both ways along it.
    """
    z = (plan.clip.bar_top_z + plan.fit("clip") + plan.floor.top_z) / 2
    a, b = cut_at(clip.mesh, z), cut_at(base.mesh, z)
    side = (-way[1], way[0])
    readings = [
        ("towards the joint", gaps.travel(a, b, way)),
        ("along the joint", gaps.travel(a, b, side)),
        ("along the joint, the other way", gaps.travel(a, b, (-side[0], -side[1]))),
    ]
    return _stated(
        check, f"{subject}, {clip.name}", readings, plan.fit("clip"), "a clip's foot in the floor"
    )


def clip_leg(
    plan: Plan, base: Named, clip: Named, way: tuple[float, float], subject: str, check: str
) -> Verdict:
    """The play of a clip's leg in its pocket, inwards, against the clearance that its fit states.

    Measured between sections of both meshes at half the leg's free height; `way` points to the
    joint.
    """
    z = (plan.floor.top_z + plan.clip.catch_z) / 2
    a, b = cut_at(clip.mesh, z), cut_at(base.mesh, z)
    reading = ("inwards", gaps.travel(a, b, (-way[0], -way[1])))
    return _stated(
        check,
        f"{subject}, {clip.name}",
        [reading],
        plan.fit("clip-hook"),
        "a clip's leg in its pocket",
    )


def _clip_holds(plan: Plan, base: Named, clip: Named, angle: float, subject: str) -> list[Verdict]:
    """Pulled to the wall the hook meets the pocket's wall, soon and not at once; the wall stays
    behind the hook.
    """
    mean = float(_turned_mean(clip, angle))
    side = min(plan.clip.pockets, key=lambda at: abs(at - mean))
    a = cut_at(_upright(clip, angle), side + 0.017)
    b = cut_at(_upright(base, angle), side + 0.017)
    down = gaps.travel(a, b, (-1.0, 0.0))
    slope = math.radians(plan.params.clip.return_deg)
    rest = plan.fit("clip-hook")
    play = rest / math.tan(slope) + plan.clip.catch_z - plan.clip.pocket_z
    ways = [(-math.sin(slope), sign * math.cos(slope)) for sign in (-1.0, 1.0)]
    square = min(gaps.travel(a, b, way) for way in ways)
    return [
        at_least(
            "fit.clip-face",
            f"{subject}, {clip.name}",
            min(square, 99.0),
            rest - 0.01,
            "mm",
            "Clearance of a clip's hook, square to its holding face:"
            f" {fixed(min(square, 99.0), 3)} mm.",
            remedy=FAULT,
        ),
        at_most(
            "fit.clip-caught",
            f"{subject}, {clip.name}",
            min(down, 99.0),
            play + 0.15,
            "mm",
            "Travel of a clip pulled towards the room wall until its hook holds:"
            f" {fixed(min(down, 99.0), 2)} mm.",
            remedy=FAULT,
        ),
    ]


def _upright(one: Named, angle: float) -> Mesh:
    """Turned so that cuts at "height" t are planes across the edge; coordinates (z, outwards)."""
    return cuts.across_edge(one.mesh, angle)


def _turned_mean(one: Named, angle: float) -> float:
    x, y = one.mesh.vertices[:, 0], one.mesh.vertices[:, 1]
    return float((y * math.cos(angle) - x * math.sin(angle)).mean())


def _cap(plan: Plan, parts: Sequence[Named], cap: Named, subject: str) -> list[Verdict]:
    edge = int(cap.name.split()[-1])
    angle = 2 * math.pi * edge / plan.cell.sides
    base, shell = _one(parts, "base"), _one(parts, "shell")
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
        _stated("fit.cap", named, readings, plan.fit("cap"), "a crush rib in the window"),
        _stated(
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
    stub, floor = cut_at(one.mesh, z), cut_at(_one(parts, "base").mesh, z)
    (x0, y0, _), (x1, y1, _) = one.mesh.box
    middle = np.array([(x0 + x1) / 2, (y0 + y1) / 2])
    out = np.linalg.norm(stub.segments.reshape(-1, 2) - middle, axis=1)
    recess = float(np.linalg.norm(floor.segments.reshape(-1, 2) - middle, axis=1).min())
    named = f"{subject}, {one.name}"
    ribs = [("at the ribs", recess - float(out.max()))]
    between = [("between the ribs", recess - float(out.min()))]
    return [
        _stated("fit.foot", named, ribs, plan.fit("foot"), "a foot's stub in its recess"),
        _stated(
            "fit.foot-stub", named, between, plan.fit("foot-stub"), "a foot's stub in its recess"
        ),
    ]


def _inlet(plan: Plan, parts: Sequence[Named], board: Named, subject: str) -> Verdict:
    z = (board.mesh.box[0][2] + board.mesh.box[1][2]) / 2
    a, b = cut_at(board.mesh, z), cut_at(_one(parts, "base").mesh, z)
    readings = [
        ("sideways", gaps.travel(a, b, (0.0, 1.0))),
        ("sideways, the other way", gaps.travel(a, b, (0.0, -1.0))),
        ("inwards", gaps.travel(a, b, (-1.0, 0.0))),
    ]
    return _stated(
        "fit.inlet", subject, readings, plan.fit("inlet"), "the inlet's board in its cradle"
    )


def _hanger(plan: Plan, parts: Sequence[Named], screw: Named, subject: str) -> list[Verdict]:
    """Shank in the slot, and the head over it."""
    import numpy as np

    z = plan.floor.top_z * 0.5
    a, b = cut_at(screw.mesh, z), cut_at(_one(parts, "base").mesh, z)
    middle = a.segments.reshape(-1, 2).mean(axis=0)
    way = (
        next(iter(one.mesh.vertices[:, :2].mean(axis=0) for one in parts if one.part == "way"))
        - middle
    )
    down = way / np.linalg.norm(way)  # from the rest to the entry
    readings = [
        ("upwards", gaps.travel(a, b, (-down[0], -down[1]))),
        ("sideways", gaps.travel(a, b, (-down[1], down[0]))),
        ("sideways, the other way", gaps.travel(a, b, (down[1], -down[0]))),
    ]
    head = plan.params.hanger.head_d / 2 - (
        plan.params.hanger.screw_d / 2 + max(value for _, value in readings)
    )
    return [
        _stated(
            "fit.hanger",
            subject,
            readings,
            plan.fit("hanger"),
            "the wall screw's shank in its slot",
        ),
        at_least(
            "fit.hanger-holds",
            subject,
            head,
            1.0,
            "mm",
            f"Overlap of the screw's head with the floor around the slot's end: {fixed(head, 2)}"
            " mm.",
            remedy="Use a screw with a larger head, and set panel.hanger.head_d to it.",
            source="a head that slips through lets the panel fall",
        ),
    ]


def _mark(plan: Plan, parts: Sequence[Named], board: Named, subject: str) -> Verdict:
    """The peg of the mark in its hole of the board, wherever the base was mounted to."""
    assert plan.fixings.mark is not None
    z, side = (
        (plan.heights.board_z + plan.heights.board_top_z) / 2,
        plan.fixings.peg_d / 2 + plan.fit("mark") + 0.3,
    )
    whole, drilled = cut_at(_one(parts, "base").mesh, z), cut_at(board.mesh, z)
    readings = [("in all directions, because there is no peg", math.inf)]
    for k in range(plan.cell.sides):
        x, y = turn(plan.fixings.mark.at, -2 * math.pi * k / plan.cell.sides)
        box = ((x - side, y - side), (x + side, y + side))
        peg, hole = gaps.cropped(whole, *box), gaps.cropped(drilled, *box)
        if len(peg.segments):
            ways = {
                "to the right": (1.0, 0.0),
                "up": (0.0, 1.0),
                "to the left": (-1.0, 0.0),
                "down": (0.0, -1.0),
            }
            readings = [(name, gaps.travel(peg, hole, way)) for name, way in ways.items()]
            break
    return _stated(
        "fit.mark",
        subject,
        readings,
        plan.fit("mark"),
        "the peg of the mark in its hole of the board",
    )


def _shell_snap(plan: Plan, parts: Sequence[Named], subject: str) -> Verdict:
    base, shell = _one(parts, "base"), _one(parts, "shell")
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
    return _stated(
        "fit.shell-snap", subject, readings, plan.fit("shell-snap"), "a tongue's nose in its pocket"
    )


def diffuser(plan: Plan, parts: Sequence[Named], subject: str) -> list[Verdict]:
    """The sheet: thickest, thinnest, warmest, coldest."""
    sheet, shell = _one(parts, "diffuser"), _one(parts, "shell")
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
        at_most(
            "fit.diffuser-proud",
            subject,
            proud,
            params.proud,
            "mm",
            f"Height of the thickest sheet over the rim: {fixed(proud, 2)} mm.",
            remedy=FAULT,
            source=tall,
            tolerance=1e-4,
        ),
        at_least(
            "fit.diffuser-warm",
            subject,
            left,
            plan.fit("seat"),
            "mm",
            f"Free space on every side of the sheet at {fixed(params.warm_c)} degC:"
            f" {fixed(left, 2)} mm.",
            remedy=FAULT,
            source="PMMA grows about 7e-5 per kelvin",
            tolerance=WITHIN,
        ),
        at_least(
            "fit.diffuser-cold",
            subject,
            cover,
            0.3,
            "mm",
            f"Cover of the ledge by the sheet at {fixed(params.cold_c)} degC, pushed to one side:"
            f" {fixed(cover, 2)} mm.",
            remedy=(
                "Set panel.shell.ledge ="
                f" {fixed(math.ceil((plan.params.shell.ledge + 0.3 - cover) * 10) / 10, 1)}."
            ),
            source="PMMA grows about 7e-5 per kelvin",
            tolerance=WITHIN,
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


def _one(parts: Sequence[Named], part: str) -> Named:
    return next(one for one in parts if one.part == part)
