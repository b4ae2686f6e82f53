"""The page of a comparison, with drawings, sheets and parts of both builds side by side."""

from __future__ import annotations

from pathlib import Path

from fab.compare import Again, Difference, Side, document
from fab.files.dochtml import html
from fab.files.document import Block, Sketches

MOST = 6  # pictures of a kind
THIN = (  # a cut line is a hair
    b"<style>path,circle,line,polyline{vector-effect:non-scaling-stroke;stroke-width:1.2px}</style>"
)


def page_bytes(found: Difference, a: Side, b: Side, one: Path, two: Path) -> bytes:
    """HTML of its own, pictures inside."""
    pictures: list[Block] = []
    for path in _drawings(found.again):
        pair = tuple(
            (side.name, _visible((folder / path).read_bytes()))
            for side, folder in ((a, one), (b, two))
            if (folder / path).is_file()
        )
        pictures.append(Sketches(path, pair))
    for path in _models(found.again):
        pair = tuple(
            (side.name, _part((folder / path).read_bytes()))
            for side, folder in ((a, one), (b, two))
            if (folder / path).is_file()
        )
        pictures.append(Sketches(path, pair))
    return html(document(found, a, b, tuple(pictures)))


def _drawings(again: tuple[Again, ...]) -> list[str]:
    """Changed cut files and the changed template."""
    return [
        item.path
        for item in again
        if item.role in ("cut-sheet", "cut-part", "template") and item.path.endswith(".svg")
    ][:MOST]


def _models(again: tuple[Again, ...]) -> list[str]:
    """The models of changed prints, one a kind of part: bases differ by little."""
    printed = {item.part for item in again if item.role == "print"}
    kinds: dict[str, str] = {}
    for item in again:
        if item.role == "model" and item.part in printed:
            kinds.setdefault(item.part.split("-")[0], item.path)
    return list(kinds.values())[:MOST]


def _visible(svg: bytes) -> bytes:
    """Our own SVG with lines that can be seen when a sheet is shown small."""
    head, start, rest = svg.partition(b"<svg")
    opening, end, body = rest.partition(b">")
    return head + start + opening + end + THIN + body


def _part(step: bytes) -> bytes:
    """A line drawing of a model."""
    from fab.book.drawings import EYE
    from fab.book.pictures import art_page
    from fab.files.pagesvg import page_svg
    from fab.solids.hiddenline import line_art
    from fab.solids.step import from_step

    return page_svg(
        art_page(
            line_art([from_step(step)], EYE), 80.0, 70.0, "Part", "The part, seen from the front."
        )
    )
