"""Rules of plain text that a machine can judge: singular and plural, units, words that are not
used.

The rules are those of this project's page on plain English; common practice otherwise, no source.
"""

from __future__ import annotations

import re
from collections.abc import Iterable

THINGS = (
    *("panel", "joint", "edge", "base", "shell", "diffuser", "clip", "cap", "header", "jumper"),
    *("inlet", "board", "hanger", "zone", "sheet", "offcut", "coupon", "page", "screw", "plate"),
    *("hole", "bridge", "island", "corner", "piece", "part", "line", "file", "check", "error"),
    *("group", "variant", "reading", "socket", "pin", "switch", "plug", "wire", "fuse", "cable"),
)
MANY = "|".join(f"{one}es" if one.endswith("ch") else f"{one}s" for one in THINGS)
RULES = (
    ("one of many", re.compile(rf"(?<![\d.,:/x×-])(?<!factor of )\b1 (?:{MANY})\b")),
    (
        "many of one",
        re.compile(rf"(?<![\d.,:/-])\b(?:[2-9]|\d\d+) (?:{'|'.join(THINGS)})(?![\w-])(?! \d)"),
    ),
    ("no blank before a unit", re.compile(r"(?<![\w.#-])\d+(?:\.\d+)?(?:mm|cm|kg|kHz|ms|%)(?!\w)")),
    ("contraction", re.compile(r"\b\w+n't\b")),
    (
        "word",
        re.compile(r"\b(?:reckon\w*|anti-?clockwise|look so long|this paper|ends it)\b", re.I),
    ),
    ("a negative rest", re.compile(r"has left -")),
)


def faults(texts: Iterable[str]) -> list[str]:
    """The rule that each bad text breaks, and the text."""
    return [
        f"{name}: {text}"
        for text in dict.fromkeys(texts)
        for name, rule in RULES
        if rule.search(text)
    ]
