"""Cut files: the kerf is on the right side of every line, and every part lies where the sheet allows, as often as counted.

Each outline of a sheet is shrunk by half the kerf of its stock (holes grown) and laid on the nominal part, which comes
from the part's STEP file, or from the job's values where there is none. Source of the kerf rule: the beam removes the
kerf's width round its middle, so the cut path stands half of it outside the part.
"""

from __future__ import annotations

import itertools
import math
import tomllib
from collections import Counter
from collections.abc import Sequence
from typing import Any

from fab.checks.model import Verdict, at_least, at_most
from fab.proof.dxf import read_dxf
from fab.proof.job import JobValues, regular
from fab.proof.paths import Path
from fab.proof.step import read_step
from fab.proof.svg import read_svg
from fab.proof.table import rows_of
from fab.proof.tree import Tree, Unreadable, sheet_and_times

ALIKE_MM = 0.01
ROUNDED_MM = 0.006  # an SVG has four decimals, a DXF six; arcs become chords


def prove(tree: Tree, job: JobValues) -> list[Verdict]:
    """Verdicts on cut/*."""
    import shapely

    found: list[Verdict] = []
    counts: Counter[str] = Counter()
    nominal = nominals(tree, job)
    nominal |= _drawn(tree, job, nominal)
    chords = 0.0 if job.shop.at("laser.arcs", True) else 0.011  # the DXF has chords that near to its arcs
    lines = {str(row["sheet"]): row for row in tree.json("manifest.json").get("nest", [])}
    for path in tree.names("cut/", ".dxf"):
        stem = path.removesuffix(".dxf")
        paths = read_dxf(path, tree.read(path))
        if f"{stem}.svg" in tree:
            found.append(
                _same(f"{stem}.svg", paths, read_svg(f"{stem}.svg", tree.read(f"{stem}.svg")).paths, ROUNDED_MM + chords)
            )
        name, times = sheet_and_times(stem.removeprefix("cut/"))
        stock = lines[name]["stock"] if name in lines else _stock_of(job, name)
        if stock is None:
            continue
        kerf = float(job.shop.values["stock"][stock]["kerf"])
        parts, loose = shapes(paths, job, kerf)
        if job.shop.at("laser.common_line", False):  # between shared lines there is waste, counted as no part
            least = 0.9 * min(one.area for one in nominal.values())
            parts = [part for part in parts if part.area >= least]
        inner = layers(job)["inner"]
        stray = [
            one
            for one in paths
            if one.layer == inner
            and not any(
                part.contains(shapely.Point(one.segments[-1][:2]))
                or part.exterior.distance(shapely.Point(one.segments[-1][:2])) < 1e-6
                for part in (shapely.Polygon(p.exterior) for p in parts)
            )
        ]
        found.append(
            at_most(
                "proof.cut-layers",
                path,
                float(len(stray) + len(loose)),
                0.0,
                "paths",
                _spot(
                    "cuts inside a part that no edge on the layer of edges surrounds, or edges that do not close",
                    [*stray, *loose],
                ),
            )
        )
        worst, where = 0.0, ""
        seen: Counter[str] = Counter()
        for part in parts:
            item, off = nearest(
                part.buffer(-kerf / 2, join_style="mitre", mitre_limit=20.0),
                nominal,
                name if name not in lines else "",
            )
            seen[item] += 1
            if off > worst:
                worst, where = off, f"at x {part.centroid.x:.1f}, y {part.centroid.y:.1f}"
        found.append(
            at_most(
                "proof.cut-kerf",
                path,
                worst,
                ALIKE_MM + chords,
                "mm",
                f"an outline less half the kerf of {kerf:g} mm differs from the nominal part {where}".rstrip(),
                source="half the kerf on each side of the line",
            )
        )
        if name in lines:
            counts += Counter({item: count * times for item, count in seen.items()})
            found += _on_sheet(path, lines[name], parts, paths, job, tree)
    written = {sheet_and_times(path[4:-4])[0] for path in tree.names("cut/", ".dxf")}
    if lines and lines.keys() <= written:
        found += _counted(tree, job, counts)
    found += _pictures(tree, lines)
    return found


