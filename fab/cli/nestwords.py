"""Words of `panejig nest`: whose rack, which shapes, how the nest is called."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Literal, cast
from unicodedata import normalize

from fab.cli.words import job_path, shop_path
from fab.errors import Fault, InputError, refused
from fab.params.placed import where
from fab.params.quoting import clean, short, show
from fab.params.read import Loaded, load
from fab.params.shop import Reading, Shop
from fab.params.shopfile import shop_file_of, shop_of

if TYPE_CHECKING:
    from fab.outputs.drawings import Brought, DrawingRequest
    from fab.sheets.model import Piece

UNITS = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": 25.4}
TURNS = ("quarter", "half", "none", "free")
OPERATIONS = ("cut", "mark", "engrave", "ignore")
MOST_COPIES = 100_000
_NAME = re.compile(r"[^\W_][\w-]{0,59}")  # letters and digits of any script


def rack_of(
    job: str | None, shop: str | None, sets: tuple[str, ...]
) -> tuple[Loaded | None, Shop, Path | None]:
    """The job, if any, whose rack it is, and the file of the rack: None for a shipped shop."""
    if job is not None:
        path = job_path(job)
        if shop is not None:
            raise refused(
                "cannot be used with a job: the job names its shop.", "Leave it out.", key="--shop"
            )
        loaded = load(path, sets)
        return loaded, loaded.job.shop, shop_file_of(path)
    if shop is None:
        raise refused(
            "there is neither a JOB nor --shop, so there is no sheet to cut from.",
            "Give --shop with a shop file, or a shipped one (`panejig presets`).",
        )
    words = [word for word in sets if not word.startswith("nest.seconds=")]
    path = shop_path(shop)
    return None, shop_of(path, sets=words), path if path == Path(shop) else None


@contextmanager
def told_with_places(loaded: Loaded | None, shop: str | None) -> Iterator[None]:
    """The faults of an InputError that comes up inside say in which file their values stand."""
    try:
        yield
    except InputError as error:
        faults = []
        for fault in error.faults:
            key = fault.key
            if fault.where or not key.startswith("shop."):
                faults.append(fault)
            elif loaded is not None:
                faults.append(replace(fault, where=where(loaded, key)))
            else:
                faults.append(
                    replace(fault, where=clean(shop or ""), key=key.removeprefix("shop."))
                )
        raise InputError(faults) from error


def shapes_of(words: Sequence[str], shop: Shop, usual: str) -> list[DrawingRequest]:
    """FILE=COUNT@STOCK, all faults at once.

    `usual`: the stock of shapes that name none; "": the only one of the shop.
    """
    from fab.outputs.drawings import DrawingRequest

    known = ", ".join(shop.stock) or "none"
    if not usual and len(shop.stock) == 1:
        usual = next(iter(shop.stock))
    faults: list[Fault] = []
    found: list[DrawingRequest] = []
    for given in words:
        where = f"--shape {clean(short(given))}"
        path, mark, tail = given.rpartition("=")
        many, at, stock = tail.partition("@")
        stock = stock if at else usual
        if not mark or not path or not many.strip().isdecimal():
            faults.append(
                Fault(
                    "",
                    "has no number of copies.",
                    "Write the file, =, and the number: plate.svg=3.",
                    where=where,
                )
            )
        elif not 1 <= int(many) <= MOST_COPIES:
            faults.append(
                Fault(
                    "",
                    f"{int(many):,} copies are out of range.",
                    f"Allowed: 1 to {MOST_COPIES:,}.",
                    where=where,
                )
            )
        elif not stock:
            works = f"Add @STOCK to it, or --stock. This shop has {known}."
            faults.append(
                Fault("", "names no stock, and the shop has several.", works, where=where)
            )
        elif stock not in shop.stock:
            faults.append(
                Fault("", f"{show(stock)} is an unknown stock.", f"It has {known}.", where=where)
            )
        else:
            found.append(DrawingRequest(Path(path), int(many), stock))
    if faults:
        raise InputError(faults)
    return found


def pieces_of(
    loaded: Loaded | None,
    shop: Shop,
    wanted: Sequence[DrawingRequest],
    turns: str,
    join_mm: float,
    unit_mm: float | None,
    layers: Sequence[str],
) -> tuple[Mapping[str, Sequence[Piece]], Brought]:
    """Stock to pieces: those of the job, then the shapes; and the shapes alone.

    `layers`: LAYER=OPERATION.
    """
    pieces: dict[str, list[Piece]] = {}
    if loaded is not None:
        from fab.decisions import outline
        from fab.outputs import cut
        from fab.workshop import refuse_unbuildable

        known = outline(loaded.job)
        refuse_unbuildable(known.plans)
        pieces = cut.pieces(known)
    if not 0 < join_mm <= 5:
        raise refused(
            f"{join_mm:g} mm is out of range.",
            "0.05 mm is usual, 5 mm is the maximum.",
            key="--join",
        )
    if not wanted and not pieces:
        raise refused("there is nothing to cut.", "Give a JOB, or --shape FILE=COUNT.")
    from fab.outputs.drawings import bring

    names = [piece.name for found in pieces.values() for piece in found]
    kind = cast(Literal["quarter", "half", "none", "free"], turns)
    brought = bring(
        wanted,
        names,
        turns=kind,
        join_mm=join_mm,
        unit_mm=unit_mm,
        reads=(*_readings(layers), *shop.laser.reads),
        laser=shop.laser,
    )
    for stock, more in brought.pieces.items():
        pieces.setdefault(stock, []).extend(more)
    return pieces, brought


def _readings(words: Sequence[str]) -> list[Reading]:
    """LAYER=OPERATION or #rrggbb=OPERATION, all faults at once."""
    faults, found = [], []
    for given in words:
        name, _, operation = given.rpartition("=")
        if not name or operation not in OPERATIONS:
            works = f"Write LAYER=OPERATION; OPERATION is one of: {', '.join(OPERATIONS)}."
            faults.append(
                Fault("", "cannot be read.", works, where=f"--layer {clean(short(given))}")
            )
        elif re.fullmatch("#[0-9a-fA-F]{6}", name):
            found.append(Reading(colour=name, operation=operation))
        else:
            found.append(Reading(layer=name, operation=operation))
    if faults:
        raise InputError(faults)
    return found


def title_of(name: str | None, loaded: Loaded | None, wanted: Sequence[DrawingRequest]) -> str:
    """Return the title of a nest: the name asked for, else the job's, else that of its drawings.

    Raises InputError where a folder can't have that name.
    """
    from fab.outputs.drawings import word

    name = normalize("NFC", name) if name is not None else None
    if name is not None and not _NAME.fullmatch(name):
        works = "Use letters and digits of any script, - and _, with a letter or digit first."
        raise refused(
            f"{show(name)} cannot be the name of a folder on every system.", works, key="--name"
        )
    return name or (loaded.job.job if loaded is not None else word(wanted[0].path.stem))
