"""The layer count of a part as a product: counted once for its mesh and the printer's lines, and
kept.
"""

from __future__ import annotations

import json
from dataclasses import asdict

from fab.params.shop import Printer
from fab.prints.layercount import LayerCount, Lines, layer_count
from fab.products import Made

LINES = (
    "nozzle",
    "extrusion_width",
    "layer",
    "perimeters",
    "skin_layers",
)  # all that shapes a line


def counted(printer: Printer, made: Made) -> bytes:
    """Count the lines of a printed part; of the printer only `LINES` are asked for."""
    return json.dumps(asdict(layer_count(made.mesh, printer))).encode()


def layers(data: bytes) -> LayerCount:
    """The count that was kept. Raises for bytes that are none."""
    figures = json.loads(data)
    return LayerCount(Lines(**figures["first"]), Lines(**figures["rest"]))
