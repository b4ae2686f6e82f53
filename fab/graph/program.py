"""The program as a digest: other code, or another library, makes another product."""

from __future__ import annotations

import contextlib
import hashlib
import os
import re
import sys
from functools import lru_cache
from pathlib import Path

from fab import __version__

ENDINGS = {".py", ".css", ".html", ".js", ".json", ".ttf"}
INPUTS = "presets"  # values, not code: they are counted where they are used
LIBRARIES = (
    "cadquery",
    "cadquery-ocp",
    "ezdxf",
    "fonttools",
    "highspy",
    "jinja2",
    "markupsafe",
    "numpy",
    "pillow",
    "pypdfium2",
    "reportlab",
    "rl-accel",  # an extra of reportlab: where it is installed, pages have other bytes
    "scipy",
    "shapely",
    "spyrrow",
    "svgwrite",
    "tomlkit",
)
# a folder that an installer leaves beside a library
_INSTALLED = re.compile(r"(?P<name>[^-]+)-(?P<version>[^-]+).*\.(?:dist|egg)-info")


@lru_cache(maxsize=1)
def program() -> str:
    """Return the digest of version, source and the libraries whose results end in products."""
    words = [__version__, source(Path(__file__).parents[1]), *versions()]
    return hashlib.sha256("\n".join(words).encode()).hexdigest()


def source(root: Path) -> str:
    """Return the digest of every file of a package but the presets."""
    digest = hashlib.sha256()
    for folder, inner, names in os.walk(root):
        inner.sort()
        within = Path(folder).relative_to(root)
        if within.parts[:1] == (INPUTS,):
            continue
        for name in sorted(names):
            if os.path.splitext(name)[1] in ENDINGS:
                with open(os.path.join(folder, name), "rb", buffering=0) as file:
                    data = file.read()
                digest.update(f"{within.as_posix()}/{name} {len(data)}\n".encode())
                digest.update(data)
    return digest.hexdigest()


def versions() -> list[str]:
    """Return name and version of each library that is installed.

    They stand in names of folders; to read what is in them takes ten times as long.
    """
    found: dict[str, str] = {}
    for folder in sys.path:
        with contextlib.suppress(OSError):
            for one in map(_INSTALLED.fullmatch, os.listdir(folder or ".")):
                if one is not None:
                    found.setdefault(re.sub(r"[_.]+", "-", one["name"]).lower(), one["version"])
    return [f"{name} {found[name]}" for name in LIBRARIES if name in found]
