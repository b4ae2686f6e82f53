"""Every derived dimension of one panel design, worked out once and free of the CAD kernel.

Section through an edge (u = distance inwards from the lattice edge, z = distance from the wall plane):

       z = depth   |rim|=== diffuser ===            u = 0      lattice edge, middle of the joint
                   |   |__ledge                     body       u = gap / 2
                   |   |                            shell wall u = gap/2 .. + shell.wall
                   |   | |      board top           lap gap    + clearance.sliding
       board_z     |   | |======== board            base wall  + base.wall
       axis_z   --port--=====[socket]               board      + board.fit
                   |   | |
       shell_z     |___| |                          floor: z = 0 .. floor_z
       0           |_floor____________

All polygons of a panel are one shape at several insets: a regular polygon of a given apothem whose corners are
cut off square at a given facet distance (`Ring`). The shell's corners are solid below the board (they take the
screws or hold the snaps); base wall and board go round them.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

from fab.layout.model import Cell
from fab.outlines.contour import Contour, Point, polygon, turn
from fab.outlines.shapes import cut_corner, regular
from fab.params.panel import PanelParams
from fab.params.shop import Printer, Shop, Stock
from fab.parts import fits
from fab.parts.given import given, has_own_board, on_grid, shell_is_worked

NOSE_FLAT = 0.5  # upright face of a hook's nose, mm: two layers and a bit, so that the nose prints whole
LEDGE_LIP = 0.8  # thickness of the ledge at its inner edge, mm
PLUNGER_R = 1.5  # half the plunger of an edge switch, mm
CAP_COVER = 0.3  # a cap's plate stands higher than the window by this, mm
PORT_COVER = 0.5  # the base wall stands higher than the port by this, mm
RIB_T = 4.0  # thickness of a press rib over its flat, mm


@dataclass(frozen=True)
class Ring:
    """A regular polygon with its corners cut off square."""

    sides: int
    apothem: float
    facet: float  # distance from the centre to the cut

    def inset(self, by_mm: float) -> Ring:
        return Ring(self.sides, self.apothem - by_mm, self.facet - by_mm)

    def contour(self, radius_mm: float = 0.0) -> Contour:
        return cut_corner(self.sides, self.apothem, self.facet, radius_mm)

    @property
    def half_edge(self) -> float:
        """Half the straight length left of an edge."""
        half = math.pi / self.sides
        whole = self.apothem * math.tan(half)
        cut = (self.facet - self.apothem * math.cos(half)) / math.sin(half)
        return min(whole, cut)

    @property
    def half_facet(self) -> float:
        """Half the length of a cut corner."""
        half = math.pi / self.sides
        return max((self.apothem / math.cos(half) - self.facet) / math.tan(half), 0.0)


@dataclass(frozen=True)
class Plan:
    """Derived dimensions of a design in a shop. All mm, panel frame, edge 0 towards +X."""

    params: PanelParams
    printer: Printer
    stock: Stock
    cell: Cell

    # -- rings, from outside in ------------------------------------------------------------------
    @property
    def body_apothem(self) -> float:
        return self.cell.apothem - self.params.gap / 2

    @property
    def body(self) -> Contour:
        """Outline of base floor and shell."""
        return regular(self.cell.sides, self.body_apothem, self.params.corner_radius)

    @property
    def screw_edge(self) -> float:
        """Distance of a corner screw from the two outer faces: room for its head in the floor."""
        return max(self.fix_hole_d / 2 + 2.0, self.params.screw_head_d / 2 + 1.5)

    @property
    def fix_hole_d(self) -> float:
        """Hole that a shell screw bites in."""
        return self.params.pilot_d

    @property
    def screw_radius(self) -> float:
        """Centre to corner screw."""
        return (self.body_apothem - self.screw_edge) / math.cos(math.pi / self.cell.sides)

    @cached_property
    def shell_inner(self) -> Ring:
        """Inside of the shell below the board: corners are solid for the screws."""
        facet = self.screw_radius - self.fix_hole_d / 2 - 2.0
        return Ring(self.cell.sides, self.body_apothem - self.params.shell.wall, facet)

    @property
    def base_outer(self) -> Ring:
        return self.shell_inner.inset(self.fit("lap"))

    @property
    def base_inner(self) -> Ring:
        return self.base_outer.inset(self.params.base.wall)

    @property
    def board(self) -> Ring:
        return self.base_inner.inset(self.params.board.fit)

    @property
    def rebate_apothem(self) -> float:
        """The diffuser's rebate is the shell's inside, straight up to the rim."""
        return self.body_apothem - self.params.shell.wall

    @property
    def rebate(self) -> Contour:
        return regular(self.cell.sides, self.rebate_apothem, self.rebate_radius)

    @property
    def rebate_radius(self) -> float:
        return max(self.params.corner_radius - self.params.shell.wall, self.printer.nozzle)

    @property
    def seat_gap(self) -> float:
        """Gap per side between diffuser and rebate as cut: the class plus growth of the warmest sheet."""
        growth = self.stock.expansion_per_k * max(self.params.diffuser.warm_c - self.params.diffuser.cut_c, 0.0)
        reach = (self.rebate_apothem) / math.cos(math.pi / self.cell.sides)
        return self.fit("seat") + growth * reach

    @property
    def diffuser(self) -> Contour:
        """The sheet part as it should measure."""
        radius = max(self.rebate_radius - self.seat_gap, 0.0)
        return regular(self.cell.sides, self.rebate_apothem - self.seat_gap, radius)

    @property
    def ledge_apothem(self) -> float:
        return self.rebate_apothem - self.params.shell.ledge

    @property
    def window(self) -> Contour:
        """The lit opening inside the ledge."""
        radius = max(self.rebate_radius - self.params.shell.ledge, self.printer.nozzle)
        return regular(self.cell.sides, self.ledge_apothem, radius)

    # -- heights ----------------------------------------------------------------------------------
    @property
    def floor_z(self) -> float:
        return self.params.base.floor

    @property
    def press_room(self) -> float:
        """How far the shell can sink: 0 without press edges."""
        switch = self.params.switch
        return switch.free + switch.travel + switch.extra if switch.on else 0.0

    @property
    def shell_z(self) -> float:
        """Lower rim of the shell at rest."""
        return self.floor_z + self.press_room

    @property
    def board_z(self) -> float:
        """Underside of the board."""
        if self.params.board.height is not None:
            return self.params.board.height
        clear = 0.5
        over_clip = self.clip_top_z + clear
        over_screw = self.floor_z + self.params.hanger.head_h + 1.0 + clear
        over_inlet = self.inlet_z + self.params.inlet.shell_h / 2 + clear + self.params.header.socket_height
        over_parts = self.floor_z + max(self.params.board.controller_height, self.params.header.socket_height) + clear
        return round(max(over_clip, over_screw, over_inlet, over_parts) + 0.0499, 1)

    @property
    def board_top_z(self) -> float:
        return self.board_z + self.params.board.thickness

    @property
    def led_z(self) -> float:
        """Where the light leaves."""
        return self.board_top_z + self.params.led.height

    @property
    def axis_z(self) -> float:
        """The header's axis."""
        return self.board_z - self.params.header.socket_height / 2

    @property
    def wall_top_z(self) -> float:
        """Top of the base wall: it holds the board's edge and covers the port behind it, so that no LED looks out."""
        return max(self.board_top_z + 0.6, self.port_top_z + max(PORT_COVER, 3 * self.printer.layer))

    @property
    def rim_z(self) -> float:
        return self.params.depth

    @property
    def thickness_tolerance(self) -> float:
        return fits.thickness_tolerance(self.stock)

    @property
    def ledge_z(self) -> float:
        """Face that the diffuser lies on: the thickest sheet stands `diffuser.proud` over the rim at most."""
        return self.rim_z - (self.stock.thickness + self.thickness_tolerance - self.params.diffuser.proud)

    @property
    def throw(self) -> float:
        """From the LEDs to the diffuser's back."""
        return self.ledge_z - self.led_z

    @property
    def corner_top_z(self) -> float:
        """Top of the shell's solid corners."""
        return self.wall_top_z + 1.5 + self.press_room

    @property
    def ledge_lip(self) -> float:
        """Thickness of the ledge at its inner edge."""
        return LEDGE_LIP

    @property
    def ledge_foot_z(self) -> float:
        """Where the slope under the ledge starts: no steeper than the printer's overhang."""
        slope = self.params.shell.ledge / math.tan(math.radians(self.printer.overhang_deg))
        return self.ledge_z - self.ledge_lip - slope

    # -- the edge: port, header window, clips ------------------------------------------------------
    @property
    def port_w(self) -> float:
        """Width of the shell's port: plug and cap pass here."""
        plug = self.params.inlet.plug_w if self.params.inlet.kind == "usb-c" else self.params.inlet.cable_d
        return max(plug + 1.0, self.window_w + 2.0)

    @property
    def port_top_z(self) -> float:
        """Higher than the window by the cap's clearance and a bit: what an LED sees through the window is the cap's
        plate, not the gap over it. The shell may sink as far without touching cap or header."""
        return self.window_top_z + CAP_COVER + self.fit("cap-port") + self.press_room

    @property
    def port_chamfer(self) -> float:
        """Cut of the port's upper corners: what is left between them must bridge."""
        return max((self.port_w - self.printer.bridge + 0.5) / 2, 0.0)

    @property
    def port_chamfer_h(self) -> float:
        """Height of that cut: no steeper than the printer's overhang."""
        return self.port_chamfer / math.tan(math.radians(self.printer.overhang_deg))

    @property
    def window_w(self) -> float:
        """Width of the header's window in the base wall."""
        return self.params.header.pins * self.params.header.pitch + 2 * self.params.header.play

    @property
    def window_h(self) -> float:
        return self.params.header.body + 2 * self.params.header.play

    @property
    def window_chamfer(self) -> float:
        """Cut of the window's upper corners, over the room of the header: what is left between them must bridge."""
        return max((self.window_w - self.printer.bridge + 0.5) / 2, 0.0)

    @property
    def window_top_z(self) -> float:
        """Top of the window with its cut corners."""
        slope = self.window_chamfer / math.tan(math.radians(self.printer.overhang_deg))
        return self.axis_z + self.window_h / 2 + slope

    @property
    def window_closed(self) -> bool:
        """Whether the base wall closes the window above, so that no LED looks through it."""
        return self.wall_top_z - self.window_top_z >= 3 * self.printer.layer

    @property
    def inlet_z(self) -> float:
        """Axis of the inlet."""
        inlet = self.params.inlet
        if inlet.kind == "round":
            return self.floor_z + inlet.cable_d / 2 + 1.0
        on_pad = self.floor_z + 0.4 + inlet.board_t + inlet.shell_h / 2
        return max(on_pad, self.shell_z + 0.3 + inlet.plug_h / 2)

    @property
    def inlet_board_z(self) -> float:
        """Underside of the receptacle's board."""
        return self.inlet_z - self.params.inlet.shell_h / 2 - self.params.inlet.board_t

    @property
    def wall_u(self) -> float:
        """Inner face of the base wall, measured inwards from the lattice edge."""
        return self.cell.apothem - self.base_inner.apothem

    @property
    def clip_offset(self) -> float:
        """Middle of a clip from the middle of the edge; the same for every polygon with this edge interface."""
        return self.port_w / 2 + 1.5 + self.clip_block_w / 2

    @property
    def clip_slot_w(self) -> float:
        return self.params.clip.width + 2 * self.fit("clip")

    @property
    def clip_block_w(self) -> float:
        return self.clip_slot_w + 2 * self.params.base.wall

    @property
    def clip_foot_u(self) -> float:
        """Joint side of the clip's foot; it bears on the base wall when the joint is pulled."""
        return self.wall_u + self.fit("clip")

    @property
    def clip_leg_in_u(self) -> float:
        """Joint side of the leg above the foot: the hook has room to bend this way."""
        return self.wall_u + max(self.params.clip.hook, self.fit("clip")) + 0.1

    @property
    def clip_leg_out_u(self) -> float:
        return self.clip_leg_in_u + self.params.clip.leg

    @property
    def clip_cavity_u(self) -> float:
        """Inner end of the pocket; the hook reaches over the wall behind it."""
        return self.clip_leg_out_u + self.fit("clip-hook")

    @property
    def clip_block_depth(self) -> float:
        """How far a clip pocket with its wall stands out from the base wall, inwards."""
        return self.clip_cavity_u - self.wall_u + self.params.base.wall

    @property
    def clip_bar_top_z(self) -> float:
        return self.params.clip.sunk + self.params.clip.bar

    @property
    def clip_root_z(self) -> float:
        """Where the legs begin to bend: the foot fills the floor below."""
        return self.floor_z + 0.2

    @property
    def clip_leg_length(self) -> float:
        if self.params.clip.leg_length is not None:
            return self.params.clip.leg_length
        return fits.shortest_leg(self.params.clip, self.strain_limit)

    strain_limit: float = 0.0102

    @property
    def clip_catch_z(self) -> float:
        """The face of the hook that holds."""
        return self.clip_root_z + self.clip_leg_length

    @property
    def clip_nose_z(self) -> float:
        """Where the holding face ends and the nose of the hook begins."""
        return self.clip_catch_z + self.params.clip.hook / math.tan(math.radians(self.params.clip.return_deg))

    @property
    def clip_top_z(self) -> float:
        """Highest point of a clip at rest: nose and lead-in."""
        lead_in = self.params.clip.hook / math.tan(math.radians(self.params.clip.lead_in_deg))
        return self.clip_nose_z + NOSE_FLAT + lead_in

    # -- points ------------------------------------------------------------------------------------
    def corner(self, index: int, radius_mm: float) -> Point:
        """A point on the bisector between edge `index` and the next."""
        return turn((radius_mm, 0.0), (2 * index + 1) * math.pi / self.cell.sides)

    @property
    def post_d(self) -> float:
        """A board post; wide enough for its hole, grown onto the base wall when the shell is screwed."""
        hole = self.params.insert_d if self.params.base.board_fixing == "insert" else self.params.pilot_d
        return hole + 2 * 2.0

    @property
    def post_radius(self) -> float:
        """Centre to board post."""
        away = self.post_d / 2 - 0.3 if self.params.shell.fixing == "screw" else self.post_d / 2 + self.params.base.wall
        edge = self.params.board.fit + self.params.board.hole / 2 + 1.2
        return self.base_inner.facet - max(away, edge)

    @property
    def board_holes(self) -> tuple[Point, ...]:
        """Places of the board's mounting holes, each over a post."""
        if self.params.board.none:
            return ()
        if has_own_board(self.params):
            rows = given(self.params, "hole")
            if rows or self.params.board.outline:
                return tuple((row.x, row.y) for row in rows)
        return tuple(on_grid(self.corner(k, self.post_radius)) for k in range(self.cell.sides))

    @property
    def fixing_corners(self) -> tuple[int, ...]:
        """Corners by which the shell is held, spread evenly."""
        n = self.cell.sides
        few = n if n <= 4 or shell_is_worked(self.params) else 3  # such a shell does not turn with its base
        wanted = min(self.params.shell.screws or few, n)
        return tuple(sorted({k * n // wanted for k in range(wanted)}))

    @property
    def shell_screws(self) -> tuple[Point, ...]:
        """Places of the shell's screws; none when it snaps."""
        if self.params.shell.fixing == "snap":
            return ()
        return tuple(self.corner(k, self.screw_radius) for k in self.fixing_corners)

    @property
    def board_screws(self) -> int:
        """Board screws driven per panel; every hole may take one."""
        return min(self.cell.sides if self.cell.sides <= 4 else 3, len(self.board_holes))

    # -- press edges ---------------------------------------------------------------------------------
    @property
    def switch_u(self) -> float:
        """Centre of a plunger, inwards from the lattice edge; the innermost one of a board that was given."""
        rows = given(self.params, "switch")
        if not rows:
            return round(self.cell.apothem - self.board.apothem + self.params.switch.inset, 4)
        pitch = 2 * math.pi / self.cell.sides
        edges = [round(math.atan2(row.y, row.x) / pitch + 1e-9) for row in rows]
        reach = min(turn((row.x, row.y), -edge * pitch)[0] for row, edge in zip(rows, edges, strict=True))
        return round(self.cell.apothem - reach, 4)

    @property
    def rib_z(self) -> float:
        """Flat of a press rib at rest: free play over the plunger."""
        return self.board_top_z + self.params.switch.height + self.params.switch.free

    @property
    def rib_tip_u(self) -> float:
        """Inner end of a press rib: past the plunger's centre."""
        return self.switch_u + PLUNGER_R

    @property
    def rib_foot_z(self) -> float:
        """Where the cheeks of a press rib leave the wall: the slope ends at the flat, clear of the pressed-down base wall."""
        reach = self.rib_tip_u - self.params.gap / 2 - self.params.shell.wall
        slope = reach / math.tan(math.radians(self.printer.overhang_deg))
        return max(self.rib_z - slope, self.wall_top_z + self.press_room + 0.3)

    @property
    def rib_top_z(self) -> float:
        """Top of a press rib: under it the diffuser stays free."""
        return min(self.rib_z + RIB_T, self.ledge_z - self.ledge_lip)

    # -- snaps of the shell, at its corners ----------------------------------------------------------
    @property
    def snap_slit(self) -> float:
        """Slit beside a tongue: two printed lines may not close it."""
        return max(2 * self.printer.extrusion_width, 0.8)

    @property
    def snap_w(self) -> float:
        """Width of a tongue."""
        return min(2 * self.base_inner.half_facet - 2 * self.snap_slit - 1.0, 8.0)

    @property
    def snap_reach(self) -> float:
        """Overhang of a tongue's nose over the base wall's face."""
        return self.fit("lap") + self.params.shell.snap_engage

    @property
    def snap_catch_z(self) -> float:
        """Foot of the nose's sloped holding face."""
        return self.wall_top_z - 2 * self.snap_reach - NOSE_FLAT

    @property
    def snap_profile(self) -> Contour:
        """Nose of a tongue in (distance from the centre, z): 45 degrees below and above."""
        face, reach, low = self.base_outer.facet, self.snap_reach, self.snap_catch_z
        inner = face - self.params.shell.snap_tongue / 2
        return polygon(
            [(inner, low), (face, low), (face + reach, low + reach), (face + reach, low + reach + NOSE_FLAT),
             (face, self.wall_top_z), (inner, self.wall_top_z)]
        )  # fmt: skip

    # -- fits --------------------------------------------------------------------------------------
    def fit(self, name: str) -> float:
        """Clearance per side of a named fit."""
        return fits.FITS[name].clearance(self.printer.clearance)


def plan(params: PanelParams, shop: Shop) -> Plan:
    """The plan of a design in a shop. The design's stock must exist in the shop (the door sees to it)."""
    half = math.pi / params.sides
    apothem = params.across_flats / 2 if params.across_flats is not None else (params.edge or 0.0) / 2 / math.tan(half)
    return Plan(
        params, shop.printer, shop.stock[params.diffuser.stock], Cell(params.sides, apothem),
        strain_limit=fits.repeated_strain(shop.filament),
    )


def cell_of(params: PanelParams) -> Cell:
    """The lattice cell of a design."""
    half = math.pi / params.sides
    apothem = params.across_flats / 2 if params.across_flats is not None else (params.edge or 0.0) / 2 / math.tan(half)
    return Cell(params.sides, apothem)
