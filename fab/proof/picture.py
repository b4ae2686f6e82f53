"""The picture of a sheet shows what its drawing cuts: each edge where it runs, and no part too
many.

The picture's scale is read off the picture: what lies on the page is the largest connected piece of
it that is not white, and its straight sides are those of the sheet. A sheet that is no rectangle
has none and is not compared.
"""

from __future__ import annotations

import io
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from fab.checks.model import Verdict, at_most, judge
from fab.proof.tree import Unreadable

if TYPE_CHECKING:
    import numpy as np
    from shapely.geometry.base import BaseGeometry

MOST_POINTS = 40_000_000
DARK = 140  # of 255: what counts as a drawn line
WHITE = 253
STRAIGHT_SHARE = 0.6  # of a side that must lie in one row or column of points
MISSING_SHARE = 0.2  # of an edge under names, dashes and the way of the head
EXTRA_SHARE = 0.2  # of the smallest part


@dataclass(frozen=True)
class Seen:
    """A picture (rows x columns x 3) and where the sheet lies in it: left, low, points per mm
    across and upwards.
    """

    points: np.ndarray
    left: float
    low: float
    across: float
    upwards: float

    def at(self, places: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Row and column of places on the sheet (n x 2, mm)."""
        import numpy as np

        column = np.clip(
            np.rint(self.left + places[:, 0] * self.across), 0, self.points.shape[1] - 1
        )
        row = np.clip(np.rint(self.low - places[:, 1] * self.upwards), 0, self.points.shape[0] - 1)
        return row.astype(int), column.astype(int)


def shown(
    path: str, data: bytes, parts: Sequence[BaseGeometry], size: tuple[float, float] | None
) -> list[Verdict]:
    """Verdicts on a picture; `parts` are what the drawing cuts, `size` that of the sheet when it is
    a rectangle.
    """
    points = _points(path, data)
    found = [
        judge(
            "proof.cut-picture",
            path,
            at_most(0.0, 0.0, "faults"),
            "the picture of the sheet is a whole PNG",
        )
    ]
    if size is None or not parts:
        return found
    seen = _sheet(points, size)
    if seen is None:
        says = "the picture shows no sheet with straight sides"
        return [judge("proof.cut-picture", path, at_most(1.0, 0.0, "sheets"), says)]
    return [*found, _edges(path, seen, parts), _extra(path, seen, parts)]


def _points(path: str, data: bytes) -> np.ndarray:
    """Rows x columns x 3. Raises Unreadable."""
    import numpy as np
    from PIL import Image

    if data[:8] != b"\x89PNG\r\n\x1a\n" or data[-8:-4] != b"IEND":
        raise Unreadable(path, "is no whole PNG")
    try:
        with Image.open(io.BytesIO(data), formats=("PNG",)) as picture:
            if picture.width * picture.height > MOST_POINTS:
                raise Unreadable(path, f"has more than {MOST_POINTS // 1_000_000} million points")
            return np.asarray(picture.convert("RGB"))
    except (OSError, SyntaxError, ValueError, Image.DecompressionBombError) as error:
        raise Unreadable(path, f"cannot be read as a PNG ({error})") from error


def _sheet(points: np.ndarray, size: tuple[float, float]) -> Seen | None:
    """The place of the sheet; None when nothing in the picture has its proportions."""
    import numpy as np
    from scipy import ndimage

    marked = (points < WHITE).any(axis=2)
    names, count = ndimage.label(marked)
    if not count:
        return None
    largest = names == 1 + int(np.argmax(np.bincount(names.ravel())[1:]))
    rows, columns = largest.sum(axis=1), largest.sum(axis=0)
    left, right = _longest(columns >= STRAIGHT_SHARE * columns.max())  # dimension lines stand apart
    top, low = _longest(rows >= STRAIGHT_SHARE * rows.max())
    across, upwards = (right - left) / size[0], (low - top) / size[1]
    if abs(across / upwards - 1) > 0.02:
        return None
    return Seen(points, float(left) - 0.5, float(low) - 0.5, across, upwards)


def _longest(row: np.ndarray) -> tuple[int, int]:
    """Begin and end of the longest run of True."""
    import numpy as np

    steps = np.flatnonzero(np.diff(np.concatenate([[False], row, [False]]).astype(int)))
    begins, ends = steps[::2], steps[1::2]
    best = int(np.argmax(ends - begins))
    return int(begins[best]), int(ends[best])


def _edges(path: str, seen: Seen, parts: Sequence[BaseGeometry]) -> Verdict:
    """The part whose outline is drawn least well."""
    import numpy as np
    from scipy import ndimage

    lines = ndimage.binary_dilation(seen.points.max(axis=2) < DARK, iterations=3)
    worst, where = 0.0, ""
    for part in parts:
        for ring in (part.exterior, *part.interiors):
            steps = max(math.ceil(ring.length * seen.across / 2), 8)
            places = np.array(
                [ring.interpolate(k / steps, normalized=True).coords[0] for k in range(steps)]
            )
            missing = 1.0 - float(lines[seen.at(places)].mean())
            if missing > worst:
                worst, where = missing, f" at x {part.centroid.x:.1f}, y {part.centroid.y:.1f}"
    says = f"share of a part's edge that the picture does not show{where}"
    return judge("proof.cut-picture", path, at_most(worst, MISSING_SHARE, ""), says)


def _extra(path: str, seen: Seen, parts: Sequence[BaseGeometry]) -> Verdict:
    """Coloured like a part, but no part of the drawing."""
    import numpy as np
    from PIL import Image, ImageDraw
    from scipy import ndimage

    high, wide = seen.points.shape[:2]
    cover = Image.new("L", (wide, high), 0)
    draw = ImageDraw.Draw(cover)
    inks = set()
    for part in parts:
        rows, columns = seen.at(np.array(part.exterior.coords))
        draw.polygon(list(zip(columns.tolist(), rows.tolist(), strict=True)), fill=255)
        places = np.array([(p.x, p.y) for p in _inside(part)])
        inks |= {tuple(ink) for ink in seen.points[seen.at(places)].tolist() if min(ink) > DARK}
    free = ~ndimage.binary_dilation(np.asarray(cover) > 0, iterations=3)
    tinted = np.zeros((high, wide), bool)
    for ink in inks:
        tinted |= (seen.points == ink).all(axis=2)
    names, count = ndimage.label(tinted & free)
    most = int(np.bincount(names.ravel())[1:].max()) if count else 0
    smallest = min(part.area for part in parts) * seen.across * seen.upwards
    says = (
        "largest patch coloured like a part where the drawing has none, as a share of the smallest"
        " part"
    )
    return judge("proof.cut-picture", path, at_most(most / smallest, EXTRA_SHARE, ""), says)


def _inside(part: BaseGeometry) -> list[BaseGeometry]:
    """A few places inside a part."""
    import shapely

    shape = part.buffer(-0.15 * math.sqrt(part.area))
    return [
        (
            shape.representative_point()
            if not shape.is_empty
            else shapely.Point(part.representative_point())
        )
    ]
