"""Letters of the shipped font as rings, ready to be painted: to read them from the font file takes longer than a picture.

`fonts/letters.json` holds the printable ASCII characters, made by `made()` from the font; a test holds one against the
other. Any other character is read from the font when it is asked for.
"""

from __future__ import annotations

import json
from functools import cache
from importlib.resources import files
from typing import Any

EM = 2048  # units of the font
CHORDS = 4  # per curve: within a hundredth of an em, which is no more than half a point in a line of text
PLAIN = "".join(map(chr, range(32, 127)))

Ring = tuple[tuple[float, float], ...]


def letter(char: str) -> tuple[float, tuple[Ring, ...]]:
    """Advance width and rings of one character, as shares of the font size; y up from the foot of the line. Edges
    run anticlockwise; fill them by the nonzero rule. A character that the font lacks is an empty box."""
    return _plain()[char] if char in _plain() else _rare(char)


@cache
def _plain() -> dict[str, tuple[float, tuple[Ring, ...]]]:
    data = json.loads((files("fab.files") / "fonts" / "letters.json").read_bytes())
    return {char: _scaled(advance, rings) for char, (advance, rings) in data.items()}


@cache
def _rare(char: str) -> tuple[float, tuple[Ring, ...]]:
    return _scaled(*_read(char))


def _scaled(advance: int, rings: Any) -> tuple[float, tuple[Ring, ...]]:
    points = (zip(flat[::2], flat[1::2], strict=True) for flat in rings)
    return advance / EM, tuple(tuple((x / EM, y / EM) for x, y in ring) for ring in points)


def made() -> bytes:
    """The file of the plain characters, from the font."""
    rows = (f"{json.dumps(char)}: {json.dumps(_read(char), separators=(',', ':'))}" for char in PLAIN)
    return ("{\n" + ",\n".join(rows) + "\n}\n").encode()


def _read(char: str) -> list[Any]:
    """Advance and rings of a character in the font's units, each ring as x, y, x, y, ..."""
    from fab.files.glyphs import char_rings

    advance, rings = char_rings(char, CHORDS)
    return [advance, [[round(value) for point in reversed(ring) for value in point] for ring in rings]]
