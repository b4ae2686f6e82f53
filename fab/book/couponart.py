"""Shaded pictures of the printed coupons: how each goes together when it is measured."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from fab.book.shadedart import shape
from fab.outlines.facets import facets
from fab.outlines.shapes import slot
from fab.outlines.strokes import strokes
from fab.params.shop import Printer
from fab.parts.coupons import pictures
from fab.parts.coupons.fit import DEEP, cropped, peg, slot_block, slot_texts
from fab.parts.coupons.model import LETTER_H, PrintedCoupon, line_mm, rise_mm
from fab.parts.coupons.snap import pocket_crop
from fab.parts.plan import Plan
from fab.products import Made
from fab.solids import kernel
from fab.solids.brep import from_brep
from fab.solids.mesh import Mesh
from fab.solids.meshing import mesh
from fab.solids.shaded import Shaded, shaded

EYE = (-0.35, -1.0, 1.1)  # from the front and above
COLUMNS = 480  # dots across
FACET_MM = 0.05  # the round ends of letters may stray this far


def fit(plan: Plan) -> Shaded:
    """The peg over its slots: of all pieces those that take least to make. The lead-ins under the
    block are not seen.
    """
    block = kernel.prism(slot_block(plan.printer), 0.0, DEEP)
    over = pictures.peg_over(block, peg(plan.printer))
    meshes = ((mesh(block), "base"), (mesh(over), "clip"), (_numbers(plan.printer), "base"))
    return _beside(meshes)


def snap(plan: Plan, clip: Made, body: bytes) -> Shaded:
    """Two pieces edge to edge, turned over, and the clip over their pockets; their numbers, inside
    the panel, are not seen.
    """
    piece = cropped(plan, from_brep(body), pocket_crop(plan))
    pieces = {
        name: PrintedCoupon(name, 1, solid)
        for name, solid in (("snap-edge-15", piece), ("snap-clip", clip.solid))
    }
    _, (_, over) = pictures.snap_pictures(plan, pieces)
    return _beside(
        [(mesh(one), part) for one, part in zip(over, ("base", "base", "clip"), strict=True)]
    )


def _beside(meshes: Sequence[tuple[Mesh, str]]) -> Shaded:
    return shaded([shape(one, part, named=False) for one, part in meshes], EYE, columns=COLUMNS)


def _numbers(printer: Printer) -> Mesh:
    """The raised numbers, each stroke of a letter an upright bar with round ends."""
    import numpy as np

    points, faces = list[tuple[float, float, float]](), list[tuple[int, int, int]]()
    for text, at in slot_texts(printer):
        for a, b in (
            pair for path in strokes(text, LETTER_H, "middle", at) for pair in pairwise(path)
        ):
            ring = facets(slot(a, b, line_mm(printer)), FACET_MM, outside=False)
            low, count = len(points), len(ring)
            points += [(x, y, z) for z in (DEEP, DEEP + rise_mm(printer)) for x, y in ring]
            top = low + count
            faces += [(top, top + k, top + k + 1) for k in range(1, count - 1)]
            for k in range(count):
                after = (k + 1) % count
                faces += [(low + k, low + after, top + after), (low + k, top + after, top + k)]
    return Mesh(np.array(points), np.array(faces))