def _drawn(tree: Tree, job: JobValues, known: dict[str, Any]) -> dict[str, Any]:
    """Parts that no STEP file has, a jig for one: what their own drawing makes when cut."""
    found = {}
    diffuser = str(job.design("panel").at("diffuser.stock"))
    for path in tree.names("cut/", ".dxf"):
        name = path.removeprefix("cut/").removesuffix(".dxf")
        if name in known or name.startswith("sheet-"):
            continue
        stock = _stock_of(job, name) or job.at("hang.jig_stock") or diffuser
        kerf = float(job.shop.values["stock"][stock]["kerf"])
        shapes_, _ = shapes(read_dxf(path, tree.read(path)), job, kerf)
        if len(shapes_) == 1:
            found[name] = shapes_[0].buffer(-kerf / 2, join_style="mitre", mitre_limit=20.0)
    return found


def layers(job: JobValues) -> dict[str, str]:
    """Operation to the name of its layer."""
    usual = {"mark": "MARK", "inner": "CUT-INNER", "outer": "CUT-OUTER"}
    return {word: job.shop.at(f"laser.{word}.layer") or name for word, name in usual.items()}


def nominals(tree: Tree, job: JobValues) -> dict[str, Any]:
    """Item to its nominal shape, centred in no special way."""
    import shapely

    found: dict[str, Any] = {}
    for path in tree.names("model/diffuser", ".step"):
        loops = read_step(path, tree.read(path)).top()
        if not loops:
            raise Unreadable(path, "has no level top face")
        rings = sorted(
            (shapely.Polygon([p[:2] for p in loop]) for loop in loops), key=lambda one: -one.area
        )
        item = path.removeprefix("model/").removesuffix(".step")
        found[item] = shapely.Polygon(rings[0].exterior, [ring.exterior for ring in rings[1:]])
    for name in ("panel", *job.at("designs", {})):
        item = "diffuser" if name == "panel" else f"diffuser-{name}"
        sides, apothem, radius = job.design(name).nominal_sheet(job.shop)
        plain = shapely.Polygon(regular(sides, apothem, radius))
        if item not in found:
            found[item] = plain
        elif not found[item].interiors and not fits(found[item], plain, ALIKE_MM):
            raise Unreadable(
                f"model/{item}.step",
                f"its outline is not that of the job's values (area {found[item].area:.2f} mm2, not {plain.area:.2f} mm2)",
            )
    return found


def shapes(paths: Sequence[Path], job: JobValues, kerf: float) -> tuple[list[Any], list[Path]]:
    """Parts of a drawing as polygons with holes, lead-ins taken off and tabs bridged; and edges that never close."""
    import shapely
    from shapely.ops import polygonize, unary_union

    names = layers(job)
    outer = [one for one in paths if one.layer == names["outer"]]
    inner = [one for one in paths if one.layer == names["inner"]]
    closed, loose = [], []
    for one in outer:
        ring = _ring(one)
        if ring is not None:
            closed.append(ring)
        else:
            loose.append(one)
    tab = float(job.shop.at("laser.tab", 0.0) or 0.0)
    if loose and (tab > 0 or job.shop.at("laser.common_line", False)):
        lines = [shapely.LineString(one.points) for one in loose]
        ends = [
            (shapely.Point(p), k)
            for k, one in enumerate(loose)
            for p in (one.points[0], one.points[-1])
        ]
        bridges = [
            shapely.LineString([a, b])
            for i, (a, _) in enumerate(ends)
            for b, _ in ends[i + 1 :]
            if 1e-6 < a.distance(b) <= tab + kerf + 0.05
        ]
        faces = list(polygonize(unary_union([*lines, *bridges])))
        closed += [shapely.Polygon(face.exterior) for face in faces if face.buffer(-1.0).area > 0]
        loose = []
    tree = shapely.STRtree(closed)
    holes: dict[int, list[Any]] = {}
    for one in inner:
        ring = _ring(one)
        if ring is None:
            loose.append(one)
            continue
        owner = min(
            (int(k) for k in tree.query(ring, predicate="within")),
            key=lambda k: closed[k].area,
            default=None,
        )
        if owner is not None:
            holes.setdefault(owner, []).append(ring.exterior)
    return [shapely.Polygon(one.exterior, holes.get(k, ())) for k, one in enumerate(closed)], loose


def _ring(one: Path) -> Any:
    """The closed part of a path, a lead-in before it taken off; None when it is open."""
    import shapely

    points = one.points
    if (
        not one.closed
        and len(one.segments) > 2
        and math.dist(one.segments[1][:2], points[-1]) <= 0.002
    ):
        points = points[1:]
    elif not one.closed:
        return None
    return shapely.Polygon(points) if len(points) > 3 else None


