"""Parts that move: the shell sinks over its press edges, and comes off towards the viewer.

Measured on their meshes in place.
"""

from __future__ import annotations

from collections.abc import Sequence

from fab.checks.fit_stated import the_part
from fab.checks.model import Verdict, at_least, at_most, judge
from fab.checks.vertical import TOUCH_MM, Solid2, above, drop
from fab.parts.placed import Named
from fab.parts.plan import Plan
from fab.solids.mesh import Mesh
from fab.units import fixed

WITHIN = 0.01  # mm: measured against stated
FAR = 99.0  # nothing in the way
FAULT = "This is an internal error or comes from a changed part: please report it."


def press(plan: Plan, parts: Sequence[Named], subject: str) -> list[Verdict]:
    """Free play, the switch's travel, the stop: the shell's way down until it meets what."""
    plungers = [one for one in parts if one.part == "plunger"]
    if not plungers:
        return []
    ready = {one.name: Solid2(one.mesh) for one in parts if one.part not in ("shell screw", "way")}
    shell, sheet = the_part(parts, "shell"), the_part(parts, "diffuser")
    falls = {
        one.name: drop(ready[shell.name], ready[one.name])
        for one in parts
        if one.name in ready and one.part not in ("shell", "diffuser")
    }
    free = min(falls[one.name] for one in plungers)
    stop = falls["base"]
    others = {
        name: fall
        for name, fall in falls.items()
        if name != "base" and not name.startswith("plunger")
    }
    first = min(others, key=lambda name: others[name])
    on_board = [
        one
        for one in parts
        if one.part in ("board", "led", "switch", "plunger", "board screw", "tall")
    ]
    under = min(drop(ready[sheet.name], ready[one.name]) for one in on_board)
    switch = plan.params.switch
    need = switch.free + switch.travel
    return [
        _equal(
            "fit.press-free",
            subject,
            free,
            switch.free,
            "Free play until a press rib meets its plunger:",
        ),
        _equal(
            "fit.press-stop",
            subject,
            stop,
            need + switch.extra,
            "Travel until the shell stops on the base:",
        ),
        judge(
            "fit.press-order",
            subject,
            at_least(stop - free, switch.travel, tolerance=WITHIN),
            f"Travel from the plunger's touch to the stop: {fixed(stop - free, 2)} mm.",
            remedy=(
                f"Set panel.switch.extra = {fixed(switch.extra + switch.travel - stop + free, 2)}."
            ),
        ),
        judge(
            "fit.press-lap",
            subject,
            at_least(min(others[first], FAR), stop),
            "Apart from the plungers, nothing is in the path of the shell before its stop; the"
            f" next part is {first}.",
            remedy=FAULT,
        ),
        judge(
            "fit.press-diffuser",
            subject,
            at_least(min(under, FAR), stop),
            f"Free path of the diffuser towards the board: {fixed(min(under, FAR), 2)} mm.",
            remedy=f"Set panel.depth = {fixed(plan.params.depth + stop - min(under, FAR), 1)}.",
        ),
    ]


def _equal(check: str, subject: str, measured: float, stated: float, says: str) -> Verdict:
    good = abs(measured - stated) <= WITHIN
    shown = min(measured, FAR)
    return Verdict(
        check,
        "pass" if good else "fail",
        subject,
        shown,
        stated,
        "mm",
        f"{says} {fixed(shown, 2)} mm (stated: {fixed(stated, 2)} mm).",
        "" if good else FAULT,
    )


def shell_off(plan: Plan, parts: Sequence[Named], subject: str) -> list[Verdict]:
    """The shell lifts off past header, caps, clips, screws and plug (its own screws out, its
    tongues bent aside): nothing that stays lies over any of it.
    """
    shell = Solid2(the_part(parts, "shell").mesh)
    worst, says = 0.0, "The shell lifts off past everything that stays on the wall."
    for one in parts:
        if one.part in ("shell", "diffuser", "shell screw", "way", "led"):
            continue
        stays = _without_noses(plan, one.mesh) if one.part == "base" else one.mesh
        deep, at = above(shell, Solid2(stays))
        if deep > worst:
            worst = deep
            says = (
                f"When it is lifted off, the shell meets {one.name} at x {fixed(at[0], 1)}, y"
                f" {fixed(at[1], 1)}, z {fixed(at[2], 1)}"
            )
    return [judge("fit.shell-off", subject, at_most(worst, TOUCH_MM), says, remedy=FAULT)]


def _without_noses(plan: Plan, base: Mesh) -> Mesh:
    """The base with tongues bent aside: what stands out of a tongue's face is pushed to it."""
    import numpy as np

    if plan.params.shell.fixing != "snap":
        return base
    corners = base.vertices.copy()
    for corner in plan.fixings.fixing_corners:
        angle = (2 * corner + 1) * np.pi / plan.cell.sides
        way = np.array([np.cos(angle), np.sin(angle)])
        out = corners[:, :2] @ way - plan.rings.base_outer.facet
        aside = np.abs(corners[:, 1] * way[0] - corners[:, 0] * way[1])
        nose = (
            (out > 1e-4)
            & (aside <= plan.snap.width / 2 + 1e-3)
            & (corners[:, 2] > plan.floor.top_z + 0.5)
        )
        corners[nose, :2] -= out[nose, None] * way
    return Mesh(corners, base.triangles)
