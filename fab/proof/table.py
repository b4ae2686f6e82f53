"""Tables of a build: CSV files as rows of named cells, and what is said when one can't be read."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence

from fab.proof.job import JobValues, WallPanel
from fab.proof.tree import Tree, Unreadable

Row = dict[str, str]
MOST_PANELS = 50_000


def rows_of(tree: Tree, path: str, needs: Sequence[str] = ()) -> list[Row]:
    """The rows of a CSV file.

    Raises Unreadable when a column of `needs` is missing or a row is cut off.
    """
    try:
        rows = list(csv.DictReader(io.StringIO(tree.text(path)), strict=True))
    except csv.Error as error:
        raise Unreadable(path, f"is no table: {error}") from error
    there = set(rows[0]) if rows else set(needs)
    for column in needs:
        if column not in there:
            raise Unreadable(path, f"has no column {column!r}")
    for k, row in enumerate(rows, 2):
        if None in row or any(value is None for value in row.values()):
            raise Unreadable(path, f"line {k} has another number of cells than the head")
    return rows


def number(path: str, row: Row, column: str) -> float:
    """A cell as a number. Raises Unreadable."""
    try:
        return float(row[column])
    except ValueError as error:
        first = next(iter(row.values()))
        raise Unreadable(path, f"row {first}: {column} is {row[column]!r}, no number") from error


def panels_of(tree: Tree, job: JobValues) -> list[WallPanel]:
    """The panels of lists/panels.csv as placed. Raises Unreadable, also for two in one place."""
    path = "lists/panels.csv"
    found: list[WallPanel] = []
    taken: dict[tuple[int, int], str] = {}
    for row in rows_of(tree, path, ("name", "design", "x_mm", "y_mm", "turn_deg")):
        design = job.design(row["design"])
        x, y, turn = (number(path, row, column) for column in ("x_mm", "y_mm", "turn_deg"))
        other = taken.setdefault((round(x), round(y)), row["name"])
        if other != row["name"] or len(found) >= MOST_PANELS:
            why = (
                "has too many panels"
                if other == row["name"]
                else f"panels {other} and {row['name']} are in one place"
            )
            raise Unreadable(path, why)
        found.append(
            WallPanel(
                row["name"], row["design"], int(design.values["sides"]), design.apothem, x, y, turn
            )
        )
    return found


def truth(text: str) -> bool:
    """True for the words that a list uses for yes."""
    return text.strip().lower() in ("yes", "true", "1")
