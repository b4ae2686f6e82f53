"""A board that exists: its DXF and CSV read into the panel's values; nothing later opens a file.

    panel.board.file       DXF -> panel.board.outline   edge, then holes, in the panel frame
    panel.board.positions  CSV -> panel.board.part      holes, sockets, LEDs, switches, tall parts

Values that the files tell and the panel leaves open are filled in (size and height of LEDs, depth
and height of sockets, height of switches); where both say something, they must say the same. A
table that has `outline` or `part` already, as `lists/job.toml` of a build has, needs no file.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Any

from fab.errors import BrokenGeometry, Fault, InputError, refused
from fab.outlines.contour import Contour, Point, turn
from fab.outlines.curves import Corners, contour_of, corners_of
from fab.params.allowed_paths import NamedFiles, of_file
from fab.params.boardoutline import one_outline
from fab.params.boardparams import BoardParams, BoardPart
from fab.params.convert import Converter
from fab.params.merge import replaced
from fab.params.one_value import Bad
from fab.params.panel import PanelParams
from fab.params.positions import PLACES, positions
from fab.params.quoting import show_key
from fab.params.spec import specs
from fab.params.tree import Leaf, Node, TableNode, Tables, Where
from fab.params.values import convert
from fab.units import fixed

MOST_DXF = 8 * 1_048_576  # bytes
MOST_CSV = 2 * 1_048_576
SAME_MM = 1e-4  # a value of the panel and one of the file nearer than this are one
USUAL_HOLES_MM = (2.2, 2.7, 3.2)  # for M2, M2.5 and M3; as `parts/defaults` derives them
# without a list of holes, circles that differ from board.hole by less are mounting holes
HOLE_MM = 0.4
_CENTRE = re.compile(rb"panel centre at x (-?[0-9.]{1,20}), y (-?[0-9.]{1,20}) mm")

Path_ = tuple[str, ...]


class BoardFiles(NamedFiles):
    """Fills the board tables of a job; collects faults and the files that were read."""

    def panel(self, panel: TableNode, board: TableNode, path: Path_) -> TableNode:
        """A panel's table with its board filled in from the files that the board names."""
        values = _converted(board, (*path, "board"))
        if values is None:
            return panel  # told where it is converted
        try:
            return self._filled(panel, board, values, path)
        except InputError as error:
            self.faults += error.faults
            return panel

    def _filled(
        self, panel: TableNode, board: TableNode, values: BoardParams, path: Path_
    ) -> TableNode:
        at = (*path, "board")
        if values.file and not values.outline:
            where = board.items["file"].where
            data, shown = self.bytes_of(board, "file", at, MOST_DXF, (".dxf", ".svg"))
            try:
                outline, frame, notes = read_board(data, values, shown)
            except InputError as error:
                raise of_file(error, shown, show_key((*at, "file"))) from None
            values = replace(values, outline=outline, notes=notes)
            board = _with(board, {"outline": _lists(outline), "notes": list(notes)}, where)
        else:
            frame = FileFrame(values.origin or (0.0, 0.0), values.turn_deg)
        if values.positions and not values.part:
            where = board.items["positions"].where
            data, shown = self.bytes_of(board, "positions", at, MOST_CSV, (".csv", ".txt", ".pos"))
            try:
                parts = tuple(
                    _turned(frame, values, part) for part in positions(data, values, shown)
                )
            except InputError as error:
                raise of_file(error, shown, show_key((*at, "positions"))) from None
            values = replace(values, part=parts)
        if not any(part.kind == "hole" for part in values.part):
            values = replace(values, part=(*values.part, *_mounting(values)))
        if not values.part or "part" in board.items:
            return replaced(panel, "board", board)
        where = board.items["positions" if values.positions else "file"].where
        return self._told(
            replaced(panel, "board", _with_parts(board, values.part, where)),
            values.part,
            path,
            where,
        )

    def _told(
        self, panel: TableNode, parts: tuple[BoardPart, ...], path: Path_, where: Where
    ) -> TableNode:
        """The panel's table with the parts' sizes; a size that stands there must be the same."""
        for table, key, found in _sizes(parts):
            inner = _table(panel, table)
            given = inner.items.get(key)
            if given is None:
                panel = replaced(panel, table, _with(inner, {key: found}, where))
            elif isinstance(given, Leaf) and not isinstance(found, bool):
                model = specs(PanelParams)[table].made_of
                assert model is not None
                try:
                    mine = convert(specs(model)[key], given.value)
                except Bad:
                    continue  # told where it is converted
                if abs(mine - found) > SAME_MM:
                    says = f"is {fixed(mine)} mm, but the board's file says {fixed(found)} mm."
                    works = f"Remove {key} here, or correct the file."
                    self.faults.append(
                        Fault(show_key((*path, table, key)), says, works, where=str(given.where))
                    )
        return panel


