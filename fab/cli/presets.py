"""`panejig presets`: what ships with the program."""

from __future__ import annotations

import click

from fab.cli.console import Console
from fab.cli.words import talking
from fab.params import presets as shipped

_HEADS = {
    "shop": "shops (in a job file: [shop] extends = NAME)",
    "panel": "panels ([panel] extends = NAME)",
    "job": "jobs (panejig build NAME)",
}


@click.command()
@talking
@click.pass_obj
def presets(console: Console) -> None:
    """List the shops, panels and jobs that come with panejig."""
    found = shipped.listed()
    if console.json:
        console.tell_json(
            [
                {"kind": item.kind, "name": item.name, "path": str(item.path), "says": item.says}
                for item in found
            ]
        )
        return
    wide = max((len(item.name) for item in found), default=0)
    for kind in shipped.KINDS:
        console.tell(_HEADS[kind])
        for item in found:
            if item.kind == kind:
                console.tell(f"  {item.name:<{wide}}  {item.says}")
