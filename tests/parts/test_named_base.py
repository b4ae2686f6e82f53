"""A name that is set onto a finished base against the same name put on by a boolean of the CAD
kernel.
"""

from __future__ import annotations

import dataclasses
import random
from pathlib import Path

import pytest

from fab.decisions import plans_of
from fab.layout.model import BaseKind
from fab.params.read import load
from fab.parts.base import base
from fab.parts.base_name import fused_name, name_feet, name_height
from fab.products import PartSpec, base_on, blank, body, made, named_base, shaping
from fab.solids import kernel
from fab.solids.meshing import mesh
from fab.solids.stamp import raised, raised_mesh

ROOT = Path(__file__).parents[2]
pytestmark = pytest.mark.kernel


def test_a_stamp_is_the_boolean_on_a_plain_block() -> None:
    """Feet with a hole, and several; also beside each other.

    By hand: the volume grows by area times height.
    """
    block = kernel.box(-20, 20, -20, 20, 0, 5)
    from fab.outlines.contour import Outline, circle, polygon

    square = polygon([(-3.0, -3.0), (3.0, -3.0), (3.0, 3.0), (-3.0, 3.0)])
    frame = Outline(circle((9.0, 9.0), 4.0), (circle((9.0, 9.0), 2.0).reversed(),))
    feet = kernel.flat([square, frame], 5.0)
    made_ = raised(block, feet, 5.0, 1.0)
    assert made_ is not None
    assert made_.isValid()
    boolean = kernel.fused([block, *kernel.prisms([square, frame], 4.5, 6.0)])
    assert made_.Volume() == pytest.approx(boolean.Volume(), abs=1e-6)
    assert made_.Volume() - block.Volume() == pytest.approx(
        36.0 + 12.0 * 3.141592653589793, abs=1e-6
    )
    assert made_.Area() == pytest.approx(boolean.Area(), abs=1e-6)
    assert made_.cut(boolean).Volume() == pytest.approx(0.0, abs=1e-6)
    net = raised_mesh(mesh(block), feet, 5.0, 1.0)
    assert net.volume_mm3 == pytest.approx(made_.Volume(), rel=1e-4)


def test_what_no_face_holds_is_left_to_the_boolean() -> None:
    from fab.outlines.contour import polygon

    over = kernel.flat([polygon([(15.0, -3.0), (25.0, -3.0), (25.0, 3.0), (15.0, 3.0)])], 5.0)
    assert raised(kernel.box(-20, 20, -20, 20, 0, 5), over, 5.0, 1.0) is None
    assert raised(kernel.box(-20, 20, -20, 20, 0, 4), over, 5.0, 1.0) is None


def named_as_by_hand(names: list[str], up_deg: float) -> None:
    plan = shaping(plans_of(load(ROOT / "params" / "reading-nook.toml").job)["panel"])
    kind = BaseKind("base", "", False, up_deg, "")
    whole = body(plan, False, blank(plan))
    plain = made(PartSpec("base", "panel", kind), base_on(plan, kind, whole))
    for name in names:
        own = dataclasses.replace(kind, label=name)
        part = made(PartSpec("base", "panel", own), named_base(plan, own, plain))
        boolean = kernel.one_body(fused_name(plan, own, plain.solid), name)
        assert part.solid.isValid(), name
        assert len(part.solid.Solids()) == 1
        assert part.volume_mm3 == pytest.approx(boolean.Volume(), abs=1e-4), name
        assert part.area_mm2 == pytest.approx(boolean.Area(), abs=1e-4), name
        assert part.volume_mm3 > plain.volume_mm3 + 1.0
        assert part.mesh.volume_mm3 == pytest.approx(mesh(boolean).volume_mm3, abs=0.01), name
        assert base(plan, own).Volume() == pytest.approx(part.volume_mm3, abs=1e-6)
        assert name_feet(plan, own)
        assert part.box[5] == pytest.approx(plain.box[5])
        assert name_height(plan) > 0


@pytest.mark.slow
def test_any_name_is_the_same_as_by_a_boolean() -> None:
    dice = random.Random(20261129)
    letters = "ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789abcdefghijklmnopqrstuvwxyz&-"
    for up_deg in (90.0, 30.0, 137.5):
        named_as_by_hand(
            ["".join(dice.choices(letters, k=dice.randint(1, 4))) for _ in range(6)], up_deg
        )
