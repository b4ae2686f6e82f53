"""A saved state as far as it is known: its shape, then zones and screws, then what is made."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from fab import verdicts
from fab.book import glance
from fab.book.wiring import most_brightness
from fab.checks.edges import edge_checks
from fab.checks.model import Verdict
from fab.checks.plan import plan_checks
from fab.checks.snap import checks as snap_checks
from fab.decisions import decide, lay_out, plans_of
from fab.design import Design
from fab.layout.model import Layout
from fab.params.placed import told_with_places
from fab.params.read import Loaded
from fab.parts.plan import Plan
from fab.wall.model import PanelMass
from fab.weigh import rough_masses

ABOUT = "about "  # before a figure that was not weighed yet
Weigh = Callable[[Mapping[str, Plan], Layout], dict[str, PanelMass]]


@dataclass(frozen=True)
class Look:
    """One state of the files, as far as it is known."""

    loaded: Loaded
    plans: Mapping[str, Plan]
    layout: Layout
    design: Design | None = None  # with zones, inlets and screws
    verdicts: tuple[Verdict, ...] | None = None  # None: not checked yet
    tried: bool = False  # whether the remedies were tried on the whole job
    trial: bool = False  # whether no file has this state
    rough: bool = False  # whether panels were weighed from their outlines
    made: glance.Rows = ()  # what sheets, plates and prices tell

    @property
    def title(self) -> str:
        """Name of the wall's picture."""
        return f"The wall {self.loaded.job.job}"

    @property
    def rows(self) -> glance.Rows:
        """The figures that are known, each with its label."""
        job = self.design.job if self.design is not None else self.loaded.job
        wall = glance.wall(self.design) if self.design is not None else ()
        if self.rough:
            wall = tuple((k, f"{ABOUT}{text}" if k == glance.WEIGHT else text) for k, text in wall)
        if self.design is not None:
            wall += (("Highest brightness", most_brightness(self.design.wired)),)
        return (*glance.shape(self.layout, job), *wall, *self.made)

    @property
    def unbuildable(self) -> bool:
        """True when the values of a panel do not fit each other: no more is known of it then."""
        checked = self.verdicts or ()
        return self.design is None and any(one.verdict == "fail" for one in checked)


@told_with_places
def shape(loaded: Loaded) -> Look:
    """Plans and layout of a job. Raises InputError when it can't be laid out."""
    job = loaded.job
    return Look(loaded, plans_of(job), lay_out(job))


def shape_verdicts(look: Look) -> tuple[Verdict, ...]:
    """The checks that ask for no more than plans and layout."""
    found: list[Verdict] = []
    for name, plan in look.plans.items():
        found += plan_checks(name, plan)
        found += snap_checks(plan, name)
    return (*found, *edge_checks(look.layout, look.plans))


@told_with_places
def wired(loaded: Loaded, weigh: Weigh) -> Design:
    """The wall with zones, inlets and screws; panels weighed by `weigh`, so no solid is made."""
    return decide(loaded.job, weigh)


def wall_verdicts(design: Design) -> tuple[Verdict, ...]:
    """The checks that need neither solid nor nest; remedies are not tried yet."""
    return (
        *verdicts.plan_verdicts(design),
        *verdicts.electric_verdicts(design, ways=False),
        *verdicts.hang_verdicts(design),
    )


def lit_verdicts(look: Look) -> tuple[Verdict, ...]:
    """The checks of a state with those of light, whose remedies are not looked for."""
    light = verdicts.light_verdicts(look.loaded.job, look.plans, remedies=False)
    return (*(look.verdicts or ()), *light)


class Scales:
    """Weights of designs that were weighed once; others are taken from their outlines."""

    def __init__(self) -> None:
        self._known: dict[str, tuple[object, PanelMass]] = {}

    def keep(self, design: Design) -> None:
        """Remember what the panels of a design weigh."""
        for panel in design.layout.panels:
            of = self._of(design.plans[panel.design])
            self._known[panel.design] = (of, design.masses[panel.name])

    def weigh(self, plans: Mapping[str, Plan], layout: Layout) -> dict[str, PanelMass]:
        """Mass of each panel: as it was weighed where its plan is the same, else roughly."""
        rough, found = rough_masses(plans, layout), {}
        for panel in layout.panels:
            known = self._known.get(panel.design)
            same = known is not None and known[0] == self._of(plans[panel.design])
            found[panel.name] = known[1] if known and same else rough[panel.name]
        return found

    def know(self, design: Design) -> bool:
        """True when every panel of a design was weighed before."""
        found = design.plans.items()
        return all(
            name in self._known and self._known[name][0] == self._of(plan) for name, plan in found
        )

    @staticmethod
    def _of(plan: Plan) -> object:
        return plan.params, plan.printer, plan.stock, plan.filament
