"""Crossings of the lines of a drawing, counted in bounded time: a hostile star of some thousand
lines has millions of crossings, and cutting the plane along them takes hours.
"""

from __future__ import annotations

from collections.abc import Sequence

from fab.outlines.contour import Point

MOST_CROSSINGS = 5_000  # a few seconds of work; a drawing that is to be cut has none or some
MOST_PAIRS = 3_000_000  # pairs of lines whose boxes overlap: what is looked at before giving up
BLOCK = 16  # lines at first; as many later as keep a block's pairs near `_AT_ONCE`
_AT_ONCE = 200_000


def tangled(rings: Sequence[Sequence[Point]], most: int = MOST_CROSSINGS) -> bool:
    """True when the closed rings' lines cross more than `most` times, or lie over each other too
    much to tell.
    """
    import numpy as np
    import shapely

    ends = [
        (np.asarray(ring, dtype=float), np.roll(np.asarray(ring, dtype=float), -1, axis=0))
        for ring in rings
        if len(ring) >= 3
    ]
    if not ends:
        return False
    starts, stops = (np.concatenate([pair[k] for pair in ends]) for k in (0, 1))
    lines = shapely.linestrings(np.stack([starts, stops], axis=1))
    tree = shapely.STRtree(lines)
    done = crossings = pairs = 0
    size = BLOCK
    while done < len(lines):
        block = lines[done : done + size]
        near = tree.query(block).T
        near = near[near[:, 0] + done < near[:, 1]]
        pairs += len(near)
        crossings += int(shapely.crosses(block[near[:, 0]], lines[near[:, 1]]).sum())
        if crossings > most or pairs > MOST_PAIRS:
            return True
        done += len(block)
        size = int(min(max(_AT_ONCE * done / max(2 * pairs, done), BLOCK), 50_000))
    return False
