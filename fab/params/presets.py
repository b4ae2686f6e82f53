"""The shops, panels and jobs that ship with the program.

They lie in the top-level folder `params/` of a checkout, and in `fab/presets` of an installed
wheel.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Literal

Kind = Literal["shop", "panel", "job"]
KINDS: tuple[Kind, ...] = ("shop", "panel", "job")
_FOLDERS: dict[Kind, str] = {"shop": "shops", "panel": "panels", "job": "."}


@dataclass(frozen=True)
class Preset:
    """One shipped file: its kind, its name, and the first line of comment that says what it is."""

    kind: Kind
    name: str
    path: Path
    says: str


@cache
def home() -> Path | None:
    """The folder with the presets, or None when an installation lost it."""
    package = Path(__file__).resolve().parents[1]
    for folder in (package / "presets", package.parent / "params"):
        if (folder / "shops").is_dir():
            return folder
    return None


def names(kind: Kind) -> list[str]:
    """Names of the presets of a kind, sorted."""
    folder = home()
    return sorted(path.stem for path in (folder / _FOLDERS[kind]).glob("*.toml")) if folder else []


def path_of(kind: Kind, name: str) -> Path | None:
    """The file of a preset, if there is one of that name."""
    folder = home()
    return folder / _FOLDERS[kind] / f"{name}.toml" if folder and name in names(kind) else None


def listed() -> list[Preset]:
    """Every preset, by kind and name."""
    found = []
    for kind in KINDS:
        for name in names(kind):
            path = path_of(kind, name)
            if path is not None:
                found.append(Preset(kind, name, path, _says(path)))
    return found


def schema_files() -> dict[str, bytes]:
    """The shipped JSON Schemas by file name."""
    folder = home()
    return (
        {path.name: path.read_bytes() for path in sorted((folder / "schema").glob("*.json"))}
        if folder
        else {}
    )


def _says(path: Path) -> str:
    for row in path.read_text(encoding="utf-8").splitlines():
        if row.startswith("# "):
            return row[2:].strip()
    return ""
