"""Faults between values: names that lead nowhere, places given twice.

Whether values fit each other is for checks.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator

from fab.errors import Fault
from fab.params.job import Job
from fab.params.panel import PanelParams
from fab.params.placement import map_faults, panel_faults
from fab.params.quoting import near, show, show_key
from fab.params.tree import TableNode, where_of
from fab.units import some

Path = tuple[str | int, ...]
RESERVED = {
    "con",
    "prn",
    "aux",
    "nul",
    *(f"{word}{digit}" for word in ("com", "lpt") for digit in range(10)),
}
_Found = Iterator[tuple[Path, str, str]]


def across(job: Job, table: TableNode, faults: Iterable[Fault]) -> list[Fault]:
    """Faults between the values of a converted job, but those that follow from one told already."""
    bad = [fault.key for fault in faults]

    def sound(path: Path) -> bool:
        key = show_key(path)
        return not any(_related(key, other) for other in bad)

    told = []
    if "shop" not in table.items and sound(("shop",)):
        told.append(
            Fault(
                "shop",
                "no shop is named.",
                'Write shop = "metric-bench", or a file of yours.',
                where=str(table.where),
            )
        )
        bad.append("shop")
    for look in _LOOKS:
        for path, says, works in look(job, sound):
            row = path[:2] == ("layout", "map")  # its fault says the row, and where it stands
            told.append(
                Fault(
                    show_key(path[:2] if row else path),
                    says,
                    works,
                    where=str(where_of(table, path)),
                )
            )
    return told


def _related(key: str, other: str) -> bool:
    return (
        other in ("", key)
        or key.startswith((f"{other}.", f"{other}["))
        or other.startswith((f"{key}.", f"{key}["))
    )


def _job_name(job: Job, sound: Callable[[Path], bool]) -> _Found:
    if sound(("job",)) and job.job.lower() in RESERVED:
        works = f"For example {job.job}-wall."
        yield (
            ("job",),
            f"{show(job.job)} is a reserved name of Windows: no folder can have it.",
            works,
        )


def _designs(job: Job) -> Iterator[tuple[Path, PanelParams]]:
    yield ("panel",), job.panel
    for name, design in job.designs.items():
        yield ("designs", name), design


def _sizes(job: Job, sound: Callable[[Path], bool]) -> _Found:
    for path, design in _designs(job):
        given = design.across_flats is not None or design.edge is not None
        whole = all(sound((*path, key)) for key in ("across_flats", "edge", "extends"))
        if not given and whole and sound(path[:1] if path == ("panel",) else path):
            key = show_key(path)
            works = (
                f"Write {key}.across_flats = 120 or {key}.edge = 90, or {key}.extends ="
                ' "hexagon-120".'
            )
            yield path, "the panel has no size: neither across_flats nor edge is given.", works


def _unknown(job: Job, sound: Callable[[Path], bool], at: Path, kind: str, name: str) -> _Found:
    """The fault of a name at `at` that the shop's table of this kind does not have."""
    table = getattr(job.shop, kind)
    above = ("shop", kind) if at[0] == "shop" else ("shop",)
    if name not in table and sound(above) and sound(at):
        word = "kind of wall" if kind == "wall" else kind
        yield at, f"{show(name)} is an unknown {word}.", near(name, table, f"shop.{kind}")


def _stocks(job: Job, sound: Callable[[Path], bool]) -> _Found:
    for path, design in _designs(job):
        at = (*path, "diffuser", "stock")
        yield from _unknown(job, sound, at, "stock", design.diffuser.stock)
        for part, roll in (("base", design.base.roll), ("shell", design.shell.roll)):
            if roll:
                yield from _unknown(job, sound, (*path, part, "roll"), "roll", roll)
    for place, panel in enumerate(job.layout.panel):
        for key, kind, name in (("roll", "roll", panel.roll), ("sheet", "stock", panel.sheet)):
            if name:
                yield from _unknown(job, sound, ("layout", "panel", place, key), kind, name)
    for place, offcut in enumerate(job.shop.offcut):
        at = ("shop", "offcut", place)
        yield from _unknown(job, sound, (*at, "stock"), "stock", offcut.stock)
        if len(offcut.outline) < 3 and sound((*at, "outline")):
            yield (
                (*at, "outline"),
                f"has {some(len(offcut.outline), 'corner')}.",
                "An outline has 3 or more: [[0, 0], [200, 0], [0, 150]].",
            )


def _wall(job: Job, sound: Callable[[Path], bool]) -> _Found:
    yield from _unknown(job, sound, ("hang", "wall"), "wall", job.hang.wall)
    if job.hang.jig_stock:
        yield from _unknown(job, sound, ("hang", "jig_stock"), "stock", job.hang.jig_stock)


def _paper(job: Job, sound: Callable[[Path], bool]) -> _Found:
    paper = job.shop.paper
    needs = {"custom": ("width", "height"), "roll": ("width",)}.get(paper.size, ())
    for key in needs:
        if getattr(paper, key) is None and sound(("shop", "paper")):
            yield (
                ("shop", "paper", "size"),
                f"{show(paper.size)} paper needs its {key}.",
                f"Write shop.paper.{key} = 300.",
            )


