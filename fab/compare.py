"""Two builds side by side: changed values, and what that changed in files, counts and checks.

It answers "what must I print again when the wall gets 0.4 mm thicker". A job file is built into a
folder of its own that goes afterwards; a build folder is read as it is.
"""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from fab.errors import refused
from fab.files.document import Block, Chapter, Document, Facts, Para, Table
from fab.values import flat

MADE = ("print", "cut-part", "cut-sheet", "plate", "template", "board", "model")


@dataclass(frozen=True)
class Side:
    """One build as it was left."""

    name: str
    manifest: Mapping[str, Any]
    values: Mapping[str, Any]
    parts: tuple[Mapping[str, str], ...]

    def total(self, column: str) -> float:
        """Sum of a column of the parts list."""
        return sum(float(row[column]) for row in self.parts if row.get(column))


@dataclass(frozen=True)
class Again:
    """A file of the second build that is not as it was in the first."""

    role: str
    path: str
    part: str
    count: int
    why: str  # changed, new, or how the count moved


@dataclass(frozen=True)
class Difference:
    """Everything that is not the same."""

    a: str
    b: str
    values: tuple[tuple[str, str, str], ...]  # key, in a, in b
    figures: tuple[tuple[str, str, str], ...]  # what, in a, in b
    again: tuple[Again, ...]
    gone: tuple[tuple[str, str], ...]  # role, file of a
    same: int  # files of the made kinds that are byte for byte the same
    checks: tuple[tuple[str, str, str, str], ...]  # id, subject, in a, in b

    @property
    def turned(self) -> tuple[tuple[str, str, str, str], ...]:
        """Checks whose verdict is another one now; of the rest only the figures moved."""
        return tuple(row for row in self.checks if row[2].split(" ")[0] != row[3].split(" ")[0])

    @property
    def empty(self) -> bool:
        """True when nothing differs: no value, figure, part or verdict."""
        return not (self.values or self.figures or self.again or self.gone or self.checks)


def read_side(folder: Path, name: str = "") -> Side:
    """A build folder, lists included; told under `name`, or its folder's."""
    try:
        manifest = json.loads((folder / "manifest.json").read_text(encoding="utf-8"))
        values = json.loads((folder / "lists" / "values.json").read_text(encoding="utf-8"))
        text = (folder / "lists" / "parts.csv").read_text(encoding="utf-8")
    except (OSError, ValueError) as error:
        raise refused(
            "is not a build with lists.", "Build the job first.", where=str(folder)
        ) from error
    return Side(name or folder.name, manifest, values, tuple(csv.DictReader(io.StringIO(text))))


def difference(a: Side, b: Side) -> Difference:
    """Everything that changed from `a` to `b`."""
    one, two = flat(a.values), flat(b.values)
    keys = [
        key for key in [*two, *(k for k in one if k not in two)] if one.get(key) != two.get(key)
    ]
    values = tuple((key, _shown(one.get(key)), _shown(two.get(key))) for key in keys)
    before, after = _by_part(a.manifest), _by_part(b.manifest)
    again = []
    for key, entry in after.items():
        old = before.get(key)
        if old is None:
            why = "new"
        elif old["sha256"] != entry["sha256"]:
            why = (
                "changed"
                if old["count"] == entry["count"]
                else f"changed, {old['count']} before, {entry['count']} now"
            )
        elif old["count"] != entry["count"]:
            why = f"same part, count {old['count']} before, {entry['count']} now"
        else:
            continue
        again.append(Again(entry["role"], entry["path"], entry["part"], entry["count"], why))
    gone = tuple(
        (entry["role"], entry["path"]) for key, entry in before.items() if key not in after
    )
    same = sum(
        1
        for key, entry in after.items()
        if key in before and before[key]["sha256"] == entry["sha256"]
    )
    return Difference(
        a.name,
        b.name,
        values,
        _figures(a, b),
        tuple(again),
        gone,
        same,
        _checks(a.manifest, b.manifest),
    )


def _by_part(manifest: Mapping[str, Any]) -> dict[tuple[str, str, str], Mapping[str, Any]]:
    """Files made of material under role, part and ending: a count in a name is no other part."""
    return {
        (entry["role"], entry["part"], _stem(entry["path"])): entry
        for entry in manifest["files"]
        if entry["role"] in MADE
    }


def _stem(path: str) -> str:
    head, _, tail = path.rpartition("_x")
    return f"{head}.{tail.split('.')[-1]}" if head and tail.split(".")[0].isdigit() else path


def _figures(a: Side, b: Side) -> tuple[tuple[str, str, str], ...]:
    rows = []
    for name in dict.fromkeys([*a.manifest["counts"], *b.manifest["counts"]]):
        one, two = a.manifest["counts"].get(name), b.manifest["counts"].get(name)
        if one != two:
            rows.append((name, _shown(one), _shown(two)))
    for name, column, unit in (
        ("printed and cut", "total_g", "g"),
        ("printing", "total_hours", "h"),
        ("material", "cost", ""),
    ):
        first, second = a.total(column), b.total(column)
        if abs(first - second) > 0.005:
            rows.append(
                (
                    name,
                    f"{first:.2f} {unit}".strip(),
                    f"{second:.2f} {unit} ({second - first:+.2f})".strip(),
                )
            )
    return tuple(rows)


