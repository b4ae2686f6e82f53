"""Sheets to cut: pieces of the job, their nest per stock, DXF and SVG of every sheet and of each
single part.
"""

from __future__ import annotations

import math
import time
from collections.abc import Callable, Mapping, Sequence
from contextlib import nullcontext
from dataclasses import replace
from functools import lru_cache
from typing import Any

from fab.design import Design, Outlined
from fab.errors import BrokenGeometry, Fault, InputError, refused
from fab.files.dxf import dxf
from fab.files.readback import check_dxf, check_svg, refuse
from fab.files.svg import svg
from fab.outlines.contour import Outline
from fab.outlines.drawing import Drawing
from fab.outlines.strokes import strokes, width_mm
from fab.outputs.alike import dealt, one_shape
from fab.outputs.art import diffusers
from fab.outputs.model import OutFile
from fab.outputs.nested import Kind, Nested, Search, StockNest
from fab.outputs.nestlock import lock_bytes
from fab.params.shop import Laser, Shop
from fab.parts.plan import Plan
from fab.sheets.audit import audit
from fab.sheets.drawing import part_drawing, sheet_drawing
from fab.sheets.label import named
from fab.sheets.leftover import offcuts_toml
from fab.sheets.lock import booked, booked_as, inputs_sha256, lock, parts_sha256
from fab.sheets.model import Nest, Piece
from fab.sheets.nest import gap_of, nest, shortage
from fab.sheets.rack import rack
from fab.sheets.stopping import ctrl_c_asks

MARK_H = 3.0  # height of a part mark, mm


def pieces(design: Outlined) -> dict[str, list[Piece]]:
    """Stock to the pieces cut from it."""
    found: dict[str, list[Piece]] = {}
    for one in diffusers(design):
        plan = design.plans[one.design]
        params = plan.params.diffuser
        marks = one.marks(_mark(plan) if params.mark else ())
        found.setdefault(params.stock, []).append(
            Piece(one.item, one.outline(design), one.count, params.stock, "symmetry", marks)
        )
    if design.job.hang.jig:
        stock = design.job.hang.jig_stock or next(iter(design.plans.values())).params.diffuser.stock
        found.setdefault(stock, []).append(Piece("jig", _jig(design), 1, stock, "quarter"))
    return found


def _jig(design: Outlined) -> Outline:
    """Guide holes one panel apart, for those who drill without paper."""
    from fab.wall.jig import jig
    from fab.wall.places import places

    known = design.to_hang({})
    return jig(known.layout, places(known), known.wall)


def _mark(plan: Plan) -> tuple[tuple[tuple[float, float], ...], ...]:
    """Design and thickness at the lower edge, over the ledge where no light passes, as far as it is
    wide enough.
    """
    text = f"{plan.params.name} {plan.stock.thickness:g}"
    height = min(MARK_H, plan.params.shell.ledge - 0.4)
    if height < 1.0:
        return ()
    half, low = (
        width_mm(text, height) / 2,
        plan.rings.rebate_apothem - plan.rings.seat_gap - plan.params.shell.ledge + 0.2,
    )
    return tuple(
        tuple((low + y, half - x) for x, y in stroke) for stroke in strokes(text, height, "start")
    )


def nested(design: Outlined, search: Search | None = None) -> Nested:
    """The nest of a job, proven. Raises InputError when the rack is too small."""
    return nest_all(
        design.job.shop,
        pieces(design),
        search or Search(design.job.nest.seconds, title=design.job.job),
    )


def nest_all(shop: Shop, wanted: Mapping[str, Sequence[Piece]], search: Search) -> Nested:
    """The nest of any pieces, by stock, proven.

    Raises InputError when the rack is too small, for all stocks at once.
    """
    _refuse_shared(shop.laser)
    if shop.laser.part_names:
        wanted = {stock: [named(piece) for piece in found] for stock, found in wanted.items()}
    stocks: list[StockNest] = []
    short: list[Fault] = []
    share = search.seconds / max(len(wanted), 1)
    with ctrl_c_asks() if share > 0 else nullcontext(lambda: False) as stop:
        for name, found in sorted(wanted.items()):
            others = [other for other in wanted if other != name]
            one = _one_stock(shop, name, tuple(found), others, replace(search, seconds=share), stop)
            missing = shortage(one.nest, found, one.sheets)
            if missing:
                short.append(Fault(f"shop.stock.{name}.count", missing.removeprefix(f"{name}: ")))
            stocks.append(one)
        if short:
            raise InputError(short)
        return Nested(tuple(stocks), shop.laser, stop())


def _refuse_shared(laser: Laser) -> None:
    """Raises InputError for shared lines with tabs or lead-ins: a shared line is cut once, so it
    can have neither.
    """
    if not laser.common_line:
        return
    both = [
        key for key, value in (("tab", laser.tab), ("inlet_lead", laser.inlet_lead)) if value > 0
    ]
    if both:
        keys = " and ".join(f"shop.laser.{key}" for key in both)
        says = f"shared lines cannot be combined with {keys}: a shared line has no waste side."
        works = " and ".join(f"shop.laser.{key} = 0" for key in both)
        raise refused(says, f"Set {works}, or common_line = false.", key="shop.laser.common_line")


