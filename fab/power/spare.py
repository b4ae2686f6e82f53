"""Which joints may be left without a header: not needed for data, and power holds without them."""

from __future__ import annotations

from collections.abc import Callable, Sequence


def spare_joints(
    panels: int, joints: Sequence[tuple[int, int]], zone_of: Sequence[int], use: Sequence[float],
    still_holds: Callable[[frozenset[int]], bool],
) -> tuple[int, ...]:  # fmt: skip
    """Joints (by index) that may all be left out together.

    A spanning forest of the busiest joints is always kept (inside each zone first, then between zones for the data),
    so every panel keeps its data and every zone its supply. Of the others, the idlest are left out, as many as
    `still_holds` bears; the number is found by halving, and what is told has been tried as a whole.
    `use`: how busy a joint's busiest pin is.
    """
    root = list(range(panels))

    def find(i: int) -> int:
        while root[i] != i:
            root[i] = root[root[i]]
            i = root[i]
        return i

    def apart(k: int) -> bool:
        a, b = joints[k]
        return zone_of[a] != zone_of[b]

    kept: set[int] = set()
    for k in sorted(range(len(joints)), key=lambda k: (apart(k), -round(use[k], 9), k)):
        a, b = find(joints[k][0]), find(joints[k][1])
        if a != b:
            root[a] = b
            kept.add(k)
    others = sorted((k for k in range(len(joints)) if k not in kept), key=lambda k: (round(use[k], 9), k))
    low, high = 0, len(others) + 1  # leaving out `low` holds, `high` does not
    if others and still_holds(frozenset(others)):
        low = len(others)
    else:
        high = len(others)
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (middle, high) if still_holds(frozenset(others[:middle])) else (low, middle)
    return tuple(sorted(others[:low]))
