"""A DXF read back by its group codes alone."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from fab.files.readback_flat import CHORD_MM, SAME_MM, ReadLoop, cutting_faults, differences
from fab.outlines.drawing import Drawing

Tag = tuple[int, str]
_KNOWN = {"LWPOLYLINE", "POLYLINE", "CIRCLE"}


def check_dxf(data: bytes, drawing: Drawing, *, arcs: bool = True, cut: bool = True) -> list[str]:
    """Differences of a DXF from the `drawing` that it was written from; empty when there are none.

    `arcs=False` allows for chords. `cut=False` is for drawings that no beam follows (the wall
    template): panels may share edges there, and the order does not matter.
    """
    try:
        tags = _tags(data)
        sections = _sections(tags)
        loops, told = _loops(sections["ENTITIES"])
    except (KeyError, ValueError, IndexError) as error:
        return [f"the DXF cannot be read: {error}"]
    if not loops:
        return [*told, "the DXF is empty"]
    told += _header_faults(sections["HEADER"], loops)
    told += _layer_faults(sections["TABLES"], drawing)
    told += differences(loops, drawing, SAME_MM if arcs else CHORD_MM)
    return told + (cutting_faults(loops) if cut else [])


def _tags(data: bytes) -> list[Tag]:
    lines = data.decode("cp1252").replace("\r\n", "\n").rstrip("\n").split("\n")
    tags = [(int(code), value.strip()) for code, value in zip(lines[::2], lines[1::2], strict=True)]
    if tags[-1] != (0, "EOF"):
        raise ValueError("it does not end with EOF")
    return tags


def _sections(tags: Sequence[Tag]) -> dict[str, list[Tag]]:
    sections: dict[str, list[Tag]] = {}
    current: list[Tag] = []
    for place, tag in enumerate(tags):
        if tag == (0, "SECTION"):
            current = sections.setdefault(tags[place + 1][1], [])
        elif tag[0] != 999:
            current.append(tag)
    return sections


def _records(tags: Sequence[Tag]) -> Iterator[tuple[str, list[Tag]]]:
    """Runs of tags that begin with group code 0."""
    kind: str = ""
    run: list[Tag] = []
    for tag in tags:
        if tag[0] == 0:
            if kind:
                yield kind, run
            kind, run = tag[1], []
        else:
            run.append(tag)
    if kind:
        yield kind, run


def _loops(entities: Sequence[Tag]) -> tuple[list[ReadLoop], list[str]]:
    loops: list[ReadLoop] = []
    told: list[str] = []
    # an R12 polyline being read
    open_one: tuple[str, bool, list[tuple[float, float, float]]] | None = None
    for kind, run in _records(entities):
        layer = next((value for code, value in run if code == 8), "0")
        if kind == "VERTEX" and open_one:
            open_one[2].extend(_points(run))
        elif kind == "SEQEND" and open_one:
            loops.append(ReadLoop(open_one[0], tuple(open_one[2]), open_one[1]))
            open_one = None
        elif kind == "POLYLINE":
            open_one = (layer, _closed(run), [])
        elif kind == "LWPOLYLINE":
            loops.append(ReadLoop(layer, tuple(_points(run)), _closed(run)))
        elif kind == "CIRCLE":
            (x, y, _) = _points(run)[0]
            radius = next(float(value) for code, value in run if code == 40)
            loops.append(ReadLoop(layer, ((x + radius, y, 1.0), (x - radius, y, 1.0)), True))
        elif kind not in {"ENDSEC", "EOF"}:
            told.append(f"an entity {kind} is not one that a cutter should meet")
        if layer == "0" and kind in _KNOWN:
            told.append(f"a {kind} lies on layer 0")
        if any(code in (30, 38) and float(value) != 0 for code, value in run):
            told.append(f"a {kind} on layer {layer} does not lie at z = 0")
    for loop in loops:
        straight = [bulge == 0 for _, _, bulge in loop.points]
        if loop.closed and any(straight) and not straight[-1]:
            told.append(
                f"a polyline on layer {loop.layer} closes with an arc; some readers lose that bulge"
            )
    return loops, told


def _closed(run: Sequence[Tag]) -> bool:
    return bool(int(next((value for code, value in run if code == 70), "0")) & 1)


def _points(run: Sequence[Tag]) -> list[tuple[float, float, float]]:
    points: list[tuple[float, float, float]] = []
    for code, value in run:
        if code == 10:
            points.append((float(value), math.nan, 0.0))
        elif code == 20:
            points[-1] = (points[-1][0], float(value), 0.0)
        elif code == 42:
            points[-1] = (*points[-1][:2], float(value))
    if not all(math.isfinite(number) for point in points for number in point):
        raise ValueError("a point is not finite")
    return points


def _header_faults(header: Sequence[Tag], loops: Sequence[ReadLoop]) -> list[str]:
    variables: dict[str, list[str]] = {}
    current: list[str] = []
    for code, value in header:
        if code == 9:
            current = variables.setdefault(value, [])
        elif code != 0:
            current.append(value)
    told = []
    if variables.get("$ACADVER") != ["AC1009"]:  # R12 can't hold units
        wanted = {"$INSUNITS": "4", "$MEASUREMENT": "1", "$LUNITS": "2"}
        told += [
            f"{name} is {variables.get(name, ['missing'])[0]}, should be {value}"
            for name, value in wanted.items()
            if variables.get(name) != [value]
        ]
    boxes = [loop.box for loop in loops]
    low = [min(box[k] for box in boxes) for k in (0, 1)]
    high = [max(box[k] for box in boxes) for k in (2, 3)]
    for name, want in (("$EXTMIN", low), ("$EXTMAX", high)):
        have = [float(value) for value in variables.get(name, [])[:2]]
        if len(have) != 2 or any(abs(a - b) > CHORD_MM for a, b in zip(have, want, strict=True)):
            told.append(
                f"{name} is {have}, the drawing reaches to {[round(value, 3) for value in want]}"
            )
    return told


def _layer_faults(tables: Sequence[Tag], drawing: Drawing) -> list[str]:
    there = {}
    for kind, run in _records(tables):
        if kind == "LAYER":
            fields = dict(run)
            there[fields.get(2)] = fields.get(62)
    return [
        f"layer {layer.name} has colour {there.get(layer.name)}, should have {layer.aci}"
        for layer in drawing.layers
        if there.get(layer.name) != str(layer.aci)
    ]
