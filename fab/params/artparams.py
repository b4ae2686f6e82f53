"""A picture or letters on a panel: on the diffuser of a design, its shell or base, or over the
whole wall.
"""

from __future__ import annotations

from dataclasses import dataclass

from fab.params.boardparams import MOST_PATH
from fab.params.spec import FAR_MM, choice, count, curves, flag, length, names, number, pair, text

WORKS = ("engrave", "stencil", "raised", "sunk")


@dataclass(frozen=True, kw_only=True)
class ArtParams:
    """One graphic. In a panel its middle is placed in the panel frame; at the top of a job in the
    wall frame.
    """

    file: str = text(
        "",
        "SVG or DXF with closed outlines; beside this file or in a folder below it",
        most=MOST_PATH,
    )
    letters: str = text("", "letters in place of a file", most=120)
    font: str = text(
        "", "TrueType or OpenType file for the letters; left out: the shipped font", most=MOST_PATH
    )
    capital: float = length(20.0, "height of a capital letter", 0.5, 5_000.0)
    units: str = choice("file", ("file", "mm", "in"), "unit of the file; file: what it says itself")
    rule: str = choice(
        "odd",
        ("odd", "nonzero"),
        "what is filled: areas inside an odd number of lines, or those that lines go round in sum",
    )
    shape: tuple[tuple[tuple[float, ...], ...], ...] = curves(
        (),
        "closed curves, filled where an odd number lie round, about their middle; left out: read"
        " from `file` or `letters`",
        most_items=10_000,
    )
    notes: tuple[str, ...] = names((), "what was repaired on import", most=300)
    on: str = choice("diffuser", ("diffuser", "shell", "base"), "the part that it is on")
    edge: int | None = count(None, "edge of the shell whose outside it is on", 0, 63)
    work: str = choice(
        "engrave",
        WORKS,
        "engrave: marked on the sheet; stencil: cut through it; raised or sunk: printed on shell or"
        " base",
    )
    fill: str = choice(
        "contour",
        ("contour", "hatch", "both"),
        "engraved as the outlines of its areas, or as lines that fill them, or both",
    )
    hatch: float = length(0.3, "distance of the lines of a hatching", 0.05, 20.0)
    hatch_deg: float = number(
        45.0,
        "way of the lines, counter-clockwise from the picture's own +X",
        -180.0,
        180.0,
        unit="deg",
    )
    back: bool = flag(
        False,
        "on the back of the sheet, mirrored there, so that it reads from the front; on a base: on"
        " its back",
    )
    at: tuple[float, float] = pair(
        (0.0, 0.0),
        "where the middle of the graphic goes: [x, y], on a shell's edge [t, z]",
        -FAR_MM,
        FAR_MM,
    )
    width: float | None = length(
        None, "width that the graphic gets; left out: as it is", 0.5, FAR_MM
    )
    turn_deg: float = number(0.0, "turn, counter-clockwise", -360.0, 360.0, unit="deg")
    depth: float = length(
        0.4, "how far it is raised or sunk; raised on a wall it stands out by this", 0.1, 10.0
    )
    bridge: float | None = length(
        None,
        "width of the bridges that hold a stencil's islands; left out: as the sheet is thick",
        0.3,
        50.0,
    )
    bridges: int = count(2, "bridges of each island", 1, 8)
    rim: float | None = length(
        None,
        "kept free along the sheet's edge; left out: 0 for engraving; for a stencil what the ledge"
        " covers, a bridge's width at least",
        0.0,
        500.0,
    )
    panels: tuple[str, ...] = names(
        (), "panels that it may fall on, for a picture over the wall; left out: all"
    )
