"""The fit proof: what was made passes, and every seeded fault is caught by the check that should
catch it.
"""

from __future__ import annotations

import dataclasses
import os
from collections.abc import Callable, Sequence
from typing import Any

import manifold3d
import pytest
from hypothesis import HealthCheck, Phase, assume, given, seed, settings

from fab.checks import fit, fits_measured, joint_measured, leak, motion, prints
from fab.checks.broken import faults
from fab.checks.model import Verdict, told
from fab.checks.plan import plan_checks
from fab.layout.model import BaseKind
from fab.parts import fits
from fab.parts.assembly import beside_edge, joint_parts, panel_parts, printed
from fab.parts.base import base
from fab.parts.diffuser import diffuser
from fab.parts.placed import Named, Pose
from fab.parts.plan import Plan
from fab.solids import kernel
from fab.solids.mesh import Mesh
from tests.cases import few

from .conftest import Set
from .designs import changed, failed, likely, plan_with

Parts = Sequence[Named]
Fault = Callable[[Set], list[Named]]

LONG = int(os.environ.get("PANEJIG_SWEEP", "60"))  # designs in the long sweep, in so many parts:
PARTS = 10


@pytest.fixture(scope="module")
def measured(screwed: Set, snapped: Set, on_feet: Set) -> list[tuple[Verdict, ...]]:
    """The whole proof of one panel of each set."""
    return [fit.panel_verdicts(one.plan, one.parts, "panel") for one in (on_feet, snapped, screwed)]


@pytest.mark.slow
def test_what_was_made_fits(
    screwed: Set, snapped: Set, on_feet: Set, measured: list[tuple[Verdict, ...]]
) -> None:
    for verdicts in measured:
        assert not failed(verdicts), [v for v in verdicts if v.verdict == "fail"]
    for one in (screwed, snapped):  # feet are far from a joint
        assert not failed(fit.joint_verdicts(one.plan, one.plan, one.joint, "joint"))


@pytest.mark.slow
def test_every_fit_of_the_table_is_measured(
    screwed: Set, measured: list[tuple[Verdict, ...]]
) -> None:
    """Each fit once, against the clearance that its class states."""
    found = {v.id: v for verdicts in measured for v in verdicts}
    for name in fits.FITS:
        verdict = found[f"fit.{name}"]
        growth = 0.0 if name != "seat" else screwed.plan.rings.seat_gap - screwed.plan.fit("seat")
        assert verdict.measured == pytest.approx(screwed.plan.fit(name) + growth, abs=0.01), name


@pytest.mark.slow
def test_a_foot_of_another_size_is_seen(on_feet: Set) -> None:
    """A stub that is thinner by 4 %."""
    spot = next(k for k, part in enumerate(on_feet.parts) if part.part == "foot")
    one = on_feet.parts[spot]
    (x0, y0, _), (x1, y1, _) = one.mesh.box
    middle = ((x0 + x1) / 2, (y0 + y1) / 2, 0.0)
    thin = Mesh((one.mesh.vertices - middle) * (0.96, 0.96, 1.0) + middle, one.mesh.triangles)
    parts = [
        *on_feet.parts[:spot],
        dataclasses.replace(one, net=(thin, Pose())),
        *on_feet.parts[spot + 1 :],
    ]
    assert {"fit.foot", "fit.foot-stub"} <= failed(fit.panel_verdicts(on_feet.plan, parts, "panel"))


@pytest.mark.slow
def test_a_second_kernel_finds_no_overlap_either(screwed: Set, snapped: Set) -> None:
    """Every pair of parts again, by a boolean library of its own (manifold3d) on the meshes; and a
    clash that both see.
    """

    def shared(a: Named, b: Named) -> float:
        one, two = (
            manifold3d.Manifold(
                manifold3d.Mesh(
                    p.mesh.vertices.astype("float32"), p.mesh.triangles.astype("uint32")
                )
            )
            for p in (a, b)
        )
        assert one.status() == manifold3d.Error.NoError
        return float((one ^ two).volume())

    for one in (screwed, snapped):
        for a, b in fit._pairs(one.parts):
            most = 0.15 if {a.part, b.part} == {"cap", "base"} else 0.02
            assert shared(a, b) < most, (a.name, b.name)
    base_, shell = (
        screwed.parts[0],
        next(p for p in screwed.parts if p.part == "shell").moved(dx=0.4),
    )
    assert shared(base_, shell) == pytest.approx(
        kernel.overlap_mm3(base_.solid, shell.solid), rel=0.02
    )


# -- faults: a part moved, grown, turned round or left as it was for another plan
# -------------------------------


