"""Draw the rooms of the package from what they import.

    python tests/tools/rooms.py > .pictures/rooms.svg

One row a layer of the import contract in pyproject.toml, upper rooms above; the figure beside a
room counts the rooms that it imports, its lines lead to them.
"""

from __future__ import annotations

import ast
import tomllib
from html import escape
from pathlib import Path

ROOT = Path(__file__).parents[2]
ROW, HIGH, CHARACTER, GAP, MARGIN, WIDE = 46, 24, 8, 14, 20, 860


def layers() -> list[list[str]]:
    """Return the rooms of each layer, the highest layer first."""
    contracts = tomllib.loads((ROOT / "pyproject.toml").read_text())["tool"]["importlinter"]
    order = next(c for c in contracts["contracts"] if c["type"] == "layers")["layers"]
    return [[room.strip() for room in layer.split("|")] for layer in order]


def imports(room: str) -> set[str]:
    """Return the other rooms that a room imports anywhere, inside functions too."""
    folder = ROOT / "fab" / room
    files = sorted(folder.rglob("*.py")) if folder.is_dir() else [folder.with_suffix(".py")]
    found: set[str] = set()
    for path in files:
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.ImportFrom) and node.module == "fab":
                found |= {alias.name for alias in node.names}
            elif isinstance(node, ast.ImportFrom) and (node.module or "").startswith("fab."):
                found.add(str(node.module).split(".")[1])
            elif isinstance(node, ast.Import):
                found |= {a.name.split(".")[1] for a in node.names if a.name.startswith("fab.")}
    return found - {room}


def picture() -> str:
    """Return the SVG."""
    rows = layers()
    wanted = {room: imports(room) for row in rows for room in row}
    middle: dict[str, tuple[float, float]] = {}
    boxes, lines = [], []
    for k, row in enumerate(rows):
        widths = [CHARACTER * (len(room) + 4) + GAP for room in row]
        x, y = (WIDE - sum(widths) - GAP * (len(row) - 1)) / 2, MARGIN + k * ROW
        for room, width in zip(row, widths, strict=True):
            middle[room] = (x + width / 2, y + HIGH / 2)
            count = len(wanted[room] & wanted.keys())
            boxes.append(
                f'<rect x="{x:g}" y="{y}" width="{width}" height="{HIGH}" rx="3"/>'
                f'<text x="{x + width / 2:g}" y="{y + 16}">{escape(room)} {count}</text>'
            )
            x += width + GAP
    for room in sorted(wanted):
        for other in sorted(wanted[room] & wanted.keys()):
            (x1, y1), (x2, y2) = middle[room], middle[other]
            lines.append(f'<path d="M{x1:g} {y1 + HIGH / 2:g}L{x2:g} {y2 - HIGH / 2:g}"/>')
    high = 2 * MARGIN + ROW * (len(rows) - 1) + HIGH
    return "\n".join(
        [
            f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDE} {high}" width="{WIDE}"'
            ' font-family="sans-serif" font-size="13" text-anchor="middle">',
            "<title>The rooms of fab: each imports rooms below it alone</title>",
            f'<rect width="{WIDE}" height="{high}" fill="#ffffff"/>',
            '<g stroke="#0072b2" stroke-opacity="0.16" fill="none">',
            *lines,
            "</g>",
            '<g stroke="#555555"><g fill="#ffffff" fill-opacity="0.9">',
            *[box.split("<text")[0] for box in boxes],
            '</g></g><g fill="#111111">',
            *["<text" + box.split("<text")[1] for box in boxes],
            "</g>",
            "</svg>",
            "",
        ]
    )


if __name__ == "__main__":
    print(picture(), end="")
