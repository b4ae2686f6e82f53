"""`--set key=value`: one value of the job, changed for one run."""

from __future__ import annotations

import re
from collections.abc import Sequence

from fab.errors import Fault, InputError, refused
from fab.params.merge import lifted, overlay
from fab.params.quoting import clean, short
from fab.params.toml import annotate, parse_value
from fab.params.tree import Source, TableNode, Where

MOST_SETS = 1_000
MOST_CHARS = 100_000
_PART = r"""(?:[A-Za-z0-9_-]+|"[^"]*"|'[^']*')"""
_KEY = re.compile(rf"\s*{_PART}(?:\s*\.\s*{_PART}){{0,11}}\s*")
_ONE = re.compile(_PART)


def with_sets(job: TableNode, sets: Sequence[str]) -> TableNode:
    """The job's table with each `key=value` laid over it in turn; the last one wins.

    Raises InputError with every word that can't be read.
    """
    faults: list[Fault] = []
    if len(sets) > MOST_SETS:
        raise refused(
            f"is given {len(sets):,} times.", f"At most {MOST_SETS:,} are read.", where="--set"
        )
    for word in sets:
        try:
            job = overlay(job, lifted(_layer(word)))
        except InputError as error:
            faults += error.faults
    if faults:
        raise InputError(faults)
    return job


def _layer(word: str) -> TableNode:
    shown = f"--set {clean(short(word))}"

    def bad(says: str, works: str) -> InputError:
        return refused(says, works, where=shown)

    key, equals, value = word.partition("=")
    if not equals:
        raise bad("has no =.", "Write --set key=value, for example --set panel.depth=40.")
    if len(word) > MOST_CHARS:
        raise bad("is too long.", "Write it in the job file.")
    if not key.strip():
        raise bad(
            "has no key before the =.", "Write --set key=value, for example --set panel.depth=40."
        )
    if not _KEY.fullmatch(key):
        raise bad(
            f"{clean(short(key))} is not a dotted key.",
            "Keys look like panel.depth; arrays are given whole: key=[...].",
        )
    if not value.strip():
        raise bad("has no value.", "Write --set key=value, for example --set panel.depth=40.")
    where = Where(Source(shown, shown))
    raw = value.strip() if "\n" not in value.strip() else value.rstrip()  # rows keep their indent
    known, read = parse_value(raw)
    node = annotate(read if known else raw, where, raw)
    first, *others = (part.strip("\"'") for part in _ONE.findall(key))
    for part in reversed(others):
        node = TableNode({part: node}, where)
    return TableNode({first: node}, where)
