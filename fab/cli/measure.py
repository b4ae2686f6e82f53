"""`panejig measure`: readings of a coupon, a print or a cut into the shop file."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from fab.cli.console import Console
from fab.cli.words import length_word, shipped, shop_path, talking
from fab.errors import refused
from fab.params.quoting import clean, show, show_key
from fab.params.shop import Shop
from fab.params.shopfile import shop_of
from fab.units import fixed, some

if TYPE_CHECKING:
    from fab.parts.coupons.reading import CouponValue

CLASSES = ("sliding", "location", "press", "seat", "snap")
TIMES = ("hours", "minutes")
KINDS = ("kerf", *CLASSES, "scale-x", "scale-y", "paper-x", "paper-y", *TIMES)


@click.command(context_settings={"ignore_unknown_options": True})  # a press step may be -05
@click.argument("shop", metavar="SHOP", shell_complete=shipped("shop"))
@click.argument("kind", type=click.Choice(KINDS), metavar="KIND")
@click.argument("readings", nargs=-1, required=True, metavar="READING...")
@click.option("--stock", default="", metavar="NAME", help="Stock that the kerf belongs to.")
@click.option(
    "--window",
    multiple=True,
    metavar="READING",
    help="Width of a window of the kerf coupon, measured from inside. Repeatable.",
)
@click.option(
    "--strips",
    type=click.IntRange(1, 1000),
    help="Number of strips in the stack, if it is not all of them.",
)
@click.option(
    "--resolution",
    default="0.02 mm",
    metavar="LENGTH",
    show_default=True,
    help="Resolution of the caliper.",
)
@click.option(
    "--write", is_flag=True, help="Write the value into the file. Without --write it is only shown."
)
@talking
@click.pass_obj
def measure(
    console: Console,
    /,
    *,
    shop: str,
    kind: str,
    readings: tuple[str, ...],
    stock: str,
    window: tuple[str, ...],
    strips: int | None,
    resolution: str,
    write: bool,
) -> None:
    """Turn READINGs of a coupon, a print or a cut into a value, and write it into the SHOP file
    with --write.

    \b
    kerf               the stack of strips, once or several times
    sliding, location,
    press, seat, snap  the number of the piece that fits: 25, or -05
    scale-x, scale-y   pairs: outside over two posts, inside between them
    paper-x, paper-y   the 100 mm bar of the template
    hours              a print's real over its calculated hours: 5:20/4.9
    minutes            a cut's real over its calculated minutes: 7:30/6.2

    Lengths are millimetres, or have a unit: '2.293 in'. Comments and layout of the file stay as
    they are.
    """
    path = shop_path(shop, write=write)
    current = shop_of(path)
    fine = length_word("--resolution", resolution)
    found = _measured(
        current, kind, readings, stock=stock, windows=window, strips=strips, resolution=fine
    )
    change = None
    if found.key is not None:
        from fab.params import writeback

        change = writeback.rewrite(path, found.key, found.value)
        if write and change.new != change.old:
            writeback.write(change)
    elif write:
        raise refused(
            f"no file has a key for {kind}: set it on the printer.",
            "Leave --write out.",
            key="--write",
        )
    doubts = [*found.doubts, *(_order(current, kind, found.value))]
    if console.json:
        console.tell_json(
            {
                "kind": kind,
                "what": found.what,
                "value": found.value,
                "plus_minus": found.plus_minus,
                "unit": found.unit,
                "says": found.says,
                "doubts": doubts,
                "file": str(path),
                "key": show_key(found.key) if found.key else None,
                "before": change.before if change else None,
                "after": change.after if change else None,
                "diff": change.diff if change else [],
                "written": write,
            }
        )
        return
    places = 5 if found.key is None else 3
    least = 10**-places  # never a bare 0
    console.tell(
        f"{found.what}: {fixed(found.value, places)} +-"
        f" {fixed(max(found.plus_minus, least), places)} {found.unit}"
    )
    for line in found.says:
        console.tell(f"  {line}")
    for line in doubts:
        console.tell(f"  Note: {line}")
    if change is None:
        return
    if change.new == change.old:
        console.tell(f"{show_key(change.key)} in {clean(str(path))} already has that value.")
        return
    console.tell(
        f"{show_key(change.key)} in {clean(str(path))}:{change.line}, {change.before} ->"
        f" {change.after}"
    )
    for line in change.diff:
        console.tell(f"  {line}")
    console.tell("Written." if write else "Nothing was written. Add --write to write it.")


def _measured(
    shop: Shop,
    kind: str,
    words: tuple[str, ...],
    *,
    stock: str,
    windows: tuple[str, ...],
    strips: int | None,
    resolution: float,
) -> CouponValue:
    from fab.parts.coupons import reading

    if kind != "kerf" and (stock or windows or strips):
        raise refused(
            f"cannot be used with {kind}.", "Leave it out.", key="--stock, --window, --strips"
        )
    if not resolution > 0:
        raise refused(
            f"{fixed(resolution)} mm is not a resolution of a caliper.",
            "0.02 mm is usual.",
            key="--resolution",
        )
    if kind in TIMES:
        from fab.parts.coupons import times

        machine = shop.printer if kind == "hours" else shop.laser
        return times.time_factor(kind, times.runs(kind, words), machine.time_factor)
    if kind in CLASSES:
        return reading.clearance(kind, [_step(word) for word in words])
    values = [length_word("reading", word) for word in words]
    axis = kind[-1]
    if kind == "kerf":
        from fab.parts.coupons.kerf import kerf_size

        name = _stock(shop, stock)
        size = kerf_size(shop.stock[name])
        inside = [length_word("--window", word) for word in windows]
        return reading.kerf(
            name,
            values,
            strips or size.strips,
            size.strip_mm,
            windows=inside,
            window_mm=size.window_mm,
            resolution=resolution,
        )
    if kind.startswith("scale"):
        from fab.parts.coupons.bed import bed_size

        if len(values) % 2:
            works = "Give pairs: outside inside, outside inside."
            raise refused(
                f"{some(len(values), 'reading')} cannot be read as pairs.", works, key="reading"
            )
        size_mm = getattr(bed_size(shop.printer), axis)
        return reading.scale(
            axis, list(zip(values[::2], values[1::2], strict=True)), size_mm, resolution
        )
    return reading.paper(axis, values, resolution)


def _stock(shop: Shop, name: str) -> str:
    known = ", ".join(shop.stock) or "none"
    if name and name not in shop.stock:
        raise refused(f"{show(name)} is an unknown stock.", f"It has {known}.", key="--stock")
    if not name and len(shop.stock) != 1:
        raise refused(
            "is missing: every stock has its own kerf.", f"This shop has {known}.", key="--stock"
        )
    return name or next(iter(shop.stock))


def _step(word: str) -> float:
    """The number on a piece, hundredths of a mm; a length with a point or a unit becomes one."""
    bare = word.strip().removeprefix("-")
    if bare.isdigit() and len(bare) < 4:
        return float(word)
    return length_word("step", word) * 100


def _order(shop: Shop, kind: str, value: float) -> list[str]:
    """Moving parts need more room than parts that stay, and those more than pressed ones."""
    if kind not in CLASSES:
        return []
    held = {name: getattr(shop.printer.clearance, name) for name in CLASSES} | {kind: value}
    out = []
    for loose, tight in (("sliding", "location"), ("location", "press")):
        if kind in (loose, tight) and held[loose] < held[tight]:
            values = (
                f"{loose} ({fixed(held[loose], 3)} mm) is now tighter than {tight}"
                f" ({fixed(held[tight], 3)} mm)"
            )
            out.append(f"{values}: measure both")
    return out
