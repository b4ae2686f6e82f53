"""Verdicts of checks as lines for a maker and as plain data."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import asdict
from typing import Any

from fab.checks.model import Verdict
from fab.cli.console import painted
from fab.params.quoting import number

_COLOURS = {"pass": "green", "warn": "yellow", "fail": "red"}
_ORDER = {"fail": 0, "warn": 1, "pass": 2}


def told(verdict: Verdict, *, allowed: bool = False) -> str:
    """One verdict on a few lines."""
    unit = f" {verdict.unit}" if verdict.unit else ""
    word = painted("allowed" if allowed else verdict.verdict, _COLOURS[verdict.verdict])
    lines = [f"{word}  {verdict.id}  {verdict.subject}: {verdict.says}"]
    if verdict.verdict != "pass":
        lines.append(
            f"      measured {_figure(verdict.measured)}{unit}, limit"
            f" {_figure(verdict.limit)}{unit}"
        )
        if verdict.remedy:
            lines.append(f"      {verdict.remedy}")
        if verdict.source:
            lines.append(f"      source: {verdict.source}")
    return "\n".join(lines)


def worst_first(verdicts: Iterable[Verdict]) -> list[Verdict]:
    """Fails, then warnings, then what passed, each in the order of the checks."""
    return sorted(verdicts, key=lambda verdict: _ORDER[verdict.verdict])


def counted(verdicts: Iterable[Verdict]) -> dict[str, int]:
    """The number of verdicts of each word."""
    words = [verdict.verdict for verdict in verdicts]
    return {word: words.count(word) for word in ("pass", "warn", "fail")}


def data(verdicts: Iterable[Verdict]) -> list[dict[str, Any]]:
    """Verdicts as plain data, in the order of the checks."""
    return [asdict(verdict) for verdict in verdicts]


def _figure(value: float) -> str:
    return number(round(value, 3)) if abs(value) < 1e15 else str(value)
