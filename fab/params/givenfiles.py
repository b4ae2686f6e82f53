"""Drawings and tables that a job's values name, read at the door: a board that exists, art.

After it the job holds what stood in those files; nothing downstream opens one, and the hash of the
inputs covers them.
"""

from __future__ import annotations

from pathlib import Path

from fab.params.layers import File, Layers
from fab.params.merge import replaced
from fab.params.tree import Node, Source, TableNode, Tables


def with_given(job: TableNode, layers: Layers, top: File) -> TableNode:
    """The job's table with the contents of the files that its panels name.

    Their readers are loaded for a table that names files. Faults go to `layers`.
    """
    folders = {file.source: file.path.parent for file in layers.files}

    def folder_of(source: Source) -> Path:
        """A word of the command line names files as the job itself does."""
        return folders.get(source, top.path.parent)

    def with_art(owner: TableNode, path: tuple[str, ...]) -> TableNode:
        art = owner.items.get("art")
        if not isinstance(art, Tables):
            return owner
        from fab.params.artfile import ArtFiles

        filled = ArtFiles(folder_of, layers.faults, layers.others).all(art, (*path, "art"))
        return replaced(owner, "art", filled)

    def with_files(panel: Node, *path: str) -> Node:
        if not isinstance(panel, TableNode):
            return panel
        board = panel.items.get("board")
        if isinstance(board, TableNode) and {"file", "positions"} & board.items.keys():
            from fab.params.boardfile import BoardFiles

            panel = BoardFiles(folder_of, layers.faults, layers.others).panel(panel, board, path)
        return with_art(panel, path)

    job = with_art(job, ())
    if "panel" in job.items:
        job = replaced(job, "panel", with_files(job.items["panel"], "panel"))
    designs = job.items.get("designs")
    if isinstance(designs, TableNode):
        items = {name: with_files(node, "designs", name) for name, node in designs.items.items()}
        job = replaced(job, "designs", TableNode(items, designs.where))
    return job
