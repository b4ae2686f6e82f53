"""A warm store never answers for other code: any changed line in any module makes every product
new.
"""

from __future__ import annotations

import json
import os
import random
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from fab.graph.program import source

ROOT = Path(__file__).parents[2]
SWEPT = 4
ASKED = """
import json, sys
from pathlib import Path
from fab import workshop
from fab.decisions import plans_of
from fab.graph.run import Run
from fab.graph.store import Store, default_folder
from fab.params.read import load
from fab.products import PartSpec, plain_base
from fab.recipe import checks

loaded = load(Path(sys.argv[1]))
run = Run(Store(default_folder()))
recipe = workshop.recipe_of(loaded, run, ())
parts = recipe.parts
parts.plans = plans_of(loaded.job)
shell = PartSpec("shell", "panel")
asked = [
    parts.body("panel", inlet=True, steps=0), parts.part(plain_base("panel")), parts.part(shell),
    parts.layers(shell), checks.on_bed(parts, shell), checks.light(parts, "panel"),
]
print(json.dumps([[one.key, run.store.has(one.key)] for one in asked]))
"""


class Copy:
    """The program elsewhere, with a store of its own that is taken to be warm."""

    def __init__(self, folder: Path) -> None:
        self.folder, self.store = folder, folder / "store"
        shutil.copytree(ROOT / "fab", folder / "fab", ignore=shutil.ignore_patterns("__pycache__"))
        shutil.copytree(ROOT / "params", folder / "params")

    def run(self, code: str, *words: str) -> subprocess.CompletedProcess[str]:
        env = os.environ | {
            "PYTHONPATH": str(self.folder),
            "PANEJIG_CACHE": str(self.store),
            "PYTHONDONTWRITEBYTECODE": "1",
        }
        return subprocess.run(
            [sys.executable, "-c", code, *words],
            check=False,
            capture_output=True,
            text=True,
            cwd=self.folder,
            env=env,
        )

    def products(self) -> list[tuple[str, bool]]:
        """Keys of some products, and whether the store has them."""
        done = self.run(ASKED, str(self.folder / "params" / "bedside-lamp.toml"))
        assert done.returncode == 0, done.stderr
        return [(key, there) for key, there in json.loads(done.stdout)]

    def warm(self) -> None:
        """Fill the store with what these products would be."""
        for key, _ in self.products():
            path = self.store / key[:2] / key[2:]
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_bytes(b"kept")


@pytest.fixture
def copy(tmp_path: Path) -> Copy:
    return Copy(tmp_path / "copy")


@pytest.mark.slow
def test_a_changed_line_in_every_fifth_module_changes_the_digest_of_the_program(copy: Copy) -> None:
    """In the default run: `test_other_code_makes_another_product`, on a small folder."""
    before = source(copy.folder / "fab")
    for path in sorted((copy.folder / "fab").rglob("*.py"))[::5]:
        was = path.read_bytes()
        path.write_bytes(was + b"# another line\n")
        assert source(copy.folder / "fab") != before, path
        path.write_bytes(was)
    assert source(copy.folder / "fab") == before


@pytest.mark.slow
def test_a_changed_line_in_a_module_makes_every_product_new(copy: Copy) -> None:
    dice = random.Random(20261129)
    copy.warm()
    assert all(there for _, there in copy.products())  # unchanged code is found again
    for path in dice.sample(sorted((copy.folder / "fab").rglob("*.py")), SWEPT):
        was = path.read_text()
        path.write_text(was + "\n# another line\n")
        assert not any(there for _, there in copy.products()), path
        path.write_text(was)
    assert all(there for _, there in copy.products())


CHECK = "import sys; from fab.cli.main import main; sys.exit(main(['check', sys.argv[1], '-q']))"


@pytest.mark.slow
@pytest.mark.kernel
def test_a_shell_that_is_shifted_by_5_mm_fails_with_a_warm_store_too(copy: Copy) -> None:
    """A store that was warm once let the shifted shell pass with 177 good checks; an empty one
    failed it.
    """
    job = str(copy.folder / "params" / "bedside-lamp.toml")
    assert copy.run(CHECK, job).returncode == 0
    path = copy.folder / "fab" / "products.py"
    text = path.read_text()
    assert text.count("moved(shell(plan), 0.0, 0.0, -plan.floor.shell_z)") == 1
    path.write_text(
        text.replace(
            "moved(shell(plan), 0.0, 0.0, -plan.floor.shell_z)",
            "moved(shell(plan), 5.0, 0.0, -plan.floor.shell_z)",
        )
    )
    shifted = copy.run(CHECK, job)
    assert shifted.returncode == 1
    assert "fit." in shifted.stdout + shifted.stderr
    path.write_text(text)
    assert copy.run(CHECK, job).returncode == 0
