"""A lower bound on the number of lines in a user's drawing, read from its bytes at little cost: a
drawing that has too many is refused before it is read line by line.
"""

from __future__ import annotations

import re

from fab.errors import InputError, refused

_BLOCK = 1 << 20  # characters that are split into words at once
# A place, and the name of an entity, in an ASCII DXF: a group code, and on the next line its value
_PLACE = re.compile(rb"\n[ \t]*10[ \t]*\r?\n")
_CIRCLE = re.compile(rb"\n[ \t]*0[ \t]*\r?\nCIRCLE\r?\n")
# A bulge that is not 0: what starts at this corner is an arc
_BULGE = re.compile(rb"\n[ \t]*42[ \t]*\r?\n[ \t]*-?[0.]*[1-9]")
BINARY = b"AutoCAD Binary DXF"
_ELEMENT = re.compile(rb"<[A-Za-z]")
_ENTITY = re.compile(rb"\n[ \t]*0[ \t]*\r?\n[A-Z]")
_INSERT = re.compile(rb"\n[ \t]*0[ \t]*\r?\nINSERT\r?\n")


def too_many(count: int, most: int, name: str = "", *, at_least: bool = False) -> InputError:
    """A drawing with more lines than are read."""
    says = f"its curves have {'at least ' * at_least}{count:,} corners; at most {most:,} are read."
    return refused(says, "Simplify the drawing: nothing finer than 0.01 mm is cut.", where=name)


def dxf_places(data: bytes) -> int:
    """Places in an ASCII DXF: each line, arc and corner of a polyline has one; a corner with a
    bulge counts twice, a circle as the four corners of its two arcs.

    A value that is just 10 counts too. Of a binary file only lines and circles count.
    """
    if data.startswith(BINARY):
        return data.count(b"\0\0LINE\0") + 4 * data.count(b"\0\0CIRCLE\0")
    places, bulges, circles = (
        sum(1 for _ in pattern.finditer(data)) for pattern in (_PLACE, _BULGE, _CIRCLE)
    )
    return places + bulges + 3 * circles


def dxf_entities(data: bytes) -> int:
    """Entities in an ASCII DXF, corners of old polylines among them; a block that is set counts
    twice, for what it holds. 0 for a binary file.
    """
    return sum(1 for pattern in (_ENTITY, _INSERT) for _ in pattern.finditer(data))


def svg_elements(data: bytes) -> int:
    """Elements of an SVG in ASCII or UTF-8. 0 for other encodings."""
    return sum(1 for _ in _ELEMENT.finditer(data))


def path_steps(data: str) -> int:
    """Lines and curves that SVG path data asks for, or fewer: by its letters, or its numbers.

    An arc takes seven numbers and no other step takes more; a path of lines alone takes two each.
    """
    curves = sum(data.count(letter) for letter in "HhVvCcSsQqTtAa")
    letters = curves + sum(data.count(letter) for letter in "LlZz")
    words = _words(data) - letters - data.count("M") - data.count("m")  # a letter may stand alone
    return max(letters, words // (7 if curves else 2) - 1)


def point_steps(data: str) -> int:
    """Lines of a polyline's or polygon's points, or fewer."""
    return _words(data) // 2 - 1


def _words(data: str) -> int:
    """Words between blanks and commas, or fewer; in blocks, to take little room."""
    blocks = (
        data[start : start + _BLOCK].replace(",", " ").split()
        for start in range(0, len(data), _BLOCK)
    )
    # a word across two blocks counts twice
    return sum(len(words) for words in blocks) - len(data) // _BLOCK
