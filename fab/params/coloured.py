"""Panels that name a colour of their own: each gets the design that this makes of its own."""

from __future__ import annotations

from dataclasses import replace

from fab.params.designs import is_main
from fab.params.job import Job, PlacedParams
from fab.params.panel import PanelParams


def coloured(job: Job) -> Job:
    """The job with a design for every roll and sheet that a placed panel names.

    A panel of the main design with roll "blue" has the design "blue" then, one of "square" with
    sheet "opal-blue" the design "square-opal-blue".
    """
    designs, placed = dict(job.designs), []
    for panel in job.layout.panel:
        if panel.roll or panel.sheet:
            made = _made(job.design(panel.design), panel)
            name = _name(panel)
            while designs.get(name, made) != made:  # the maker has another design of this name
                name += "-own"
            designs[name] = made
            placed.append(replace(panel, design=name, roll="", sheet=""))
        else:
            placed.append(panel)
    return replace(job, designs=designs, layout=replace(job.layout, panel=tuple(placed)))


def _name(panel: PlacedParams) -> str:
    main = is_main(panel.design)
    words = ("" if main else panel.design, panel.roll, panel.sheet)
    return "-".join(word for word in words if word)


def _made(params: PanelParams, panel: PlacedParams) -> PanelParams:
    """The design of a panel in its own colours."""
    return replace(
        params,
        base=replace(params.base, roll=panel.roll or params.base.roll),
        shell=replace(params.shell, roll=panel.roll or params.shell.roll),
        diffuser=replace(params.diffuser, stock=panel.sheet or params.diffuser.stock),
    )
