"""The last build, read from its manifest: whole or not, and summed up in a few lines."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

from fab.checks.model import Verdict
from fab.makerfiles import Standing, some_names
from fab.units import percent, some

LISTING, TOOL = "manifest.json", "panejig"
CHECKS = "checks"  # what can be asked for beside the kinds of output
KINDS = ("print", "model", "cut", "wall", "board", "lists", "book")  # also the folders of a build


@dataclass(frozen=True)
class Built:
    """A finished build, read from its folder."""

    folder: Path
    manifest: dict[str, Any]
    verdicts: tuple[Verdict, ...]
    summary: tuple[str, ...]
    made: tuple[str, ...] = ()  # products that had to be made; the others were kept from before
    damaged: int = 0  # entries of the store that were damaged and made again
    kept: tuple[str, ...] = ()  # what in the folder is the maker's


def entry(verdict: Verdict, allow: frozenset[str]) -> dict[str, Any]:
    """A verdict's line in the manifest; what has no finite figure has null."""
    figures = {
        name: value if math.isfinite(value) else None
        for name, value in (("measured", verdict.measured), ("limit", verdict.limit))
    }
    return (
        asdict(verdict) | figures | {"allowed": verdict.verdict == "fail" and verdict.id in allow}
    )


def _verdict(entry: dict[str, Any]) -> Verdict:
    values: dict[str, Any] = {name: value for name, value in entry.items() if name != "allowed"}
    finite: dict[str, Any] = {
        name: math.nan if value is None else value for name, value in values.items()
    }
    return Verdict(**finite)


def unchanged(there: Standing, key: str, wanted: Sequence[str], kept: Path) -> Built | None:
    """The build that is there, when it was made of the same values and kept nests by the same code,
    has these kinds, and every file of it is whole.
    """
    from fab.outputs.nestlock import digest, read_locks

    manifest = dict(there.listing)
    try:
        if manifest.get("build_sha256") != key or not set(wanted) <= set(manifest["kinds"]):
            return None
        locks = read_locks(kept)
        if any(digest(locks.get(name)) != found for name, found in manifest["nest_kept"].items()):
            return None
        if not all(
            file["path"] in there.ours
            for file in manifest["files"]
            if kind_of(file["path"]) in wanted
        ):
            return None
        verdicts = tuple(_verdict(one) for one in manifest["checks"])
    except (ValueError, KeyError, TypeError, AttributeError):
        return None
    says = ("Nothing changed.", *summary(there.folder, manifest, verdicts, there.told))
    return Built(there.folder, manifest, verdicts, says, kept=there.told)


def kind_of(path: str) -> str:
    """The kind of output that a file of a build is of."""
    return path.partition("/")[0]


@dataclass(frozen=True)
class Older:
    """Files of the last build that a build of some kinds leaves standing."""

    files: tuple[Mapping[str, Any], ...] = ()  # lines of the old manifest
    paths: tuple[str, ...] = ()  # those that are there as they were written
    kinds: tuple[str, ...] = ()  # kinds that are of the same values
    old: tuple[str, ...] = ()  # files that are not


def older(there: Standing, wanted: Sequence[str], made_of: str) -> Older:
    """Files of the kinds that are not built anew. `made_of`: what the new files are made of."""
    listing = there.listing
    standing = {*there.ours, *there.changed}
    files = [
        one
        for one in listing.get("files", ())
        if kind_of(one["path"]) not in wanted and one["path"] in standing
    ]
    same = set(listing.get("kinds", ())) if listing.get("made_of") == made_of else set()
    kinds = tuple(kind for kind in KINDS if kind in same and kind not in wanted)
    old = tuple(one["path"] for one in files if kind_of(one["path"]) not in kinds)
    paths = tuple(one["path"] for one in files if one["path"] in there.ours)
    return Older(tuple(files), paths, kinds, old)


def _bound(counts: Mapping[str, Any]) -> str:
    """The proven bound on the number of plates, in brackets."""
    least = counts.get("plates_least", 0)
    if not least:
        return ""
    proven = least == counts["plates"]
    return " (proven minimum)" if proven else f" (at least {least} needed)"


def summary(
    folder: Path, manifest: Mapping[str, Any], verdicts: Sequence[Verdict], kept: Sequence[str] = ()
) -> tuple[str, ...]:
    """The figures that a maker can act on, a line each. `kept`: the maker's files in the folder."""
    counts = manifest["counts"]
    bases = ", ".join(f"{count} {kind}" for kind, count in counts["bases"].items())
    lines = [
        ", ".join(
            some(counts[f"{one}s".replace(" ", "_")], one)
            for one in ("panel", "joint", "open edge", "inlet", "hanger")
        ),
        (
            f"Print: bases ({bases}), {some(counts['shells'], 'shell')},"
            f" {some(counts['clips'], 'clip')}, {some(counts['caps'], 'cap')} on"
            f" {some(counts['plates'], 'plate')}{_bound(counts)}"
        ),
    ]
    cut = "; ".join(
        f"{entry['sheet']}{' x ' + str(entry['times']) if entry['times'] > 1 else ''}"
        f" {entry['stock']} {percent(entry['utilisation'])}"
        f" used{', booked' * bool(entry.get('booked'))}"
        for entry in manifest["nest"]
    )
    lines.append(
        f"Cut: {some(counts['diffusers'], 'diffuser')} from {some(counts['sheets'], 'sheet')}"
        f" ({cut})"
    )
    passed = sum(1 for verdict in verdicts if verdict.verdict == "pass")
    lines.append(f"{passed} of {some(len(verdicts), 'check')} passed")
    if manifest.get("old"):
        lines.append(_old_says(manifest["old"]))
    if kept:
        lines.append(f"Kept files that do not belong to this build: {some_names(kept)}")
    lines.append(
        f"Start with {folder / 'book' / 'index.html'}"
        if any(e["role"] == "book" for e in manifest["files"])
        else f"Files are in {folder}"
    )
    return tuple(lines)


def _old_says(old: Sequence[str]) -> str:
    """A note on files of other values: they are of whole kinds."""
    counts = {kind: sum(kind_of(path) == kind for path in old) for kind in KINDS}
    kinds = ", ".join(f"{kind}/ ({some(count, 'file')})" for kind, count in counts.items() if count)
    return (
        f"Out of date: all files of {kinds} were made from other values. Build without --only to"
        " renew them."
    )
