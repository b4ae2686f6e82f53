"""Things that hang together by pairs.

Union-find, because pairs are given once and asked for one by one. `scipy.cluster.hierarchy` has
the same as DisjointSet, and takes a second to load: more than a layout takes to be checked.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence


class Parts:
    """Things 0 .. count - 1, each a part of its own until pairs join them.

    Path halving: R. E. Tarjan and J. van Leeuwen, Journal of the ACM 31 (1984), 245-281.
    """

    def __init__(self, count: int) -> None:
        self.root = list(range(count))

    def find(self, i: int) -> int:
        """The least thing of the part that `i` is in: equal for two things of one part."""
        while self.root[i] != i:
            self.root[i] = self.root[self.root[i]]
            i = self.root[i]
        return i

    def join(self, i: int, j: int) -> bool:
        """Make one part of two; True when they were two."""
        i, j = self.find(i), self.find(j)
        self.root[max(i, j)] = min(i, j)
        return i != j


def connected(
    names: Sequence[str], pairs: Iterable[tuple[str, str]]
) -> tuple[tuple[str, ...], ...]:
    """Groups of names that pairs join: each in the given order, groups by first name."""
    at = {name: k for k, name in enumerate(names)}
    parts = Parts(len(names))
    for a, b in pairs:
        parts.join(at[a], at[b])
    found: dict[int, list[str]] = {}
    for name, k in at.items():
        found.setdefault(parts.find(k), []).append(name)
    return tuple(tuple(group) for group in found.values())
