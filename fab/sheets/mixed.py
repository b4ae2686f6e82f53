"""Any pieces on any sheets: several orders of putting them down, the cheapest answer wins."""

from __future__ import annotations

import math
import time
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

from fab.sheets.board import Board, Laid, Way
from fab.sheets.identical import Pattern, room
from fab.sheets.model import Layup, Placed, Sheet
from fab.sheets.nofit import NoFit, Shape
from fab.sheets.paths import Path

Stop = Callable[[], bool]
Progress = Callable[[str, float], None]

MOST_TURNS = 8  # tried per piece by the quick way
_REPEAT_FROM = 3  # a kind that fills so many sheets alone gets full sheets of its own first


@dataclass(frozen=True)
class Hunt:
    """What a longer search may use: until when (clock of time.monotonic), from which seed, who may stop it."""

    until: float
    seed: int
    stop: Stop
    progress: Progress

    @property
    def over(self) -> bool:
        return time.monotonic() > self.until or self.stop()

    @property
    def left_s(self) -> float:
        return self.until - time.monotonic()


@dataclass(frozen=True)
class Filling:
    """One sheet and what lies on it."""

    sheet: Sheet
    laid: tuple[Laid, ...]


@dataclass(frozen=True)
class Answer:
    """A whole nest in the making; smaller `rank` is better."""

    fillings: tuple[Filling, ...]
    missing: tuple[tuple[str, int], ...]
    engine: str

    @property
    def cost(self) -> float:
        return math.fsum(filling.sheet.price for filling in self.fillings)


class Job:
    """The pieces of one stock with everything that is worked out once."""

    def __init__(self, ways: Sequence[Path], sheets: Sequence[Sheet], gap_mm: float) -> None:
        self.ways, self.sheets, self.gap_mm = tuple(ways), tuple(sheets), gap_mm
        self.nofit = NoFit(gap_mm)
        self._shapes: dict[tuple[str, bool], tuple[Shape, ...]] = {}
        self._patterns: dict[tuple[str, bool], Pattern] = {}
        self._turned: dict[tuple[str, float], Shape] = {}
        self.full: dict[tuple[str, Sheet], tuple[Laid, ...]] = {}  # sheets full of one kind
        self._least_mm2 = min((path.outline.edge.area_mm2 for path in ways), default=0.0)  # no smaller hole takes a piece

    def shapes(self, path: Path, grain: bool) -> tuple[Shape, ...]:
        """A piece at each turn worth trying; turns that give the same region are tried once."""
        key = (path.piece.name, grain)
        if key not in self._shapes:
            kept: list[Shape] = []
            for turn in path.turns(grain):
                shape = self.shape(path, turn)
                if len(kept) < MOST_TURNS and not any(_same_region(shape, other) for other in kept):
                    kept.append(shape)
            self._shapes[key] = tuple(kept)
        return self._shapes[key]

    def pattern(self, path: Path, grain: bool) -> Pattern:
        key = (path.piece.name, grain)
        if key not in self._patterns:
            self._patterns[key] = Pattern(path, self.gap_mm, grain)
        return self._patterns[key]

    def shape(self, path: Path, turn_deg: float) -> Shape:
        """A piece at any turn; no-fit regions are kept by name and turn."""
        key = (path.piece.name, turn_deg)
        if key not in self._turned:
            self._turned[key] = Shape(path, turn_deg, self._least_mm2)
        return self._turned[key]


def _same_region(a: Shape, b: Shape) -> bool:
    if max(abs(a.width - b.width), abs(a.height - b.height)) > 1e-6 or len(a.edge) != len(b.edge):
        return False
    moved = {(round(x - a.box[0], 4) + 0.0, round(y - a.box[1], 4) + 0.0) for x, y in a.edge}
    return all((round(x - b.box[0], 4) + 0.0, round(y - b.box[1], 4) + 0.0) in moved for x, y in b.edge)


def fill_mixed(job: Job, seconds: float, seed: int, stop: Stop, progress: Progress) -> tuple[list[Layup], str]:
    """Layups for the pieces of one stock, and which method won. `seconds`: time for all of it; 0: the quick way."""
    if seconds <= 0:
        answer = quick(job, stop, progress)
        return layups(job, answer), answer.engine
    from fab.sheets.search import hunted

    _, answer = hunted(job, Hunt(time.monotonic() + seconds, seed, stop, progress), ("right", "up"))
    if answer.missing:  # perhaps only for want of time
        answer = min(answer, quick(job, lambda: True, progress), key=rank)
    return layups(job, answer), answer.engine


