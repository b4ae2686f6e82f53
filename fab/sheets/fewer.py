"""Fewer sheets: fillings of all kinds are gathered in a pool, and an integer programme chooses
among them.

The pool holds what the orders of `mixed` laid, full sheets of one kind (convex kinds through the
row packer), and sheets shared by two convex kinds, each in its own rows. The programme is that of
P. C. Gilmore and R. E. Gomory, "A linear programming approach to the cutting-stock problem",
Operations Research 9 (1961), over a given pool: every copy is laid at least once at least cost.
What is laid too often is taken off the emptiest sheets; then the weakest sheet is emptied into the
free places of the others.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence

from fab.integers import Row, least
from fab.sheets.mixed import Trial, fill, run, trials_of
from fab.sheets.pool import Pool, add, counts_of, full_of_single_kinds, shared_by_two, undominated
from fab.sheets.stock_parts import Answer, Filling, StockParts, Stop, rank

_NODES = 100  # enough for a good choice
_ENGINE = "rows and no-fit, chosen by integer programme"


def fewer(
    parts: StockParts,
    found: Sequence[Answer],
    stop: Stop,
    left_s: Callable[[], float] = lambda: math.inf,
) -> Answer:
    """The best of the answers found and of what the programme chooses; the same on every machine.

    left_s: time left for the programme, for a caller whose answer depends on the clock anyway.
    """
    best = min(found, key=rank)
    whole = [filling for filling in best.fillings if not filling.sheet.offcut]
    if len(whole) < 2 or best.missing or stop():
        return best
    kept = [filling for filling in best.fillings if filling.sheet.offcut]
    wanted = {path.piece.name: path.piece.count for path in parts.ways}
    for filling in kept:
        for name, count in counts_of(filling.laid).items():
            wanted[name] -= count
    pool: Pool = {}
    for answer in found:
        for filling in answer.fillings:
            if not filling.sheet.offcut:
                add(pool, filling)
    for filling in (*full_of_single_kinds(parts, stop), *shared_by_two(parts)):
        if stop():
            break
        add(pool, filling)
    if stop():
        return best
    chosen = _chosen(undominated(pool), wanted, parts, seconds=left_s())
    if chosen:
        answer = Answer((*kept, *_trimmed(chosen, wanted)), (), _ENGINE)
        best = min(best, answer, key=rank)
    for begun in _begun(undominated(pool), wanted, parts, left_s()):
        for trial in trials_of(parts, ("right", "up")):
            if stop():
                break
            best = min(best, run(parts, trial, stop, (*kept, *begun)), key=rank)
    return min(best, emptied(parts, best, stop), key=rank)


def _begun(
    pool: Sequence[Filling], wanted: Mapping[str, int], parts: StockParts, seconds: float
) -> Iterator[list[Filling]]:
    """Sheets to begin with: as many of each filling as the relaxed programme takes whole, and those
    of one kind.
    """
    relaxed = _chosen(pool, wanted, parts, whole=False, seconds=seconds)
    if relaxed:
        yield relaxed
    single = [filling for filling in relaxed if len(counts_of(filling.laid)) == 1]
    if single and len(single) < len(relaxed):
        yield single


def _chosen(
    pool: Sequence[Filling],
    wanted: Mapping[str, int],
    parts: StockParts,
    *,
    whole: bool = True,
    seconds: float = math.inf,
) -> list[Filling]:
    """Fillings that hold all that is wanted at least cost, then on fewest sheets; none when the
    pool can't.

    Not `whole`: the programme may take parts of sheets, and of each filling the whole sheets come
    back, as long as none of their copies is too many.
    """
    price = max((filling.sheet.price for filling in pool), default=0.0)
    each = max(price, 1.0) * 1e-3  # fewer sheets at equal cost
    counts = [counts_of(filling.laid) for filling in pool]
    rows: list[Row] = []
    for name, need in sorted(wanted.items()):
        if need > 0:
            rows.append(
                (
                    {k: float(c[name]) for k, c in enumerate(counts) if c[name]},
                    float(need),
                    math.inf,
                )
            )
    for sheet in parts.sheets:
        own = {k: 1.0 for k, filling in enumerate(pool) if filling.sheet == sheet}
        if own:
            rows.append((own, 0.0, float(sheet.count)))
    if not pool or any(not factors for factors, _, _ in rows):
        return []
    cost = [filling.sheet.price + each for filling in pool]
    most = [float(filling.sheet.count) for filling in pool]
    integers = len(pool) if whole else 0
    answer = least(
        cost,
        [0.0] * len(pool),
        most,
        integers,
        rows,
        gap=each / 2,
        nodes=_NODES,
        seconds=max(seconds, 0.0),
    )
    if whole:
        return [
            filling
            for filling, n in zip(pool, answer.values, strict=False)
            for _ in range(round(n))
        ]
    left, found = Counter(wanted), []
    for filling, count, n in zip(pool, counts, answer.values, strict=False):
        for _ in range(math.floor(n + 1e-6)):
            if all(left[name] >= c for name, c in count.items()):
                left -= count
                found.append(filling)
    return found


def _trimmed(chosen: Sequence[Filling], wanted: Mapping[str, int]) -> list[Filling]:
    """The fillings without the copies that are too many: taken off the emptiest sheets, from their
    far end.
    """
    spare = sum((counts_of(filling.laid) for filling in chosen), Counter())
    spare.subtract(Counter(wanted))
    order = sorted(
        chosen, key=lambda f: (math.fsum(i.shape.area for i in f.laid) / f.sheet.area, len(f.laid))
    )
    out = []
    for filling in order:
        kept = []
        for item in sorted(filling.laid, key=lambda i: (-i.right, -i.top, i.shape.key)):
            name = item.shape.path.piece.name
            if spare[name] > 0:
                spare[name] -= 1
            else:
                kept.append(item)
        if kept:
            out.append(Filling(filling.sheet, tuple(kept)))
    return out[::-1]  # the emptiest sheet comes last


def emptied(parts: StockParts, answer: Answer, stop: Stop) -> Answer:
    """The answer with its weakest whole sheet moved into free places of the others, as far as that
    goes.
    """
    fillings = list(answer.fillings)
    while len(fillings) > 1 and not stop():
        whole = [k for k, filling in enumerate(fillings) if not filling.sheet.offcut]
        if len(whole) < 2:
            break
        weakest = min(whole, key=lambda k: (math.fsum(i.shape.area for i in fillings[k].laid), k))
        rest = counts_of(fillings[weakest].laid)
        others = [filling for k, filling in enumerate(fillings) if k != weakest]
        order = sorted(parts.ways, key=lambda p: (-abs(p.outline.edge.area_mm2), p.piece.name))
        for k, filling in enumerate(others):
            asked = [(path, rest[path.piece.name]) for path in order if rest[path.piece.name] > 0]
            if not asked or stop():
                break
            more = fill(
                parts,
                filling.sheet,
                asked,
                Trial(parts.ways, "right", "", hurry=stop),
                filling.laid,
            )
            rest -= counts_of(more.laid) - counts_of(filling.laid)
            others[k] = more
        if any(rest.values()):
            break
        fillings = others
    return Answer(tuple(fillings), answer.missing, answer.engine)