def moved(part: str, dx: float = 0.0, dy: float = 0.0, dz: float = 0.0) -> Fault:
    """All parts of a kind moved."""
    return lambda one: [p.moved(dx, dy, dz) if p.part == part else p for p in one.parts]


def leds_up_to(past: float) -> Fault:
    """The LEDs, raised so far that their tops stand `past` mm in the diffuser."""

    def fault(one: Set) -> list[Named]:
        low = next(p for p in one.parts if p.part == "diffuser").solid.BoundingBox().zmin
        top = next(p for p in one.parts if p.part == "led").solid.BoundingBox().zmax
        return moved("led", dz=low - top + past)(one)

    return fault


def swapped(part: str, solid: Callable[[Set], Any]) -> Fault:
    return lambda one: [
        Named(p.name, p.part, solid(one), p.group) if p.part == part else p for p in one.parts
    ]


def other_plan(one: Set, overrides: dict[str, Any]) -> Plan:
    plan = dataclasses.replace(
        one.plan,
        params=changed(one.plan.params, {k: v for k, v in overrides.items() if k[:5] != "stock"}),
    )
    stock = {k[6:]: v for k, v in overrides.items() if k[:5] == "stock"}
    return dataclasses.replace(plan, stock=changed(plan.stock, stock))


def remade(part: str, **overrides: Any) -> Fault:
    """A part made to other values: one number of one part changed by mistake."""
    values = {key.replace("__", "."): value for key, value in overrides.items()}

    def solid(one: Set) -> Any:
        plan = other_plan(one, values)
        return base(plan, one.kind) if part == "base" else diffuser(plan)

    return swapped(part, solid)


def thick_sheet(one: Set) -> Any:
    return kernel.prism(
        one.plan.rings.diffuser,
        one.plan.heights.ledge_z,
        one.plan.heights.ledge_z + one.plan.stock.thickness + 0.4,
    )


def mirrored_base(one: Set) -> Any:
    return one.made.base.mirror("XZ")


def overhanging_base(one: Set) -> Any:
    """A lug on the base's wall that reaches over the shell's foot, through its port."""
    a = one.plan.cell.apothem
    z = one.plan.floor.top_z
    lug = kernel.box(a - one.plan.edge.wall_u - 0.3, a - 0.5, -3.0, 3.0, z + 4.0, z + 6.0)
    ring = kernel.box(
        a - 1.5, a - 0.5, -one.plan.edge.port_w, one.plan.edge.port_w, z + 4.0, z + 6.0
    )
    return kernel.fused([one.made.base, kernel.turned(lug, 180.0), kernel.turned(ring, 180.0)])


PANEL_FAULTS: dict[str, tuple[Fault, str]] = {
    "shell moved sideways": (moved("shell", dx=0.3), "fit.lap"),
    "shell moved back": (moved("shell", dy=-0.3), "fit.lap"),
    "shell moved into the base": (moved("shell", dz=-0.3), "fit.overlap"),
    "diffuser moved sideways": (moved("diffuser", dx=0.3), "fit.seat"),
    "diffuser moved forwards": (moved("diffuser", dz=0.3), "fit.diffuser-proud"),
    "diffuser too thick": (swapped("diffuser", thick_sheet), "fit.diffuser-proud"),
    "diffuser cut too large": (remade("diffuser", diffuser__warm_c=30.0), "fit.seat"),
    "diffuser cut too small": (remade("diffuser", diffuser__warm_c=140.0), "fit.diffuser-cold"),
    "LEDs raised": (moved("led", dz=0.3), "fit.led-top"),
    "LEDs raised into the diffuser": (leds_up_to(1.0), "fit.overlap"),
    "board lowered onto the posts": (moved("board", dz=-0.3), "fit.overlap"),
    "board moved sideways": (moved("board", dx=0.45), "fit.overlap"),
    "sockets moved into the wall": (moved("socket", dx=0.45), "fit.overlap"),
    "clip moved along the joint": (moved("clip", dx=0.3), "fit.clip"),
    "clip moved away from the wall": (moved("clip", dz=0.3), "fit.overlap"),
    "clip moved towards the wall": (moved("clip", dz=-0.4), "fit.overlap"),
    "cap moved out": (moved("cap", dx=-0.3), "fit.cap-flush"),
    "cap moved up": (moved("cap", dz=0.3), "fit.cap-port"),
    "cap moved along": (moved("cap", dy=0.3), "fit.cap"),
    "base mirrored": (swapped("base", mirrored_base), "fit.hanger"),
    "base wall too thin": (remade("base", base__wall=0.9), "fit.clip"),
    "base wall too thick": (remade("base", base__wall=1.8), "fit.clip-hook"),
    "base floor too thick": (remade("base", base__floor=3.4), "fit.overlap"),
    "base made for another turn": (lambda one: _other_turn(one), "fit.hanger"),  # noqa: PLW0108 (defined below)
    "wall screw too thick": (lambda one: _thick_screw(one), "fit.hanger"),  # noqa: PLW0108 (defined below)
    "a lug over the shell's foot": (swapped("base", overhanging_base), "fit.shell-off"),
    "header moved into the window's sill": (moved("header", dz=-2.0), "fit.overlap"),
    "inlet board moved": (moved("inlet board", dy=0.15), "fit.inlet"),
    "receptacle moved": (moved("receptacle", dz=0.3), "fit.overlap"),
}


