"""The layer count of a part as a product: counted once for its mesh and the printer's lines, and kept."""

from __future__ import annotations

import hashlib
import json
from dataclasses import asdict
from functools import partial

from fab.params.shop import Printer
from fab.prints.layercount import LayerCount, Lines, layer_count
from fab.products import Made
from fab.store import Store, Task

ROOMS = ("units", "errors", "solids", "prints", "products")
LINES = ("nozzle", "extrusion_width", "layer", "perimeters", "skin_layers")  # all that shapes a line


def count(store: Store, made: Made, printer: Printer) -> LayerCount:
    """Lines of a printed part, found in the store or counted."""
    return store.read(count_task(made, printer), _decoded)


def count_task(made: Made, printer: Printer) -> Task:
    """The count as a product."""
    values = {key: getattr(printer, key) for key in LINES}
    digest = hashlib.sha256(made.mesh_npz).hexdigest()
    return Task("layer count", [digest, values], ROOMS, partial(_counted, made, printer))


def _counted(made: Made, printer: Printer) -> bytes:
    return json.dumps(asdict(layer_count(made.mesh, printer))).encode()


def _decoded(data: bytes) -> LayerCount:
    figures = json.loads(data)
    return LayerCount(Lines(**figures["first"]), Lines(**figures["rest"]))
