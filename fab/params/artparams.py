"""A picture or letters: on a design's diffuser, shell or base, or over the whole wall."""

from __future__ import annotations

from fab.params.boardparams import MOST_PATH
from fab.params.spec import (
    FAR_MM,
    ParamTable,
    choice,
    count,
    curves,
    flag,
    length,
    names,
    number,
    pair,
    text,
)

WORKS = ("engrave", "stencil", "raised", "sunk")


class ArtParams(ParamTable):
    """One graphic: its middle in the panel frame; at the top of a job in the wall frame."""

    file: str = text(
        "",
        "SVG or DXF with closed outlines; in the folder of this file or below it",
        most=MOST_PATH,
    )
    letters: str = text("", "letters in place of a file", most=120)
    font: str = text(
        "",
        "TrueType or OpenType file for the letters; left out: the font of panejig",
        most=MOST_PATH,
    )
    capital: float = length(20.0, "height of a capital letter", 0.5, 5_000.0)
    units: str = choice("file", ("file", "mm", "in"), "unit of the file; file: what it says itself")
    rule: str = choice(
        "odd",
        ("odd", "nonzero"),
        "rule for filled areas: areas inside an odd number of lines, or areas that the lines wind"
        " round (nonzero)",
    )
    shape: tuple[tuple[tuple[float, ...], ...], ...] = curves(
        (),
        "closed curves about their middle, filled by the even-odd rule; left out: read from"
        " `file` or `letters`",
        most_items=10_000,
    )
    notes: tuple[str, ...] = names((), "repairs made on import", most=300)
    on: str = choice("diffuser", ("diffuser", "shell", "base"), "part that carries the art")
    edge: int | None = count(None, "edge of the shell that carries the art on its outside", 0, 63)
    work: str = choice(
        "engrave",
        WORKS,
        "engrave: marked on the sheet; stencil: cut through it; raised or sunk: printed on shell or"
        " base",
    )
    fill: str = choice(
        "contour",
        ("contour", "hatch", "both"),
        "engraved as outlines of the areas, as lines that fill them, or as both",
    )
    hatch: float = length(0.3, "distance between the lines of a hatching", 0.05, 20.0)
    hatch_deg: float = number(
        45.0,
        "direction of the lines, counter-clockwise from the picture's own +X",
        -180.0,
        180.0,
        unit="deg",
    )
    back: bool = flag(
        False, "on the back: of a sheet, mirrored so that it reads from the front; of a base"
    )
    at: tuple[float, float] = pair(
        (0.0, 0.0),
        "position of the middle of the graphic: [x, y]; on an edge of a shell [t, z]",
        -FAR_MM,
        FAR_MM,
    )
    width: float | None = length(None, "width of the graphic; left out: as drawn", 0.5, FAR_MM)
    turn_deg: float = number(0.0, "turn, counter-clockwise", -360.0, 360.0, unit="deg")
    depth: float = length(0.4, "height of raised or depth of sunk art", 0.1, 10.0)
    bridge: float | None = length(
        None,
        "width of the bridges that hold a stencil's islands; left out: the thickness of the sheet",
        0.3,
        50.0,
    )
    bridges: int = count(2, "number of number of bridges of each island", 1, 8)
    rim: float | None = length(
        None,
        "free rim along the sheet's edge; left out: 0 for engraving; for a stencil the width that"
        " the ledge covers, at least the width of a bridge",
        0.0,
        500.0,
    )
    panels: tuple[str, ...] = names(
        (), "panels that a picture over the wall may cover; left out: all"
    )