def _other_turn(one: Set) -> list[Named]:
    kind = dataclasses.replace(one.kind, up_deg=(one.kind.up_deg or 0.0) + 3.0)
    return [
        Named(p.name, p.part, base(one.plan, kind)) if p.part == "base" else p for p in one.parts
    ]


def _thick_screw(one: Set) -> list[Named]:
    def thick(mesh: Mesh) -> Mesh:
        middle = mesh.vertices.mean(axis=0)
        return Mesh((mesh.vertices - middle) * [1.1, 1.1, 1.0] + middle, mesh.triangles)

    from fab.parts.placed import Pose

    return [
        (
            Named(p.name, p.part, p.solid, p.group, (thick(p.mesh), Pose()))
            if p.part == "wall screw"
            else p
        )
        for p in one.parts
    ]


def asked(check: str, one: Set, parts: Parts) -> set[str]:
    """What fails of the checks that this one comes from: the rest of the proof would only take
    time.
    """
    plan = one.plan
    if check == "fit.overlap":
        spoilt = [part for part in parts if all(part is not good for good in one.parts)]
        near = [
            p
            for p in parts
            if p.part == "base" or p in spoilt or any(fit._pairs([bad, p]) for bad in spoilt)
        ]
        return failed(fit.overlaps(plan, near, "panel"))
    if check == "fit.shell-off":
        return failed(motion.shell_off(plan, parts, "panel"))
    if check.startswith("fit.press"):
        return failed(motion.press(plan, parts, "panel"))
    found = [
        *fits_measured.clearances(plan, parts, "panel"),
        *fits_measured.diffuser(plan, parts, "panel"),
    ]
    return failed([*found, *fit.heights(plan, parts, "panel")])


# one of each check, quick ones; all in the slow run
QUICK = (
    *("shell moved sideways", "diffuser moved sideways", "diffuser moved forwards", "LEDs raised"),
    *("clip moved along the joint", "cap moved out", "cap moved up", "inlet board moved"),
    *("LEDs raised into the diffuser", "wall screw too thick"),
    *("B hung lower", "header out of its windows"),
)


def some(names: Sequence[str]) -> list[Any]:
    """Names of faults for a test, those that are not quick in the slow run."""
    ordered = sorted(names)
    return few(ordered, *(ordered.index(name) for name in QUICK if name in ordered))


@pytest.mark.parametrize("name", some([*PANEL_FAULTS]))
def test_a_seeded_fault_is_caught_by_its_check(screwed: Set, name: str) -> None:
    fault, check = PANEL_FAULTS[name]
    assert check in asked(check, screwed, fault(screwed)), name


PRESS_FAULTS: dict[str, tuple[Fault, str]] = {
    "shell sunk": (moved("shell", dz=-0.2), "fit.press-free"),
    "plungers raised": (moved("plunger", dz=0.2), "fit.press-free"),
    "switches raised": (moved("switch", dz=0.6), "fit.press-lap"),
    "floor too thick for the stop": (remade("base", base__floor=3.3), "fit.press-stop"),
    "caps too high": (moved("cap", dz=0.3), "fit.cap-port"),
    "LEDs too high for a diffuser that sinks": (leds_up_to(-0.4), "fit.press-diffuser"),
    "shell snaps moved": (moved("shell", dx=0.2, dy=0.2), "fit.shell-snap"),
    "tongues reach too far": (remade("base", shell__snap_engage=0.6), "fit.shell-snap"),
}


@pytest.mark.slow
@pytest.mark.parametrize("name", sorted(PRESS_FAULTS))
def test_a_seeded_fault_of_press_edges_and_snaps_is_caught(snapped: Set, name: str) -> None:
    fault, check = PRESS_FAULTS[name]
    assert check in asked(check, snapped, fault(snapped)), name


