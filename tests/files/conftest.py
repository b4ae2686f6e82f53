"""The drawing and the mesh that several formats are written from."""

import pytest

from fab.outlines.drawing import Drawing
from fab.solids.mesh import Mesh
from tests.files.samples import ring, sheet


@pytest.fixture
def drawing() -> Drawing:
    return sheet()


@pytest.fixture
def ring_mesh() -> Mesh:
    return ring()
