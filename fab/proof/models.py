"""The assembled wall's STEP read as text: what stands in it by name, how often, under which panel,
and that every solid has a colour. No CAD kernel.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass

from fab.checks.model import Verdict
from fab.proof.differences import PANELS, PARTS, same
from fab.proof.job import JobValues
from fab.proof.table import rows_of
from fab.proof.tree import Tree, Unreadable

WALL = "model/assembly.step"
PRODUCT = re.compile(r"#(\d+) = PRODUCT\('([^']*)'")
FORMATION = re.compile(r"#(\d+) = PRODUCT_DEFINITION_FORMATION\('[^']*','[^']*',#(\d+)\)")
DEFINITION = re.compile(r"#(\d+) = PRODUCT_DEFINITION\('[^']*','[^']*',#(\d+),#\d+\)")
USE = re.compile(r"NEXT_ASSEMBLY_USAGE_OCCURRENCE\('\d+','([^']*)','[^']*',#(\d+),#(\d+),")
BODY = re.compile(r"#(\d+) = (?:MANIFOLD_SOLID_BREP|BREP_WITH_VOIDS)\(")
STYLE = re.compile(r"STYLED_ITEM\('[^']*',\(#\d+\),#(\d+)\)")
COLOUR = re.compile(r"COLOUR_RGB\('[^']*',([^,]+),([^,]+),([^)]+)\)")
# beginnings of lines in lists/parts.csv, and the part that each one counts in the model
BOUGHT = (
    ("circuit board", "", "board"),
    ("screw M", ", pan head", "board screw"),
    ("screw M", ", countersunk", "shell screw"),
    ("screw M", " with washer", "inlet screw"),
)
COUNTED = (("clips", "clip"), ("caps", "cap"), ("headers", "header"), ("hangers", "wall screw"))


@dataclass(frozen=True)
class Model:
    """Uses of parts: how often each stands under each group; solids with and without a colour."""

    uses: Mapping[tuple[str, str], int]  # (group, part)
    nameless: int  # uses without a name
    plain: int  # solids without a colour
    colours: int

    def count(self, part: str) -> int:
        """Number of a part's copies in the wall, those of all designs and kinds together."""
        return sum(
            count
            for (_, name), count in self.uses.items()
            if name == part or name.startswith(f"{part}-")
        )

    def of_kind(self, name: str) -> int:
        """Number of copies with this whole name: base-inlet, but not base-inlet-turned-1."""
        return sum(count for (_, found), count in self.uses.items() if found == name)


def read_model(path: str, data: bytes) -> Model:
    """The parts of an assembly's STEP. Raises Unreadable."""
    text = data.decode("latin-1")
    if not text.startswith("ISO-10303-21;") or "END-ISO-10303-21;" not in text[-200:]:
        raise Unreadable(path, "is no whole STEP file")
    products = dict(PRODUCT.findall(text))
    formations = dict(FORMATION.findall(text))
    names = {
        number: products.get(formations.get(of, ""), "") for number, of in DEFINITION.findall(text)
    }
    found = USE.findall(text)
    tops = {parent for _, parent, _ in found} - {child for _, _, child in found}
    uses = Counter(
        (names[parent], names[child]) for _, parent, child in found if parent not in tops
    )
    bodies, styled = set(BODY.findall(text)), set(STYLE.findall(text))
    tones = {tuple(round(float(number), 2) for number in tone) for tone in COLOUR.findall(text)}
    return Model(uses, sum(1 for name, _, _ in found if not name), len(bodies - styled), len(tones))


def prove(tree: Tree, job: JobValues) -> list[Verdict]:
    """Verdicts on the assembled wall against the lists and the manifest."""
    if WALL not in tree or PARTS not in tree:
        return []
    model = read_model(WALL, tree.read(WALL))
    wrong = differing(model, wanted := _wanted(tree), bases := _bases(tree))
    panels = [row["name"] for row in rows_of(tree, PANELS, ("name",))]
    groups = {group for group, _ in model.uses}
    lost = [f"no panel {name}" for name in panels if _plain(name) not in groups]
    lost += [f"parts without a name: {model.nameless}"] if model.nameless else []
    bare = [f"solids without a colour: {model.plain}"] if model.plain else []
    bare += [] if model.colours > 3 else [f"colours in all: {model.colours}"]
    return [
        same(
            "proof.model-count",
            WALL,
            wrong,
            f"all {len(wanted) + len(bases)} counts of parts agree",
            "parts",
        ),
        same(
            "proof.model-names",
            WALL,
            lost,
            f"panels that have their names: {len(panels)}",
            "panels",
        ),
        same("proof.model-colours", WALL, bare, f"every solid has one of {model.colours} colours"),
    ]


def differing(model: Model, parts: Mapping[str, int], bases: Mapping[str, int]) -> list[str]:
    """What stands in the model in another number than in the lists, in words; `bases` by kind."""
    found = [(part, model.count(part), count) for part, count in parts.items()]
    found += [(name, model.of_kind(name), count) for name, count in bases.items()]
    return [
        f"{name}: {there} in the model, {count} counted"
        for name, there, count in sorted(found)
        if there != count
    ]


def _bases(tree: Tree) -> Counter[str]:
    """Kind of base to how often the list of parts counts it."""
    found: Counter[str] = Counter()
    for row in rows_of(tree, PARTS, ("item", "part", "count")):
        if row["part"] == "base":
            found[row["item"]] += int(row["count"])
    return found


def _wanted(tree: Tree) -> Counter[str]:
    """Part to how often it must stand in the wall, by the manifest and the list of parts."""
    counts = tree.json("manifest.json")["counts"]
    wanted: Counter[str] = Counter(
        {part: int(counts[key]) for key, part in COUNTED}
        | {part: int(counts["panels"]) for part in ("base", "shell", "diffuser")}
        | {"jumper half": 2 * int(counts["jumpers"]), "receptacle": 0, "board": 0}
    )
    wanted.update({part: 0 for _, _, part in BOUGHT})
    for row in rows_of(tree, PARTS, ("item", "part", "count")):
        item, count = row["item"], int(row["count"])
        for start, end, part in BOUGHT:
            if item.startswith(start) and item.endswith(end):
                wanted[part] += count
        if row["part"] == "inlet" and "Type-C" in row["note"]:
            wanted["receptacle"] += count
    return wanted


def _plain(name: str) -> str:
    """A name as a STEP file holds it."""
    return name.encode("ascii", "replace").decode().replace("'", "")
