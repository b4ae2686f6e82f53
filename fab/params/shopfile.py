"""The door for a shop file alone, without a job around it: read, laid over what it extends, refused, frozen."""

from __future__ import annotations

from pathlib import Path

from fab.errors import Fault, InputError
from fab.params.convert import Converter
from fab.params.files import read_bytes
from fab.params.job import Job
from fab.params.layers import File, Layers
from fab.params.shop import Shop
from fab.params.showing import clean
from fab.params.spec import specs
from fab.params.toml import parse
from fab.params.tree import Source, Table, Where, plain

BELOW = {"extends"}  # may stand in a shop file beside its own keys


def kind_of(path: Path) -> str:
    """ "shop" for a file that has only a shop's keys, else "job". Raises InputError when it is no TOML at all."""
    shown = clean(str(path))
    table = parse(read_bytes(path, shown), Source(shown, path.name))
    return "shop" if table.items.keys() <= specs(Shop).keys() | BELOW else "job"


def shop_of(path: Path, data: bytes | None = None) -> Shop:
    """The shop in a file, or in bytes that are to stand there. Raises InputError with all faults."""
    source = Source(clean(str(path)), clean(path.name))
    table = parse(read_bytes(path, source.shown) if data is None else data, source)
    if {"layout", "job", "panel"} & table.items.keys() and not table.items.keys() <= specs(Shop).keys() | BELOW:
        raise InputError([Fault(source.shown, "", "is a job file, not a shop.", _shop_named_in(table))])
    layers = Layers()
    whole = layers.under_job(Table({"shop": table}, Where(source, 1)), File(path.absolute(), source))
    converter = Converter()
    job = converter.table(Job, whole, ())
    faults = [*layers.faults, *converter.faults]
    if faults:
        raise InputError(faults)
    shop: Shop = job.shop
    return shop


def _shop_named_in(table: Table) -> str:
    """Which file or preset a job takes its shop from."""
    named = plain(table).get("shop")
    if isinstance(named, dict):
        named = named.get("extends")
    if not isinstance(named, str):
        return "Give the shop file: a job names it in `shop`."
    return f'Its shop is "{clean(named)}": give that file' + (
        "." if named.endswith(".toml") else ", or a shop file of your own that extends it."
    )
