"""Every error that may leave the program, as a short tree.

PanejigError
  InputError      the job, shop or panel file, or a word on the command line, is wrong   exit 2
  CheckFailed     the files read well, but a check says no                              exit 1
  BrokenGeometry  a contour or solid came out wrong: our fault, told with what was asked exit 1
  MissingKernel   the CAD kernel or one of its system libraries is not there             exit 2
  OutputError     the disk says no                                                       exit 2
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pathlib import Path


class PanejigError(Exception):
    """Base of all our errors; its text is written for a maker."""

    exit_code = 1


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing wrong with the input: what, why, what would work, and where."""

    key: str  # dotted key, may be empty
    says: str  # the value, why it can't be
    works: str = ""  # what would work
    # "job.toml:12" or "--set panel.depth=abc"; the reader fills in the line of a key
    where: str = field(default="", kw_only=True)

    def __str__(self) -> str:
        head = ": ".join(part for part in (self.where, self.key) if part)
        stop = "." if self.works and self.says[-1:] not in ".!?:;" else ""
        text = f"{self.says}{stop} {self.works}" if self.works else self.says
        return f"{head}: {text}" if head else text


class InputError(PanejigError):
    """The input can't be used; carries every fault found."""

    exit_code = 2

    def __init__(self, faults: Sequence[Fault] | str) -> None:
        self.faults: tuple[Fault, ...] = (
            (Fault("", faults),) if isinstance(faults, str) else tuple(faults)
        )
        self.sources: tuple[Path, ...] = ()  # the files that were read, where a job was
        super().__init__("\n".join(str(fault) for fault in self.faults))


def refused(says: str, works: str = "", *, where: str = "", key: str = "") -> InputError:
    """The error of a single fault; see `Fault`."""
    return InputError([Fault(key, says, works, where=where)])


class CheckFailed(PanejigError):
    """At least one check failed and was not allowed."""

    exit_code = 1


class BrokenGeometry(PanejigError):
    """A contour or a solid is not what was asked for."""

    exit_code = 1


class MissingKernel(PanejigError):
    """The CAD kernel can't be loaded."""

    exit_code = 2


class OutputError(PanejigError):
    """Files can't be written where they should go."""

    exit_code = 2
