"""Any pieces on any sheets: several orders of putting them down, the cheapest answer wins."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

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

    def shapes(self, path: Path, grain: bool) -> tuple[Shape, ...]:
        """A piece at each turn worth trying; turns that give the same region are tried once."""
        key = (path.piece.name, grain)
        if key not in self._shapes:
            kept: list[Shape] = []
            for turn in path.turns(grain):
                shape = Shape(path, turn)
                if len(kept) < MOST_TURNS and not any(_same_region(shape, other) for other in kept):
                    kept.append(shape)
            self._shapes[key] = tuple(kept)
        return self._shapes[key]

    def pattern(self, path: Path, grain: bool) -> Pattern:
        key = (path.piece.name, grain)
        if key not in self._patterns:
            self._patterns[key] = Pattern(path, self.gap_mm, grain)
        return self._patterns[key]

    def path(self, name: str) -> Path:
        return next(path for path in self.ways if path.piece.name == name)


def _same_region(a: Shape, b: Shape) -> bool:
    if max(abs(a.width - b.width), abs(a.height - b.height)) > 1e-6 or len(a.edge) != len(b.edge):
        return False
    moved = {(round(x - a.box[0], 4) + 0.0, round(y - a.box[1], 4) + 0.0) for x, y in a.edge}
    return all((round(x - b.box[0], 4) + 0.0, round(y - b.box[1], 4) + 0.0) in moved for x, y in b.edge)


def fill_mixed(
    ways: Sequence[Path], sheets: Sequence[Sheet], gap_mm: float, seconds: float, seed: int, stop: Stop, progress: Progress
) -> tuple[list[Layup], str]:
    """Layups for the pieces of one stock, and which method won."""
    job = Job(ways, sheets, gap_mm)
    answer = quick(job, stop, progress)
    if seconds > 0 and not stop():
        from fab.sheets.search import searched

        answer = searched(job, answer, seconds, seed, stop, progress)
    return layups(job, answer), answer.engine


def quick(job: Job, stop: Stop, progress: Progress) -> Answer:
    """The deterministic way: the same answer on every machine."""
    best: Answer | None = None
    trials = list(_trials(job))
    for k, (name, order, ways) in enumerate(trials):
        if best is not None and stop():
            break
        answer = run(job, order, ways, name)
        if best is None or rank(answer) < rank(best):
            best = answer
        progress(name, (k + 1) / len(trials))
    assert best is not None
    return best


def _trials(job: Job) -> Iterator[tuple[str, list[Path], tuple[Way, ...]]]:
    keys: tuple[tuple[str, Callable[[Path], float]], ...] = (
        ("largest first", lambda p: -abs(p.outline.edge.area_mm2)),
        ("longest first", lambda p: -max(_size(p))),
        ("tallest first", lambda p: -min(_size(p))),
    )
    seen: set[tuple[str, ...]] = set()
    for name, key in keys:
        order = sorted(job.ways, key=lambda p: (key(p), p.piece.name))
        names = tuple(p.piece.name for p in order)
        if names not in seen:
            seen.add(names)
            for way in (("right",), ("up",)):
                yield f"{name}, {way[0]}", order, way  # type: ignore[misc]


def _size(path: Path) -> tuple[float, float]:
    left, low, right, top = path.outline.box
    return (right - left, top - low)


def run(job: Job, order: Sequence[Path], ways: tuple[Way, ...], name: str) -> Answer:
    """Fill sheet after sheet in the rack's order, each kind in turn, what does not fit waits for the next sheet."""
    left = {path.piece.name: path.piece.count for path in order}
    stock = [sheet.count for sheet in job.sheets]
    fillings = [*_repeated(job, order, left, stock)]
    while any(left.values()):
        made: list[tuple[float, int, Filling]] = []
        for k in _next_sheets(job, stock):
            filling = fill(job, job.sheets[k], [(path, left[path.piece.name]) for path in order], ways[0])
            if filling.laid:
                area = math.fsum(item.shape.area for item in filling.laid)
                all_in = len(filling.laid) == sum(left.values())
                made.append((job.sheets[k].price if all_in else job.sheets[k].price / area * 1e6, k, filling))
            if filling.laid and job.sheets[k].price == 0:
                break
        if not made:
            break
        _, k, filling = min(made, key=lambda m: m[:2])
        stock[k] -= 1
        fillings.append(filling)
        for item in filling.laid:
            left[item.shape.path.piece.name] -= 1
    missing = tuple(sorted((name, count) for name, count in left.items() if count))
    return Answer(tuple(fillings), missing, name)


def _next_sheets(job: Job, stock: Sequence[int]) -> list[int]:
    """Offcuts first, one of each alike; then whole sheets."""
    there = [k for k, count in enumerate(stock) if count > 0]
    free = [k for k in there if job.sheets[k].price == 0]
    return free + [k for k in there if job.sheets[k].price > 0]


def _repeated(job: Job, order: Sequence[Path], left: dict[str, int], stock: list[int]) -> list[Filling]:
    """Full sheets of one convex kind, while a kind would fill several: near-linear for large counts."""
    found: list[Filling] = []
    whole = [k for k, sheet in enumerate(job.sheets) if sheet.is_rectangle and stock[k] > 0]
    for path in order:
        if path.convex is None:
            continue
        for k in sorted(whole, key=lambda k: job.sheets[k].price / max(job.sheets[k].area, 1.0)):
            sheet = job.sheets[k]
            poses = job.pattern(path, sheet.grain).whole(sheet)
            if not poses:
                continue
            sheets = min(left[path.piece.name] // len(poses) - _REPEAT_FROM + 1, stock[k])
            if sheets <= 0:
                continue
            laid = tuple(Laid(_shape_at(job, path, sheet.grain, turn), x, y) for x, y, turn in poses)
            found += [Filling(sheet, laid)] * sheets
            left[path.piece.name] -= sheets * len(poses)
            stock[k] -= sheets
    return found


def _shape_at(job: Job, path: Path, grain: bool, turn: float) -> Shape:
    for shape in job.shapes(path, grain):
        if abs(shape.turn_deg - turn) < 1e-9:
            return shape
    return Shape(path, turn)


def fill(job: Job, sheet: Sheet, wanted: Sequence[tuple[Path, int]], way: Way, laid: Sequence[Laid] = ()) -> Filling:
    """As many as fit, kind by kind in the order given."""
    board = Board(sheet, job.nofit, laid)
    for path, count in wanted:
        shapes = job.shapes(path, sheet.grain)
        for _ in range(count):
            item = board.best(shapes, way)
            if item is None:
                break
            board.put(item)
    return Filling(sheet, tuple(board.laid))


def rank(answer: Answer) -> tuple[int, float, int, float]:
    """Fewest missing, least cost, fewest sheets, then the largest single rest (as a negative area)."""
    missing = sum(count for _, count in answer.missing)
    return (missing, round(answer.cost, 6), len(answer.fillings), -rest_mm2(answer))


def rest_mm2(answer: Answer) -> float:
    """The largest rectangle beside or above everything on one sheet: quick to work out, and what a maker keeps."""
    best = 0.0
    for filling in answer.fillings:
        width, height = room(filling.sheet)
        m = filling.sheet.margin
        right = max((item.right for item in filling.laid), default=m) - m
        top = max((item.top for item in filling.laid), default=m) - m
        best = max(best, (width - right) * height, (height - top) * width)
    return round(best, 3)


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
