"""`panejig coupon`: test pieces of a shop, with a sheet that says what to measure."""

from __future__ import annotations

import hashlib
from pathlib import Path

import click

from fab.cli.console import Console
from fab.cli.words import force_word, job_path, sets_word, talking
from fab.errors import refused
from fab.params import presets
from fab.params.one_value import name_like
from fab.params.quoting import clean, show
from fab.params.shopfile import kind_of, shop_file_of, shop_of
from fab.units import fixed

# the folder's own list of files, and what it says it is of
LISTING = "coupons.json"
TOOL = "panejig coupon"
KINDS = ("kerf", "fit", "seat", "snap", "bed")
OWN_SHOP = "my-shop.toml"  # in command lines, when the shop is a shipped one that can't be written


@click.command()
@click.argument("word", metavar="JOB-or-SHOP")
@click.option(
    "--kind",
    "kinds",
    multiple=True,
    type=click.Choice(KINDS),
    help="Make only this coupon. Repeatable.",
)
@click.option(
    "--stock",
    "stocks",
    multiple=True,
    metavar="NAME",
    help="Make the kerf coupon for this stock only.",
)
@click.option(
    "--out", default="", metavar="DIR", help="Folder for the files. Default: out/coupons-NAME."
)
@sets_word
@force_word
@talking
@click.pass_obj
def coupon(
    console: Console,
    /,
    *,
    word: str,
    kinds: tuple[str, ...],
    stocks: tuple[str, ...],
    out: str,
    sets: tuple[str, ...],
    force: bool,
) -> None:
    """Make small test pieces to cut, print and measure, each with a sheet that says how.

    \b
    kerf   strips and windows, cut from each stock of the shop
    fit    pegs, laps and caps with numbered clearances
    seat   a square of the diffuser's sheet, for the openings of the fit coupon
    snap   the real clip, and pockets with numbered clearances
    bed    three posts on an L: the printer's scale

    A job gives its shop and its panel; a shop alone takes the usual hexagon of 120 mm. What you
    read goes back with `panejig measure`.
    """
    path, name, shipped = _path(word)
    panel = None
    if kind_of(path) == "shop":
        if sets:
            raise refused(
                "changes values of a job.", "Give a job, or change the shop file.", key="--set"
            )
        shop, own = shop_of(path), OWN_SHOP if shipped else word
    else:
        from fab.params.read import load

        job = load(path, sets).job
        shop, panel, name = job.shop, job.panel, job.job
        own = str(shop_file_of(path) or OWN_SHOP)
    for stock in stocks:
        if stock not in shop.stock:
            known = ", ".join(shop.stock) or "none"
            raise refused(f"{show(stock)} is an unknown stock.", f"It has {known}.", key="--stock")
    from fab.outputs import coupons  # heavy: brings the rooms in

    folder = Path(out) if out else Path("out") / f"coupons-{name}"
    wanted = [kind for kind in KINDS if not kinds or kind in kinds]
    found = []
    for place, kind in enumerate(wanted):
        console.progress(f"{kind} coupon", place / len(wanted))
        if kind == "kerf":
            found += coupons.kerf(shop, stocks or tuple(shop.stock), own)
        else:
            found.append(coupons.MAKERS[kind](shop, panel or coupons.usual_panel(shop), own))
    console.clear()
    _write(folder, {file.path: file.data for made in found for file in made.files}, force=force)
    if console.json:
        rows = [{"kind": made.kind, **file.entry} for made in found for file in made.files]
        use = {made.kind: vars(made.use) for made in found if made.use is not None}
        console.tell_json({"folder": str(folder), "files": rows, "use": use})
        return
    for made in found:
        if made.use is not None:
            console.tell(
                f"{made.name}: about {fixed(made.use.grams, 0)} g of filament,"
                f" {fixed(made.use.hours, 1)} h"
            )
        else:
            console.tell(f"{made.name}: cut by laser")
        console.tell("\n".join(f"  {clean(str(folder / file.path))}" for file in made.files))
    console.say(f"Start with the instructions: *-how.svg or *-how.txt in {clean(str(folder))}")
    if own == OWN_SHOP:
        console.say(
            f"{OWN_SHOP} in them stands for your own shop file; shipped shop files are never"
            " changed."
        )


def _path(word: str) -> tuple[Path, str, bool]:
    """The file, the name that its folder gets, and whether it is a shipped shop."""
    shipped = presets.path_of("shop", word)
    if shipped is not None and not Path(word).exists():
        return shipped, word, True
    path = job_path(word)
    return path, name_like(path.stem) or "shop", False


def _write(folder: Path, files: dict[str, bytes], *, force: bool) -> None:
    """Write the files of coupons, and beside them the hashes by which they are known as ours."""
    from fab.cli.writing import refuse_foreign, write_over
    from fab.makerfiles import listing_bytes, read_listing

    before = list(read_listing(folder / LISTING, TOOL).get("files", ()))
    now = [
        {"path": path, "sha256": hashlib.sha256(data).hexdigest()} for path, data in files.items()
    ]
    noted = {line["sha256"] for line in before}
    others = [line for line in before if line["path"] not in files]
    both = {folder / LISTING: listing_bytes({"tool": TOOL, "files": [*before, *now]})}
    after = {folder / LISTING: listing_bytes({"tool": TOOL, "files": [*others, *now]})}
    placed = {folder / path: data for path, data in files.items()}
    refuse_foreign([*placed, *both], force=force, noted=noted)
    for step in (both, placed, after):  # a stop between two of them leaves every file known
        write_over(step, force=force, noted=noted)
