"""One sheet: gaps, margins, the real sheet or offcut under it, the number of its parts, and its
rests.
"""

from __future__ import annotations

import math
import tomllib
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from fab.checks.model import Verdict, at_least, at_most, judge
from fab.proof.cutshape import layers
from fab.proof.job import JobValues
from fab.proof.paths import CutPath
from fab.proof.tree import Tree, Unreadable, sheet_and_times

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

ALIKE_MM = 0.01
OVERLAP_MM2 = 1e-3  # what two parts share beyond this is no touch of their edges


def on_sheet(
    path: str,
    line: dict[str, Any],
    parts: Sequence[BaseGeometry],
    paths: Sequence[CutPath],
    job: JobValues,
    tree: Tree,
) -> list[Verdict]:
    """Gaps, margin, number and rests of one sheet; lead-ins and piercings count as cuts."""
    area = math.fsum(part.area for part in parts)
    found = [
        _gap(path, parts, job),
        _margin(path, line, paths, job),
        judge(
            "proof.cut-count",
            path,
            at_most(abs(len(parts) - int(line["parts"])), 0.0, "parts"),
            f"parts drawn: {len(parts)}, counted in the manifest: {line['parts']}",
        ),
        judge(
            "proof.cut-area",
            path,
            at_most(abs(area - float(line["used_area"])) / max(area, 1.0), 1e-4, "", tolerance=0.0),
            "share by which the area inside the paths differs from the manifest's",
        ),
    ]
    if "lists/offcuts.toml" in tree:
        found += _rests(path, parts, _sheets(job, line), tree)
    return found


def _gap(path: str, parts: Sequence[BaseGeometry], job: JobValues) -> Verdict:
    """The least distance of two parts; under what is wanted where they overlap."""
    import shapely

    shared = bool(job.shop.at("laser.common_line", False))
    wanted = 0.0 if shared else float(job.shop.at("laser.part_gap"))
    index = shapely.STRtree(parts)
    least, where = math.inf, ""
    for k, part in enumerate(parts):
        for other in index.query(part, predicate="dwithin", distance=wanted + 1.0):
            if other <= k:
                continue
            gap = part.distance(parts[other])
            if gap == 0.0 and part.intersection(parts[other]).area > OVERLAP_MM2:
                gap = -1.0 if shared else 0.0
            if gap < least:
                least, where = gap, f" at x {part.centroid.x:.1f}, y {part.centroid.y:.1f}"
    return judge(
        "proof.cut-gap",
        path,
        at_least(min(least, 1e6), wanted, tolerance=ALIKE_MM),
        f"least distance of two cut paths{where}",
    )


def _margin(path: str, line: dict[str, Any], paths: Sequence[CutPath], job: JobValues) -> Verdict:
    """The least distance of a cut from the edge of the sheet, of the best of those it may be."""
    import shapely

    names = set(layers(job).values())
    cuts = [shapely.LineString(one.points) for one in paths if one.layer in names]
    margin = float(job.shop.values["stock"][line["stock"]].get("margin", 0.0))
    sheets = _sheets(job, line)

    def room(cut: BaseGeometry, sheet: BaseGeometry) -> float:
        inside = sheet.buffer(1e-6).contains(cut)
        return float(cut.distance(sheet.boundary)) if inside else -1.0

    everything = shapely.union_all(cuts) if cuts else shapely.Point(0, 0)
    least = max((room(everything, sheet) for sheet in sheets), default=-1.0)
    near = margin - ALIKE_MM
    off = next((cut for cut in cuts if all(room(cut, one) < near for one in sheets)), None)
    spot = "" if off is None else f"; at x {off.centroid.x:.1f}, y {off.centroid.y:.1f}"
    return judge(
        "proof.cut-margin",
        path,
        at_least(least, margin, tolerance=ALIKE_MM),
        f"least distance of a cut from the edge of its sheet or a bad spot{spot}",
    )


def rectangle(job: JobValues, line: dict[str, Any]) -> tuple[float, float] | None:
    """Width and height of the sheet, when all that it may be cut from are plain rectangles."""
    size = (float(line["width"]), float(line["height"]))
    plain = all(abs(one.area - size[0] * size[1]) < 1.0 for one in _sheets(job, line))
    return size if plain else None


def _sheets(job: JobValues, line: dict[str, Any]) -> list[Any]:
    """Sheets and offcuts of the rack that the sheet may be: those of its size."""
    import shapely

    wide, high, found = float(line["width"]), float(line["height"]), []
    for stock in job.shop.values["stock"].values():
        if abs(stock["width"] - wide) < 1e-6 and abs(stock["height"] - high) < 1e-6:
            found.append(shapely.box(0, 0, wide, high))
    for offcut in job.shop.at("offcut", []):
        shape = shapely.Polygon(offcut["outline"], offcut.get("holes", ()))
        x0, y0, x1, y1 = shape.bounds
        if abs(x1 - x0 - wide) < 1e-3 and abs(y1 - y0 - high) < 1e-3:
            found.append(shapely.affinity.translate(shape, -x0, -y0))
    return found


def _rests(
    path: str, parts: Sequence[BaseGeometry], sheets: Sequence[BaseGeometry], tree: Tree
) -> list[Verdict]:
    """The rests named after this sheet: at one place of the sheet, each is free of cuts."""
    import shapely
    from shapely import affinity

    try:
        told = tomllib.loads(tree.text("lists/offcuts.toml")).get("offcut", [])
    except tomllib.TOMLDecodeError as error:
        raise Unreadable("lists/offcuts.toml", f"is not TOML: {error}") from error
    stem, _ = sheet_and_times(path.removeprefix("cut/").removesuffix(".dxf"))
    taken = shapely.union_all(list(parts))
    worst, where = 0.0, ""
    for rest in told:
        if f"-{stem}-" not in rest.get("name", ""):
            continue
        shape = shapely.Polygon(rest["outline"], rest.get("holes", ()))
        w, h = shape.bounds[2], shape.bounds[3]
        cut = math.inf
        for sheet in sheets:
            free = sheet.difference(taken)
            xs, ys = {0.0, sheet.bounds[2] - w}, {0.0, sheet.bounds[3] - h}
            for one in getattr(free, "geoms", [free]):
                core = one.buffer(-5.0).buffer(5.0)
                for part in getattr(core, "geoms", [core]):
                    if not part.is_empty:
                        xs |= {part.bounds[0], part.bounds[2] - w}
                        ys |= {part.bounds[1], part.bounds[3] - h}
            for x in xs:
                for y in ys:
                    there = affinity.translate(shape, x, y)
                    cut = min(
                        cut,
                        there.intersection(taken).area
                        + max(there.difference(sheet).area - 0.1 * there.length, 0.0),
                    )
        if cut > worst:
            worst, where = cut, rest["name"]
    return [
        judge(
            "proof.cut-rest",
            path,
            at_most(worst, 1.0, "mm2"),
            f"of a rest in lists/offcuts.toml is cut away or off the sheet {where}".rstrip(),
        )
    ]