def _checks(a: Mapping[str, Any], b: Mapping[str, Any]) -> tuple[tuple[str, str, str, str], ...]:
    def of(manifest: Mapping[str, Any]) -> dict[tuple[str, str], Mapping[str, Any]]:
        return {(check["id"], check["subject"]): check for check in manifest["checks"]}

    one, two = of(a), of(b)
    rows = []
    for key in sorted({*one, *two}):
        first, second = one.get(key), two.get(key)
        words = [
            (
                f"{check['verdict']} ({_shown(check['measured'])} {check['unit']})".replace(
                    " )", ")"
                )
                if check
                else "not asked"
            )
            for check in (first, second)
        ]
        if words[0] != words[1]:
            rows.append((*key, words[0], words[1]))
    return tuple(rows)


def _shown(value: Any) -> str:
    if isinstance(value, float):
        return f"{value:.3g}"
    text = "-" if value is None else str(value)
    return text if len(text) <= 80 else text[:77] + "..."


TO_DO = (
    ("print", "Print again"),
    ("cut-part", "Cut again"),
    ("board", "Order again"),
    ("template", "Print on paper again"),
)
FOLLOW = (("cut-sheet", "sheet files"), ("plate", "plates"), ("model", "models"))


def to_do(found: Difference) -> tuple[tuple[str, str], ...]:
    """The work that the change asks of people, part by part: what to do, and with what."""
    rows = []
    for role, words in TO_DO:
        parts = {one.part: one for one in found.again if one.role == role}
        if role in ("print", "cut-part"):
            listed = [
                f"{one.count} x {part}" + ("" if one.why == "changed" else f" ({one.why})")
                for part, one in parts.items()
            ]
        else:
            listed = list(parts)
        if listed:
            rows.append((words, ", ".join(listed)))
    follow = [
        f"{count} {words}"
        for role, words in FOLLOW
        if (count := sum(1 for one in found.again if one.role == role))
    ]
    if follow:
        rows.append(("Files that change as a result", ", ".join(follow)))
    if found.gone:
        rows.append(("No longer needed", ", ".join(path for _, path in found.gone)))
    rows.append(("Unchanged", f"Files of prints, cuts and templates: {found.same}"))
    return tuple(rows)


def told(found: Difference) -> str:
    """The difference as text."""
    if found.empty:
        return (
            f"{found.a} and {found.b} are the same: no difference in values, files, counts or"
            " checks."
        )
    lines = [f"From {found.a} to {found.b}:"]
    for head, rows in (
        ("Values", [f"{key}: {one} -> {two}" for key, one, two in found.values]),
        ("Figures", [f"{key}: {one} -> {two}" for key, one, two in found.figures]),
        ("What to do", [f"{what}: {listed}" for what, listed in to_do(found)]),
        (
            "Checks",
            [f"{name} ({subject}): {one} -> {two}" for name, subject, one, two in found.turned],
        ),
    ):
        if rows:
            lines += [f"{head}:", *(f"  {row}" for row in rows)]
    if rest := len(found.checks) - len(found.turned):
        lines.append(
            f"Checks with other figures and the same verdict: {rest}; --page and --json list them."
        )
    return "\n".join(lines)


def document(found: Difference, a: Side, b: Side, pictures: tuple[Block, ...] = ()) -> Document:
    """The difference as a page of its own, in the book's form."""
    summary: list[Block] = [
        Facts(
            (
                ("Values changed", str(len(found.values))),
                ("Files changed", str(len(found.again))),
                ("Files unchanged", str(found.same)),
                ("Verdicts changed", str(len(found.turned))),
            )
        )
    ]
    if found.empty:
        summary.append(Para("Nothing differs."))
    else:
        summary.append(Table("What the change requires", ("what to do", "with what"), to_do(found)))
    summary += pictures
    chapters = [Chapter("At a glance", "glance", tuple(summary))]
    for title, anchor, header, rows in (
        ("Values", "values", ("key", found.a, found.b), found.values),
        ("Figures", "figures", ("what", found.a, found.b), found.figures),
        (
            "Files that changed",
            "again",
            ("file", "kind", "why"),
            tuple((one.path, one.role, one.why) for one in found.again),
        ),
        ("No longer needed", "gone", ("kind", "file"), found.gone),
        ("Checks", "checks", ("check", "of", found.a, found.b), found.checks),
    ):
        if rows:
            chapters.append(Chapter(title, anchor, (Table(title, header, rows),)))
    title = f"{a.name} and {b.name} compared"
    return Document(
        title, "What changed, and what must be made again", tuple(chapters), f"{found.a}-{found.b}"
    )
