"""The marks of a drawn wall with their places, and which of them are panels, named or not.

mark    what stands between two blanks, or one character of it where panels are drawn without blanks
place   one mark read: a panel with its name, a panel without one, or an empty place
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace

from fab.params.quoting import clean, short
from fab.units import some

PANEL = "#*+@█■□●○⬡⬢"  # a panel without a name; the first one is the one that messages show
EMPTY = ".·"
DASHES = "-_"  # empty too where nothing else is in the mark
UP, DOWN = "^△▲", "▽▼"
LETTERS = "xXoO"  # read as # unless it can only be a name
MOST_NAME = 24
MOST_TOLD = 8  # wrong names; of a drawing of ones and noughts every panel is one
_WORD = re.compile(r"\S+")
_NAME = re.compile(r"[^\W_][\w-]*")


@dataclass(frozen=True, slots=True)
class MapFault:
    """One thing wrong in a drawing; row and column are counted from 0."""

    row: int
    column: int
    says: str
    works: str


@dataclass(frozen=True, slots=True)
class Mark:
    """A mark and where it stands."""

    row: int  # line of the text, from 0
    column: int  # character of that line, from 0
    start: int  # the same on a screen, where a tab is as wide as several characters
    text: str

    @property
    def end(self) -> int:
        """The first column of the screen behind it."""
        return self.start + len(self.text)


@dataclass(frozen=True, slots=True)
class MarkPlace:
    """A mark that was read."""

    mark: Mark
    panel: bool  # else the place is empty
    name: str = ""  # "": the program finds one
    up: bool | None = None  # a triangle that is drawn with its direction


def marks_of(text: str, tab: int) -> list[Mark]:
    """All marks, row by row; a tab leads to the next multiple of `tab`."""
    return [
        Mark(row, found.start(), len(line[: found.start()].expandtabs(tab)), found[0])
        for row, line in enumerate(text.split("\n"))
        for found in _WORD.finditer(line)
    ]


def strange(marks: Sequence[Mark]) -> list[MapFault]:
    """Characters that mean nothing in a drawing."""
    works = (
        f"Write a letter or a name, {PANEL[0]} for a panel without a name, {EMPTY[0]} for "
        "an empty place."
    )
    return [
        MapFault(
            mark.row,
            mark.column + k,
            f'"{clean(char)}" is neither a panel nor an empty place.',
            works,
        )
        for mark in marks
        for k, char in enumerate(mark.text)
        if not (char.isalnum() or char in PANEL + EMPTY + DASHES + UP + DOWN)
    ]


def apart(marks: Sequence[Mark], sides: int) -> tuple[list[Mark], list[MapFault]]:
    """Marks with one panel each: where panels are drawn without blanks, every character is one.

    That is so when longer marks hold no name at all (`##.#`), and when no row has a blank between
    two marks.
    """
    longer = [mark for mark in marks if len(mark.text) > 1 and not is_empty(mark.text)]
    rows = Counter(mark.row for mark in marks)
    single = _single(marks)
    if not longer:
        return list(marks), []
    signs = all(_no_name(mark.text, sides) for mark in longer)
    if signs and (sides != 6 or len(rows) == 1):
        return single, []
    if signs:
        return list(marks), [_needs_blanks(mark) for mark in longer]
    if max(rows.values()) > 1 or _repeats(single, sides):
        return list(marks), []
    if sides != 6 or len(rows) == 1:
        return single, []
    return list(marks), [_one_or_many(mark) for mark in longer]


def read(marks: Sequence[Mark], sides: int) -> tuple[list[MarkPlace], list[MapFault]]:
    """Every mark as a place, and what can't be read or stands here twice."""
    signs = _signs(marks, sides)
    faults: list[MapFault] = []
    places = []
    first: dict[str, Mark] = {}
    for mark in marks:
        if is_empty(mark.text):
            places.append(MarkPlace(mark, False))
            continue
        if mark.text in signs:
            places.append(MarkPlace(mark, True, up=_direction(mark.text, sides)))
            continue
        fault = _name_fault(mark, sides) or _twice(mark, first)
        if fault is not None:
            faults.append(fault)
        first.setdefault(mark.text.casefold(), mark)
        places.append(MarkPlace(mark, True, mark.text))
    if len(faults) > MOST_TOLD:
        last, more = faults[MOST_TOLD], len(faults) - MOST_TOLD
        faults[MOST_TOLD:] = [
            replace(
                last,
                says=f"a name is wrong or given twice, here and in {some(more - 1, 'more place')}.",
            )
        ]
    return places, faults