def nearest(shape: Any, nominal: dict[str, Any], name: str = "") -> tuple[str, float]:
    """The nominal part that a shape comes nearest to, and by how much its edge is off (mm)."""
    best = ("", math.inf)
    for item, wanted in nominal.items():
        if name and item != name and name in nominal:
            continue
        off = distance(shape, wanted)
        if off < best[1]:
            best = (item, off)
    return best


def fits(a: Any, b: Any, within: float) -> bool:
    return distance(a, b) <= within


def distance(a: Any, b: Any) -> float:
    """How far two shapes are apart at most, when one is turned and moved (never mirrored) onto the other."""
    from shapely import affinity

    if a.is_empty or b.is_empty or a.geom_type != "Polygon" or len(a.interiors) != len(b.interiors):
        return math.inf
    here, there = a.exterior.centroid, b.exterior.centroid
    a = affinity.translate(a, -here.x, -here.y)
    b = affinity.translate(b, -there.x, -there.y)
    longest = max(_straight(a), key=lambda edge: edge[0])
    turns = {
        0.0,
        *(round(longest[1] - way, 7) for size, way in _straight(b) if abs(size - longest[0]) < 0.1),
    }
    best = math.inf
    for turn in turns:
        turned = affinity.rotate(b, turn, origin=(0, 0), use_radians=True)
        best = min(best, a.boundary.hausdorff_distance(turned.boundary))
        if best < 1e-3:
            break
    return best


def _straight(shape: Any) -> list[tuple[float, float]]:
    """Length and direction of each edge of a polygon, counter-clockwise."""
    from shapely.geometry.polygon import orient

    points = list(orient(shape).exterior.coords)
    return [
        (math.dist(p, q), math.atan2(q[1] - p[1], q[0] - p[0]))
        for p, q in itertools.pairwise(points)
    ]


def _same(path: str, one: Sequence[Path], other: Sequence[Path], within: float) -> Verdict:
    """Both drawings hold the same paths on the same layers, in whatever order."""
    import shapely

    def sorted_(paths: Sequence[Path]) -> list[Path]:
        return sorted(paths, key=lambda p: (p.layer, *(round(v, 2) for v in p.box)))

    if Counter(p.layer for p in one) != Counter(p.layer for p in other):
        says = "the DXF of this name has another number of paths on a layer"
        return at_most(
            "proof.cut-agree", path, float(abs(len(one) - len(other)) or 1), 0.0, "paths", says
        )
    worst, where = 0.0, ""
    left = sorted_(other)
    lines = [shapely.LineString(p.points) for p in left]
    tree = shapely.STRtree(lines)
    taken: set[int] = set()
    for p in one:
        line = shapely.LineString(p.points)
        near = [
            int(k)
            for k in tree.query(line, predicate="dwithin", distance=1.0)
            if k not in taken and left[k].layer == p.layer
        ]
        off, k = min(((line.hausdorff_distance(lines[k]), k) for k in near), default=(math.inf, -1))
        taken.add(k)
        if off > worst:
            worst, where = off, f" at x {p.centre[0]:.1f}, y {p.centre[1]:.1f} on layer {p.layer}"
    return at_most(
        "proof.cut-agree",
        path,
        worst,
        within,
        "mm",
        f"a path differs from that of the DXF{where}",
    )


