"""Numbers in the build book's page and print against the lists and counts that a maker
works from.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Any

from fab.checks.model import Verdict, at_least, judge
from fab.proof.bookprint import prove_print
from fab.proof.differences import same
from fab.proof.job import JobValues
from fab.proof.loads import in_book
from fab.proof.page import PAGE, Book, read_page
from fab.proof.table import Row, rows_of, truth
from fab.proof.tree import Tree

TABLES = {  # how a caption begins: the list, and (column of the page, column of the list)
    "holes": ("wall/holes.csv", ((1, "panel"), (2, "x_mm"), (3, "y_mm"), (4, "from_datum_mm"))),
    "zones": ("lists/cables.csv", ((0, "zone"), (1, "panels"), (2, "inlet"), (3, "edge"))),
    "joints": ("lists/joints.csv", ((1, "a"), (2, "edge_a"), (3, "b"), (4, "edge_b"), (5, "kind"))),
    "panels": (
        "lists/panels.csv",
        (
            (2, "name"),
            (3, "x_mm"),
            (4, "y_mm"),
            (5, "turn_deg"),
            (6, "leds"),
            (7, "first_led"),
            (8, "zone"),
            (10, "base"),
        ),
    ),
    "parts to print": ("lists/parts.csv", ((1, "item"), (2, "count"))),
    "shopping list": ("lists/parts.csv", ((1, "item"), (2, "count"))),
}
SOURCES = {"parts to print": ("print",), "shopping list": ("buy", "order")}


def prove(tree: Tree, job: JobValues) -> list[Verdict]:
    """Verdicts on book/index.html."""
    if PAGE not in tree:
        return []
    book = read_page(tree)
    counts = tree.json("manifest.json")["counts"]
    return [
        *_facts(book, counts, tree, job),
        *_tables(tree, book, job),
        *_caps(tree, book),
        *in_book(tree, job),
        *prove_print(tree, book),
    ]


def _facts(book: Book, counts: dict[str, Any], tree: Tree, job: JobValues) -> list[Verdict]:
    """The figures of the first chapter."""
    wanted: dict[str, float] = {
        "Panels": counts["panels"],
        "Joints": counts["joints"],
        "Open edges": counts["open_edges"],
        "Inlets": counts["inlets"],
        "Screws in the wall": counts["hangers"],
        "Sheets to cut": counts["sheets"],
        "Plates to print": counts["plates"],
        "Screws": counts["hangers"],
    }
    if "lists/panels.csv" in tree:
        wanted["LEDs"] = sum(
            int(row["leds"]) for row in rows_of(tree, "lists/panels.csv", ("leds",))
        )
    if "lists/cables.csv" in tree:
        amps = sum(
            float(row["current_a"]) for row in rows_of(tree, "lists/cables.csv", ("current_a",))
        )
        wanted["Power at the cap"] = round(amps * float(job.at("power.supply_v")), 1)
    seen, wrong = 0, []
    for name, value in wanted.items():
        first = re.match(r"-?[\d.]+", book.facts.get(name, ""))
        if first is None:
            continue
        seen += 1
        if abs(float(first[0]) - value) > 0.051 * (name == "Power at the cap"):
            wrong.append(f"{name}: {book.facts[name]}, counted {value}")
    return [
        judge(
            "proof.book-facts",
            PAGE,
            at_least(float(seen), 5.0, "figures"),
            "figures of the first chapter that could be found",
        ),
        same(
            "proof.book-counts",
            PAGE,
            wrong,
            f"{seen} figures of the book are those of lists and manifest",
            "figures",
        ),
    ]


def _tables(tree: Tree, book: Book, job: JobValues) -> list[Verdict]:
    found = []
    for caption, (path, columns) in TABLES.items():
        told = book.table(caption)
        if not told or path not in tree or (caption == "holes" and job.shop.at("units") == "in"):
            continue
        rows = rows_of(tree, path, [name for _, name in columns])
        if caption in SOURCES:
            rows = [row for row in rows if row["source"] in SOURCES[caption]]
        wrong = (
            []
            if len(told) - 1 == len(rows)
            else [f"table {caption!r} has {len(told) - 1} rows, {path} {len(rows)}"]
        )
        left = list(rows)
        for line in told[1:]:
            fits = next((row for row in left if not _differ(caption, line, row, columns)), None)
            if fits is not None:
                left.remove(fits)
            else:
                least = min(
                    (_differ(caption, line, row, columns) for row in left),
                    key=len,
                    default=["a row too many"],
                )
                wrong += least
        found.append(
            same(
                "proof.book-table",
                f"{PAGE}, {caption}",
                wrong,
                f"it says what {path} says",
                "cells",
            )
        )
    return found


def _differ(
    caption: str, line: Sequence[str], row: Row, columns: Sequence[tuple[int, str]]
) -> list[str]:
    wrong = []
    for at, name in columns:
        said, is_ = (line[at] if at < len(line) else ""), row[name]
        try:
            same_one = abs(float(said) - float(is_)) <= 0.0501 + 5e-4 * abs(float(is_)) * (
                caption != "panels"
            )
        except ValueError:
            same_one = said.split() == is_.split()
        if not same_one:
            wrong.append(f"{name} of {next(iter(row.values()))} is {said!r}, in the list {is_!r}")
    return wrong


def _caps(tree: Tree, book: Book) -> list[Verdict]:
    """The edges that get a cap: the open ones but the inlet's."""
    told = book.table("Which edges get a cap")
    if not told or "lists/panels.csv" not in tree:
        return []
    rows = {
        row["name"]: row
        for row in rows_of(tree, "lists/panels.csv", ("name", "open_edges", "inlet", "inlet_edge"))
    }
    wrong = []
    for name, caps, *_ in told[1:]:
        row = rows.get(name)
        free = (
            set(row["open_edges"].split()) - ({row["inlet_edge"]} if truth(row["inlet"]) else set())
            if row
            else set()
        )
        if row and not free <= set(re.findall(r"\d+", caps)):
            wrong.append(f"panel {name}: caps at {caps}, open edges are {row['open_edges']}")
    return [same("proof.book-caps", PAGE, wrong, "caps stand at the open edges", "panels")]