JOINT_FAULTS: dict[str, tuple[Callable[[Named], Named], str]] = {
    "pins too far to one side": (
        lambda p: p.moved(dx=2.5) if p.part == "header" else p,
        "fit.header-in",
    ),
    "B hung lower": (lambda p: p.moved(dy=0.3) if p.name.startswith("B ") else p, "fit.joint-clip"),
    "B too near": (lambda p: p.moved(dx=-0.3) if p.name.startswith("B ") else p, "fit.joint-clip"),
    "B's board raised": (
        lambda p: p.moved(dz=0.3) if p.name.startswith("B ") and p.group else p,
        "fit.header-axis",
    ),
    "header out of its windows": (
        lambda p: p.moved(dy=0.3) if p.part == "header" else p,
        "fit.header-window",
    ),
    "B pushed into A": (
        lambda p: p.moved(dx=-0.8) if p.name.startswith("B ") else p,
        "fit.overlap",
    ),
}


@pytest.mark.parametrize("name", some([*JOINT_FAULTS]))
def test_a_seeded_fault_at_a_joint_is_caught(screwed: Set, name: str) -> None:
    change, check = JOINT_FAULTS[name]
    parts, plan = [change(one) for one in screwed.joint], screwed.plan
    if check == "fit.overlap":  # of the two bases alone
        bases = [one for one in parts if one.part == "base"]
        found: tuple[Verdict, ...] = (fit._overlap_verdict(fit._pairs(bases), "joint", set()),)
    else:  # the rest of the proof would only take time
        found = (
            *joint_measured.header(plan, plan, parts, "joint"),
            *joint_measured.clips(plan, plan, parts, "joint"),
        )
    assert check in failed(found), name


def test_bases_of_one_design_are_asked_for_what_they_differ_in(screwed: Set) -> None:
    """A further kind of base: its keyhole and inlet, without the whole proof again."""
    verdicts = fit.base_checks(screwed.plan, screwed.kind, screwed.made)
    assert {
        "fit.overlap",
        "fit.hanger",
        "fit.hanger-holds",
        "fit.inlet",
        "fit.mark",
        "fit.screw-top",
    } == {v.id for v in verdicts}
    assert not failed(verdicts)
    turned = dataclasses.replace(screwed.kind, up_deg=80.0)
    assert "fit.hanger" in failed(fit.base_checks(screwed.plan, turned, screwed.made))


@pytest.mark.slow
def test_designs_with_other_edges_do_not_mate(screwed: Set) -> None:
    """A neighbour whose board sits higher: its sockets are off the header's axis."""
    other = plan_with({"edge": 72.0, "sides": 3, "board.height": 16.0})
    made = printed(other)
    found = failed(fit.joint_checks(screwed.plan, screwed.made, other, made))
    assert "fit.header-axis" in found


@pytest.mark.slow
def test_squares_and_triangles_mate_with_hexagons(screwed: Set) -> None:
    """Same edge, other number of sides: one edge interface (the design's promise)."""
    other = plan_with({"edge": 72.0, "sides": 3})
    assert not failed(fit.joint_checks(screwed.plan, screwed.made, other, printed(other)))


# -- random designs
# ---------------------------------------------------------------------------------------------


def proven(drawn: tuple[dict[str, Any], Any], up_deg: float = 77.0) -> None:
    """Every part of an accepted design is one valid solid, prints, fits, keeps its clearances and
    lets no light out.
    """
    plan = plan_with(drawn[0])
    assume(not faults(plan))
    kind = BaseKind("inlet-hanger-A", "panel", True, up_deg, "A")
    assume(not failed(plan_checks("panel", plan, [kind])))
    made = printed(plan, kind)
    parts = panel_parts(plan, kind, made)
    verdicts = [*fit.panel_verdicts(plan, parts, "panel")]
    verdicts += fit.joint_verdicts(plan, plan, joint_parts(plan, made, plan, made), "joint")
    verdicts += leak.leak_verdicts(plan, [*parts, *beside_edge(plan, made, 1)], "panel", inlet=True)
    for name, solid in (
        ("base", made.base),
        ("shell", made.shell),
        ("clip", made.clip),
        ("cap", made.cap),
    ):
        assert solid.isValid()
        assert len(solid.Solids()) == 1
        verdicts += prints.checks(name, made.flat[name].mesh, plan.printer)
    bad = [told(verdict) for verdict in verdicts if verdict.verdict == "fail"]
    if bad:
        pytest.fail("\n".join([*bad, repr(drawn)]))


@pytest.mark.slow
@pytest.mark.parametrize("part", range(PARTS))
def test_random_accepted_designs_are_proven(part: int) -> None:
    """Each part draws its own designs, the same ones on every run."""

    @seed(part)
    @settings(
        max_examples=LONG // PARTS,
        deadline=None,
        database=None,
        phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
    )
    @given(likely())
    def share(drawn: tuple[dict[str, Any], Any]) -> None:
        proven(drawn)

    share()
