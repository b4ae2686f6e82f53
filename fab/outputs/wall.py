"""The hanging template: tiled pages, full-size SVG and DXF, and the holes as numbers."""

from __future__ import annotations

from fab.design import Design
from fab.files.dxf import dxf
from fab.files.pdf import pdf
from fab.files.readback import check_dxf, check_pdf, check_svg, refuse
from fab.files.svg import svg
from fab.files.table import csv_bytes
from fab.outlines.drawing import Drawing
from fab.outlines.page import Page
from fab.outputs.model import OutFile
from fab.remembered import remembering
from fab.wall.carrier import carrier, drawing
from fab.wall.fullsize import full_size
from fab.wall.holes import hole_rows
from fab.wall.template import Template, template
from fab.wall.to_hang import wall_type

LINE_MM = 0.25


def made_template(design: Design) -> Template:
    """Pages, tiling and holes of a design's wall."""
    job = design.job
    wall = wall_type(job.shop.wall, job.hang.wall)
    return template(
        design.layout,
        design.plans,
        design.hung,
        job.shop.paper,
        wall,
        inches=job.shop.units == "in",
        title=job.job,
    )


def files(design: Design, made: Template) -> list[OutFile]:
    """wall/*."""
    job = design.job
    paper = made.tiling.sheet.name.lower()
    pages = _pdf(made.pages, f"{job.job}: hanging template")
    drawing = full_size(design.layout, design.plans, made.holes, made.datum, job.job)
    lines, outlines = _lines("wall/template", drawing)
    header, *rows = hole_rows(made.holes)
    count = len(made.holes)
    return [
        OutFile(f"wall/template-{paper}.pdf", "template", pages, "template", len(made.pages)),
        OutFile("wall/template.svg", "template", lines, "template", 1),
        OutFile("wall/template.dxf", "template", outlines, "template", 1),
        OutFile("wall/holes.csv", "holes", csv_bytes(header, rows), "hanger", count),
        *_carriers(design),
    ]


@remembering(2)  # during a watch the wall seldom changes
def _pdf(pages: tuple[Page, ...], title: str) -> bytes:
    """The pages as PDF, read back."""
    data = pdf(pages, title)
    refuse("wall/template.pdf", check_pdf(data, pages))
    return data


@remembering(4)
def _lines(path: str, made: Drawing) -> tuple[bytes, bytes]:
    """A drawing as SVG and DXF, read back."""
    lines, outlines = svg(made, line_mm=LINE_MM), dxf(made, version="R2000")
    refuse(f"{path}.svg", check_svg(lines, made, cut=False))
    refuse(f"{path}.dxf", check_dxf(outlines, made, cut=False))
    return lines, outlines


def _carriers(design: Design) -> list[OutFile]:
    """The carrying boards of the pieces that hands alone can't lift: 1:1, where the ledge blocks
    are screwed on.
    """
    found = []
    for number, one in enumerate(design.lifting, 1):
        if one.board:
            made = drawing(
                carrier(design.layout, one.lift.panels),
                design.layout,
                f"{design.job.job}: carrying board {number}",
            )
            lines, outlines = _lines(f"wall/carrier-{number}", made)
            found.append(OutFile(f"wall/carrier-{number}.svg", "template", lines, "carrier", 1))
            found.append(OutFile(f"wall/carrier-{number}.dxf", "template", outlines, "carrier", 1))
    return found
