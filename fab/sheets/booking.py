"""Sheets taken from the rack and rests given back, written into the maker's own shop file.

Counts of used sheets and offcuts go down, usable rests come in as new offcuts; every comment and
blank line stays. The new text is proven before anybody writes it: the door reads it as the old shop
with exactly these changes, and no other line of it differs.
"""

from __future__ import annotations

import difflib
import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from fab.errors import Fault, InputError
from fab.params.files import read_bytes
from fab.params.quoting import clean
from fab.params.shop import Offcut, Shop
from fab.params.shopfile import shop_of
from fab.sheets.leftover import Rest, offcuts_toml
from fab.sheets.model import Layup
from fab.sheets.rack import offcut_sheet
from fab.units import fixed


@dataclass(frozen=True)
class Booking:
    """A change of the shop file that is ready to be written."""

    path: Path
    says: tuple[str, ...]  # before and after, a line each
    old: bytes
    new: bytes


def booking(path: Path, shop: Shop, layups: Sequence[Layup], rests: Sequence[Rest]) -> Booking:
    """Take what the layups use off the shop file at `path` and add the rests. Nothing is written.

    `shop` is the shop that the nest was made with: when its stock or offcuts are not those of the
    file (the job changes them), when a rest stands in the file already, or when the file can't be
    changed without loss, InputError says what to do by hand.
    """
    shown = clean(str(path))
    old, now = refuse_other(path, shop)
    twice = sorted({rest.offcut.name for rest in rests} & {offcut.name for offcut in now.offcut})
    if twice:
        says = f"offcut {twice[0]!r} is already in it: this nest was booked before."
        raise InputError(
            [
                Fault(
                    "offcut",
                    says,
                    "Leave --book out, or give another nest another --name.",
                    where=shown,
                )
            ]
        )
    wanted = _after(now, layups, rests)
    says_ = _says(now, wanted)
    bom = b"\xef\xbb\xbf" if old.startswith(b"\xef\xbb\xbf") else b""
    text = old.decode("utf-8-sig")
    by_hand = Fault(
        "",
        "cannot be changed without losing comments or layout.",
        "By hand: " + "; ".join(says_),
        where=shown,
    )
    try:
        changed, added = _rewritten(text, now, wanted, rests)
        new = bom + (changed + added).encode()
        if shop_of(path, new) != wanted or not _only_counts(text, changed, len(says_)):
            raise InputError([by_hand])
    except (InputError, ValueError, LookupError, TypeError, AttributeError):
        raise InputError([by_hand]) from None
    return Booking(path, says_, old, new)


def refuse_other(path: Path, shop: Shop) -> tuple[bytes, Shop]:
    """The file at `path` and the shop in it.

    Raises InputError when `shop` has other stock or offcuts.
    """
    shown = clean(str(path))
    old = read_bytes(path, shown)
    now = shop_of(path, old)
    if now.stock != shop.stock or now.offcut != shop.offcut:
        says = (
            "the job or --set changes sheets or offcuts of this shop, so its counts are not those"
            " that were used."
        )
        raise InputError(
            [
                Fault(
                    "",
                    says,
                    "Move them into the shop file, or book by hand from offcuts.toml.",
                    where=shown,
                )
            ]
        )
    return old, now


def _after(shop: Shop, layups: Sequence[Layup], rests: Sequence[Rest]) -> Shop:
    """The shop once these layups are cut."""
    whole = Counter(layup.sheet.name for layup in layups if not layup.sheet.offcut)
    stock = {
        name: replace(kind, count=kind.count - whole[name]) for name, kind in shop.stock.items()
    }
    offcuts = list(shop.offcut)
    for layup in layups:
        if layup.sheet.offcut:
            k = _index(shop, offcuts, layup)
            offcuts[k] = replace(offcuts[k], count=offcuts[k].count - 1)
    return replace(shop, stock=stock, offcut=(*offcuts, *(rest.offcut for rest in rests)))


