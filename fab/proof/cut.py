"""Cut files: the kerf is on the right side of every line, and every part lies where the sheet
allows, as often as counted.

Each outline of a sheet is shrunk by half the kerf of its stock (holes grown) and laid on the
nominal part, which comes from the part's STEP file, or from the job's values where there is none.
Source of the kerf rule: the beam removes the kerf's width round its middle, so the cut path stands
half of it outside the part.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from fab.checks.model import Verdict, at_most, judge
from fab.proof.cutagree import agree
from fab.proof.cutshape import fits, layers, nearest, shapes
from fab.proof.cutsheet import ALIKE_MM, on_sheet, rectangle
from fab.proof.dxf import read_dxf
from fab.proof.job import JobValues, regular
from fab.proof.paths import CutPath
from fab.proof.picture import shown
from fab.proof.step import read_step
from fab.proof.svg import read_svg
from fab.proof.table import rows_of
from fab.proof.tree import Tree, Unreadable, sheet_and_times

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

ART = "lists/art.csv"
ROUNDED_MM = 0.006  # an SVG has four decimals, a DXF six; arcs become chords


def prove(tree: Tree, job: JobValues) -> list[Verdict]:
    """Verdicts on cut/*."""

    found: list[Verdict] = []
    counts: Counter[str] = Counter()
    nominal = nominals(tree, job)
    nominal |= _drawn(tree, job, nominal)
    # the DXF has chords that near to its arcs
    chords = 0.0 if job.shop.at("laser.arcs", True) else 0.011
    lines = {str(row["sheet"]): row for row in tree.json("manifest.json").get("nest", [])}
    for path in tree.names("cut/", ".dxf"):
        stem = path.removesuffix(".dxf")
        paths = read_dxf(path, tree.read(path))
        if f"{stem}.svg" in tree:
            found.append(
                agree(
                    f"{stem}.svg",
                    paths,
                    read_svg(f"{stem}.svg", tree.read(f"{stem}.svg")).paths,
                    ROUNDED_MM + chords,
                )
            )
        name, times = sheet_and_times(stem.removeprefix("cut/"))
        stock = lines[name]["stock"] if name in lines else _stock_of(job, name)
        if stock is None:
            continue
        kerf = float(job.shop.values["stock"][stock]["kerf"])
        parts, loose = shapes(paths, job, kerf)
        # between shared lines there is waste, counted as no part
        if job.shop.at("laser.common_line", False):
            least = 0.9 * min(one.area for one in nominal.values())
            parts = [part for part in parts if part.area >= least]
        found.append(_surrounded(path, paths, parts, loose, job))
        seen, kerfed = _kerfed(
            path, parts, nominal, name if name not in lines else "", kerf, chords
        )
        found.append(kerfed)
        if name in lines:
            counts += Counter({item: count * times for item, count in seen.items()})
            found += on_sheet(path, lines[name], parts, paths, job, tree)
            if f"{stem}.png" in tree:
                size = rectangle(job, lines[name])
                found += shown(f"{stem}.png", tree.read(f"{stem}.png"), parts, size)
    written = {sheet_and_times(path[4:-4])[0] for path in tree.names("cut/", ".dxf")}
    if lines and lines.keys() <= written:
        found += _counted(tree, job, counts)
    return found


def _surrounded(
    path: str,
    paths: Sequence[CutPath],
    parts: Sequence[BaseGeometry],
    loose: Sequence[BaseGeometry],
    job: JobValues,
) -> Verdict:
    """Cuts inside a part are on their own layer, and edges close round them."""
    import shapely

    inner = layers(job)["inner"]
    filled = [shapely.Polygon(part.exterior) for part in parts]

    def surrounded(cut: CutPath) -> bool:
        start = shapely.Point(cut.segments[-1][:2])
        return any(part.contains(start) or part.exterior.distance(start) < 1e-6 for part in filled)

    stray = [one for one in paths if one.layer == inner and not surrounded(one)]
    says = (
        "cuts inside a part that no edge on the layer of edges surrounds,"
        " or edges that do not close"
    )
    amiss = [*stray, *loose]
    return judge(
        "proof.cut-layers", path, at_most(float(len(amiss)), 0.0, "paths"), spot(says, amiss)
    )


def _kerfed(
    path: str,
    parts: Sequence[BaseGeometry],
    nominal: dict[str, BaseGeometry],
    named: str,
    kerf: float,
    chords: float,
) -> tuple[Counter[str], Verdict]:
    """How often each item lies here, and the worst difference of an outline from its item."""
    worst, where = 0.0, ""
    seen: Counter[str] = Counter()
    for part in parts:
        bare = part.buffer(-kerf / 2, join_style="mitre", mitre_limit=20.0)
        item, off = nearest(bare, nominal, named)
        seen[item] += 1
        if off > worst:
            worst, where = off, f" at x {part.centroid.x:.1f}, y {part.centroid.y:.1f}"
    return seen, judge(
        "proof.cut-kerf",
        path,
        at_most(worst, ALIKE_MM + chords),
        f"an outline less half the kerf of {kerf:.3g} mm differs from the nominal part{where}",
        source="half the kerf on each side of the line",
    )


def _drawn(tree: Tree, job: JobValues, known: dict[str, BaseGeometry]) -> dict[str, BaseGeometry]:
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


def nominals(tree: Tree, job: JobValues) -> dict[str, BaseGeometry]:
    """Item to its nominal shape, centred in no special way."""
    import shapely

    found: dict[str, BaseGeometry] = {}
    names = ("panel", *job.at("designs", {}))
    # which sheets lie mirrored stands in the list of art alone
    unsure = ART not in tree and any(one["back"] for name in names for one in _art(job, name))
    for path in () if unsure else tree.names("model/diffuser", ".step"):
        loops = read_step(path, tree.read(path)).top()
        if not loops:
            raise Unreadable(path, "has no level top face")
        rings = sorted(
            (shapely.Polygon([p[:2] for p in loop]) for loop in loops), key=lambda one: -one.area
        )
        item = path.removeprefix("model/").removesuffix(".step")
        found[item] = shapely.Polygon(rings[0].exterior, [ring.exterior for ring in rings[1:]])
    for name in names:
        item = "diffuser" if name == "panel" else f"diffuser-{name}"
        if job.design(name).at("shell.wall") is None:
            continue  # no panel is of this design: what it leaves out was never derived
        sides, apothem, radius = job.design(name).nominal_sheet(job.shop)
        plain = shapely.Polygon(regular(sides, apothem, radius))
        if item not in found:
            # the values do not tell where the bridges of a stencil lie
            if not any(one["work"] == "stencil" for one in _art(job, name)):
                found[item] = plain
        elif not found[item].interiors and not fits(found[item], plain, ALIKE_MM):
            raise Unreadable(
                f"model/{item}.step",
                f"its outline is not that of the job's values (area {found[item].area:.2f} mm2, not"
                f" {plain.area:.2f} mm2)",
            )
    return {item: _as_cut(tree, item, shape) for item, shape in found.items()}


def _art(job: JobValues, design: str) -> list[Mapping[str, Any]]:
    """The art on the sheets of a design, the wall's among it."""
    every = (*job.at("art", ()), *job.design(design).at("art", ()))
    return [one for one in every if one["on"] == "diffuser"]


def _as_cut(tree: Tree, item: str, shape: BaseGeometry) -> BaseGeometry:
    """A sheet as it lies in the machine: mirrored when it is engraved on its back."""
    from shapely import affinity

    rows = rows_of(tree, ART, ("item", "side")) if ART in tree else ()
    down = any(row["item"] == item and row["side"] == "back" for row in rows)
    return affinity.scale(shape, -1.0, 1.0, origin=(0, 0)) if down else shape


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
        judge(
            "proof.cut-count",
            "lists/parts.csv",
            at_most(float(off), 0.0, "parts"),
            f"parts on the sheets: {total}, counted in the list: {shapes_}",
        )
    ]


def _stock_of(job: JobValues, name: str) -> str | None:
    """The stock of a single part by its name; None for what is not a diffuser."""
    if name == "diffuser":
        return str(job.design("panel").at("diffuser.stock"))
    for design in sorted(job.at("designs", {}), key=len, reverse=True):  # "a-b" before "a"
        if name == f"diffuser-{design}" or name.startswith(f"diffuser-{design}-"):
            return str(job.design(design).at("diffuser.stock"))
    return str(job.design("panel").at("diffuser.stock")) if name.startswith("diffuser-") else None


def spot(says: str, paths: Sequence[CutPath]) -> str:
    """The words with the place of the first path, where there is one."""
    return (
        says
        if not paths
        else (
            f"{says}: at x {paths[0].centre[0]:.1f}, y {paths[0].centre[1]:.1f}, layer"
            f" {paths[0].layer}"
        )
    )
