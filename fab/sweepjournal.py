"""The journal of a sweep: a line a finished variant, on the disk before the next one is begun."""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

from fab.errors import OutputError


def finished(journal: Path, stamp: str) -> dict[str, dict[str, Any]]:
    """Finished rows by the key of their variant."""
    return {entry["key"]: entry["row"] for entry in _entries(journal) if entry.get("job") == stamp}


def written(journal: Path) -> set[str]:
    """Hashes of the tables that were written from this journal."""
    return {str(entry["wrote"]) for entry in _entries(journal) if "wrote" in entry}


def note_written(journal: Path, table: bytes) -> None:
    """Keep the hash of a table, so that it is known as ours when it is written again.

    Raises OutputError.
    """
    with appended(journal) as write:
        write(json.dumps({"wrote": hashlib.sha256(table).hexdigest()}) + "\n")


@contextlib.contextmanager
def appended(journal: Path) -> Iterator[Callable[[str], None]]:
    """Lines at the journal's end, each on the disk before the next; a half line is ended."""
    try:
        _refuse_strange(journal)
        journal.parent.mkdir(parents=True, exist_ok=True)
        file = journal.open("a+b", buffering=0)
    except OSError as error:
        raise _closed(journal, error) from error

    def write(line: str) -> None:
        try:
            file.write(line.encode())
            os.fsync(file.fileno())
        except OSError as error:
            raise _closed(journal, error) from error

    with file:
        if file.seek(0, os.SEEK_END) and file.seek(-1, os.SEEK_END) >= 0 and file.read(1) != b"\n":
            write("\n")
        yield write


def _entries(journal: Path) -> Iterator[dict[str, Any]]:
    """All whole lines of a journal; a half-written last line (a stop) is passed over."""
    if journal.is_file():
        for line in journal.read_text(encoding="utf-8", errors="replace").splitlines():
            with contextlib.suppress(ValueError):
                entry = json.loads(line)
                if isinstance(entry, dict):
                    yield entry


def _refuse_strange(journal: Path) -> None:
    """Raise OutputError for a file that is no journal of a sweep: lines would be put at its end."""
    if journal.is_file() and journal.stat().st_size:
        with journal.open("rb") as file:
            if file.read(9) in (b'{"job": "', b'{"wrote":'):
                return
    elif not os.path.lexists(journal) or journal.is_file():
        return
    raise OutputError(
        f"{journal} exists and is not the journal of a sweep. Choose another --table."
    )


def _closed(journal: Path, error: OSError) -> OutputError:
    return OutputError(
        f"{journal} cannot be written: {error.strerror or error}. Its contents are kept for the"
        " next run."
    )
