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
NEVER = (  # words and turns that a reader stumbles over, and what to write in their place
    "reckon\\w*",  # calculate
    "anti-?clockwise",  # counter-clockwise
    "look so long",  # search time
    "this paper",
    "ends it",  # limited by
    "put right",  # repaired
    "in good time",
    "belly|crumbs",
    "of one's own|of yours that",  # your own
    "com(?:e|es) along",  # included
    "(?:no|there is no) such key",  # unknown key
    "cannot be\\.",  # out of range
    "(?:stands?|stood) (?:here|there|beside|in it)",  # is, is listed, cannot be used with
    "busiest",  # most loaded
    "there are \\{[^}]*\\} mm|there are [\\d.]+ mm",  # Gap, a to b: 2 mm
    "let go of|throws? back|thrown back|gets? the least",
    "no nest (?:needs|holds)",  # proven minimum
    "worked out",  # derived, calculated
    "a fault of (?:the|its)",  # an internal error in panejig
    "to look at",  # warnings
    "all the same",  # anyway
    "too warm to keep",  # too hot to touch
    "cap of (?:the )?brightness|brightness cap",  # brightness limit
    "whose (?:machines|sheets)",
    "somebody",
    "is no (?:number|text|edge|name|file|length|time|turn|value|list)",  # is not a
)
RULES = (
    ("one of many", re.compile(rf"(?<![\d.,:/x×-])(?<!factor of )\b1 (?:{MANY})\b")),
    (
        "many of one",
        re.compile(rf"(?<![\d.,:/-])\b(?:[2-9]|\d\d+) (?:{'|'.join(THINGS)})(?![\w-])(?! \d)"),
    ),
    ("no blank before a unit", re.compile(r"(?<![\w.#-])\d+(?:\.\d+)?(?:mm|cm|kg|kHz|ms|%)(?!\w)")),
    ("contraction", re.compile(r"\b\w+n't\b")),
    ("word", re.compile(rf"\b(?:{'|'.join(NEVER)})\b", re.IGNORECASE)),
    (
        "a negative rest",
        re.compile(r"has left -|\b(?:Remaining|Missing)\b[^.:;]*: -\d|-\d\S* mm left"),
    ),
    (
        "more digits than can be measured",
        re.compile(r"(?<![\d.,])(?:[1-9]\d*\.\d{4,}|0\.[1-9]\d{3,}) [a-zA-Z°Ω%]"),
    ),
    ("a stub in place of a figure", re.compile(r"\b(?:nan|inf|None) (?:mm|N|V|A|degC|%)(?!\w)")),
    ("twice", re.compile(r"\b(the|a|an|of|to|is|in|and) \1\b")),
    ("two stops", re.compile(r"(?<!\.)\.\.(?![./\w])|[?!;,]\.(?!\w)")),
)


def faults(texts: Iterable[str]) -> list[str]:
    """The rule that each bad text breaks, and the text."""
    return [
        f"{name}: {text}"
        for text in dict.fromkeys(texts)
        for name, rule in RULES
        if rule.search(text)
    ]
