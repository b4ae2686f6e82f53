"""The door for a shop file without a job: read, laid over its base, refused, frozen."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from fab.errors import InputError, refused
from fab.params.convert import Converter
from fab.params.files import read_bytes
from fab.params.job import Job
from fab.params.layers import File, Layers
from fab.params.overrides import with_sets
from fab.params.quoting import clean, short
from fab.params.shop import Shop
from fab.params.spec import specs
from fab.params.toml import parse
from fab.params.tree import Source, TableNode, Where, plain


def kind_of(path: Path) -> str:
    """ "job" for a file with keys of a job, else "shop": the two share none.

    Raises InputError when it is no TOML.
    """
    shown = clean(str(path))
    table = parse(read_bytes(path, shown), Source(shown, path.name))
    return "job" if table.items.keys() & specs(Job).keys() else "shop"


def shop_of(path: Path, data: bytes | None = None, sets: Sequence[str] = ()) -> Shop:
    """The shop in a file, or in bytes that are to stand there. Raises InputError with all faults.

    `sets`: words "shop.laser.part_gap=3", laid over the file in turn.
    """
    source = Source(clean(str(path)), clean(path.name))
    table = parse(read_bytes(path, source.shown) if data is None else data, source)
    if table.items.keys() & specs(Job).keys():
        raise refused("is a job file, not a shop.", _shop_named_in(table), where=source.shown)
    layers = Layers()
    whole = with_sets(TableNode({"shop": table}, Where(source, 1)), sets)
    if others := sorted(whole.items.keys() - {"shop"}):
        says = f"sets {clean(short(others[0]))}: a shop file does not have this key."
        works = "Use a key of the shop: --set shop.laser.part_gap=3."
        raise refused(says, works, where="--set")
    whole = layers.under_job(whole, File(path.absolute(), source))
    converter = Converter()
    job = converter.table(Job, whole, ())
    faults = [*layers.faults, *converter.faults]
    if faults:
        raise InputError(faults)
    shop: Shop = job.shop
    return shop


def shop_file_of(job: Path) -> Path | None:
    """The shop file that a job names; None when it takes a shipped shop, or has its own."""
    shown = clean(str(job))
    name = _shop_name(parse(read_bytes(job, shown), Source(shown, job.name)))
    return job.parent / name if name.endswith(".toml") else None


def _shop_name(table: TableNode) -> str:
    """The file or preset that a job takes its shop from, or ""."""
    named = plain(table).get("shop")
    if isinstance(named, dict):
        named = named.get("extends")
    return named if isinstance(named, str) else ""


def _shop_named_in(table: TableNode) -> str:
    named = _shop_name(table)
    if not named:
        return "Give the shop file: a job names it in `shop`."
    if named.endswith(".toml"):
        return f'Its shop is "{clean(named)}": give that file.'
    own = f'extends = "{clean(named)}"'
    return (
        f'Its shop is the shipped "{clean(named)}": make your own shop file that begins with {own}.'
    )
