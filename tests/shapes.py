"""The shapes that a page's scripts expect (the `.d.ts` beside them), held against plain data.

Of TypeScript it reads what these files use: interfaces, fields, lists, tables.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

ROOT = Path(__file__).parents[1]
_INTERFACE = re.compile(
    r"^interface (?P<name>\w+)(?: extends Partial<(?P<part>\w+)>)? \{\n(?P<fields>.*?)^\}",
    re.MULTILINE | re.DOTALL,
)
_FIELD = re.compile(r"^  (?P<name>\w+)(?P<may>\??): (?P<kind>[^;]+);", re.MULTILINE)
_TABLE = re.compile(r"Record<string, (\w+)(?: \| undefined)?>")
_PLAIN = {"string": (str,), "number": (int, float), "boolean": (bool,)}


@dataclass
class Shapes:
    """Interfaces by name, each with its fields (kind, and whether it may be absent), and the fields
    that were seen in data.
    """

    known: Mapping[str, Mapping[str, tuple[str, bool]]]
    seen: set[tuple[str, str]] = field(default_factory=set)

    @classmethod
    def read(cls, place: str) -> Shapes:
        """The shapes of a file of the package."""
        known: dict[str, dict[str, tuple[str, bool]]] = {}
        for one in _INTERFACE.finditer((ROOT / place).read_text(encoding="utf-8")):
            part = known[one["part"]] if one["part"] else {}
            own = {f["name"]: (f["kind"], bool(f["may"])) for f in _FIELD.finditer(one["fields"])}
            known[one["name"]] = {name: (kind, True) for name, (kind, _) in part.items()} | own
        return cls(known)

    def faults(self, value: Any, kind: str, where: str = "") -> list[str]:
        """Where a value is not of a kind, in words."""
        where = where or kind
        if kind in _PLAIN:
            good = isinstance(value, _PLAIN[kind]) and isinstance(value, bool) == (
                kind == "boolean"
            )
            return [] if good else [f"{where}: {value!r} is no {kind}"]
        if kind.endswith("[]") and isinstance(value, list):
            return [
                fault
                for k, one in enumerate(value)
                for fault in self.faults(one, kind.removesuffix("[]"), f"{where}[{k}]")
            ]
        if not isinstance(value, dict):
            return [f"{where}: {str(value)[:40]} is no {kind}"]
        table = _TABLE.fullmatch(kind)
        fields = dict.fromkeys(value, (table[1], True)) if table else self.known[kind]
        found = [f"{where}: {name} is in no shape" for name in value if name not in fields]
        for name, (of, may) in fields.items():
            if name in value:
                self.seen.add((kind, name))
                found += self.faults(value[name], of, f"{where}.{name}")
            elif not may:
                found.append(f"{where}: {name} is missing")
        return found

    def unseen(self) -> list[str]:
        """Fields that no value had."""
        return [
            f"{kind}.{name}"
            for kind, fields in self.known.items()
            if any(of == kind for of, _ in self.seen)
            for name in fields
            if (kind, name) not in self.seen
        ]