@dataclass(frozen=True)
class FileFrame:
    """The panel's frame in a file's: origin, and the turn that brings the board into it."""

    origin: Point
    turn_deg: float

    def point(self, point: Point) -> Point:
        """A point of the file in the panel frame, mm, rounded to PLACES decimals so that a turn by
        90 degrees leaves no -0.000 or 1e-15.
        """
        x, y = point[0] - self.origin[0], point[1] - self.origin[1]
        if self.turn_deg:
            x, y = turn((x, y), math.radians(self.turn_deg))
        return (round(x, PLACES) + 0.0, round(y, PLACES) + 0.0)

    def corners(self, corners: Corners) -> Corners:
        """Corners of a contour in the panel frame; a turn does not change a bulge."""
        return tuple((*self.point((corner[0], corner[1])), *corner[2:]) for corner in corners)


def read_board(
    data: bytes, board: BoardParams, shown: str
) -> tuple[tuple[Corners, ...], FileFrame, tuple[str, ...]]:
    """Outline of a board's DXF in the panel frame, the frame it was turned by, and what was put
    right.

    Raises InputError when the file holds no board or more than one.
    """
    outline, notes = one_outline(data, board, shown)
    origin = board.origin or _said_centre(data) or _middle(outline.edge)
    frame = FileFrame(origin, board.turn_deg)
    curves = []
    for contour in (outline.edge, *outline.holes):
        corners = frame.corners(corners_of(contour))
        try:
            curves.append(corners_of(contour_of(corners)))
        except BrokenGeometry as fault:
            raise refused(f"a curve of the board is too small: {fault}", where=shown) from None
    return tuple(curves), frame, notes


def _said_centre(data: bytes) -> Point | None:
    """The panel's centre as a comment at the head of our own files tells it, mm."""
    found = _CENTRE.search(data[:4_096])
    try:
        return (float(found[1]), float(found[2])) if found else None
    except ValueError:
        return None


def _middle(contour: Contour) -> Point:
    x0, y0, x1, y1 = contour.box
    return ((x0 + x1) / 2, (y0 + y1) / 2)


def _turned(frame: FileFrame, board: BoardParams, part: BoardPart) -> BoardPart:
    """A part of the CSV in the panel frame."""
    if board.frame == "panel":
        return part
    x, y = frame.point((part.x, part.y))
    return replace(
        part,
        x=x,
        y=y,
        turn_deg=round(math.remainder(part.turn_deg + frame.turn_deg, 360.0), PLACES) + 0.0,
    )


def _mounting(board: BoardParams) -> list[BoardPart]:
    """Mounting holes of a board whose list names none: the circles of about the wanted diameter,
    or, where none is given, of a clearance hole of one of the usual screws.
    """
    found = []
    wanted = USUAL_HOLES_MM if board.hole is None else (board.hole,)
    for curve in board.outline[1:]:
        whole = contour_of(curve).circle()
        if whole is not None and any(abs(2 * whole[1] - hole) < HOLE_MM for hole in wanted):
            (x, y), size = whole[0], round(2 * whole[1], PLACES)
            found.append(BoardPart(kind="hole", x=x, y=y, width=size, depth=size, side="both"))
    return found


def _sizes(parts: Iterable[BoardPart]) -> list[tuple[str, str, Any]]:
    """(table, key, value) that the parts tell of their design."""
    rows = list(parts)

    def first(kind: str, key: str) -> float:
        return next(
            (getattr(part, key) for part in rows if part.kind == kind and getattr(part, key) > 0),
            0.0,
        )

    told: list[tuple[str, str, Any]] = [
        ("board", "hole", first("hole", "width")),
        ("led", "size", first("led", "width")),
        ("led", "height", max((p.height for p in rows if p.kind == "led"), default=0.0)),
        ("header", "socket_depth", first("socket", "depth")),
        ("header", "socket_height", first("socket", "height")),
        ("jumper", "row_depth", first("jumper", "depth")),
        ("jumper", "row_height", first("jumper", "height")),
        ("switch", "size", first("switch", "width")),
        ("switch", "height", first("switch", "height")),
        (
            "board",
            "controller_height",
            max((p.height for p in rows if p.kind == "part" and p.side != "front"), default=0.0),
        ),
    ]
    told = [row for row in told if row[2] > 0]
    if any(part.kind == "switch" for part in rows):
        told.append(("switch", "on", True))
    return told


# -- tables
# --------------------------------------------------------------------------------------------------


def _converted(board: TableNode, path: Path_) -> BoardParams | None:
    converter = Converter()
    found: BoardParams = converter.table(BoardParams, board, path, note=False)
    return None if converter.faults else found


def _table(panel: TableNode, key: str) -> TableNode:
    found = panel.items.get(key)
    return found if isinstance(found, TableNode) else TableNode({}, panel.where)


def _with(table: TableNode, values: dict[str, Any], where: Where) -> TableNode:
    items: dict[str, Node] = {key: Leaf(value, where) for key, value in values.items()}
    return TableNode({**table.items, **items}, table.where)


def _with_parts(board: TableNode, parts: tuple[BoardPart, ...], where: Where) -> TableNode:
    keys = list(specs(BoardPart))
    rows = tuple(
        TableNode({key: Leaf(getattr(part, key), where) for key in keys}, where) for part in parts
    )
    return replaced(board, "part", Tables(rows, where))


def _lists(curves: tuple[Corners, ...]) -> list[list[list[float]]]:
    return [[list(corner) for corner in curve] for curve in curves]
