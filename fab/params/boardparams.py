"""The board's mechanical side: one that we draw, or one that exists and is read from files."""

from __future__ import annotations

from fab.params.spec import (
    FAR_MM,
    ParamTable,
    choice,
    curves,
    flag,
    length,
    names,
    number,
    pair,
    section,
    sections,
    text,
)

PART_KINDS = ("hole", "socket", "jumper", "led", "switch", "part")
MOST_PATH = 300


class BoardColumns(ParamTable):
    """The columns of a positions file; those of size and turn may be missing."""

    kind: str = text("kind", "kind of the part", most=60)
    x: str = text("x_mm", "place, x", most=60)
    y: str = text("y_mm", "place, y", most=60)
    turn: str = text("turn_deg", "turn, counter-clockwise", most=60)
    width: str = text("width_mm", "size across; of a hole its diameter", most=60)
    depth: str = text("depth_mm", "size along the way it faces", most=60)
    height: str = text("height_mm", "height above the board's face", most=60)
    side: str = text("side", "face of the board: front or back", most=60)


class BoardWords(ParamTable):
    """Words that name a kind, alone or with a number (D12); every other word is a part."""

    hole: str = text("hole", "a mounting hole", most=30)
    socket: str = text("socket", "a socket of a header", most=30)
    jumper: str = text("jumper", "a pin row for a jumper, under the board", most=30)
    led: str = text("led", "an LED", most=30)
    switch: str = text("switch", "an edge switch", most=30)


class BoardPart(ParamTable):
    """One thing on a board in the panel frame: origin in its centre, edge 0 to +X, front view."""

    kind: str = choice("part", PART_KINDS, "kind of the part")
    x: float = length(0.0, "its middle; of a socket the middle of its mouth", -FAR_MM, FAR_MM)
    y: float = length(0.0, "its middle; of a socket the middle of its mouth", -FAR_MM, FAR_MM)
    turn_deg: float = number(
        0.0, "where it faces, counter-clockwise from +X", -360.0, 360.0, unit="deg"
    )
    width: float = length(0.0, "size across; of a hole its diameter", 0.0, 1_000.0)
    depth: float = length(0.0, "size along the way it faces", 0.0, 1_000.0)
    height: float = length(0.0, "height above the board's face", 0.0, 500.0)
    side: str = choice("front", ("front", "back", "both"), "face of the board")
    name: str = text("", "its name on the board", most=60)


class BoardParams(ParamTable):
    """The circuit board's mechanical side."""

    none: bool = flag(False, "a blank cover: no board, no LEDs, no sockets, no supply")
    file: str = text(
        "",
        "DXF with the outline and holes of an existing board; in the folder of this file or below"
        " it",
        most=MOST_PATH,
    )
    positions: str = text(
        "",
        "CSV with the places of its holes, sockets, pin rows, LEDs, switches and tall parts",
        most=MOST_PATH,
    )
    columns: BoardColumns = section(BoardColumns, "the columns of that CSV")
    words: BoardWords = section(BoardWords, "the words that its column of kinds uses")
    units: str = choice(
        "file", ("file", "mm", "in", "mil"), "unit of the DXF; file: what it says itself"
    )
    positions_units: str = choice(
        "mm", ("mm", "in", "mil"), "unit of numbers in the CSV that have no unit"
    )
    frame: str = choice(
        "panel",
        ("panel", "file"),
        "origin of the places in the CSV: the panel's centre, or the origin of the DXF",
    )
    origin: tuple[float, float] | None = pair(
        None,
        "the panel's centre in the DXF; left out: the centre that its header states, else the"
        " middle of the outline's box",
        -FAR_MM,
        FAR_MM,
    )
    turn_deg: float = number(
        0.0,
        "turn of the board, counter-clockwise, until its edge 0 faces +X",
        -360.0,
        360.0,
        unit="deg",
    )
    join: float = length(0.05, "loose ends of the DXF closer than this are joined", 0.0, 1.0)
    outline: tuple[tuple[tuple[float, ...], ...], ...] = curves(
        (),
        "closed curves in the panel frame: the edge, then the holes; left out: read from `file`, or"
        " drawn to fit the base",
    )
    notes: tuple[str, ...] = names((), "repairs made on import", most=300)
    part: tuple[BoardPart, ...] = sections(
        BoardPart, "parts on the board; left out: read from `positions`, or set by the design"
    )
    thickness: float = length(1.6, "thickness of the board", 0.2, 10.0)
    height: float | None = length(
        None,
        "height of the board's underside over the wall; left out: as low as the clips allow",
        1.0,
        500.0,
    )
    hole: float = length(
        None,
        "mounting holes",
        0.5,
        20.0,
        source="ISO 273 fine: M2 2.2, M2.5 2.7, M3 3.2",
        follows="0.2 mm more than screw_d",
    )
    fit: float = length(0.3, "gap between board and base wall", 0.0, 10.0)
    controller_height: float = length(
        3.0, "height of the tallest part under the board, without sockets", 0.0, 100.0
    )
    controller_a: float = number(0.08, "current of controller and idle LEDs", 0.0, 10.0, unit="A")
    bulk_uf: float = number(100.0, "bulk capacitor of the board", 0.0, 100_000.0, unit="uF")
    reflectance: float = number(
        0.75, "diffuse reflectance of the board's face (white mask is high)", 0.0, 1.0
    )
    copper_um: float = number(35.0, "copper thickness", 5.0, 500.0, unit="um")
    power_squares: float = number(
        6.0, "copper squares of the power path from an edge to the middle", 0.0, 1_000.0
    )
