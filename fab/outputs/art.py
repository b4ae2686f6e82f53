"""Diffusers as they are cut: those with art differ from panel to panel, and equal ones share a file
and a count.
"""

from __future__ import annotations

from dataclasses import dataclass

from fab.design import Design, Outlined
from fab.files.table import Cell, csv_bytes
from fab.layout.kinds import file_word
from fab.outlines.contour import Outline, Point
from fab.outputs.alike import free_name
from fab.outputs.model import OutFile
from fab.parts.art import SheetArt, sheet_art
from fab.parts.artplace import on_sheets

HEADER = (
    "item",
    "design",
    "panels",
    "count",
    "strokes",
    "cut_outs",
    "islands",
    "bridges",
    "waste_mm2",
    "side",
    "note",
)


@dataclass(frozen=True)
class Diffuser:
    """One kind of sheet part."""

    item: str  # "diffuser", "diffuser-square", "diffuser-B": name in files and lists
    design: str
    panels: tuple[str, ...]  # that it is for; none: spares alone
    count: int  # spares counted in
    spares: int
    art: SheetArt

    def outline(self, design: Outlined) -> Outline:
        """As it lies in the machine."""
        return self.art.outline(design.plans[self.design].rings.diffuser)

    def marks(self, front: tuple[tuple[Point, ...], ...]) -> tuple[tuple[Point, ...], ...]:
        """Its strokes as it lies in the machine, those of the front among them."""
        return self.art.lying(front)


def diffusers(design: Outlined) -> tuple[Diffuser, ...]:
    """Every kind of diffuser, design by design: the one that most panels share first, then by
    panel.
    """
    found: list[Diffuser] = []
    wall = on_sheets(design.job.art)
    items = {name: "diffuser" if name == "panel" else f"diffuser-{name}" for name in design.plans}
    taken = {item.casefold() for item in items.values()}
    for name, plan in design.plans.items():
        item = items[name]
        spares = plan.params.diffuser.spares + design.job.nest.spares
        own = sheet_art(plan)
        groups: dict[SheetArt, list[str]] = {own: []}
        for panel in design.layout.panels:
            if panel.design == name:
                groups.setdefault(sheet_art(plan, wall, panel) if wall else own, []).append(
                    panel.name
                )
        for art, panels in groups.items():
            if art == own and len(panels) + spares > 0:
                found.append(Diffuser(item, name, tuple(panels), len(panels) + spares, spares, art))
            elif panels:
                own_item = free_name(f"{item}-{file_word(panels[0])}", taken)
                found.append(Diffuser(own_item, name, tuple(panels), len(panels), 0, art))
    return tuple(found)


def note(one: Diffuser) -> str:
    """The note for the maker on one kind."""
    said = []
    if one.spares:
        said.append(f"{one.spares} of them spare")
    if not one.art.empty and len(one.panels) <= 3:
        said.append(f"for {', '.join(one.panels)}" if one.panels else "spare parts only")
    if one.art.back:
        said.append("lies face down in the machine")
    if one.art.waste:
        said.append(f"{len(one.art.waste)} cut-outs fall out")
    return "; ".join(said)


def files(design: Design) -> list[OutFile]:
    """lists/art.csv: what is engraved and cut through, and every piece that falls out as waste.

    None without art.
    """
    kinds = [one for one in diffusers(design) if not one.art.empty]
    if not kinds:
        return []
    rows: list[tuple[Cell, ...]] = []
    for one in kinds:
        art, bridges = one.art, sum(len(island.bridges) for island in one.art.islands)
        area = round(sum(area for area, _ in art.waste), 2)
        rows.append(
            (
                one.item,
                one.design,
                " ".join(one.panels),
                one.count,
                len(art.marks),
                len(art.holes),
                len(art.islands),
                bridges,
                area,
                "back" if art.back else "front",
                "",
            )
        )
        for area, (x, y) in art.waste:
            says = f"waste: a piece at {x:.1f}, {y:.1f} mm of the panel"
            rows.append(
                (one.item, one.design, "", one.count, None, 1, None, None, round(area, 2), "", says)
            )
    return [OutFile("lists/art.csv", "list", csv_bytes(HEADER, rows), "art")]
