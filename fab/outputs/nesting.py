"""The folder of a nest: equal sheets once with their number, pictures, offcuts, a list, and
nest.json that tells all.

nest.json             every file with its hash; sheets, stocks, checks, notes
sheet-01_x12.dxf .svg the cut file, kerf in the paths, cut twelve times
picture-01.svg .png   what lies where, in which order it is cut, what is left
sheets.csv            parts, lengths and minutes, a line a sheet
offcuts.toml          the rests worth keeping, as entries for the shop file
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Collection, Sequence
from typing import Any

from fab import __version__
from fab.checks import cut as cut_checks
from fab.checks.model import Verdict
from fab.files.glyphs import lacking
from fab.files.pagepng import small_png
from fab.files.pagesvg import page_svg
from fab.files.table import csv_bytes
from fab.graph.program import versions
from fab.makerfiles import listing_bytes
from fab.outputs.cut import sheet_file
from fab.outputs.drawings import Brought
from fab.outputs.model import OutFile
from fab.outputs.nested import Kind, Nested, StockNest, bound_says
from fab.sheets.leftover import offcuts_toml
from fab.sheets.model import Layup
from fab.sheets.picture import sheet_picture
from fab.units import fixed

MARK = "panejig nest"  # in nest.json: a folder with it is ours to write again
_OF_PIECE = ("cut.radius", "cut.bridge")  # checks of one piece, wherever it lies
HEADER = (
    "sheet",
    "times",
    "stock",
    "of",
    "parts",
    "used_percent",
    "cut_m",
    "pierces",
    "travel_m",
    "minutes",
    "file",
)


def font_notes(title: str, nested: Nested) -> tuple[str, ...]:
    """The letters of the names that the pictures can't show."""
    names = "".join([title, *(piece.name for one in nested.stocks for piece in one.pieces)])
    if names.isascii() or not (without := lacking(names)):
        return ()
    few = ", ".join(without[:8]) + (", ..." if len(without) > 8 else "")
    return (f"The pictures' font has no letter {few}: the PNG shows a box.",)


def verdicts(
    nested: Nested, sheets: Sequence[Kind], brought: Collection[str]
) -> tuple[Verdict, ...]:
    """Verdicts on the sheets as they are laid out. `brought`: names of pieces out of a user's
    drawing. Their corners and bridges are as their maker wants them: he is told, not stopped.
    """
    found: dict[tuple[str, str], Verdict] = {}
    for kind in sheets:
        for one in cut_checks.checks(
            kind.stem, kind.layup, kind.stock.pieces, nested.laser, kind.stock.stock
        ):
            name = one.subject.removesuffix(f" on {kind.stem}") if one.id in _OF_PIECE else ""
            told = (
                dataclasses.replace(one, verdict="warn")
                if name in brought and one.verdict == "fail"
                else one
            )
            # of a piece once, on whichever sheets it lies
            found.setdefault((one.id, name or kind.name), told)
    return tuple(found.values())


def files(
    title: str,
    nested: Nested,
    sheets: Sequence[Kind],
    found: Sequence[Verdict],
    allow: Collection[str],
    brought: Brought,
) -> dict[str, bytes]:
    """Every file of the folder by its name, nest.json among them.

    `allow`: checks that may fail, as nest.json tells.
    """
    out: list[OutFile] = []
    for kind in sheets:
        out += sheet_file(f"{title} {kind.stem}", kind.stem, nested, kind)
        says = f"{title}, {kind.name}" + (f", {kind.times} times" if kind.times > 1 else "")
        page = sheet_picture(
            kind.layup, kind.plan, kind.stock.pieces, kind.stock.stock, kind.rests, says
        )
        stem = f"picture-{kind.name[6:]}"
        out.append(OutFile(f"{stem}.svg", "picture", page_svg(page), kind.name))
        out.append(OutFile(f"{stem}.png", "picture", small_png(page), kind.name))
    rests = [rest.offcut for kind in sheets for rest in kind.rests]
    out.append(OutFile("offcuts.toml", "list", offcuts_toml(rests).encode(), "offcuts"))
    out.append(
        OutFile("sheets.csv", "list", csv_bytes(HEADER, [_row(kind) for kind in sheets]), "sheets")
    )
    told = {
        "tool": MARK,
        "version": __version__,
        "libraries": list(versions()),
        "name": title,
        "files": [file.entry for file in out],
        "sheets": [_sheet(kind) for kind in sheets],
        "stocks": [_stock(one) for one in nested.stocks],
        "checks": [_verdict(verdict, allow) for verdict in found],
        "notes": [*brought.notes, *font_notes(title, nested)],
        "read": list(brought.read),
    }
    return {file.path: file.data for file in out} | {"nest.json": listing_bytes(told)}


