"""Every planted fault is named with its file, and nothing harmless is accused."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from fab.checks.model import Verdict
from fab.proof.prove import prove_folder

from . import edit
from .faults import FAULTS, Fault
from .harmless import HARMLESS


def failed(folder: Path) -> list[Verdict]:
    return [one for one in prove_folder(folder)[1] if one.verdict == "fail"]


def test_a_good_build_is_proven(built: dict[str, Path]) -> None:
    _, found = prove_folder(built["reading-nook"])
    assert [one for one in found if one.verdict != "pass"] == []
    assert len({one.id for one in found}) > 35


def test_the_table_is_long_enough() -> None:
    assert len(FAULTS) >= 40
    assert len(HARMLESS) >= 20
    assert len({name for name, *_ in FAULTS}) == len(FAULTS)


def check(copy: Path, fault: Fault) -> None:
    name, plant, check_id, place = fault
    plant(copy)
    edit.rehashed(copy)
    found = failed(copy)
    told = [one for one in found if one.id == check_id and place in f"{one.subject} {one.says}"]
    assert told, f"{name}: {[(one.id, one.subject, one.says) for one in found]}"


TOGETHER = (
    "no kerf on a single part",
    "a part missing on its sheet",
    "pages at 97 %",
    "another drill",
    "a mesh inside out",
    "a raised name mirrored",
    "an object off the bed",
    "caps short",
    "first LED shifted",
    "a joint missing",
    "volts too high",
    "a cable's current halved",
    "grams of a sheet halved",
    "the book's load halved",
    "a row of the book's paper",
    "a value of the job",
    "a picture of another sheet",
    "a file missing",
)


def test_many_faults_in_one_build_are_all_named(copy: Path) -> None:
    """One reading of the tree, each fault by its own proof, file and place; each alone: the slow
    test below.
    """
    planted = [fault for fault in FAULTS if fault[0] in TOGETHER]
    assert len(planted) == len(TOGETHER)
    for _, plant, _, _ in planted:
        plant(copy)
    edit.rehashed(copy)
    found = failed(copy)
    for name, _, check_id, place in planted:
        told = [one for one in found if one.id == check_id and place in f"{one.subject} {one.says}"]
        assert told, f"{name}: {[(one.id, one.subject, one.says) for one in found]}"


@pytest.mark.slow
@pytest.mark.parametrize("fault", FAULTS, ids=lambda fault: fault[0])
def test_every_fault_is_named(copy: Path, fault: Fault) -> None:
    check(copy, fault)


def test_all_harmless_changes_together_are_not_accused(copy: Path) -> None:
    for _, change in HARMLESS[5:]:  # those before rewrite the same drawing
        change(copy)
    edit.rehashed(copy)
    assert failed(copy) == []


@pytest.mark.slow
@pytest.mark.parametrize("change", HARMLESS, ids=lambda change: change[0])
def test_no_harmless_change_is_accused(copy: Path, change: tuple[Any, ...]) -> None:
    change[1](copy)
    edit.rehashed(copy)
    assert failed(copy) == []


def test_a_changed_file_is_told_but_not_accused(copy: Path) -> None:
    edit.change(copy, "cut/sheet-01.svg", 'stroke-width="0.1"', 'stroke-width="0.3"')
    found = [one for one in prove_folder(copy)[1] if one.verdict != "pass"]
    assert [(one.id, one.verdict, one.subject) for one in found] == [
        ("proof.changed", "warn", "cut/sheet-01.svg")
    ]
