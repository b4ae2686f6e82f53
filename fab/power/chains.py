"""Few chains that visit every point of a graph once: a search by turning and joining ends.

An end of a chain that meets the end of another joins it. An end that meets a point inside its own
chain turns the rest round, so that another point becomes the end (the rotation of Posa, 1976); one
that meets a point inside another chain takes over what lies behind that point. No move makes more
chains, so the search only gets better. Seeded: the same graph, the same chains.
"""

from __future__ import annotations

import random
from collections.abc import Sequence

Pair = tuple[int, int]
STEPS_A_POINT = 400


def few_chains(count: int, pairs: Sequence[Pair], least: int) -> list[list[int]]:
    """Return chains of points 0 .. count - 1 along `pairs`; stops when `least` are left."""
    beside: list[list[int]] = [[] for _ in range(count)]
    for a, b in sorted(pairs):
        beside[a].append(b)
        beside[b].append(a)
    chains = _greedy(count, beside)
    of = [0] * count
    for k, chain in enumerate(chains):
        for i in chain:
            of[i] = k
    alive = list(range(len(chains)))
    choose = random.Random(1)
    for _ in range(STEPS_A_POINT * count):
        if len(alive) <= least:
            break
        mine = alive[choose.randrange(len(alive))]
        chain = chains[mine]
        if choose.random() < 0.5:
            chain.reverse()
        end = chain[-1]
        near = [i for i in beside[end] if i not in chain[-2:-1]]
        if not near:
            continue
        ends = [i for i in near if of[i] != mine and i in (chains[of[i]][0], chains[of[i]][-1])]
        if ends:
            _join(chains, of, mine, ends[choose.randrange(len(ends))], alive)
            continue
        at = near[choose.randrange(len(near))]
        if of[at] == mine:
            place = chain.index(at) + 1
            chain[place:] = chain[: place - 1 : -1]
        else:
            _take(chains, of, mine, at, forth=choose.random() < 0.5)
    found = [chains[k] if chains[k][0] <= chains[k][-1] else chains[k][::-1] for k in alive]
    return sorted(found)


def _greedy(count: int, beside: Sequence[Sequence[int]]) -> list[list[int]]:
    """Chains that go on to the neighbour with fewest ways onward (the rule of Warnsdorff, 1823)."""
    seen = [False] * count
    chains: list[list[int]] = []

    def onward(i: int) -> list[int]:
        return [j for j in beside[i] if not seen[j]]

    for start in sorted(range(count), key=lambda i: (len(beside[i]), i)):
        if seen[start]:
            continue
        chain = [start]
        seen[start] = True
        for _ in range(2):  # onward from both ends
            while near := onward(chain[-1]):
                chain.append(min(near, key=lambda j: (len(onward(j)), j)))
                seen[chain[-1]] = True
            chain.reverse()
        chains.append(chain)
    return chains


def _join(chains: list[list[int]], of: list[int], mine: int, at: int, alive: list[int]) -> None:
    """The chain that ends at `at` goes on behind this one."""
    other = of[at]
    rest = chains[other] if chains[other][0] == at else chains[other][::-1]
    for i in rest:
        of[i] = mine
    chains[mine] += rest
    alive.remove(other)


def _take(chains: list[list[int]], of: list[int], mine: int, at: int, *, forth: bool) -> None:
    """The points at and behind an inner point of another chain go on behind this one."""
    other = chains[of[at]]
    place = other.index(at)
    rest = other[place:] if forth else other[place::-1]
    chains[of[at]] = other[:place] if forth else other[place + 1 :]
    for i in rest:
        of[i] = mine
    chains[mine] += rest
