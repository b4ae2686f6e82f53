"""The best order of pushes for a few panels, by a programme over all sets of them: proven, not
searched.

A set of panels is the bits of a number. It is put together by one push of one part of it against
the rest, so

    value(S) = best over S = A + B and headings of
               value(A) + value(B) + what the push of A against B mates

A push is free when no panel of A runs into one of B on its way; where none is free, A is laid in
and mates nothing. Values are compared in this order: merges that join no board to another, wanted
joints mated, joints mated.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from typing import NamedTuple

MOST_PANELS = 12  # 3^12 ways to part a set in two; about half a second
BARE, WISH = 1_000_000, 1_000  # weights that keep the three parts of a value apart


class Facing(NamedTuple):
    """One joint as one of its two panels sees it."""

    panel: int
    heading: float  # from `panel` to `other`
    other: int
    live: bool  # both panels have a board
    wished: bool


class Merge(NamedTuple):
    """One step: the panels that move, those that stay, and the way; no heading: laid in
    from above.
    """

    moving: int
    still: int
    heading: float | None


def best_merges(
    count: int,
    facings: Sequence[Facing],
    hits: Callable[[int, int, float], bool],
    near: Sequence[Collection[int]],
    boards: int,
) -> list[Merge]:
    """Return the merges of panels 0 .. count - 1, which hang together, in an order in which they
    can be done.

    `hits`: does a panel that comes in along a heading run into another one? `near`: panels that
    could be hit; `boards`: the panels with a board, as bits.
    """
    headings = sorted({facing.heading for facing in facings})
    full = (1 << count) - 1
    touch = _united(
        count, [sum({1 << f.other for f in facings if f.panel == p}) for p in range(count)]
    )
    ways: list[tuple[float, list[int], list[int], list[int], list[int]]] = []
    for heading in headings:
        block = [
            sum(1 << s for s in near[p] if s < count and hits(p, s, heading)) for p in range(count)
        ]
        there = [f for f in facings if f.heading == heading]
        reach, live, wished = (
            _united(count, [sum(1 << f.other for f in some if f.panel == p) for p in range(count)])
            for some in (there, [f for f in there if f.live], [f for f in there if f.wished])
        )
        ways.append((heading, _united(count, block), reach, live, wished))
    value: dict[int, int] = {1 << p: 0 for p in range(count)}
    last: dict[int, Merge] = {}
    for whole in _connected(full, touch):
        if whole in value:
            continue
        low, best, chosen = whole & -whole, None, None
        rest = whole ^ low
        part = rest
        while part:  # `part` is without the lowest panel of `whole`
            other = whole ^ part
            if part in value and other in value:
                known = value[part] + value[other]
                bare = BARE if part & boards and other & boards else 0
                for heading, block, reach, live, wished in ways:
                    if reach[part] & other and not block[part] & other:
                        mated = (live[part] & other).bit_count()
                        got = (
                            known
                            + mated
                            + WISH * (wished[part] & other).bit_count()
                            - (0 if mated else bare)
                        )
                        if best is None or got > best:
                            best, chosen = got, Merge(part, other, heading)
                if (best is None or known - bare > best) and touch[part] & other:
                    best, chosen = known - bare, Merge(part, other, None)
            part = (part - 1) & rest
        assert best is not None
        assert chosen is not None
        value[whole], last[whole] = best, chosen
    found: list[Merge] = []

    def tell(whole: int) -> None:
        if whole in last:
            step = last[whole]
            tell(step.still)
            tell(step.moving)
            found.append(step)

    tell(full)
    return found


def _united(count: int, each: Sequence[int]) -> list[int]:
    """For every set of panels the union of what belongs to each."""
    table = [0] * (1 << count)
    for whole in range(1, 1 << count):
        low = whole & -whole
        table[whole] = table[whole ^ low] | each[low.bit_length() - 1]
    return table


def _connected(full: int, touch: Sequence[int]) -> list[int]:
    """All sets that hang together, small ones first."""
    found, front = set(), [1 << p for p in range(full.bit_length())]
    while front:
        found.update(front)
        grown = set()
        for whole in front:
            beside = touch[whole] & ~whole & full
            while beside:
                bit = beside & -beside
                beside ^= bit
                grown.add(whole | bit)
        front = [whole for whole in grown if whole not in found]
    return sorted(found, key=lambda whole: (whole.bit_count(), whole))
