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

The rings, the edge and the heights stand in `rings`, `edge_sizes` and `heights`; here are what holds the board and the shell.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import cached_property

from fab.layout.model import Cell
from fab.outlines.contour import Contour, Point, polygon, turn
from fab.params.panel import PanelParams
from fab.params.shop import Filament, Printer, Shop, Stock
from fab.parts import fits
from fab.parts.edge_sizes import NOSE_FLAT
from fab.parts.given import given, has_own_board, on_grid, shell_is_worked
from fab.parts.heights import Heights
from fab.parts.oneway import SHIFT_MM, Mark, mark_of

PLUNGER_R = 1.5  # half the plunger of an edge switch, mm
BESIDE_HOLE_MM = 0.8  # of board beside a mounting hole
RIB_T = 4.0  # thickness of a press rib over its flat, mm


@dataclass(frozen=True)
class Plan(Heights):
    """Derived dimensions of a design in a shop. All mm, panel frame, edge 0 towards +X."""

    turned: int = 0  # edges by which a base is mounted round: its posts stand turned back, so the board keeps its place

    def mounted(self, edges: int) -> Plan:
        """Return the plan in the frame of a base that is mounted `edges` edges round."""
        return self if edges == self.turned else replace(self, turned=edges)

    # -- board and corners ---------------------------------------------------------------------------
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
        straight = self.board.apothem - self.params.board.hole / 2 - BESIDE_HOLE_MM
        slope = math.cos(math.pi / self.cell.sides)
        return min(self.base_inner.facet - max(away, edge), straight / slope)

    @cached_property
    def board_holes(self) -> tuple[Point, ...]:
        """Places of the board's mounting holes, each over a post; in the frame of the base."""
        if not self.turned:
            return self._holes
        back = -2 * math.pi * self.turned / self.cell.sides
        return tuple(on_grid(turn(hole, back)) for hole in self._holes)

    @cached_property
    def _holes(self) -> tuple[Point, ...]:
        """The same in the panel frame; the hole of the mark first, between edges 0 and 1, on a board drawn here."""
        if self.params.board.none:
            return ()
        if has_own_board(self.params):
            rows = given(self.params, "hole")
            if rows or self.params.board.outline:
                return tuple((row.x, row.y) for row in rows)
        x, y = self.corner(0, self.post_radius)
        aside = (x, y - SHIFT_MM)  # along edge 0, so that it comes no nearer to a wall
        others = [self.corner(k, self.post_radius) for k in range(1, self.cell.sides)]
        return tuple(on_grid(hole) for hole in (aside, *others))

    @cached_property
    def posts_at_an_edge(self) -> tuple[Point, ...]:
        """The posts as one edge after the other sees them: that of the mark stands aside of a corner. A board that was
        given has its posts where it has its holes; which of them an inlet meets is a check of its own."""
        if has_own_board(self.params):
            return self.board_holes
        turns = [2 * math.pi * k / self.cell.sides for k in range(self.cell.sides)]
        return tuple(dict.fromkeys(on_grid(turn(hole, angle)) for angle in turns for hole in self._holes[:2]))

    @cached_property
    def mark(self) -> Mark | None:
        """The hole over the base's peg, in the frame of the base; None for a board that its holes do not tell apart."""
        found = mark_of(self._holes, self.cell.sides)
        return None if found is None else replace(found, at=self.board_holes[found.index])

    @property
    def screw_holes(self) -> tuple[Point, ...]:
        """The holes that take a screw: all but that of the mark."""
        free = None if self.mark is None else self.mark.index
        return tuple(hole for k, hole in enumerate(self.board_holes) if k != free)

    @property
    def peg_d(self) -> float:
        """The peg of the mark, as wide as its hole in the board allows."""
        rows = given(self.params, "hole")
        hole = self.params.board.hole
        if rows and self.mark is not None:
            hole = rows[self.mark.index].width or hole
        return hole - 2 * self.fit("mark")

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
    def post_hole_z(self) -> float:
        """Lower end of the hole in a board post."""
        params = self.params
        deep = params.insert_l + 1.0 if params.base.board_fixing == "insert" else params.screw_d * 2.5
        return max(self.board_z - deep, 2 * self.printer.layer + 0.2)

    @property
    def board_screws(self) -> int:
        """Board screws driven per panel; every hole but that of the mark may take one."""
        return min(self.cell.sides if self.cell.sides <= 4 else 3, len(self.screw_holes))

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


def plan(params: PanelParams, shop: Shop) -> Plan:
    """The plan of a design in a shop: what the design leaves out is derived (`defaults`). The design's stock must exist
    in the shop (the door sees to it)."""
    return planned(params, shop.printer, shop.stock[params.diffuser.stock], shop.filament)


def planned(asked: PanelParams, printer: Printer, stock: Stock, filament: Filament) -> Plan:
    """The plan of a design whose left-out values are derived here."""
    from fab.parts.defaults import settled  # it measures plans of its own

    strain = fits.repeated_strain(filament)
    params = settled(asked, printer, stock, strain)
    return Plan(params, printer, stock, cell_of(params), strain, asked, filament)


def cell_of(params: PanelParams) -> Cell:
    """The lattice cell of a design."""
    half = math.pi / params.sides
    apothem = params.across_flats / 2 if params.across_flats is not None else (params.edge or 0.0) / 2 / math.tan(half)
    return Cell(params.sides, apothem)
