"""A split into zones at work: each move keeps zones in one piece with a place for an inlet."""

from __future__ import annotations

import math
from collections import deque
from collections.abc import Sequence
from itertools import pairwise

from fab.power.graph import SLACK_A, Graph, holds_without

EPS = 1e-9
WIDE = 120  # zones looked at for one chain
BARRED = 8  # chains tried for one panel


class Split:
    """Mutable: the zone of each panel, the panels of each zone, and their loads.

    Used inside the heuristic only.
    """

    def __init__(
        self, graph: Graph, zones: Sequence[Sequence[int]], limit_a: float, brightness: float
    ) -> None:
        self.graph, self.limit_a, self.brightness = graph, limit_a, brightness
        self.members = [set(zone) for zone in zones]
        self.of = [0] * len(graph)
        for z, zone in enumerate(self.members):
            for i in zone:
                self.of[i] = z
        self.idle = [math.fsum(graph.idle_a[i] for i in zone) for zone in self.members]
        self.full = [math.fsum(graph.full_a[i] for i in zone) for zone in self.members]
        self.light = (min(graph.idle_a), min(graph.full_a))
        # zones that all chains together may look at: time without a clock
        self.effort = 20_000 + 30 * len(graph)

    def zones(self) -> list[tuple[int, ...]]:
        """The zones that have panels, each sorted, in order of their first panel."""
        return sorted(tuple(sorted(zone)) for zone in self.members if zone)

    def load(self, zone: int) -> float:
        """Current of a zone at the wanted brightness, A."""
        return self.idle[zone] + self.brightness * self.full[zone]

    def panel_load(self, panel: int) -> float:
        """Current of one panel at the wanted brightness, A."""
        return self.graph.idle_a[panel] + self.brightness * self.graph.full_a[panel]

    def reach(self, zone: int) -> float:
        """Brightness at which the zone draws its limit; negative when it is dark and over it."""
        room = self.limit_a - self.idle[zone]
        if room < -SLACK_A:
            return room - 1.0
        return room / self.full[zone] if self.full[zone] > 0 else math.inf

    def move(self, panel: int, to: int) -> None:
        """Give a panel to another zone and update both sums; adjacency is not looked at."""
        here = self.of[panel]
        self.members[here].discard(panel)
        self.members[to].add(panel)
        self.of[panel] = to
        for sums, each in ((self.idle, self.graph.idle_a), (self.full, self.graph.full_a)):
            sums[here] -= each[panel]
            sums[to] += each[panel]

    def may_leave(self, panel: int) -> bool:
        """True when the panel's zone stays in one piece, and with an inlet, without it."""
        return holds_without(self.graph, self.members[self.of[panel]], panel)

    def next_to(self, zone: int) -> list[int]:
        """Zones beside a zone, in order."""
        return sorted(
            {self.of[j] for i in self.members[zone] for j in self.graph.links[i]} - {zone}
        )

    def level(self, sweeps: int = 12) -> None:
        """Move panels at the borders while that lessens the sum of squared loads."""
        for _ in range(sweeps):
            moved = False
            for i in range(len(self.graph)):
                here, weight = self.of[i], self.panel_load(i)
                others = {self.of[j] for j in self.graph.links[i]} - {here}
                if not others:
                    continue
                to = min(others, key=lambda z: (self.load(z), z))
                if self.load(here) - self.load(to) > weight + EPS and self.may_leave(i):
                    self.move(i, to)
                    moved = True
            if not moved:
                return

    def relieve(self, rounds: int) -> None:
        """Pass panels on from the dimmest zone to zones with room, until that gains nothing."""
        for _ in range(rounds):
            worst = min(range(len(self.members)), key=lambda z: (self.reach(z), z))
            if not self.pass_on(worst, self.reach(worst) + EPS):
                return

    def pass_on(self, source: int, floor: float, *, drain: bool = False) -> bool:
        """Take a panel from `source` by a chain of zones that hand one on; others keep `floor`.

        `drain`: the source is being emptied, so it may fall apart.
        """
        barred: set[tuple[int, int]] = set()
        for _ in range(BARRED):
            chain = self._chain(source, floor, barred)
            if not chain:
                return False
            done: list[tuple[int, int]] = []
            for here, to in reversed(list(pairwise(chain))):
                panel = self._hand(here, to, drain=drain and here == source)
                if panel is None:
                    barred.add((here, to))
                    break
                done.append((panel, here))
                self.move(panel, to)
            else:
                if all(self.reach(z) >= floor - EPS / 2 for z in chain[1:]):
                    return True
                barred.add((chain[-2], chain[-1]))
            for panel, back in reversed(done):
                self.move(panel, back)
        return False

    def _chain(self, source: int, floor: float, barred: set[tuple[int, int]]) -> list[int]:
        """The shortest way through neighbouring zones to one that may take a panel more."""
        came = {source: source}
        queue = deque([source])
        while queue:
            here = queue.popleft()
            self.effort -= 1
            if self.effort < 0:
                return []
            for to in self.next_to(here):
                if to in came or (here, to) in barred:
                    continue
                came[to] = here
                if self._has_room(to, floor):
                    chain = [to]
                    while chain[-1] != source:
                        chain.append(came[chain[-1]])
                    return chain[::-1]
                if len(came) < WIDE:
                    queue.append(to)
        return []

    def _has_room(self, zone: int, floor: float) -> bool:
        """True when the wall's lightest panel may join; the true load is weighed after."""
        if not self.members[zone]:
            return False
        idle, full = self.idle[zone] + self.light[0], self.full[zone] + self.light[1]
        return idle + max(floor, 0.0) * full <= self.limit_a + SLACK_A

    def _hand(self, here: int, to: int, *, drain: bool) -> int | None:
        """A panel of `here` beside `to` that may leave: most joints to `to`, then the lightest."""
        best = None
        for i in sorted(self.members[here]):
            ties = sum(self.of[j] == to for j in self.graph.links[i])
            if ties and (drain or self.may_leave(i)):
                key = (-ties, self.panel_load(i), i)
                if best is None or key < best[0]:
                    best = (key, i)
        return best[1] if best else None
