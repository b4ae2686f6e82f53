"""Output to the terminal: results on stdout, everything else on stderr."""

from __future__ import annotations

import json
import math
import os
import sys
from dataclasses import dataclass, field
from typing import Any, TextIO

import click

BAR = 24  # characters of the progress bar


@dataclass
class Console:
    """The talk of this run; made once, filled in by the options of the command."""

    quiet: bool = False
    verbose: int = 0
    json: bool = False
    _bar: int = field(default=0, repr=False)

    def tell(self, text: str = "") -> None:
        """A result."""
        click.echo(text, color=_colour())

    def say(self, text: str, level: int = 0) -> None:
        """Narration; level 1 needs -v."""
        if not self.quiet and self.verbose >= level:
            self.clear()
            click.echo(text, err=True, color=_colour())

    def tell_json(self, value: Any) -> None:
        """A result for a machine: one JSON document on stdout."""
        click.echo(json.dumps(_finite(value), indent=1, ensure_ascii=True))

    def progress(self, stage: str, share: float) -> None:
        """Progress of long work: a bar on a terminal; elsewhere nothing, or a line a stage with -v.

        A bar on a terminal; elsewhere nothing, or a line per stage with -v.
        """
        if self.quiet:
            return
        if not _is_terminal(sys.stderr):
            if self.verbose and share <= 0:
                click.echo(stage, err=True)
            return
        share = min(max(share if math.isfinite(share) else 0.0, 0.0), 1.0)
        done = round(share * BAR)
        row = f"[{'#' * done}{'.' * (BAR - done)}] {share:4.0%} {stage}"[:78]
        sys.stderr.write("\r" + row.ljust(self._bar))
        sys.stderr.flush()
        self._bar = len(row)

    def clear(self) -> None:
        """Take the bar off the terminal."""
        if self._bar:
            sys.stderr.write("\r" + " " * self._bar + "\r")
            sys.stderr.flush()
            self._bar = 0


def painted(text: str, colour: str) -> str:
    """Text in a colour, where the terminal wants colours."""
    return click.style(text, fg=colour, bold=True)


def soften_streams() -> None:
    """A console that knows few characters shows a question mark in place of ending the program."""
    for stream in (sys.stdout, sys.stderr):
        reconfigure = getattr(stream, "reconfigure", None)
        if reconfigure is not None:
            reconfigure(errors="replace")


def _is_terminal(stream: TextIO) -> bool:
    try:
        return stream.isatty()
    except ValueError:  # closed
        return False


def _colour() -> bool | None:
    """False where the maker wants none, None where click asks the stream. Source: no-color.org."""
    return False if os.environ.get("NO_COLOR") or os.environ.get("TERM") == "dumb" else None


def _finite(value: Any) -> Any:
    """The value with None for what JSON has no number for."""
    if isinstance(value, float) and not math.isfinite(value):
        return None
    if isinstance(value, dict):
        return {str(key): _finite(item) for key, item in value.items()}
    if isinstance(value, (list, tuple)):
        return [_finite(item) for item in value]
    return value
