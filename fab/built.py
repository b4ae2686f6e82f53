"""What a build left, as its manifest tells it: read back, found whole or not, and told in a few lines."""

from __future__ import annotations

import hashlib
import json
import math
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

from fab.checks.model import Verdict
from fab.units import some


@dataclass(frozen=True)
class Built:
    """What a build left."""

    folder: Path
    manifest: dict[str, Any]
    verdicts: tuple[Verdict, ...]
    summary: tuple[str, ...]
    made: tuple[str, ...] = ()  # products that had to be made; the others were kept from before
    damaged: int = 0  # entries of the store that were damaged and made again


def entry(verdict: Verdict, allow: frozenset[str]) -> dict[str, Any]:
    """A verdict's line in the manifest; what has no finite figure has null."""
    figures = {name: value if math.isfinite(value) else None for name, value in (("measured", verdict.measured), ("limit", verdict.limit))}
    return asdict(verdict) | figures | {"allowed": verdict.verdict == "fail" and verdict.id in allow}


def _verdict(entry: dict[str, Any]) -> Verdict:
    values: dict[str, Any] = {name: value for name, value in entry.items() if name != "allowed"}
    finite: dict[str, Any] = {name: math.nan if value is None else value for name, value in values.items()}
    return Verdict(**finite)


def unchanged(folder: Path, key: str, kept: Path) -> Built | None:
    """The build that is there, when it was made of the same values and kept nests by the same code and every file is
    whole."""
    from fab.outputs.nestlock import digest, read_locks

    try:
        manifest = json.loads((folder / "manifest.json").read_text(encoding="utf-8"))
        if manifest.get("build_sha256") != key:
            return None
        locks = read_locks(kept)
        if any(digest(locks.get(name)) != found for name, found in manifest["nest_kept"].items()):
            return None
        listed = {file["path"]: file["sha256"] for file in manifest["files"]}
        there = {path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_file()}
        if there != {*listed, "manifest.json"}:
            return None
        for path, written in listed.items():
            if hashlib.sha256((folder / path).read_bytes()).hexdigest() != written:
                return None
        verdicts = tuple(_verdict(one) for one in manifest["checks"])
    except (OSError, ValueError, KeyError, TypeError, AttributeError):
        return None
    return Built(folder, manifest, verdicts, ("Nothing changed.", *summary(folder, manifest, verdicts)))


def summary(folder: Path, manifest: dict[str, Any], verdicts: Sequence[Verdict]) -> tuple[str, ...]:
    """What a maker can act on, a line each."""
    counts = manifest["counts"]
    bases = ", ".join(f"{count} {kind}" for kind, count in counts["bases"].items())
    lines = [
        ", ".join(some(counts[f"{one}s".replace(" ", "_")], one) for one in ("panel", "joint", "open edge", "inlet", "hanger")),
        f"Print: bases ({bases}), {some(counts['shells'], 'shell')}, {some(counts['clips'], 'clip')}, "
        f"{some(counts['caps'], 'cap')} on {some(counts['plates'], 'plate')}",
    ]
    cut = "; ".join(
        f"{entry['sheet']} {entry['stock']} {entry['utilisation']:.0%} used{', booked' * bool(entry.get('booked'))}"
        for entry in manifest["nest"]
    )
    lines.append(f"Cut: {some(counts['diffusers'], 'diffuser')} from {some(counts['sheets'], 'sheet')} ({cut})")
    passed = sum(1 for verdict in verdicts if verdict.verdict == "pass")
    lines.append(f"{passed} of {len(verdicts)} checks passed")
    lines.append(f"Start with {folder / 'book' / 'index.html'}" if any(e["role"] == "book" for e in manifest["files"]) else f"Files are in {folder}")
    return tuple(lines)
