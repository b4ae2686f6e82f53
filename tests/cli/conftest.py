"""A workshop that does nothing but remember what it was asked, for tests of the door alone."""

from __future__ import annotations

import sys
from dataclasses import dataclass, field
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest

import fab
from fab.built import Built
from fab.checks.model import Verdict
from fab.params.read import Loaded

GOOD = 'job = "t"\nshop = "metric-bench"\npanel = "hexagon-120"\nlayout.cells = [[0, 0]]\n'
PASS = Verdict("fit.cap", "pass", "cap", 0.2, 0.1, "mm", "The cap fits.")
WARN = Verdict(
    "light.evenness",
    "warn",
    "hexagon",
    0.5,
    0.45,
    "",
    "The face is a little uneven.",
    "Set panel.depth = 40.",
    "our own",
)
FAIL = Verdict(
    "print.wall-lines",
    "fail",
    "base",
    0.4,
    0.9,
    "mm",
    "The wall is too thin.",
    "Set panel.base.wall = 0.9.",
)


@dataclass
class Fake:
    """What the fake says, and what it was asked."""

    verdicts: tuple[Verdict, ...] = (PASS, WARN)
    raises: BaseException | None = None
    asked: list[dict[str, Any]] = field(default_factory=list)

    def build(self, loaded: Loaded, out: Path, **words: Any) -> Built:
        self.asked.append({"loaded": loaded, "out": out, **words})
        self._work(words["progress"])
        manifest = {"job": loaded.job.job, "counts": {"panels": 1}, "odd": float("nan")}
        return Built(
            out / loaded.job.job, manifest, self.verdicts, ("1 panel, 0 joints", "1 sheet")
        )

    def check(self, loaded: Loaded, **words: Any) -> tuple[Verdict, ...]:
        self.asked.append({"loaded": loaded, **words})
        self._work(words["progress"])
        return self.verdicts

    def _work(self, progress: Any) -> None:
        progress("layout", 0.0)
        progress("nest", 0.5)
        if self.raises is not None:
            raise self.raises


@pytest.fixture
def workshop(monkeypatch: pytest.MonkeyPatch) -> Fake:
    """Stands in for fab.workshop."""
    fake, module = Fake(), ModuleType("fab.workshop")
    module.build, module.check = fake.build, fake.check  # type: ignore[attr-defined]
    monkeypatch.delenv("PANEJIG_TRACE", raising=False)
    monkeypatch.setitem(sys.modules, "fab.workshop", module)
    monkeypatch.setattr(fab, "workshop", module, raising=False)
    return fake


@pytest.fixture
def job(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> str:
    """A good job in the working folder."""
    (tmp_path / "job.toml").write_text(GOOD)
    monkeypatch.chdir(tmp_path)
    return "job.toml"
