"""The page of a comparison, with the sheet and part pictures of both builds side by side."""

from __future__ import annotations

from pathlib import Path

from fab.compare import Difference, Side, document
from fab.files.dochtml import html
from fab.files.document import Block, Sketches

PICTURES = ("wall/template.svg",)  # drawings of a build that show it at a glance


def page_bytes(found: Difference, a: Side, b: Side, one: Path, two: Path) -> bytes:
    """HTML of its own, pictures inside."""
    pictures: list[Block] = []
    changed = [path for role, path, _ in found.again if role in ("cut-sheet", "cut-part") and path.endswith(".svg")]
    for path in dict.fromkeys([*PICTURES, *changed[:6]]):
        pair = tuple((side.name, (folder / path).read_bytes()) for side, folder in ((a, one), (b, two)) if (folder / path).is_file())
        if pair:
            pictures.append(Sketches(path, pair))
    return html(document(found, a, b, tuple(pictures)))
