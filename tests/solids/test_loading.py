"""How the CAD kernel is loaded."""

from __future__ import annotations

import subprocess
import sys

import pytest

from fab.solids.loading import _Later

LOADED = """
import sys
from fab.solids.loading import kernel
assert kernel() is sys.modules["cadquery"]
assert "casadi" not in sys.modules, "a solver was loaded"
import cadquery
solid = kernel().Solid.makeBox(1.0, 2.0, 3.0)
from cadquery import Workplane
assert isinstance(Workplane().box(1.0, 2.0, 3.0).val(), kernel().Solid)
assert cadquery is kernel() and cadquery.importers and cadquery.occ_impl and cadquery.__version__
assert "vtk" not in sys.modules, "the stand-in stayed"
import vtk
assert vtk.vtkSphereSource().GetRadius() == 0.5
from vtkmodules.vtkCommonCore import vtkVersion
print(vtk.vtkVersion is vtkVersion)
"""


@pytest.mark.slow
def test_the_kernel_loads_without_all_of_the_toolkit_and_whoever_wants_it_gets_it() -> None:
    """The radius is that of the toolkit's own documentation."""
    done = subprocess.run(
        [sys.executable, "-c", LOADED], capture_output=True, text=True, check=False
    )
    assert (done.returncode, done.stdout, done.stderr) == (0, "True\n", "")


def test_a_stand_in_becomes_the_module_when_something_of_it_is_asked_for() -> None:
    sys.modules.pop("colorsys", None)
    sys.modules["colorsys"] = later = _Later("colorsys")
    assert later.rgb_to_hls(1.0, 1.0, 1.0) == (0.0, 1.0, 0.0)
    assert sys.modules["colorsys"] is not later
    assert not hasattr(later, "__path__")


OUT = """
import sys
sys.argv[1:] = {words!r}
import cadquery  # as after a build
from fab.cli.main import script
script()
"""


@pytest.mark.slow
def test_the_command_leaves_with_its_words_and_its_code_and_leaves_the_kernel_as_it_is() -> None:
    """Through a pipe, where words wait in a buffer; other codes: tests/cli/test_startup.py."""
    done = subprocess.run(
        [sys.executable, "-c", OUT.format(words=["presets", "--json"])],
        capture_output=True,
        text=True,
        check=False,
    )
    assert (done.returncode, done.stderr) == (0, "")
    assert done.stdout.rstrip().endswith(("}", "]"))