def _one_stock(
    shop: Shop,
    name: str,
    found: tuple[Piece, ...],
    others: Sequence[str],
    search: Search,
    stop: Callable[[], bool],
) -> StockNest:
    """The nest of one stock, and the proof that it can be cut; a kept nest that can't be is made
    again.
    """
    stock, (shapes, members) = shop.stock[name], one_shape(found)
    gap, began = gap_of(shop.laser, shapes), time.monotonic()
    parts = parts_sha256(search.title, shapes, gap, stock.kerf)
    before = booked_as(search.found, parts)
    sheets, locks, seconds = (
        rack(shop, name, apart=others) if before is None else before.sheets,
        search.found,
        search.seconds,
    )
    if before is not None:  # as it was cut: no search, and no sheets that came later
        wanted = [piece for piece in shapes if piece.count > 0]
        gap, seconds = before.gap_mm, 0.0
        locks = {**locks, inputs_sha256(wanted, sheets, gap, stock.kerf): before.lock}

    def laid(gap_mm: float) -> Nest:
        return nest(
            shapes,
            sheets,
            gap_mm=gap_mm,
            kerf_mm=stock.kerf,
            seconds=seconds,
            seed=search.seed,
            found=locks,
            stop=stop,
            progress=search.progress,
            shared_lines=shop.laser.common_line and gap_mm == 0.0,
        )

    result = laid(gap)
    # only rows bring edges to lie on each other exactly
    if gap < shop.laser.part_gap and result.engine != "rows":
        gap = shop.laser.part_gap
        result = laid(gap)
    if stop():  # a later run that asks for all of the time gets it
        # never 0: what was found in a moment is kept too
        spent = max(math.ceil((time.monotonic() - began) * 10), 1) / 10
        result = replace(result, seconds=min(result.seconds, spent))
    kept = lock(result) if result.seconds > 0 else None
    booking = booked(result, sheets, gap) if before is None else before.lock
    result = dealt(result, members, stock.kerf)
    wrong = audit(result, found, sheets, gap, stock.kerf)
    if wrong and search.found:
        return _one_stock(shop, name, found, others, replace(search, found={}), stop)
    if wrong:
        raise BrokenGeometry(f"the nest of {name} cannot be cut: {'; '.join(wrong[:3])}")
    return StockNest(
        name, stock, found, sheets, result, gap, kept, parts, booking, before is not None
    )


def files(design: Design, nested: Nested) -> list[OutFile]:
    """cut/*: sheets and single parts."""
    job = design.job.job
    sheets = [
        file
        for kind in nested.kinds(job)
        for file in sheet_file(f"{job} {kind.stem}", f"cut/{kind.stem}", nested, kind)
    ]
    return [*sheets, *_part_files(nested)]


def sheet_file(title: str, stem: str, nested: Nested, kind: Kind) -> list[OutFile]:
    """DXF and SVG of equal sheets, read back."""
    drawing = sheet_drawing(kind.layup, kind.plan, nested.laser, kind.stock.stock, title)
    made = _both(stem, drawing, nested.laser)
    count = sum(kind.layup.counts.values())
    return [OutFile(path, "cut-sheet", data, kind.stock.name, count) for path, data in made]


def _part_files(nested: Nested) -> list[OutFile]:
    out: list[OutFile] = []
    laser = nested.laser
    for one in nested.stocks:
        for piece in one.pieces:
            drawing = part_drawing(piece, laser, one.stock, piece.name)
            for path, data in _both(f"cut/{piece.name}", drawing, laser):
                out.append(OutFile(path, "cut-part", data, piece.name, piece.count))
    return out


@lru_cache(maxsize=256)
def _both(stem: str, drawing: Drawing, laser: Laser) -> tuple[tuple[str, bytes], ...]:
    """DXF and SVG of one drawing, each read back."""
    lines = dxf(drawing, version=laser.dxf, arcs=laser.arcs)  # type: ignore[arg-type]
    picture = svg(drawing, line_mm=laser.line_mm)
    refuse(f"{stem}.dxf", check_dxf(lines, drawing, arcs=laser.arcs))
    refuse(f"{stem}.svg", check_svg(picture, drawing))
    return (f"{stem}.dxf", lines), (f"{stem}.svg", picture)


def offcut_files(title: str, nested: Nested) -> list[OutFile]:
    """lists/offcuts.toml: the usable rests, as entries for the shop file; lists/job.nest.json: the
    kept nest, if there is one, beside lists/job.toml, so that whoever has the build alone makes the
    same sheets again.
    """
    found = [rest for kind in nested.kinds(title) for rest in kind.rests]
    rests = OutFile(
        "lists/offcuts.toml",
        "list",
        offcuts_toml([rest.offcut for rest in found]).encode(),
        "offcuts",
    )
    return [
        rests,
        *(
            [OutFile("lists/job.nest.json", "list", lock_bytes(nested.locks), "nest")]
            if nested.locks
            else []
        ),
    ]


def nest_lines(nested: Nested, title: str) -> list[dict[str, Any]]:
    """The nest in the manifest, a line for equal sheets; all figures are those of one sheet."""
    return [
        {
            "sheet": kind.name,
            "times": kind.times,
            "stock": kind.stock.name,
            "width": kind.layup.sheet.width,
            "height": kind.layup.sheet.height,
            "parts": sum(kind.layup.counts.values()),
            "used_area": round(kind.layup.used_area, 3),
            "utilisation": round(kind.layup.utilisation, 6),
            **({"booked": True} if kind.stock.booked else {}),
        }
        for kind in nested.kinds(title)
    ]
