"""Checks of art on sheets and prints: it lies where it should, and nothing falls out."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence

from fab.checks.model import Verdict, at_least, at_most, judge
from fab.checks.remedy import in_full
from fab.layout.model import Layout
from fab.params.artparams import ArtParams
from fab.parts.art import SheetArt, printed_art, sheet_art
from fab.parts.artplace import picture, placed
from fab.parts.plan import Plan
from fab.units import fixed, percent, some

LEAST_SHARE = 0.999  # of a panel's own picture that should lie on its sheet
THIN_SHARE = 0.02  # of a picture's area that may be too thin to cut or print


def art_checks(
    wall: Sequence[ArtParams], layout: Layout, plans: Mapping[str, Plan]
) -> tuple[Verdict, ...]:
    """Verdicts `art.*`; none without art. `wall` is the art of the job, in the wall frame."""
    found: list[Verdict] = []
    for name, plan in plans.items():
        for k, art in enumerate(plan.params.art):
            found += _one(f"{in_full(name, 'art', plan)}[{k}]", plan, art)
        found += _sheet("panel" if name == "panel" else f"panel {name}", plan, sheet_art(plan))
    for k, art in enumerate(wall):
        found += _spread(f"art[{k}]", art, layout, plans)
    if wall:
        for panel in layout.panels:
            made = sheet_art(plans[panel.design], tuple(wall), panel)
            if not made.empty and made != sheet_art(plans[panel.design]):
                found += _sheet(f"panel {panel.name}", plans[panel.design], made)
    found += _sides(wall, layout, plans)
    return tuple(found)


def _one(key: str, plan: Plan, art: ArtParams) -> Iterator[Verdict]:
    """A picture of one design."""
    yield from _cleaned(key, art)
    whole = float(picture(art).area)
    if art.on == "diffuser":
        share = float(placed(plan, art).area) / whole
        says = f"Share of the picture that lies on the sheet: {percent(share, 1)}."
        yield judge(
            "art.on-sheet",
            key,
            at_least(share, LEAST_SHARE, ""),
            says,
            otherwise="fail" if share <= 0 else "warn",
            remedy=f"Make {key}.width smaller, or move {key}.at.",
        )
        return
    _, lost = printed_art(plan, art)
    says = (
        "Share of the picture that is left out, because it is thinner than one printed line:"
        f" {percent(lost / whole, 1)}."
    )
    yield judge(
        "art.printed-lines",
        key,
        at_most(lost / whole, THIN_SHARE, ""),
        says,
        otherwise="warn",
        remedy=f"Make {key}.width larger, or take a bolder picture.",
    )


def _spread(
    key: str, art: ArtParams, layout: Layout, plans: Mapping[str, Plan]
) -> Iterator[Verdict]:
    """A picture over the wall: what of it falls on sheets."""
    yield from _cleaned(key, art)
    whole = float(picture(art).area)
    on = math.fsum(
        float(placed(plans[panel.design], art, (panel.x, panel.y, panel.turn_deg)).area)
        for panel in layout.panels
        if not art.panels or panel.name in art.panels
    )
    says = (
        f"Share of the picture that falls on sheets: {percent(on / whole, 1)}. The rest falls on"
        " joints, on rims and beside the wall."
    )
    yield judge(
        "art.on-wall",
        key,
        at_least(on / whole, 1e-6, ""),
        says,
        remedy=f"Move {key}.at: the picture misses the wall.",
    )


def _cleaned(key: str, art: ArtParams) -> Iterator[Verdict]:
    if art.notes:
        says = f"The picture was repaired on import: {'; '.join(art.notes[:5])}."
        yield judge(
            "art.cleaned",
            key,
            at_most(len(art.notes), 0, ""),
            says,
            otherwise="warn",
            remedy="Check the picture in the cut files, or repair its drawing.",
        )


def _sheet(subject: str, plan: Plan, art: SheetArt) -> Iterator[Verdict]:
    """The art that one diffuser gets."""
    if art.empty:
        return
    if art.holes or art.loose:
        bridges = sum(len(island.bridges) for island in art.islands)
        places = ", ".join(f"x {fixed(x, 1)} y {fixed(y, 1)}" for x, y in art.loose[:5])
        loose = f"; loose at {places} mm" if places else ""
        says = (
            f"Islands of the stencil: {len(art.islands)}, held by {some(bridges, 'bridge')}{loose}."
        )
        yield judge(
            "art.islands",
            subject,
            at_most(len(art.loose), 0, ""),
            says,
            remedy="Make the bridges narrower or the picture larger.",
        )
        area = math.fsum(area for area, _ in art.waste)
        says = (
            f"Cut-outs that fall out as waste: {len(art.waste)}, {fixed(area, 1)} mm2 in all."
            " Everything else stays one piece."
        )
        yield judge(
            "art.waste",
            subject,
            at_most(len(art.holes), len(art.waste), ""),
            says,
            remedy="This is an internal error: please report it.",
        )
        share = art.lost_mm2 / max(area + art.lost_mm2, 1e-9)
        says = (
            "Share of the stencil that is left out, because it is narrower than the kerf of"
            f" {fixed(plan.stock.kerf)} mm: {percent(share, 1)}."
        )
        yield judge(
            "art.kerf",
            subject,
            at_most(share, THIN_SHARE, ""),
            says,
            otherwise="warn",
            remedy="Make the picture larger or bolder.",
        )
    dense = len(art.too_dense)
    if dense:
        says = "The hatching has more lines than a cut file should hold."
        yield judge(
            "art.hatch",
            subject,
            at_most(dense, 0, ""),
            says,
            remedy="Make the distance between the lines (hatch) larger.",
        )


def _sides(
    wall: Sequence[ArtParams], layout: Layout, plans: Mapping[str, Plan]
) -> Iterator[Verdict]:
    """A sheet is worked from one side: turned over, it does not come to lie where it was."""
    for name, plan in plans.items():
        arts = {f"{in_full(name, 'art', plan)}[{k}]": art for k, art in enumerate(plan.params.art)}
        arts |= {f"art[{k}]": art for k, art in enumerate(wall)}
        engraved = {
            key: art for key, art in arts.items() if art.on == "diffuser" and art.work == "engrave"
        }
        if not engraved:
            continue
        made = {p.name: sheet_art(plan, tuple(wall), p) for p in layout.panels if p.design == name}
        both = [panel for panel, art in made.items() if art.sides > 1]
        front, back = (
            [key for key, art in engraved.items() if art.back is side] for side in (False, True)
        )
        says = (
            f"The sheet of panel{'s' * (len(both) > 1)}"
            f" {', '.join(both[:5])}{' ...' * (len(both) > 5)} has pictures on its front and on"
            " its back. It would have to be turned over exactly in place."
            if both
            else "Each sheet is engraved from one side."
        )
        remedy = (
            f"Write back = true at {_listed(front)}, or back = false at {_listed(back)}. "
            "With --allow art.sides all of such a sheet is engraved on its back."
        )
        subject = "panel" if name == "panel" else f"panel {name}"
        yield judge(
            "art.sides", subject, at_most(2 if both else 1, 1, "sides"), says, remedy=remedy
        )


def _listed(keys: Sequence[str]) -> str:
    return ", ".join(keys[:4]) + (" ..." if len(keys) > 4 else "")