def is_empty(text: str) -> bool:
    """True when a mark is an empty place: dots or dashes and nothing else."""
    return all(char in EMPTY for char in text) or all(char in DASHES for char in text)


def _single(marks: Sequence[Mark]) -> list[Mark]:
    return [
        replace(mark, column=mark.column + k, start=mark.start + k, text=char)
        for mark in marks
        for k, char in enumerate(mark.text)
    ]


def _no_name(text: str, sides: int) -> bool:
    """True when a longer mark is made of signs alone: several panels, not one with a name."""
    signs = PANEL + EMPTY + DASHES + LETTERS + (UP + DOWN + "vV" if sides == 3 else "")
    return all(char in signs for char in text)


def _repeats(single: Sequence[Mark], sides: int) -> bool:
    """True when letters come twice when each is taken for a panel: then the marks are names."""
    return bool(read(single, sides)[1])


def _signs(marks: Sequence[Mark], sides: int) -> frozenset[str]:
    """Marks of panels without a name: signs, letters in place of signs, one letter for all."""
    panels = Counter(mark.text for mark in marks if not is_empty(mark.text))
    signs = {text for text in panels if len(text) == 1 and text in PANEL}
    if sides == 3:
        signs |= {text for text in panels if len(text) == 1 and text in UP + DOWN}
        signs |= {text for text in ("v", "V") if signs & {*UP, *DOWN} or panels[text] > 1}
    names = [text for text in panels if text not in signs and not _is_letter(text)]
    signs |= {text for text in panels if _is_letter(text) and (panels[text] > 1 or not names)}
    if len(panels) == 1 and names and len(names[0]) == 1 and panels[names[0]] > 1:
        signs |= set(names)
    return frozenset(signs)


def _is_letter(text: str) -> bool:
    return len(text) == 1 and text in LETTERS


def _direction(text: str, sides: int) -> bool | None:
    if sides != 3:
        return None
    return True if text in UP else False if text in DOWN + "vV" else None


def _name_fault(mark: Mark, sides: int) -> MapFault | None:
    if mark.text in UP + DOWN and len(mark.text) == 1:
        works = f"Write {PANEL[0]} for a panel without a name."
        return MapFault(
            mark.row,
            mark.column,
            f'"{mark.text}" is the mark of a triangle, but these panels have {sides} sides.',
            works,
        )
    if len(mark.text) > MOST_NAME:
        says = (
            f"the name {clean(short(mark.text, MOST_NAME))} has"
            f" {some(len(mark.text), 'character')}."
        )
        return MapFault(
            mark.row,
            mark.column,
            says,
            f"At most {MOST_NAME} are allowed; put blanks between panels.",
        )
    if not _NAME.fullmatch(mark.text):
        works = (
            f"Put blanks between panels. A name has letters and digits; {PANEL[0]} is a panel"
            " without a name."
        )
        return MapFault(mark.row, mark.column, f'"{clean(short(mark.text))}" is not a name.', works)
    return None


def _twice(mark: Mark, first: dict[str, Mark]) -> MapFault | None:
    other = first.get(mark.text.casefold())
    if other is None:
        return None
    same = (
        f"the name {mark.text} is used a second time"
        if other.text == mark.text
        else f"the names {other.text} and {mark.text} differ in capitals only"
    )
    at = f"row {other.row + 1}, column {other.column + 1}"
    works = f"Give it another name, or write {PANEL[0]}: panejig then chooses a name."
    return MapFault(mark.row, mark.column, f"{same}; the first is in {at}.", works)


def _needs_blanks(mark: Mark) -> MapFault:
    says = (
        f'"{clean(short(mark.text))}": rows of hexagons are shifted by half a step, so they '
        "need a blank between panels."
    )
    return MapFault(mark.row, mark.column, says, f'Write "{clean(short(" ".join(mark.text)))}".')


def _one_or_many(mark: Mark) -> MapFault:
    text = clean(short(mark.text))
    says = f'"{text}" may be one panel or {len(mark.text)}.'
    works = (
        f'Write "{clean(short(" ".join(mark.text)))}" for {len(mark.text)} panels, or "{text} ."'
        " for one panel with that name."
    )
    return MapFault(mark.row, mark.column, says, works)
