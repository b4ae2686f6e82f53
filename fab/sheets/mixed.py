"""Any pieces on any sheets: several orders of putting them down, the cheapest answer wins."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

from fab.sheets.model import Sheet
from fab.sheets.paths import Path
from fab.sheets.sheet_fill import Laid, SheetFill, Way
from fab.sheets.stock_parts import Answer, Filling, Progress, StockParts, Stop, rank

_REPEAT_FROM = 3  # a kind that fills so many sheets alone gets full sheets of its own first


def quick(
    parts: StockParts,
    stop: Stop,
    progress: Progress,
    ways: Sequence[Way] = ("right", "up"),
    hurry: Stop | None = None,
) -> Answer:
    """The deterministic way: the same answer on every machine.

    stop: asked between trials, once there is an answer. ways: directions in which sheets may fill.
    hurry: asked between pieces; for callers that go on from an answer in the making.
    """
    return min(tried(parts, stop, progress, ways, hurry), key=rank)


def tried(
    parts: StockParts,
    stop: Stop,
    progress: Progress,
    ways: Sequence[Way] = ("right", "up"),
    hurry: Stop | None = None,
) -> list[Answer]:
    """The answers of all orders, as `quick` tries them; one at least."""
    found: list[Answer] = []
    trials = list(trials_of(parts, ways))
    for k, trial in enumerate(trials):
        if found and stop():
            break
        found.append(run(parts, trial, hurry))
        progress(trial.name, (k + 1) / len(trials))
    return found


@dataclass(frozen=True)
class Trial:
    """One way of putting things down: which kind after which, in which direction; `rows` goes
    first, in rows.
    """

    order: tuple[Path, ...]
    way: Way
    name: str
    rows: Path | None = None
    # each kind at its first turn only: rows of one turn nest better than a mixture
    one_turn: bool = False
    hurry: Stop | None = None  # asked between pieces; the sheet may stay half filled


def trials_of(parts: StockParts, ways: Sequence[Way]) -> Iterator[Trial]:
    """The orders and directions worth trying, best guess first; an order that comes up twice is
    tried once.
    """
    keys: tuple[tuple[str, Callable[[Path], float]], ...] = (
        ("largest first", lambda p: -abs(p.outline.edge.area_mm2)),
        ("longest first", lambda p: -max(_size(p))),
        ("tallest first", lambda p: -min(_size(p))),
    )
    seen: set[tuple[str, ...]] = set()
    for name, key in keys:
        order = tuple(sorted(parts.ways, key=lambda p: (key(p), p.piece.name)))
        names = tuple(p.piece.name for p in order)
        if names in seen:
            continue
        seen.add(names)
        for way in ways:
            yield Trial(order, way, name)
            yield Trial(order, way, f"{name}, one turn each", one_turn=True)
            if len(seen) == 1:
                for rows in _main_kinds(parts):
                    yield Trial(order, way, f"{rows.piece.name} in rows first", rows=rows)


def _main_kinds(parts: StockParts) -> list[Path]:
    """Convex kinds that hold a good share of the area."""
    total = math.fsum(path.area * path.piece.count for path in parts.ways)
    kinds = [p for p in parts.ways if p.convex is not None and p.area * p.piece.count > total / 5]
    return sorted(kinds, key=lambda p: (-p.area * p.piece.count, p.piece.name))


def _size(path: Path) -> tuple[float, float]:
    left, low, right, top = path.outline.box
    return (right - left, top - low)


def run(
    parts: StockParts, trial: Trial, hurry: Stop | None = None, begun: Sequence[Filling] = ()
) -> Answer:
    """Fill sheet after sheet in the rack's order, each kind in turn, what does not fit waits for
    the next sheet.

    begun: sheets that are full already; they come first in the answer.
    """
    left = {path.piece.name: path.piece.count for path in trial.order}
    stock = [sheet.count for sheet in parts.sheets]
    for filling in begun:
        stock[parts.sheets.index(filling.sheet)] -= 1
        for item in filling.laid:
            left[item.shape.path.piece.name] -= 1
    trial = replace(trial, hurry=hurry)
    fillings = [*begun, *_repeated(parts, trial, left, stock)]
    while any(left.values()):
        made: list[tuple[float, int, Filling]] = []
        for k in _next_sheets(parts, stock):
            sheet = parts.sheets[k]
            laid = _rows_first(parts, trial, sheet, left)
            for item in laid:
                left[item.shape.path.piece.name] -= 1
            wanted = [(path, left[path.piece.name]) for path in trial.order]
            filling = fill(parts, sheet, wanted, trial, laid)
            for item in laid:
                left[item.shape.path.piece.name] += 1
            if filling.laid:
                area = math.fsum(item.shape.area for item in filling.laid)
                all_in = len(filling.laid) == sum(left.values())
                made.append((sheet.price if all_in else sheet.price / area * 1e6, k, filling))
            if filling.laid and sheet.price == 0:
                break
        if not made or (hurry is not None and fillings and hurry()):
            break
        _, k, filling = min(made, key=lambda m: m[:2])
        stock[k] -= 1
        fillings.append(filling)
        for item in filling.laid:
            left[item.shape.path.piece.name] -= 1
    missing = tuple(sorted((name, count) for name, count in left.items() if count))
    return Answer(tuple(fillings), missing, f"no-fit, {trial.name}, {trial.way}")


def _rows_first(parts: StockParts, trial: Trial, sheet: Sheet, left: dict[str, int]) -> list[Laid]:
    """The kind that goes first, in rows, when the sheet is a rectangle."""
    if trial.rows is None or not sheet.is_rectangle:
        return []
    pattern = parts.pattern(trial.rows, grain=sheet.grain)
    count = min(left[trial.rows.piece.name], len(pattern.whole(sheet)))
    poses = pattern.part(sheet, count, (trial.way == "right",))
    return [Laid(parts.shape(trial.rows, turn), x, y) for x, y, turn in poses]


def _next_sheets(parts: StockParts, stock: Sequence[int]) -> list[int]:
    """Offcuts first, one of each alike; then whole sheets."""
    there = [k for k, count in enumerate(stock) if count > 0]
    free = [k for k in there if parts.sheets[k].price == 0]
    return free + [k for k in there if parts.sheets[k].price > 0]


def _repeated(
    parts: StockParts, trial: Trial, left: dict[str, int], stock: list[int]
) -> list[Filling]:
    """Full sheets of one kind, while a kind would fill several, the others in their waste and
    holes: near-linear for large counts, because a sheet is worked out once and repeated while its
    pieces last.
    """
    found: list[Filling] = []
    whole = [k for k, sheet in enumerate(parts.sheets) if sheet.is_rectangle and stock[k] > 0]
    for path in trial.order:
        name = path.piece.name
        for k in sorted(
            whole, key=lambda k: parts.sheets[k].price / max(parts.sheets[k].area, 1.0)
        ):
            sheet = parts.sheets[k]
            if left[name] * path.area < _REPEAT_FROM * sheet.area / 2:
                continue
            laid = full_of_one(parts, path, sheet, trial)
            sheets = min(left[name] // len(laid) - _REPEAT_FROM + 1, stock[k]) if laid else 0
            while sheets > 0:
                others = [(p, left[p.piece.name]) for p in trial.order if p is not path]
                filling = fill(parts, sheet, others, trial, laid)
                used = Counter(item.shape.path.piece.name for item in filling.laid)
                times = min(sheets, *(left[n] // count for n, count in used.items()))
                found += [filling] * times
                sheets -= times
                stock[k] -= times
                for n, count in used.items():
                    left[n] -= times * count
    return found


def full_of_one(parts: StockParts, path: Path, sheet: Sheet, trial: Trial) -> tuple[Laid, ...]:
    """A sheet full of one kind: in rows when it is convex, else by whichever direction
    holds most.
    """
    key = (path.piece.name, sheet)
    if key not in parts.full:
        if path.convex is not None:
            poses = parts.pattern(path, grain=sheet.grain).whole(sheet)
            parts.full[key] = tuple(Laid(parts.shape(path, turn), x, y) for x, y, turn in poses)
        else:
            ways = [
                replace(trial, way=way, one_turn=one)
                for way in ("right", "up")
                for one in (False, True)
            ]
            found = [fill(parts, sheet, [(path, path.piece.count)], way).laid for way in ways]
            parts.full[key] = max(found, key=len)
    return parts.full[key]


def fill(
    parts: StockParts,
    sheet: Sheet,
    wanted: Sequence[tuple[Path, int]],
    trial: Trial,
    laid: Sequence[Laid] = (),
) -> Filling:
    """Lay as many as fit, kind by kind in the order given, around what is laid already."""
    filling = SheetFill(sheet, parts.nofit, laid, trial.hurry)
    for path, count in wanted:
        shapes = parts.shapes(path, grain=sheet.grain)[: 1 if trial.one_turn else None]
        for _ in range(count):
            if trial.hurry is not None and filling.laid and trial.hurry():
                break
            item = filling.best(shapes, trial.way)
            if item is None:
                break
            filling.put(item)
    return Filling(sheet, tuple(filling.laid))