def quick(
    job: Job, stop: Stop, progress: Progress, ways: Sequence[Way] = ("right", "up"), hurry: Stop | None = None
) -> Answer:
    """The deterministic way: the same answer on every machine.

    stop: asked between trials, once there is an answer. ways: directions in which sheets may fill. hurry: asked
    between pieces; for callers that go on from an answer in the making.
    """
    best: Answer | None = None
    trials = list(_trials(job, ways))
    for k, trial in enumerate(trials):
        if best is not None and stop():
            break
        answer = run(job, trial, hurry)
        if best is None or rank(answer) < rank(best):
            best = answer
        progress(trial.name, (k + 1) / len(trials))
    assert best is not None
    return best


@dataclass(frozen=True)
class Trial:
    """One way of putting things down: which kind after which, in which direction; `rows` goes first, in rows."""

    order: tuple[Path, ...]
    way: Way
    name: str
    rows: Path | None = None
    one_turn: bool = False  # each kind at its first turn only: rows of one turn nest better than a mixture
    hurry: Stop | None = None  # asked between pieces; the sheet may stay half filled


def _trials(job: Job, ways: Sequence[Way]) -> Iterator[Trial]:
    keys: tuple[tuple[str, Callable[[Path], float]], ...] = (
        ("largest first", lambda p: -abs(p.outline.edge.area_mm2)),
        ("longest first", lambda p: -max(_size(p))),
        ("tallest first", lambda p: -min(_size(p))),
    )
    seen: set[tuple[str, ...]] = set()
    for name, key in keys:
        order = tuple(sorted(job.ways, key=lambda p: (key(p), p.piece.name)))
        names = tuple(p.piece.name for p in order)
        if names in seen:
            continue
        seen.add(names)
        for way in ways:
            yield Trial(order, way, name)
            yield Trial(order, way, f"{name}, one turn each", one_turn=True)
            if len(seen) == 1:
                for rows in _main_kinds(job):
                    yield Trial(order, way, f"{rows.piece.name} in rows first", rows=rows)


def _main_kinds(job: Job) -> list[Path]:
    """Convex kinds that make up a good part of the job."""
    total = math.fsum(path.area * path.piece.count for path in job.ways)
    kinds = [p for p in job.ways if p.convex is not None and p.area * p.piece.count > total / 5]
    return sorted(kinds, key=lambda p: (-p.area * p.piece.count, p.piece.name))


def _size(path: Path) -> tuple[float, float]:
    left, low, right, top = path.outline.box
    return (right - left, top - low)


def run(job: Job, trial: Trial, hurry: Stop | None = None) -> Answer:
    """Fill sheet after sheet in the rack's order, each kind in turn, what does not fit waits for the next sheet."""
    left = {path.piece.name: path.piece.count for path in trial.order}
    stock = [sheet.count for sheet in job.sheets]
    trial = replace(trial, hurry=hurry)
    fillings = [*_repeated(job, trial, left, stock)]
    while any(left.values()):
        made: list[tuple[float, int, Filling]] = []
        for k in _next_sheets(job, stock):
            sheet = job.sheets[k]
            laid = _rows_first(job, trial, sheet, left)
            for item in laid:
                left[item.shape.path.piece.name] -= 1
            wanted = [(path, left[path.piece.name]) for path in trial.order]
            filling = fill(job, sheet, wanted, trial, laid)
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


def _rows_first(job: Job, trial: Trial, sheet: Sheet, left: dict[str, int]) -> list[Laid]:
    """The kind that goes first, in rows, when the sheet is a rectangle."""
    if trial.rows is None or not sheet.is_rectangle:
        return []
    pattern = job.pattern(trial.rows, sheet.grain)
    count = min(left[trial.rows.piece.name], len(pattern.whole(sheet)))
    poses = pattern.part(sheet, count, (trial.way == "right",))
    return [Laid(job.shape(trial.rows, turn), x, y) for x, y, turn in poses]


def _next_sheets(job: Job, stock: Sequence[int]) -> list[int]:
    """Offcuts first, one of each alike; then whole sheets."""
    there = [k for k, count in enumerate(stock) if count > 0]
    free = [k for k in there if job.sheets[k].price == 0]
    return free + [k for k in there if job.sheets[k].price > 0]