def _index(shop: Shop, offcuts: Sequence[Offcut], layup: Layup) -> int:
    """Find the offcut of the shop that a layup lies on; of several alike the first that is left."""
    for k, offcut in enumerate(offcuts):
        if offcut.count > 0 and offcut.stock in shop.stock:
            own = offcut_sheet(shop.offcut[k], k, layup.sheet.stock, shop.stock[offcut.stock])
            if own == layup.sheet:
                return k
    raise InputError(
        [Fault("offcut", f"{layup.sheet.name!r} is not in the shop file.", "Book it by hand.")]
    )


def _says(before: Shop, after: Shop) -> tuple[str, ...]:
    rows = [
        f"stock.{name}.count: {kind.count} -> {after.stock[name].count}"
        for name, kind in before.stock.items()
        if kind.count != after.stock[name].count
    ]
    for k, (offcut, then) in enumerate(zip(before.offcut, after.offcut, strict=False)):
        if offcut.count != then.count:
            rows.append(f"offcut {offcut.name or k + 1!r}, count: {offcut.count} -> {then.count}")
    for offcut in after.offcut[len(before.offcut) :]:
        size = (
            f"{fixed(max(x for x, _ in offcut.outline), 1)} x"
            f" {fixed(max(y for _, y in offcut.outline), 1)} mm"
        )
        many = f"{offcut.count} x " if offcut.count > 1 else ""
        rows.append(f"new offcut {offcut.name!r}: {many}{size} of {offcut.stock}")
    return tuple(rows)


def _rewritten(text: str, before: Shop, after: Shop, rests: Sequence[Rest]) -> tuple[str, str]:
    """The text with its counts changed, and what comes behind it."""
    import tomlkit.items

    document: Any = tomlkit.parse(text)
    added: list[str] = []
    for name, kind in after.stock.items():
        if kind.count == before.stock[name].count:
            continue
        table = document.get("stock", {}).get(name)
        if table is None:  # it stands in a file below this one
            added.append(f"[stock.{name}]\ncount = {kind.count}\n")
        else:
            table["count"] = kind.count
    own = document.get("offcut")
    counted = [
        (k, offcut)
        for k, (was, offcut) in enumerate(zip(before.offcut, after.offcut, strict=False))
        if was.count != offcut.count
    ]
    new = [rest.offcut for rest in rests]
    if own is None:  # a list in this file takes the place of one below it: those go along
        new = [*after.offcut[: len(before.offcut)], *new] if counted or new else []
    else:
        for k, offcut in counted:
            own[k]["count"] = offcut.count
        if not isinstance(own, tomlkit.items.AoT):
            for offcut in new:
                own.append(_inline(offcut))
            new = []
    if new:
        added.append(offcuts_toml(new, ""))
    out, behind = str(tomlkit.dumps(document)), ""
    if added:
        out, behind = out.rstrip("\r\n"), "\n\n" + "\n".join(added)
    plain = text.replace("\r\n", "")
    windows = "\n" not in plain and plain != text
    return (
        (re.sub(r"\r?\n", "\r\n", out), re.sub(r"\r?\n", "\r\n", behind))
        if windows
        else (out, behind)
    )


def _inline(offcut: Offcut) -> Any:
    import tomlkit

    table = tomlkit.inline_table()
    table.update({"name": offcut.name, "stock": offcut.stock, "count": offcut.count})
    table["outline"] = [list(point) for point in offcut.outline]
    if offcut.holes:
        table["holes"] = [[list(point) for point in ring] for ring in offcut.holes]
    return table


def _only_counts(old: str, new: str, most: int) -> bool:
    """Check that at most `most` lines of the old text are gone, each of them a count or part of an
    offcut.
    """
    before, after = old.rstrip().splitlines(), new.rstrip().splitlines()
    in_place = [was for was, now in zip(before, after, strict=False) if was != now]
    changes = difflib.SequenceMatcher(None, before, after, False).get_opcodes()
    moved = [
        row
        for tag, a0, a1, _, _ in changes
        if tag in ("replace", "delete")
        for row in before[a0:a1]
    ]
    # a count that comes in moves what is below it; where none does, the matcher may take lines that
    # are alike for others
    gone = in_place if len(before) == len(after) else moved
    return len(gone) <= most and all(
        "count" in row or "offcut" in row or "stock" in row for row in gone if row.strip()
    )