def lines(nested: Nested, sheets: Sequence[Kind]) -> list[str]:
    """The figures that a maker can act on, a line each."""
    rows = []
    for kind in sheets:
        parts = ", ".join(f"{count} x {name}" for name, count in kind.layup.counts.items())
        what = (
            f"offcut {kind.layup.sheet.name}" if kind.layup.sheet.offcut else kind.layup.sheet.name
        )
        rows.append(
            f"{kind.stem}: {what}, {_size(kind.layup)}; {parts};"
            f" {fixed(100 * kind.layup.utilisation, 1)} % used; {_minutes(kind.plan.seconds)}"
        )
    rows += [
        f"{one.name}: {bound_says(one)}"
        + (", from the kept nest" if one.nest.kept and not one.booked else "")
        for one in nested.stocks
    ]
    rests = [f"{rest.offcut.name}" for kind in sheets for rest in kind.rests]
    rows.append(f"To keep: {', '.join(rests)}" if rests else "No offcut is large enough to keep.")
    return rows


def _size(layup: Layup) -> str:
    return f"{fixed(layup.sheet.width, 1)} x {fixed(layup.sheet.height, 1)} mm"


def _minutes(seconds: float) -> str:
    whole = int(seconds)
    return f"{whole // 60} min {whole % 60:02d} s each" if whole >= 60 else f"{whole} s each"


def _row(kind: Kind) -> tuple[Any, ...]:
    plan, sheet = kind.plan, kind.layup.sheet
    parts = "; ".join(f"{count} x {name}" for name, count in kind.layup.counts.items())
    return (
        kind.name,
        kind.times,
        kind.stock.name,
        sheet.name,
        parts,
        round(100 * kind.layup.utilisation, 1),
        round(plan.cut_mm / 1000, 3),
        plan.pierces,
        round(plan.travel_mm / 1000, 3),
        round(plan.seconds / 60, 2),
        f"{kind.stem}.dxf",
    )


def _sheet(kind: Kind) -> dict[str, Any]:
    plan, sheet = kind.plan, kind.layup.sheet
    return {
        "sheet": kind.name,
        "times": kind.times,
        "stock": kind.stock.name,
        "of": sheet.name,
        "offcut": sheet.offcut,
        "width": sheet.width,
        "height": sheet.height,
        "parts": dict(kind.layup.counts),
        "used_area": round(kind.layup.used_area, 3),
        "utilisation": round(kind.layup.utilisation, 6),
        "bound": kind.layup.bound,
        "cut_mm": round(plan.cut_mm, 1),
        "mark_mm": round(plan.mark_mm, 1),
        "travel_mm": round(plan.travel_mm, 1),
        "pierces": plan.pierces,
        "seconds": round(plan.seconds, 1),
        "over_freed": plan.over_freed,
        "poses": [
            {
                "part": item.piece,
                "copy": item.copy,
                "x": round(item.x, 6),
                "y": round(item.y, 6),
                "turn_deg": round(item.turn_deg, 6),
            }
            for item in kind.layup.placed
        ],
        "notes": list(plan.notes),
        "rests": [rest.offcut.name for rest in kind.rests],
    }


def _stock(one: StockNest) -> dict[str, Any]:
    nest = one.nest
    return {
        "stock": one.name,
        "parts": {piece.name: piece.count for piece in one.pieces},
        "gap_mm": one.gap_mm,
        "kerf_mm": one.stock.kerf,
        "sheets": len(nest.layups),
        "lower_bound_sheets": nest.lower_bound_sheets,
        "cost": nest.cost,
        "lower_bound_cost": nest.lower_bound_cost,
        "bound_by": nest.bound_by,
        "utilisation": round(nest.utilisation, 6),
        "engine": nest.engine,
        "kept": nest.kept,
        "booked": one.booked,
        "searched_seconds": nest.seconds,
        "inputs_sha256": nest.inputs_sha256,
    }


def _verdict(verdict: Verdict, allow: Collection[str]) -> dict[str, Any]:
    plain = dataclasses.asdict(verdict) | {
        "allowed": verdict.verdict == "fail" and verdict.id in allow
    }
    return {
        key: None if isinstance(value, float) and not math.isfinite(value) else value
        for key, value in plain.items()
    }
