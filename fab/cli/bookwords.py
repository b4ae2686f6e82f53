"""`--book`: what a booking says."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

from fab.cli.console import Console
from fab.params.quoting import clean

if TYPE_CHECKING:
    from fab.outputs.booked import Bookable


def told(console: Console, shop_file: Path, ready: Bookable, again: str) -> None:
    """Before and after, a line each; stocks that were booked before.

    `again`: how another set is booked.
    """
    if ready.says:
        console.tell(f"Booked into {clean(str(shop_file))}:")
    for line in ready.says:
        console.tell(f"  {line}")
    if ready.before:
        console.tell(
            f"Booked earlier, so not again: {', '.join(ready.before)}. To cut another set: {again}"
        )


def data(shop_file: Path, ready: Bookable) -> dict[str, Any]:
    """The same for machines."""
    return {"file": str(shop_file), "says": list(ready.says), "before": list(ready.before)}
