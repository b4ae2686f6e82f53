"""The paper that the template is printed on, and how much of a page is free for the wall.

A printed page, in true millimetres (what a rule measures on the print):

    +-----------------------------+   margin: the printer leaves it white
    | y |                         |
    | b |        window           |   gutters on the left and below carry bars, the page's name
    | a |   (the wall, 1:1)       |   and map; they are cut away where a neighbour follows
    | r |_________________________|
    |   x bar    name    map      |
    +-----------------------------+

A printer that prints the 100 mm bar 97.3 mm long is answered by drawing everything 100 / 97.3
larger: `true_x` is how many true millimetres a millimetre of the PDF becomes.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from fab.errors import Fault, InputError, refused
from fab.outlines.contour import Box
from fab.params.shop import Paper
from fab.units import MM_PER_INCH

# ISO 216 trimmed sizes; ANSI A and B (Letter, Tabloid) are defined in inches: 8.5 x 11, 11 x 17.
SHEETS: dict[str, tuple[float, float]] = {
    "A4": (210.0, 297.0),
    "A3": (297.0, 420.0),
    "A2": (420.0, 594.0),
    "A1": (594.0, 841.0),
    "A0": (841.0, 1189.0),
    "Letter": (8.5 * MM_PER_INCH, 11 * MM_PER_INCH),
    "Tabloid": (11 * MM_PER_INCH, 17 * MM_PER_INCH),
}
LEFT_MM = 9.0  # gutter on the left
BELOW_MM = 20.0  # gutter below
LEAD_MM = 5.0  # the wall is drawn this far past the cut on the left and below
# a page must show this much of the wall both ways, or taping it together is hopeless
LEAST_MM = 60.0
LONGEST_MM = 5_000.0  # a PDF page is 14400 units = 5080 mm at most, ISO 32000-1 annex C


@dataclass(frozen=True)
class PaperSheet:
    """One sheet as it lies in the printer, and what of it shows the wall; PDF mm for the page, true
    mm for the rest.
    """

    name: str
    width: float
    height: float
    margin: float
    overlap: float
    true_x: float = 1.0
    true_y: float = 1.0

    @property
    def landscape(self) -> bool:
        """True when the sheet lies on its long side."""
        return self.width > self.height

    @property
    def page(self) -> tuple[float, float]:
        """The page as it comes out, true mm."""
        return (self.width * self.true_x, self.height * self.true_y)

    @property
    def printable(self) -> Box:
        """All that may be printed on, true mm, page frame."""
        wide, high = self.page
        mx, my = self.margin * self.true_x, self.margin * self.true_y
        return (mx, my, wide - mx, high - my)

    @property
    def window(self) -> Box:
        """The area on which the wall is drawn, true mm, page frame."""
        x0, y0, x1, y1 = self.printable
        return (x0 + LEFT_MM, y0 + BELOW_MM, x1, y1)

    @property
    def own(self) -> tuple[float, float]:
        """The part of the wall that a page shows for itself, from cut to cut."""
        x0, y0, x1, y1 = self.window
        return (x1 - x0 - LEAD_MM - self.overlap, y1 - y0 - LEAD_MM - self.overlap)


def sheets(
    paper: Paper, width: float, height: float, *, inches: bool = False
) -> tuple[PaperSheet, ...]:
    """The sheets that may be used for a wall of `width` x `height` mm, both ways up.

    `inches`: "best" means Letter and Tabloid, not A4 and A3. Raises InputError when paper, margin
    and overlap leave no room.
    """
    sizes = _sizes(paper, width, height, inches=inches)
    found = [
        PaperSheet(
            name, wide, high, paper.margin, paper.overlap, paper.bar_x / 100.0, paper.bar_y / 100.0
        )
        for name, wide, high in sizes
    ]
    usable = [sheet for sheet in found if min(sheet.own) >= LEAST_MM - 1e-9]
    if not usable:
        raise InputError([_too_small(found)])
    return tuple(usable)


def _sizes(
    paper: Paper, width: float, height: float, *, inches: bool
) -> list[tuple[str, float, float]]:
    if paper.size == "best":
        names = ("Letter", "Tabloid") if inches else ("A4", "A3")
        return [size for name in names for size in _both_ways(name, *SHEETS[name])]
    if paper.size == "custom":
        lacking = [
            key
            for key, value in (("width", paper.width), ("height", paper.height))
            if value is None
        ]
        if lacking:
            raise InputError(
                [
                    Fault(
                        f"shop.paper.{key}",
                        "custom paper needs this size",
                        f"Give shop.paper.{key} in mm.",
                    )
                    for key in lacking
                ]
            )
        return _both_ways("custom", paper.width or 0.0, paper.height or 0.0)
    if paper.size == "roll":
        if paper.width is None:
            raise refused(
                "a roll needs its width", "Give the roll's width in mm.", key="shop.paper.width"
            )
        beside = 2 * paper.margin + (LEFT_MM + LEAD_MM + paper.overlap) / (paper.bar_x / 100.0)
        below = 2 * paper.margin + (BELOW_MM + LEAD_MM + paper.overlap) / (paper.bar_y / 100.0)
        long = min(math.ceil(height / (paper.bar_y / 100.0) + below), LONGEST_MM)
        wide = min(math.ceil(width / (paper.bar_x / 100.0) + beside), LONGEST_MM)
        least = LEAST_MM + max(beside, below)
        return [("roll", paper.width, max(long, least)), ("roll", max(wide, least), paper.width)]
    return _both_ways(paper.size, *SHEETS[paper.size])


def _both_ways(name: str, width: float, height: float) -> list[tuple[str, float, float]]:
    upright = (name, min(width, height), max(width, height))
    return [upright] if math.isclose(width, height) else [upright, (name, upright[2], upright[1])]


def _too_small(found: Sequence[PaperSheet]) -> Fault:
    sheet = max(found, key=lambda s: min(s.own))
    size = f"{sheet.width:g} x {sheet.height:g} mm paper"
    used = (
        f"margins of {sheet.margin:g} mm, an overlap of {sheet.overlap:g} mm and the strip with the"
        " scale bars"
    )
    room = min(sheet.printable[2] - sheet.printable[0], sheet.printable[3] - sheet.printable[1])
    lack = LEAST_MM - min(sheet.own)
    if room <= 0:
        return Fault(
            "shop.paper.margin",
            f"{size} is smaller than its margins of {sheet.margin:g} mm",
            f"Use a margin under {min(sheet.width, sheet.height) / 2:g} mm, or larger paper.",
        )
    return Fault(
        "shop.paper",
        f"{size} with {used} leaves too little space for the wall on a page",
        f"It needs {lack:.1f} mm more: use larger paper, or less margin and overlap.",
    )