def _features(job: Job, sound: Callable[[Path], bool]) -> _Found:
    """Openings and additions that lack what their kind needs, or sit where nothing can be."""
    for path, design in _designs(job):
        for place, opening in enumerate(design.opening):
            at = (*path, "opening", place)
            if not sound(at):
                continue
            if opening.kind == "round" and opening.d is None:
                yield (*at, "d"), "a round opening needs a diameter.", "Write d = 5."
            if opening.kind in ("rect", "slot") and opening.size is None:
                yield (
                    (*at, "size"),
                    f"a {opening.kind} opening needs a size.",
                    "Write size = [12, 5].",
                )
            if opening.kind == "polygon" and len(set(opening.points)) < 3:
                yield (
                    (*at, "points"),
                    "a polygon needs three corners or more.",
                    "Write points = [[0, 0], [9, 0], [0, 6]].",
                )
            if opening.part != "base" and opening.edge is None:
                yield (
                    (*at, "edge"),
                    f"an opening through the {_word(opening.part)} needs an edge.",
                    "Write edge = 0.",
                )
            yield from _edge((*at, "edge"), opening.edge, design)
        for place, item in enumerate(design.addition):
            at = (*path, "addition", place)
            if not sound(at):
                continue
            if item.kind == "text" and not item.letters.strip():
                yield (*at, "letters"), "the text has no letters.", 'Write letters = "A1".'
            if item.kind == "text" and item.part == "base" and item.edge is not None:
                works = "Put them on the floor (leave `edge` out), or on the shell."
                yield (*at, "edge"), "the shell hides letters on the wall of the base.", works
            if item.kind == "text" and item.back and not item.sunk:
                yield (
                    (*at, "sunk"),
                    "letters on the back of the floor would keep the base off the wall.",
                    "Write sunk = true.",
                )
            if item.kind == "rib" and (item.to is None or item.to == item.at):
                yield (*at, "to"), "a rib needs its second end.", "Write to = [10, 0]."
            if item.kind == "boss" and item.hole >= item.d:
                yield (
                    (*at, "hole"),
                    "the hole is as wide as the boss.",
                    f"Write hole = {item.d / 2:g}, or less.",
                )
            if item.part == "shell" and item.edge is None:
                yield (*at, "edge"), "an addition to the shell needs an edge.", "Write edge = 0."
            yield from _edge((*at, "edge"), item.edge, design)


def _art(job: Job, sound: Callable[[Path], bool]) -> _Found:
    """Art whose work does not suit the part it is on."""
    for place, art in enumerate(job.art):
        at: Path = ("art", place)
        if sound(at) and art.on != "diffuser":
            yield (
                (*at, "on"),
                "art of the whole wall lies on the diffusers.",
                f"Put art on the {art.on} into a panel: [[panel.art]].",
            )
        elif sound(at) and art.work not in ("engrave", "stencil"):
            yield (*at, "work"), f"a diffuser cannot be {art.work}.", "One of: engrave, stencil."
    for path, design in _designs(job):
        for place, art in enumerate(design.art):
            here: Path = (*path, "art", place)
            if not sound(here):
                continue
            fits = ("engrave", "stencil") if art.on == "diffuser" else ("raised", "sunk")
            if art.work not in fits:
                yield (
                    (*here, "work"),
                    f"{show(art.work)} cannot be used on the {art.on}.",
                    f"One of: {', '.join(fits)}.",
                )
            if art.on == "shell" and art.edge is None:
                yield (*here, "edge"), "art on the shell needs an edge.", "Write edge = 0."
            if art.on == "base" and art.back and art.work == "raised":
                yield (
                    (*here, "work"),
                    "raised art on the back would keep the base off the wall.",
                    'Write work = "sunk".',
                )
            yield from _edge((*here, "edge"), art.edge, design)


def _edge(at: Path, edge: int | None, design: PanelParams) -> _Found:
    if edge is not None and edge >= design.sides:
        yield (
            at,
            f"a panel with {design.sides} sides has no edge {edge}.",
            f"Edges are 0 to {design.sides - 1}.",
        )


def _feet(job: Job, sound: Callable[[Path], bool]) -> _Found:
    """Designs in one wall that stand off it by different heights: their headers would not meet."""
    placed = {panel.design or "panel" for panel in job.layout.panel}
    used = placed | ({"panel"} if job.layout.cells or job.layout.map else set())
    first: tuple[str, float] | None = None
    for path, design in _designs(job):
        at = (*path, "base", "feet")
        if path[-1] not in used or not sound(at):
            continue
        name, feet = show_key(path), design.base.feet
        if first is None:
            first = (name, feet)
        elif abs(feet - first[1]) > 1e-9:
            says = (
                f"{feet:g} mm here, {first[1]:g} mm in {first[0]}: headers between the two would"
                " not meet."
            )
            yield at, says, f"Write {show_key(at)} = {first[1]:g}."


def _word(part: str) -> str:
    return "shell" if part == "shell" else "base and shell"


_LOOKS = (
    _job_name,
    _sizes,
    _stocks,
    _wall,
    _paper,
    map_faults,
    panel_faults,
    _features,
    _art,
    _feet,
)
