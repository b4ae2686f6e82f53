"""The README as a package index shows it.

An index serves no files beside the text. With PANEJIG_PICTURES_AT set while the package is built,
the README's pictures stand there by their whole address; without it each is told in its words, so
that no page shows a broken picture.
"""

from __future__ import annotations

import os
import re
from pathlib import Path

from hatchling.metadata.plugin.interface import MetadataHookInterface

PICTURE = re.compile(r"!\[(?P<words>[^\]]*)\]\((?P<place>\.pictures/[^)]+)\)")


def for_index(text: str, address: str) -> str:
    """The README's text with its pictures at `address`, or in words where that is empty."""

    def picture(found: re.Match[str]) -> str:
        words, place = found["words"], found["place"]
        return f"![{words}]({address.rstrip('/')}/{place})" if address else f"*{words}.*"

    return PICTURE.sub(picture, text)


class ReadmeHook(MetadataHookInterface):
    """Puts the README into the package's metadata."""

    def update(self, metadata: dict[str, object]) -> None:
        text = Path(self.root, "README.md").read_text(encoding="utf-8")
        metadata["readme"] = {
            "content-type": "text/markdown",
            "text": for_index(text, os.environ.get("PANEJIG_PICTURES_AT", "")),
        }
