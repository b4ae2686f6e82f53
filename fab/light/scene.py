"""One panel as light meets it: LEDs, box and sheet as plain numbers, checked when made.

Section through an edge (a = distance from the panel's centre, z = distance from the wall plane):

        sheet_z   ___________________ sheet (window inside `window_apothem`)
        lip_z                        |   the ledge's inner edge
        foot_z                        \\  slope under the ledge
                                       |
        led_z            *             |  wall (inside of the shell)
        floor_z   _____________________|  board, and the shell's colour beyond the board
                  a = 0            window  wall

The order of a lobe is the exponent m of I = I0 cos^m; m = -ln 2 / ln cos(half angle): 60 degrees is
m = 1, Lambert.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from fab.errors import Fault, InputError
from fab.outlines.contour import Point
from fab.parts.board_source import lit_floor
from fab.parts.leds import led_grid
from fab.parts.plan import Plan
from fab.parts.rings import Ring
from fab.units import JOIN_TOL_MM, fixed, some

REFRACTIVE_INDEX = 1.49  # PMMA at 589 nm, data-sheet value from memory


Plane = tuple[float, float, float, float]  # (nx, ny, nz, d): inside where n . p <= d


@dataclass(frozen=True)
class Rib:
    """A press rib at edge 0, the same at every edge: a profile in (a, z), drawn out to y = -half ..
    half.

    Four corners: foot at the wall, foot at the tip, top at the tip, top at the wall.
    """

    profile: tuple[Point, Point, Point, Point]
    half: float

    @property
    def planes(self) -> tuple[Plane, ...]:
        """Half-spaces (nx, ny, nz, d) whose common part is the rib: inside where n . p <= d.

        The normals are not of length 1; a ray's entry and exit do not depend on that.
        """
        planes: list[Plane] = [(0.0, 1.0, 0.0, self.half), (0.0, -1.0, 0.0, self.half)]
        for k, (a0, z0) in enumerate(self.profile):
            a1, z1 = self.profile[(k + 1) % 4]
            # the profile runs clockwise in (a, z), its outside at the left
            nx, nz = (-(z1 - z0), a1 - a0)
            # a rib that comes to an edge at its tip has no front
            if math.hypot(nx, nz) > JOIN_TOL_MM:
                planes.append((nx, 0.0, nz, nx * a0 + nz * z0))
        return tuple(planes)


@dataclass(frozen=True)
class Scene:
    """One lit panel. All mm, panel frame; light in lumens at full white.

    A rib stands at every edge or at none.
    """

    sides: int
    wall_apothem: float
    window_apothem: float
    board: Ring
    floor_z: float
    led_z: float
    foot_z: float
    lip_z: float
    sheet_z: float
    leds: tuple[Point, ...]
    led_order: float
    led_lumen: float
    board_reflectance: float
    wall_reflectance: float
    sheet_transmission: float
    sheet_reflectance: float
    sheet_order: float
    sheet_thickness: float
    rib: Rib | None = None

    def __post_init__(self) -> None:
        faults = [*_light_faults(self), *_room_faults(self)]
        if faults:
            raise InputError(faults)

    @property
    def throw(self) -> float:
        """From the LEDs to the sheet's back."""
        return self.sheet_z - self.led_z

    @property
    def spread(self) -> float:
        """Standard deviation, per axis, of the light's sideways travel inside the sheet.

        The light is taken to scatter once, half-way through, into its lobe as it is inside the
        material; a lobe cos^p has a mean squared tangent of 2 / (p - 1).
        """
        outside = math.acos(0.5 ** (1 / self.sheet_order))
        inside = math.asin(math.sin(outside) / REFRACTIVE_INDEX)
        order = lobe_order(math.degrees(inside))
        return self.sheet_thickness / 2 * math.sqrt(1 / (order - 1))


def scene(plan: Plan, wall_reflectance: float) -> Scene:
    """The scene of a design; `wall_reflectance` is that of the filament (0 to 1).

    Raises InputError when there is no LED, no room between LEDs and sheet, or a reflectance that
    can't be.
    """
    params = plan.params
    return Scene(
        sides=plan.cell.sides,
        wall_apothem=plan.rings.rebate_apothem,
        window_apothem=plan.rings.ledge_apothem,
        board=lit_floor(plan),
        floor_z=plan.heights.board_top_z,
        led_z=plan.heights.led_z,
        foot_z=plan.heights.ledge_foot_z,
        lip_z=plan.heights.ledge_z - plan.heights.ledge_lip,
        sheet_z=plan.heights.ledge_z,
        leds=led_grid(plan),
        led_order=lobe_order(params.led.half_angle_deg),
        led_lumen=params.led.lumen,
        board_reflectance=params.board.reflectance,
        wall_reflectance=wall_reflectance,
        sheet_transmission=plan.stock.transmission,
        sheet_reflectance=plan.stock.reflectance,
        sheet_order=lobe_order(plan.stock.half_angle_deg),
        sheet_thickness=plan.stock.thickness,
        rib=press_rib(plan),
    )


