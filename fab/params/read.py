"""The door: a job file, the files under it and the words of the command line to one frozen job."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path

from fab.errors import Fault, InputError
from fab.params.coloured import coloured
from fab.params.convert import Changed, Converter
from fab.params.cross_checks import across
from fab.params.digest import inputs_sha256
from fab.params.givenfiles import with_given
from fab.params.job import Job
from fab.params.layers import File, Layers
from fab.params.merge import lifted
from fab.params.overrides import with_sets
from fab.params.quoting import clean
from fab.params.tree import Source, TableNode
from fab.units import some

MOST_FAULTS = 200


@dataclass(frozen=True)
class Loaded:
    """A job that was read and found good."""

    job: Job
    sources: tuple[Path, ...]  # every file that was read, the job first
    # over all values and the tool's version; comments and order of keys do not change it
    inputs_sha256: str
    changed: tuple[Changed, ...]  # what differs from the built-in defaults
    table: TableNode = field(repr=False)  # the merged files, each value with its place


def load(path: Path, sets: Sequence[str] = ()) -> Loaded:
    """Read, merge, refuse, convert and freeze a job.

    `sets` are words "panel.depth=40", laid over the file in turn. Raises InputError with all faults
    of all files.
    """
    layers = Layers()
    top = File(path.absolute(), Source(clean(str(path)), clean(path.name)))
    raw = layers.open(top)
    if raw is None:
        raise InputError(layers.faults)
    table = with_given(layers.under_job(with_sets(lifted(raw), sets), top), layers, top)
    converter = Converter()
    job = converter.job(table)
    faults = [*layers.faults, *converter.faults]
    faults += across(job, table, faults)
    sources = (*(file.path for file in layers.files), *layers.others)
    if faults:
        refused = InputError(_told(faults, layers.files))
        refused.sources = sources
        raise refused
    job = coloured(job)
    return Loaded(job, sources, inputs_sha256(job), tuple(converter.changed), table)


def _told(faults: list[Fault], files: list[File]) -> list[Fault]:
    """Faults by file and line, no repeats: two designs that extend one file share its faults."""
    order = {file.source.shown: place for place, file in enumerate(files)}

    def place(fault: Fault) -> tuple[int, int]:
        shown, _, line = fault.where.rpartition(":")
        return (
            (order[shown], int(line))
            if shown in order and line.isdigit()
            else (order.get(fault.where, len(order)), 0)
        )

    once = {
        (fault.where, fault.says, fault.key.rpartition(".")[2]): fault for fault in reversed(faults)
    }
    first_come = list(once.values())[::-1]
    told = sorted(first_come, key=place)
    if len(told) <= MOST_FAULTS:
        return told
    return [
        *told[:MOST_FAULTS],
        Fault("", f"... and {some(len(told) - MOST_FAULTS, 'more error')}."),
    ]
