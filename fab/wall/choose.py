"""The choice of hangers: the fewest screws that hold the wall safely, and what each of them and
each joint then carries.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache, cached_property, partial

from fab.errors import InputError
from fab.params.job import HangParams
from fab.wall.frame import FrameModel, clips_of
from fab.wall.loaded import loaded
from fab.wall.model import ALONE_MM, Hung, Place
from fab.wall.pick import TRY_ALL, Pick, frame_faults, soft_uses, thinned, try_all
from fab.wall.places import Room, Wish, places, rooms
from fab.wall.problem import HangGroup, groups_of, state
from fab.wall.programme import by_programme
from fab.wall.refuse import Elsewhere, lacks, may_hang, refusal
from fab.wall.roomier import Keyless, roomier
from fab.wall.search import by_search
from fab.wall.to_hang import WallToHang, located
from fab.wall.wishes import wishes

PROGRAMME = 300  # panels of a group up to which the integer programme is asked
FALLBACKS = (
    ("joint",),
    ("screw-load",),
    ("screw-load", "joint"),
    ("uplift", "screw-load", "joint"),
)
MOST_EASED = 60  # screws of a choice that are tried without, one by one


def choose(asked: WallToHang, *, reasons: bool = True) -> Hung:
    """The fewest hangers for a wall.

    Raises InputError when no choice can be made (every place forbidden, or a panel named for a
    screw that it can't have). Where strength or places are wanting, the wall is hung as well as can
    be: `broken` names the rules and `lacking` tells why no choice keeps them, and with `reasons`
    what would help; their checks fail.
    """
    known = asked.under(located(asked.hang, asked.layout))
    hang, ways = known.hang, wishes(known)
    plain = 3 if hang.studs else 2 if hang.rails or hang.zones else 1

    def under(other: HangParams, wish: Wish | None) -> tuple[Place, ...]:
        return places(known.under(other), wish)

    def moved(group: HangGroup, other: HangParams) -> Iterator[HangGroup]:
        for wish in wishes(known.under(other))[1:]:
            found = {place.panel: place for place in under(other, wish)}
            there = replace(group, places=tuple(found[name] for name in group.names))
            yield there.as_column() if wish and wish.column else there

    @cache
    def room() -> Mapping[str, Sequence[Room]]:
        return rooms(known)

    best: dict[int, _Found] = {}
    tried = 0
    for wish in ways:
        # the ways behind the plain ones are for walls that hang in none of those
        if tried >= plain and all(one.holds for one in best.values()):
            break
        tried += 1
        spots = under(hang, wish)
        for order, group in enumerate(groups_of(known, spots)):
            before = best.get(order)
            if before is not None and before.fewest:
                continue
            if wish is not None and wish.column:
                group = group.as_column()  # noqa: PLW2901
            model = FrameModel(group, clips_of(known, group), known.joint)
            pick = _pick_or_fall_back(group, model) if may_hang(group) else None
            now = _Found(group, model, pick, lacks(group))
            if before is None or now.rank < before.rank:
                best[order] = now
    found = [best[order] for order in range(len(known.layout.groups))]
    # what is told of a wall that can't hang: only where it is asked for, because it takes a search
    elsewhere = Elsewhere(room, moved, partial(_more_room, known)) if reasons else None
    faults = [fault for one in found for fault in refusal(one.group, hang, known.wall, elsewhere)]
    able = [(one, one.pick) for one in found if one.pick is not None]
    if len(able) < len(found):
        raise InputError(faults)
    hung = loaded(
        known.layout,
        [one.group for one, _ in able],
        [one.model for one, _ in able],
        [pick for _, pick in able],
    )
    return replace(hung, lacking=tuple(faults), proven=hung.proven and tried == 1)


def _more_room(known: WallToHang, names: Sequence[str], alone: bool) -> str:
    """Changes that give these panels a keyhole, in words; `alone`: over the centre of mass."""
    layout, first = known.layout, known.layout.by_name[names[0]]
    alike = [layout.by_name[n] for n in names if layout.by_name[n].design == first.design]
    taken = {name: {own for own, _, _ in layout.neighbours[name]} for name in names}
    free = {
        panel.name: [k for k in range(panel.cell.sides) if k not in taken[panel.name]]
        for panel in alike
        if panel.name in known.inlets
    }
    mass = known.masses[first.name]
    least = math.hypot(mass.x, mass.y) + ALONE_MM if alone else -math.inf
    return roomier(Keyless(alike, known.plan_of(first.name), least, free, known.jumpers))


@dataclass(frozen=True)
class _Found:
    """A group, its choice, and what leaves it no choice that stands."""

    group: HangGroup
    model: FrameModel
    pick: Pick | None  # None where no screw can be set at all
    lacks: bool

    @cached_property
    def rank(self) -> tuple[float, ...]:
        """The lesser the better: no way at all, rules broken, overload, screws."""
        if self.pick is None:
            return (math.inf,)
        score = _score(self.group, self.model, self.pick.chosen)
        return (float(self.lacks), float(len(self.pick.broken) > 0), *score)

    @property
    def holds(self) -> bool:
        """True when the choice keeps every rule."""
        return self.pick is not None and not (self.lacks or self.pick.broken)

    @property
    def fewest(self) -> bool:
        """True when no other placing can do with fewer screws."""
        least = max(min(2, len(self.group.names)), len(self.group.must))
        return self.pick is not None and self.holds and len(self.pick.chosen) <= least


def _fewest(
    group: HangGroup, model: FrameModel, ignored: frozenset[str]
) -> tuple[Pick | None, bool]:
    """Fewest screws of one group that keep every rule but the ignored ones; without any, whether it
    is proven that no choice does, or none was found.
    """
    open_to = group.open_to()
    if len(open_to) - len(group.must) <= TRY_ALL:
        return try_all(group, model, open_to, ignored), True
    if len(group.names) > PROGRAMME:
        return by_search(group, model, open_to, ignored), False
    found, proven = by_programme(group, model, open_to, ignored)
    return found or (None if proven else by_search(group, model, open_to, ignored)), proven


def _pick_or_fall_back(group: HangGroup, model: FrameModel) -> Pick:
    """The best choice.

    Where none keeps every rule: of all places together, what the programme finds with some rules
    left aside, and both with screws taken away, the one that overloads screws and clips least,
    breaks the fewest rules, and has the fewest screws.
    """
    open_to = group.open_to()
    everywhere = _broken(group, model, open_to)
    found, proven = _fewest(group, model, frozenset())
    if found is None and not everywhere:  # the search did not find what is there
        found = Pick(thinned(group, model, open_to, frozenset()), 1, "search")
    if found is not None:
        return found
    best = Pick(open_to, 1, "search", tuple(sorted(everywhere)), proven)
    score = _score(group, model, open_to)
    if {"two", "centre"} & everywhere:  # no choice stands at all
        return best
    for ignored in dict.fromkeys((*FALLBACKS, tuple(sorted(everywhere)))):
        tried = _fewest(group, model, frozenset(ignored))[0]
        if tried is not None and _broken(group, model, tried.chosen) <= everywhere:
            now = _score(group, model, tried.chosen)
            if now < score:
                best, score = replace(best, chosen=tried.chosen, method=tried.method), now
    eased = _eased(group, model, best.chosen, score, everywhere)
    broken = tuple(sorted(_broken(group, model, eased)))
    return Pick(eased, min(best.least, len(eased)), best.method, broken, proven)


Score = tuple[float, int, int]


def _score(group: HangGroup, model: FrameModel, chosen: Sequence[int]) -> Score:
    """The badness of a choice: the overload of its busiest screw or clip, rules broken, screws."""
    found = state(group, chosen)
    broken = _broken(group, model, chosen)
    if broken & {"two", "centre"}:
        return (math.inf, len(broken), len(chosen))
    frame, strength = model.solve(found.chosen), model.strength
    use = max(found.use, *soft_uses(group, found, frame))
    across = max((pull / strength.across_n for pull in frame.across), default=0.0)
    along = max((abs(pull) / strength.along_n for pull in frame.along), default=0.0)
    return (max(round(max(use, across, along), 3), 1.0), len(broken), len(chosen))


def _eased(
    group: HangGroup, model: FrameModel, chosen: Sequence[int], score: Score, broken: frozenset[str]
) -> tuple[int, ...]:
    """The choice without screws whose leaving makes nothing worse and breaks no rule but `broken`:
    each time the one that helps most.
    """
    left = tuple(chosen)
    while len(left) <= MOST_EASED:
        tries = [tuple(one for one in left if one != k) for k in left if k not in group.must]
        able = [fewer for fewer in tries if fewer and _broken(group, model, fewer) <= broken]
        scored = [(_score(group, model, fewer), fewer) for fewer in able]
        if not scored or min(scored) >= (score, left):
            break
        score, left = min(scored)
    return left


def _broken(group: HangGroup, model: FrameModel, chosen: Sequence[int]) -> frozenset[str]:
    """Every rule that a choice breaks, as a rigid wall and as a frame."""
    found = state(group, chosen)
    broken = frozenset(found.broken)
    if broken & {"two", "centre"}:
        return broken
    return broken | frame_faults(model, found)