def _repeated(job: Job, trial: Trial, left: dict[str, int], stock: list[int]) -> list[Filling]:
    """Full sheets of one kind, while a kind would fill several, the others in their waste and holes: near-linear for
    large counts, because a sheet is worked out once and repeated while its pieces last."""
    found: list[Filling] = []
    whole = [k for k, sheet in enumerate(job.sheets) if sheet.is_rectangle and stock[k] > 0]
    for path in trial.order:
        name = path.piece.name
        for k in sorted(whole, key=lambda k: job.sheets[k].price / max(job.sheets[k].area, 1.0)):
            sheet = job.sheets[k]
            if left[name] * path.area < _REPEAT_FROM * sheet.area / 2:
                continue
            laid = _full(job, path, sheet, trial)
            sheets = min(left[name] // len(laid) - _REPEAT_FROM + 1, stock[k]) if laid else 0
            while sheets > 0:
                others = [(p, left[p.piece.name]) for p in trial.order if p is not path]
                filling = fill(job, sheet, others, trial, laid)
                used = Counter(item.shape.path.piece.name for item in filling.laid)
                times = min(sheets, *(left[n] // count for n, count in used.items()))
                found += [filling] * times
                sheets -= times
                stock[k] -= times
                for n, count in used.items():
                    left[n] -= times * count
    return found


def _full(job: Job, path: Path, sheet: Sheet, trial: Trial) -> tuple[Laid, ...]:
    """A sheet full of one kind: in rows when it is convex, else by whichever direction holds most."""
    key = (path.piece.name, sheet)
    if key not in job.full:
        if path.convex is not None:
            poses = job.pattern(path, sheet.grain).whole(sheet)
            job.full[key] = tuple(Laid(job.shape(path, turn), x, y) for x, y, turn in poses)
        else:
            ways = [replace(trial, way=way, one_turn=one) for way in ("right", "up") for one in (False, True)]
            found = [fill(job, sheet, [(path, path.piece.count)], way).laid for way in ways]
            job.full[key] = max(found, key=len)
    return job.full[key]


def fill(
    job: Job, sheet: Sheet, wanted: Sequence[tuple[Path, int]], trial: Trial, laid: Sequence[Laid] = ()
) -> Filling:
    """As many as fit, kind by kind in the order given, around what is laid already."""
    board = Board(sheet, job.nofit, laid)
    for path, count in wanted:
        shapes = job.shapes(path, sheet.grain)[: 1 if trial.one_turn else None]
        for _ in range(count):
            if trial.hurry is not None and board.laid and trial.hurry():
                break
            item = board.best(shapes, trial.way)
            if item is None:
                break
            board.put(item)
    return Filling(sheet, tuple(board.laid))


def rank(answer: Answer) -> tuple[int, float, int, float, int]:
    """Fewest missing, least cost, fewest whole sheets, the largest single rest (as a negative area), fewest offcuts."""
    missing = sum(count for _, count in answer.missing)
    whole = sum(1 for filling in answer.fillings if not filling.sheet.offcut)
    return (missing, round(answer.cost, 6), whole, -rest_mm2(answer), len(answer.fillings))


def rest_mm2(answer: Answer) -> float:
    """The largest rectangle beside or above everything on one sheet: quick to work out, and what a maker keeps."""
    best = 0.0
    for filling in answer.fillings:
        m = filling.sheet.margin
        right = max((item.right for item in filling.laid), default=m)
        best = max(best, beside_mm2(filling.sheet, right, max((item.top for item in filling.laid), default=m)))
    return round(best, 3)


def beside_mm2(sheet: Sheet, right: float, top: float) -> float:
    """The larger rectangle beside or above what reaches to (right, top)."""
    width, height = room(sheet)
    return max((width - right + sheet.margin) * height, (height - top + sheet.margin) * width)


def layups(job: Job, answer: Answer) -> list[Layup]:
    """Numbered copies; sheets in the order of work."""
    copies = dict.fromkeys((path.piece.name for path in job.ways), 0)
    found = []
    for filling in answer.fillings:
        placed = []
        for item in sorted(filling.laid, key=lambda i: (round(i.y, 3), round(i.x, 3), i.shape.key)):
            name = item.shape.path.piece.name
            copies[name] += 1
            placed.append(Placed(name, copies[name], item.x, item.y, item.shape.turn_deg))
        used = math.fsum(item.shape.area for item in filling.laid)
        found.append(Layup(filling.sheet, tuple(placed), used, None))
    return found
