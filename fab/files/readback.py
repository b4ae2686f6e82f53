"""Reading back: every file of a build is checked against its source, by other code.

Each `check_*` takes the bytes and gives a list of sentences, empty when all is well.
"""

from collections.abc import Sequence

from fab.errors import BrokenGeometry
from fab.files.readback_dxf import check_dxf
from fab.files.readback_mesh import check_3mf, check_stl
from fab.files.readback_pdf import check_pdf
from fab.files.readback_svg import check_svg

__all__ = ["check_3mf", "check_dxf", "check_pdf", "check_stl", "check_svg", "refuse"]


def refuse(path: str, problems: Sequence[str]) -> None:
    """Raise BrokenGeometry with the first three problems of a file; nothing when it has none."""
    if problems:
        raise BrokenGeometry(f"{path} does not read back as it was made: {'; '.join(problems[:3])}")
