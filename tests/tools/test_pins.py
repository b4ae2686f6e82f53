"""The versions that README's commands install are ones that pyproject.toml allows, for all that it
names.
"""

from __future__ import annotations

import tomllib
from pathlib import Path

from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

ROOT = Path(__file__).parents[2]


def test_every_dependency_is_pinned_within_its_bounds() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    lines = (ROOT / ".ci" / "constraints.txt").read_text(encoding="utf-8").splitlines()
    pins = [Requirement(line) for line in lines if line and not line.startswith("#")]
    extras = project["optional-dependencies"].values()
    wanted = [*project["dependencies"], *(one for extra in extras for one in extra)]
    for asked in map(Requirement, wanted):
        name = canonicalize_name(asked.name)
        found = [pin for pin in pins if canonicalize_name(pin.name) == name]
        assert found, f"{asked.name} is not pinned: sh .ci/pin"
        for pin in found:
            (version,) = (one.version for one in pin.specifier)
            assert version in asked.specifier, f"{pin} is not within {asked}: sh .ci/pin"
