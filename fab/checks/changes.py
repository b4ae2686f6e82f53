"""The changes of values that a remedy tells, read from its own words: what is told is what is
tried.

A remedy says "Set KEY = VALUE.", "Set A = 1 and B = 2.", or alternatives "Set A = 1, or B = 2."
"""

from __future__ import annotations

import re

Change = tuple[tuple[str, str], ...]  # dotted keys and their values as they stand in a file
_KEY = r"[a-z]\w*(?:\.[\w\-]+)+"
_VALUE = r"\"[^\"]*\"|true|false|-?\d+(?:\.\d+)?"
_PAIR = re.compile(rf"(?P<key>{_KEY}) = (?P<value>{_VALUE})")
_SET = re.compile(r"\bset ", re.IGNORECASE)
_NEXT = re.compile(r",? or(?= )|;")


def changes_told(remedy: str) -> list[Change]:
    """Each alternative of a remedy as the values that it sets together, in the order told."""
    found: list[Change] = []
    for sentence in _SET.split(remedy)[1:]:
        told = sentence.split(". ")[0]
        for part in _NEXT.split(_without_brackets(told)):
            pairs = tuple((match["key"], match["value"]) for match in _PAIR.finditer(part))
            if pairs and pairs not in found:
                found.append(pairs)
    return found


def _without_brackets(words: str) -> str:
    """Words without what stands in brackets: figures that come with a change."""
    return re.sub(r" \([^()]*\)", "", words)
