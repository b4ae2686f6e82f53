"""Art from files or letters: read at the door into closed curves about their middle.

    art.file     SVG, DXF          -> art.shape
    art.letters  shipped or own font

A picture keeps its size in mm; `width` and `turn_deg` are applied where it is placed. A table that
has `shape` already needs no file.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from fab.errors import InputError, refused
from fab.outlines.contour import Point
from fab.params.allowed_paths import NamedFiles, of_file
from fab.params.artparams import ArtParams
from fab.params.convert import Converter
from fab.params.many_values import MOST_CORNERS
from fab.params.quoting import show, show_key
from fab.params.tree import Leaf, Node, TableNode, Tables

MOST_PICTURE = 16 * 1_048_576  # bytes
MOST_FONT = 24 * 1_048_576
# how far a curve may be straightened so that it has few enough corners
COARSE_MM = (0.005, 0.02, 0.05)
PLACES = 4

Path_ = tuple[str | int, ...]


class ArtFiles(NamedFiles):
    """Fills the art tables of a panel or a job; collects faults and the files that were read."""

    def all(self, art: Tables, path: tuple[str, ...]) -> Tables:
        """The art of a panel or a job, filled in."""
        rows = tuple(self._one(table, (*path, place)) for place, table in enumerate(art.items))
        return Tables(rows, art.where)

    def _one(self, table: TableNode, at: Path_) -> TableNode:
        converter = Converter()
        art: ArtParams = converter.table(ArtParams, table, at, note=False)
        if converter.faults or art.shape:
            return table
        try:
            shape, notes = self._shape(table, art, at)
        except InputError as error:
            self.faults += error.faults
            return table
        items: dict[str, Node] = {
            "shape": Leaf([[list(corner) for corner in ring] for ring in shape], table.where),
            "notes": Leaf(list(notes), table.where),
        }
        return TableNode({**table.items, **items}, table.where)

    def _shape(
        self, table: TableNode, art: ArtParams, at: Path_
    ) -> tuple[list[list[Point]], Sequence[str]]:
        from fab.outlines import clip2d

        notes: Sequence[str] = ()
        if art.letters and not art.file:
            from fab.files.glyphs import text_rings

            font, shown = None, "the shipped font"
            if art.font:
                font, shown = self.bytes_of(table, "font", at, MOST_FONT, (".ttf", ".otf"))
            try:
                region = clip2d.nonzero(text_rings(art.letters, art.capital, font, shown))
            except InputError as error:
                raise of_file(error, shown, show_key((*at, "font"))) from None
        elif art.file:
            data, shown = self.bytes_of(table, "file", at, MOST_PICTURE, (".svg", ".dxf"))
            from fab.params.picture import picture

            try:
                region, notes = picture(data, art, shown)
            except InputError as error:
                raise of_file(error, shown, show_key((*at, "file"))) from None
        else:
            works = 'Write file = "picture.svg", or letters = "A1".'
            raise refused(
                "there is neither a file nor letters.",
                works,
                where=str(table.where),
                key=show_key(at),
            )
        if region.is_empty:
            says = f"{show(art.file or art.letters)} encloses no area."
            raise refused(says, "Give closed outlines.", where=str(table.where), key=show_key(at))
        return _few_corners(region, f"{table.where}: {show_key(at)}"), notes


def _few_corners(region: Any, where: str) -> list[list[Point]]:
    """The region's rings about the middle of its box, straightened as little as keeps them few."""
    from fab.outlines import clip2d

    for coarse in COARSE_MM:
        plain = clip2d.tidy(region.simplify(coarse))
        found = clip2d.rings(plain)
        if sum(len(ring) for ring in found) <= MOST_CORNERS // 2:
            x0, y0, x1, y1 = plain.bounds
            cx, cy = (x0 + x1) / 2, (y0 + y1) / 2
            return [
                [(round(x - cx, PLACES) + 0.0, round(y - cy, PLACES) + 0.0) for x, y in ring]
                for ring in found
            ]
    says = (
        f"has more than {MOST_CORNERS // 2:,} corners, even when straightened by"
        f" {COARSE_MM[-1]:g} mm."
    )
    raise refused(says, "Take a plainer picture.", where=where)
