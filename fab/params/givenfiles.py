"""Drawings and tables that a job's values name, read at the door: a board that exists, art.

After it the job holds what stood in those files; nothing downstream opens one, and the hash of the
inputs covers them.
"""

from __future__ import annotations

from pathlib import Path

from fab.params.artfile import ArtFiles
from fab.params.boardfile import BoardFiles
from fab.params.layers import File, Layers
from fab.params.merge import replaced
from fab.params.tree import Source, TableNode


def with_given(job: TableNode, layers: Layers, top: File) -> TableNode:
    """The job's table with the contents of the files that its panels name.

    Faults go to `layers`.
    """
    folders = {file.source: file.path.parent for file in layers.files}

    def folder_of(source: Source) -> Path:
        """A word of the command line names files as the job itself does."""
        return folders.get(source, top.path.parent)

    boards = BoardFiles(folder_of, layers.faults, layers.others)
    art = ArtFiles(folder_of, layers.faults, layers.others)
    job = art.all(job, ())
    panel = job.items.get("panel")
    if isinstance(panel, TableNode):
        job = replaced(job, "panel", art.all(boards.panel(panel, ("panel",)), ("panel",)))
    designs = job.items.get("designs")
    if isinstance(designs, TableNode):
        items = {
            name: (
                art.all(boards.panel(node, ("designs", name)), ("designs", name))
                if isinstance(node, TableNode)
                else node
            )
            for name, node in designs.items.items()
        }
        job = replaced(job, "designs", TableNode(items, designs.where))
    return job
