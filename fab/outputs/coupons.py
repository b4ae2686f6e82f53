"""Coupons as files: STL and a filled plate for the printed ones, DXF and SVG for the cut ones, a
sheet with each.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from fab.files.dxf import dxf
from fab.files.pagesvg import page_svg
from fab.files.readback import check_3mf, check_dxf, check_stl, check_svg, refuse
from fab.files.stl import stl
from fab.files.svg import svg
from fab.files.threemf import Item3mf, Object3mf, threemf
from fab.outlines.drawing import Drawing
from fab.outputs.model import OutFile
from fab.params.panel import PanelParams
from fab.params.shop import Shop
from fab.parts.coupons import howpage, howto, pictures
from fab.parts.coupons.bed import bed_coupon, bed_size
from fab.parts.coupons.fit import fit_coupons
from fab.parts.coupons.kerf import kerf_coupon, kerf_size
from fab.parts.coupons.model import FlatCoupon, PrintedCoupon
from fab.parts.coupons.seat import seat_openings, seat_square
from fab.parts.coupons.snap import snap_coupons
from fab.parts.plan import Plan
from fab.parts.planning import plan
from fab.prints.layercount import layer_count
from fab.prints.mass import PrintUse, printed, total
from fab.prints.model import Item
from fab.prints.plates import plates
from fab.sheets.cut import cut_plan
from fab.sheets.drawing import sheet_drawing
from fab.sheets.model import Layup, Piece, Placed, Sheet
from fab.solids import kernel
from fab.solids.meshing import mesh

SHEET_MARGIN = 5.0  # of a coupon's page: nothing lies on a file's edge
PICTURE_H = 52.0


@dataclass(frozen=True)
class CouponFiles:
    """The files of one kind of coupon, and the material and time of the printed ones."""

    kind: str
    name: str  # "fit", "kerf-opal-3"
    files: tuple[OutFile, ...]
    use: PrintUse | None = None  # None for a coupon that is cut


def usual_panel(shop: Shop) -> PanelParams:
    """The panel that coupons are made for when no job says which: a hexagon of 120 mm with the
    shop's first stock.
    """
    usual = PanelParams(across_flats=120.0)
    return replace(
        usual, diffuser=replace(usual.diffuser, stock=next(iter(shop.stock), usual.diffuser.stock))
    )


def kerf(shop: Shop, stocks: Sequence[str], word: str) -> list[CouponFiles]:
    """One coupon a stock; loads no kernel."""
    out = []
    for name in stocks:
        coupon, size = kerf_coupon(name, shop.stock[name], shop.laser), kerf_size(shop.stock[name])
        wide = howpage.WIDE - 2 * howpage.EDGE
        shown = pictures.flat_picture(coupon, size, wide)
        sheet = howto.kerf_howto(name, size, word, shop.units)
        out.append(
            CouponFiles(
                "kerf",
                coupon.name,
                (
                    *_cut(coupon, shop),
                    *_sheet(coupon.name, sheet, [("as cut; right: measured", *shown)]),
                ),
            )
        )
    return out


def fit(shop: Shop, panel: PanelParams, word: str) -> CouponFiles:
    """Pegs, laps and caps."""
    made = plan(panel, shop)
    pieces = fit_coupons(made)
    shown = pictures.fit_pictures(made, {piece.name: piece for piece in pieces})
    return _printed("fit", made, shop, pieces, sheet=howto.fit_howto(word), shown=shown)


def seat(shop: Shop, panel: PanelParams, word: str) -> CouponFiles:
    """The openings, and a square of the panel's own sheet."""
    made = plan(panel, shop)
    square, openings = seat_square(made), seat_openings(made)
    shown = pictures.seat_pictures(made, openings, square)
    sheet = howto.seat_howto(square.stock, square.width, word, shop.units)
    found = _printed("seat", made, shop, [openings], sheet=sheet, shown=shown)
    return CouponFiles("seat", "seat", (*_cut(square, shop), *found.files), found.use)


def snap(shop: Shop, panel: PanelParams, word: str) -> CouponFiles:
    """Clip and pockets."""
    made = plan(panel, shop)
    pieces = snap_coupons(made)
    shown = pictures.snap_pictures(made, {piece.name: piece for piece in pieces})
    return _printed("snap", made, shop, pieces, sheet=howto.snap_howto(word), shown=shown)


def bed(shop: Shop, panel: PanelParams, word: str) -> CouponFiles:
    """The L with three posts."""
    size, piece = bed_size(shop.printer), bed_coupon(shop.printer)
    shown = pictures.bed_picture(piece, size, 150.0)
    found = _printed(
        "bed",
        plan(panel, shop),
        shop,
        [piece],
        sheet=howto.bed_howto(size, word, shop.units),
        shown=[],
    )
    sheet = _sheet("bed", howto.bed_howto(size, word, shop.units), [("seen from above", *shown)])
    return CouponFiles(
        "bed", "bed", (*(file for file in found.files if file.role != "book"), *sheet), found.use
    )