def _on_sheet(
    path: str,
    line: dict[str, Any],
    parts: Sequence[Any],
    paths: Sequence[Path],
    job: JobValues,
    tree: Tree,
) -> list[Verdict]:
    """Gaps, margin, number and rests of one sheet; lead-ins and piercings count as cuts."""
    import shapely

    names = set(layers(job).values())
    cuts = [shapely.LineString(one.points) for one in paths if one.layer in names]
    stock = job.shop.values["stock"][line["stock"]]
    margin, wanted = float(stock.get("margin", 0.0)), float(job.shop.at("laser.part_gap"))
    if job.shop.at("laser.common_line", False):
        wanted = 0.0
    index = shapely.STRtree(parts)
    least, where = math.inf, ""
    for k, part in enumerate(parts):
        for other in index.query(part, predicate="dwithin", distance=wanted + 1.0):
            if other > k:
                gap = (
                    0.0
                    if part.intersects(parts[other]) and part.intersection(parts[other]).area > 1e-3
                    else part.distance(parts[other])
                )
                gap = (
                    -1.0
                    if gap == 0.0 and wanted == 0.0 and part.intersection(parts[other]).area > 1e-3
                    else gap
                )
                if gap < least:
                    least, where = gap, f" at x {part.centroid.x:.1f}, y {part.centroid.y:.1f}"
    found = [
        at_least(
            "proof.cut-gap",
            path,
            min(least, 1e6),
            wanted,
            "mm",
            f"least distance of two cut paths{where}",
            tolerance=ALIKE_MM,
        )
    ]
    inside = _sheets(job, line)
    all_cuts = shapely.union_all(cuts) if cuts else shapely.Point(0, 0)
    room = (
        max(
            (all_cuts.distance(sheet.boundary) if sheet.buffer(1e-6).contains(all_cuts) else -1.0)
            for sheet in inside
        )
        if inside
        else -1.0
    )
    off = next(
        (
            cut
            for cut in cuts
            if not any(
                sheet.buffer(1e-6).contains(cut)
                and cut.distance(sheet.boundary) >= margin - ALIKE_MM
                for sheet in inside
            )
        ),
        None,
    )
    spot = "" if off is None else f"; at x {off.centroid.x:.1f}, y {off.centroid.y:.1f}"
    found.append(
        at_least(
            "proof.cut-margin",
            path,
            room,
            margin,
            "mm",
            f"least distance of a cut from the edge of its sheet or a bad spot{spot}",
            tolerance=ALIKE_MM,
        )
    )
    found.append(
        at_most(
            "proof.cut-count",
            path,
            abs(len(parts) - int(line["parts"])),
            0.0,
            "parts",
            f"{len(parts)} parts are drawn, the manifest counts {line['parts']}",
        )
    )
    area = math.fsum(part.area for part in parts)
    found.append(
        at_most(
            "proof.cut-area",
            path,
            abs(area - float(line["used_area"])) / max(area, 1.0),
            1e-4,
            "",
            "share by which the area inside the paths differs from the manifest's",
            tolerance=0.0,
        )
    )
    if "lists/offcuts.toml" in tree:
        found += _rests(path, parts, inside, tree)
    return found


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


def _rests(path: str, parts: Sequence[Any], sheets: Sequence[Any], tree: Tree) -> list[Verdict]:
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
        at_most(
            "proof.cut-rest",
            path,
            worst,
            1.0,
            "mm2",
            f"of a rest in lists/offcuts.toml is cut away or off the sheet {where}".rstrip(),
        )
    ]


def _counted(tree: Tree, job: JobValues, counts: Counter[str]) -> list[Verdict]:
    """Parts on all sheets against the list of parts."""
    if "lists/parts.csv" not in tree:
        return []
    wanted = Counter(
        {
            row["item"]: int(row["count"])
            for row in rows_of(tree, "lists/parts.csv", ("item", "count", "source"))
            if row["source"] == "cut"
        }
    )
    shapes_ = sum(wanted.values())
    spares = sum(
        int(job.design(name).at("diffuser.spares", 0) or 0)
        for name in {"panel", *job.at("designs", {})}
    )
    jig = 1 if job.at("hang.jig", False) else 0
    total = sum(counts.values())
    low, high = shapes_, shapes_ + spares + jig
    off = 0 if low <= total <= high else min(abs(total - low), abs(total - high))
    return [
        at_most(
            "proof.cut-count",
            "lists/parts.csv",
            float(off),
            0.0,
            "parts",
            f"{total} parts lie on the sheets, the list counts {shapes_}",
        )
    ]


def _stock_of(job: JobValues, name: str) -> str | None:
    """The stock of a single part by its name; None for what is not a diffuser."""
    if name == "diffuser":
        return str(job.design("panel").at("diffuser.stock"))
    for design in job.at("designs", {}):
        if name == f"diffuser-{design}" or name.startswith(f"diffuser-{design}-"):
            return str(job.design(design).at("diffuser.stock"))
    return str(job.design("panel").at("diffuser.stock")) if name.startswith("diffuser-") else None


def _pictures(tree: Tree, lines: dict[str, Any]) -> list[Verdict]:
    """Every sheet has a picture that is a whole PNG."""
    found = []
    for path in tree.names("cut/sheet-", ".png"):
        data = tree.read(path)
        whole = data[:8] == b"\x89PNG\r\n\x1a\n" and data[-8:-4] == b"IEND"
        found.append(
            at_most(
                "proof.cut-picture",
                path,
                0.0 if whole else 1.0,
                0.0,
                "faults",
                "the picture of the sheet is a whole PNG",
            )
        )
    return found


def _spot(says: str, paths: Sequence[Path]) -> str:
    return (
        says
        if not paths
        else f"{says}: at x {paths[0].centre[0]:.1f}, y {paths[0].centre[1]:.1f}, layer {paths[0].layer}"
    )