def lobe_order(half_angle_deg: float) -> float:
    """Exponent m of a lobe cos^m whose intensity is half at `half_angle_deg`."""
    return -math.log(2) / math.log(math.cos(math.radians(half_angle_deg)))


def press_rib(plan: Plan) -> Rib | None:
    """The press rib as one convex body, the slot for the plunger filled; None without press
    edges.
    """
    switch = plan.params.switch
    if not switch.on:
        return None
    wall, tip = plan.rings.rebate_apothem, plan.cell.apothem - plan.press.rib_tip_u
    rise = (wall - tip) / math.tan(math.radians(plan.printer.overhang_deg))
    foot, top = plan.press.rib_foot_z, plan.press.rib_top_z
    # as parts.shell.press_rib draws it; a test watches
    half = switch.size / 2 + 0.5 + 2 * plan.printer.extrusion_width
    return Rib(((wall, foot), (tip, min(foot + rise, top)), (tip, top), (wall, top)), half)


def _light_faults(s: Scene) -> list[Fault]:
    faults = []
    for key, value in (
        ("panel.board.reflectance", s.board_reflectance),
        ("shop.filament.reflectance", s.wall_reflectance),
        ("shop.stock.reflectance", s.sheet_reflectance),
        ("shop.stock.transmission", s.sheet_transmission),
    ):
        if not 0 <= value <= 1:
            faults.append(
                Fault(key, f"{value:g} is not a share of the light.", "Give a value from 0 to 1.")
            )
    both = s.sheet_transmission + s.sheet_reflectance
    if not faults and both > 1 + 1e-9:
        passed, back = fixed(s.sheet_transmission), fixed(s.sheet_reflectance)
        says = f"a sheet cannot transmit {passed} and reflect {back} of its light."
        works = f"Lower shop.stock.reflectance to {fixed(1 - s.sheet_transmission)} or less."
        faults.append(Fault("shop.stock.transmission", says, works))
    return faults


def _room_faults(s: Scene) -> list[Fault]:
    faults = []
    if not s.leds:
        says = (
            "there is no LED on the board: no place is far enough from the edge, the screws and"
            " the switches."
        )
        faults.append(
            Fault("panel.led.margin", says, "Make panel.led.margin smaller or the panel larger.")
        )
    normals = _normals(s.sides)
    out = [
        (x, y) for x, y in s.leds if max(x * nx + y * ny for nx, ny in normals) >= s.wall_apothem
    ]
    if out:
        at, far = f"({fixed(out[0][0])}, {fixed(out[0][1])})", fixed(s.wall_apothem)
        says = f"{some(len(out), 'LED')} would be outside the shell's wall, the first at {at}."
        faults.append(
            Fault("panel.led", says, f"Set LEDs within {far} mm of the middle, edge by edge.")
        )
    if s.throw <= 0:
        says = f"the LEDs would stand {fixed(-s.throw)} mm over the diffuser's back."
        works = f"Make panel.depth more than {fixed(-s.throw)} mm larger."
        faults.append(Fault("panel.depth", says, works))
    elif s.foot_z <= s.floor_z:
        low = s.floor_z - s.foot_z
        says = f"the slope under the ledge would start {fixed(low)} mm under the board's face."
        faults.append(
            Fault("panel.depth", says, f"Make panel.depth more than {fixed(low)} mm larger.")
        )
    if s.window_apothem <= 0:
        faults.append(
            Fault(
                "panel.shell.ledge",
                "the ledges leave no opening for the light.",
                "Set a narrower ledge.",
            )
        )
    return faults


def _normals(sides: int) -> tuple[Point, ...]:
    """Return the outward direction of each edge, edge 0 towards +x."""
    steps = [2 * math.pi * k / sides for k in range(sides)]
    return tuple((math.cos(step), math.sin(step)) for step in steps)