MAKERS: dict[str, Callable[[Shop, PanelParams, str], CouponFiles]] = {
    "fit": fit,
    "seat": seat,
    "snap": snap,
    "bed": bed,
}


def _printed(
    kind: str,
    made: Plan,
    shop: Shop,
    pieces: Sequence[PrintedCoupon],
    *,
    sheet: howto.HowTo,
    shown: Sequence[tuple[str, list[kernel.Solid]]],
) -> CouponFiles:
    files, objects, items, used = [], [], [], []
    for piece in pieces:
        net = mesh(piece.solid, piece.name).on_bed()
        data = stl(net, piece.name)
        refuse(f"{piece.name}.stl", check_stl(data, net))
        count = f"_x{piece.count}" if piece.count > 1 else ""
        files.append(OutFile(f"{piece.name}{count}.stl", "print", data, piece.name, piece.count))
        objects.append(Object3mf(piece.name, net))
        low, high = net.box
        size = (high[0] - low[0], high[1] - low[1], high[2] - low[2])
        items.append(Item(piece.name, kind, size, piece.count, None, (low[0], low[1])))
        lines = layer_count(net, made.printer)
        used.append(printed(lines, made.printer, shop.filament).times(piece.count))
    for plate in plates(items, made.printer):
        names = [name for name, _ in plate.counts]
        here = [one for name in names for one in objects if one.name == name]
        placed = [
            Item3mf(names.index(spot.name), *spot.shift, spot.turn_deg) for spot in plate.placements
        ]
        data = threemf(here, placed, f"{kind} coupon, plate {plate.number:02d}")
        refuse(f"{kind}-plate-{plate.number:02d}.3mf", check_3mf(data, here, placed))
        files.append(OutFile(f"{kind}-plate-{plate.number:02d}.3mf", "plate", data, kind))
    room = (howpage.WIDE - 2 * howpage.EDGE) / max(len(shown), 1) - 6.0
    drawn = [(caption, *pictures.drawn(solids, room, PICTURE_H)) for caption, solids in shown]
    return CouponFiles(kind, kind, (*files, *_sheet(kind, sheet, drawn)), total(used))


def _sheet(name: str, sheet: howto.HowTo, shown: Sequence[howpage.Picture]) -> list[OutFile]:
    page = howpage.page(sheet, shown)
    return [
        OutFile(f"{name}-how.svg", "book", page_svg(page), name),
        OutFile(f"{name}-how.txt", "book", sheet.text.encode("utf-8"), name),
    ]


def _cut(coupon: FlatCoupon, shop: Shop) -> list[OutFile]:
    """The coupon as DXF and SVG, read back."""
    drawing = _drawing(coupon, shop)
    data = dxf(drawing, version=shop.laser.dxf, arcs=shop.laser.arcs)  # type: ignore[arg-type]
    refuse(f"{coupon.name}.dxf", check_dxf(data, drawing, arcs=shop.laser.arcs))
    picture = svg(drawing, line_mm=shop.laser.line_mm)
    refuse(f"{coupon.name}.svg", check_svg(picture, drawing))
    return [
        OutFile(f"{coupon.name}.dxf", "cut-part", data, coupon.name),
        OutFile(f"{coupon.name}.svg", "cut-part", picture, coupon.name),
    ]


def _drawing(coupon: FlatCoupon, shop: Shop) -> Drawing:
    """The coupon on a page of its own, drawn by the room that draws sheets; no lead-ins, no
    tabs.
    """
    m = SHEET_MARGIN
    wide, high = coupon.width + 2 * m, coupon.height + 2 * m
    pieces = [
        Piece(part.name, part.outline, 1, coupon.stock, "none", part.marks)
        for part in coupon.pieces
    ]
    placed = tuple(Placed(part.name, 1, m, m, 0.0) for part in coupon.pieces)
    sheet = Sheet(coupon.stock, coupon.name, ((0.0, 0.0), (wide, 0.0), (wide, high), (0.0, high)))
    layup = Layup(sheet, placed, math.fsum(part.outline.area_mm2 for part in coupon.pieces), None)
    laser = replace(shop.laser, inlet_lead=0.0, tab=0.0, common_line=False)
    stock = (
        shop.stock[coupon.stock]
        if coupon.compensated
        else replace(shop.stock[coupon.stock], kerf=0.0)
    )
    drawn = sheet_drawing(
        layup, cut_plan(layup, pieces, laser, stock), laser, stock, title=coupon.name
    )
    return replace(drawn, notes=coupon.notes)
