"""Loose lines and arcs of a foreign DXF or SVG; `outlines/loops.py` makes outlines of them.

True arcs stay arcs; ellipses, splines and Bezier curves become chords that stray at most 0.005 mm.
Lengths come back in mm: by the DXF's $INSUNITS, by the SVG's width, height and viewBox; a file
without units is taken as mm (DXF) or as CSS pixels of 1/96 in (SVG), and the notes say so.
"""

from __future__ import annotations

import gzip
import io
import zlib
from dataclasses import dataclass, replace

from fab.errors import BrokenGeometry, InputError, refused
from fab.files.drawn import FLAT_MM, Drawn
from fab.files.read_dxf import dxf_drawn
from fab.files.read_svg import svg_drawn
from fab.files.xmlguard import has_root
from fab.outlines.contour import Segment

MOST_CORNERS = 180_000  # read and joined in 15 s and 500 MB
MOST_UNPACKED = 256 * 1024 * 1024


@dataclass(frozen=True)
class Loose:
    """The contents of a file: segments in mm, and remarks on the reading for the maker."""

    drawn: tuple[Drawn, ...]
    notes: tuple[str, ...] = ()

    @property
    def segments(self) -> tuple[Segment, ...]:
        """All lines and arcs of the drawing in the order of the file, mm."""
        return tuple(seg for one in self.drawn for seg in one.segments)


def read_outline(
    data: bytes, name: str, unit_mm: float | None = None, most: int = MOST_CORNERS
) -> Loose:
    """The segments of a DXF (ASCII or binary) or SVG, told apart by their content.

    `unit_mm`: what one unit of a DXF is, whatever the file says. `most`: of lines, chords and
    arcs, which count twice; a file that surely holds more is refused before it is read.

    Raises InputError, naming the file, for anything that can't be read, coordinates that are not
    finite, or no lines.
    """
    if not data.strip():
        raise refused("the file is empty.", "Export the drawing again.", where=name)
    try:
        data = _unpacked(data)
        is_svg = b"<svg" in data[:4096].lower() or has_root(data, "svg")
        drawn, notes = svg_drawn(data, FLAT_MM, most) if is_svg else dxf_drawn(data, unit_mm, most)
    except InputError as error:
        raise InputError(
            [replace(fault, where=fault.where or name) for fault in error.faults]
        ) from None
    except (BrokenGeometry, ArithmeticError, ValueError) as error:
        # numbers that overflow on the way to a line
        raise refused(
            f"it has numbers that cannot be read as a line ({error}).",
            ("Export the drawing again, in mm."),
            where=name,
        ) from None
    if not drawn:
        hidden = [note for note in notes if "left out" in note]
        why = f" that can be seen ({'; '.join(hidden)})" if hidden else ""
        raise refused(
            f"there is no line in it{why}.",
            "Draw the outline as lines, arcs, polylines or paths.",
            where=name,
        )
    return Loose(tuple(drawn), tuple(f"{name}: {note}" for note in notes))


def _unpacked(data: bytes) -> bytes:
    """The file as it is, or out of its gzip wrapping (.svgz), no further than `MOST_UNPACKED`."""
    if not data.startswith(b"\x1f\x8b"):
        return data
    try:
        with gzip.open(io.BytesIO(data)) as stream:
            plain = stream.read(MOST_UNPACKED + 1)
    except (OSError, EOFError, zlib.error) as error:
        raise refused(
            f"it is compressed (gzip) and cannot be unpacked: {error}.", "Save it as plain SVG."
        ) from None
    if len(plain) > MOST_UNPACKED:
        raise refused(
            f"unpacked it has more than {MOST_UNPACKED // 2**20} MB.", "Simplify the drawing."
        )
    return plain
