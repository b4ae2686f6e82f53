"""The program as a digest: other code, or another library, makes another product."""

from __future__ import annotations

import contextlib
import hashlib
from functools import lru_cache
from pathlib import Path

from fab import __version__

ENDINGS = {".py", ".css", ".js", ".json", ".ttf"}
INPUTS = "presets"  # values, not code: they are counted where they are used
LIBRARIES = (
    "cadquery",
    "cadquery-ocp",
    "cadquery_ocp",
    "ezdxf",
    "numpy",
    "pillow",
    "pypdfium2",
    "reportlab",
    "rl_accel",  # an extra of reportlab: where it is installed, pages have other bytes
    "scipy",
    "shapely",
    "svgwrite",
)


@lru_cache(maxsize=1)
def program() -> str:
    """Return the digest of version, source and the libraries whose results end in products."""
    words = [__version__, source(Path(__file__).parents[1]), *versions()]
    return hashlib.sha256("\n".join(words).encode()).hexdigest()


def source(root: Path) -> str:
    """Return the digest of every file of a package but the presets."""
    digest = hashlib.sha256()
    for path in sorted(path for path in root.rglob("*.*") if path.suffix in ENDINGS):
        name = path.relative_to(root)
        if name.parts[0] != INPUTS:
            digest.update(name.as_posix().encode() + hashlib.sha256(path.read_bytes()).digest())
    return digest.hexdigest()


def versions() -> list[str]:
    """Return name and version of each library that is installed."""
    from importlib import metadata

    found = []
    for name in LIBRARIES:
        with contextlib.suppress(metadata.PackageNotFoundError):
            found.append(f"{name} {metadata.version(name)}")
    return found
