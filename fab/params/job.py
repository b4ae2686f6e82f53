"""The job: a shop, one or more panel designs, a layout, power and wall."""

from __future__ import annotations

from fab.params.artparams import ArtParams
from fab.params.designs import is_main
from fab.params.panel import PanelParams
from fab.params.shop import Shop
from fab.params.spec import (
    ParamTable,
    cell,
    cells,
    choice,
    count,
    drawing,
    flag,
    length,
    named,
    names,
    number,
    numbers,
    points,
    rings,
    section,
    sections,
    text,
)

MAP_DOC = (
    "the wall as a drawing, before its turn: each letter or name is a panel, # is a panel without"
    " a name, . is an empty place; rows of hexagons are shifted by half a step; triangles point"
    " up and down in turn, up in the lower left corner"
)
MAP_EXAMPLE = "  A B\n C D E\n  F G"


class PlacedParams(ParamTable):
    """One panel that is given a name, a design, or a place on another's edge."""

    name: str = text("", "name; left out: A, B, C ... in reading order", most=24)
    design: str = text("", "design of the panel; left out: the job's panel", most=40)
    cell: tuple[int, int] | None = cell(None, "lattice cell [q, r], [column, row]")
    on: str = text("", "name of the panel that it sits on", most=24)
    edge: int = count(0, "edge of that panel", 0, 63)
    own_edge: int = count(0, "own edge that lies on that edge", 0, 63)
    roll: str = text(
        "", "roll of filament of its base and shell; left out: that of its design", most=60
    )
    sheet: str = text("", "stock of its diffuser; left out: that of its design", most=60)


class LayoutParams(ParamTable):
    """The places of the panels."""

    map: str = drawing("", MAP_DOC, MAP_EXAMPLE)
    cells: tuple[tuple[int, int], ...] = cells(
        (), "lattice cells of the job's panels, in place of a map"
    )
    panel: tuple[PlacedParams, ...] = sections(PlacedParams, "panels placed one by one")
    turn_deg: float = number(
        0.0, "turn of the whole layout, counter-clockwise", -360.0, 360.0, unit="deg"
    )
    groups: str = choice(
        "one", ("one", "separate"), "separate: several groups that do not touch are allowed"
    )


class JointParams(ParamTable):
    """The connectors between the boards of two panels."""

    jumper: str = choice(
        "needed",
        ("needed", "never", "all"),
        "jumpers where no header can be pushed in, at no joint, or at every joint",
    )
    openings: str = choice(
        "needed",
        ("needed", "all"),
        "openings for jumpers in the bases: where the wall has a jumper, or at every edge",
    )


class PowerParams(ParamTable):
    """Supply and inlets."""

    supply_v: float = number(5.0, "supply", 1.0, 60.0, unit="V")
    supply_a: float = number(
        3.0,
        "current that one inlet's supply gives",
        0.05,
        100.0,
        unit="A",
        source="USB Type-C: 0.5, 0.9, 1.5 or 3.0 A at 5 V",
    )
    derate: float = number(0.8, "share of the supply that is used", 0.1, 1.0)
    brightness: float | None = number(
        None,
        "brightness limit that the maker sets in the controllers, share of full white; auto: the"
        " highest whole per cent at which every check of power, pins, voltage and logic holds and"
        " the heat stays 5 K below its limits, with as few inlets as reach 0.3, or what the heat"
        " allows where that is less",
        0.01,
        1.0,
        word="auto",
    )
    inlet: tuple[str, ...] = names((), "panels with an inlet; left out: chosen by panejig")
    inlets: int | None = count(None, "number of inlets; left out: the fewest that work", 1, 10_000)
    cable_mm: float = length(1500.0, "length of the supply cable", 0.0, 50_000.0)
    cable_ohm_per_m: float = number(
        0.1, "resistance of the supply cable, both ways", 0.0, 10.0, unit="ohm/m"
    )
    load: str = choice(
        "current",
        ("current", "power"),
        "load of a board: a constant current, or a constant power if a converter feeds the LEDs",
    )
    socket: tuple[tuple[float, float], ...] = points(
        (), "places of mains sockets in the wall frame"
    )
    control: str = choice(
        "each",
        ("each", "one"),
        "a controller in every panel, or one whose data line runs through all panels",
    )
    logic_v: float = number(3.3, "high level of a controller's data pin", 1.0, 60.0, unit="V")
    level_shifter: str = choice(
        "auto",
        ("auto", "none"),
        "auto: a level shifter at each controller where the LEDs need one; none: never",
    )
    ambient_c: float = number(40.0, "warmest temperature of the room", -20.0, 80.0, unit="degC")


class HangParams(ParamTable):
    """Hangers."""

    wall: str = text("plaster", "kind of wall, a name in the shop", most=60)
    must: tuple[str, ...] = names((), "panels that must have a hanger")
    avoid: tuple[str, ...] = names((), "panels that must not have a hanger")
    factor: float = number(
        4.0,
        "safety factor on screws",
        1.0,
        20.0,
        source="hangers rated four times the weight, picture-framing practice",
    )
    zones: tuple[tuple[tuple[float, float], ...], ...] = rings(
        (),
        "places of the wall to keep free of screws (cable, window), each a list of corners in the"
        " wall frame",
    )
    studs: tuple[float, ...] = numbers(
        (),
        "x of upright studs that screws should meet, counted from studs_from; keyholes are moved"
        " sideways to meet them",
        unit="mm",
    )
    studs_from: str = choice(
        "origin",
        ("origin", "left", "middle"),
        "origin of the x of studs: the wall frame's origin as in wall/holes.csv, the leftmost"
        " corner of the panels, or half-way between the outermost corners",
    )
    drill_mm: float = length(
        1.0,
        "permissible deviation of a drilled hole from its mark: a screw that is too low by this"
        " leaves its load to the others",
        0.0,
        10.0,
        source="common practice with a hand drill, no source",
    )
    stud_half: float = length(15.0, "half the width of a stud", 0.0, 200.0)
    rails: tuple[float, ...] = numbers(
        (), "y of level battens that screws should meet; together with studs a grid", unit="mm"
    )
    rail_half: float = length(15.0, "half the width of a batten", 0.0, 200.0)
    reach: int = count(2, "largest number of joints between a panel and its nearest hanger", 0, 100)
    lift: str = choice(
        "auto",
        ("auto", "hands", "board"),
        "lifting of the finished wall: auto is by hand if its joints carry that, else on a"
        " carrying board",
    )
    jig: bool = flag(False, "also make a laser-cut drilling jig")
    jig_stock: str = text(
        "", "stock of the jig; left out: that of the main design's diffuser", most=60
    )


class LightParams(ParamTable):
    """The limits of evenness."""

    dots: float = number(
        0.03,
        "largest contrast (a - b) / (a + b) between LEDs and the gap beside them",
        0.0,
        1.0,
        source=(
            "common practice: about three times what an eye can just see of a soft pattern this"
            " wide, 0.01, from memory"
        ),
    )
    face: float = number(
        0.5,
        "lowest over highest luminance of the whole face, rim and corners included, up to 2 mm"
        " from the dark frame",
        0.0,
        1.0,
        source=(
            "CIE 1976 lightness: half the light looks three quarters as bright (L* 76 of 100);"
            " light boxes are asked for 2 to 1, common practice"
        ),
    )
    middle: float = number(
        0.6,
        "lowest over highest luminance of the middle of the face: two thirds of its size",
        0.0,
        1.0,
        source=(
            "common practice, no source: away from the frame a fall of brightness is easier to"
            " see, so the limit is higher than for the whole face"
        ),
    )


class NestParams(ParamTable):
    """Cutting out."""

    seconds: float = number(
        0.0, "time for a longer search; 0: the fixed quick way", 0.0, 86_400.0, unit="s"
    )
    spares: int = count(0, "spare parts of each kind", 0, 10_000)


class SummaryParams(ParamTable):
    """The page for a customer, book/summary.pdf."""

    price: float | None = number(None, "price on the page; left out: none", 0.0, 1e9, unit="money")
    note: str = text("", "your own line on the page", most=200)


class Job(ParamTable):
    """Everything about one wall, read, checked and frozen."""

    job: str = text(
        "wall", "name of the job and of its folder", most=60, pattern=r"[A-Za-z0-9][A-Za-z0-9_\-]*"
    )
    title: str = text("", "title, for people", most=120)
    licence: str = choice(
        "none",
        ("none", "CC0-1.0", "CC-BY-4.0", "CC-BY-SA-4.0", "CERN-OHL-P-2.0"),
        "licence of the files when they are packed to be published",
    )
    shop: Shop = section(Shop, "the shop: a preset's name or a file; values may be overridden")
    panel: PanelParams = section(PanelParams, "the main design; `extends` names a preset or a file")
    designs: dict[str, PanelParams] = named(PanelParams, "further designs in the same wall")
    layout: LayoutParams = section(LayoutParams, "places of the panels")
    joint: JointParams = section(JointParams, "connection between the boards of two panels")
    power: PowerParams = section(PowerParams, "supply and inlets")
    hang: HangParams = section(HangParams, "hangers")
    light: LightParams = section(LightParams, "limits of evenness")
    nest: NestParams = section(NestParams, "cutting out")
    summary: SummaryParams = section(SummaryParams, "the page for a customer")
    art: tuple[ArtParams, ...] = sections(
        ArtParams, "pictures spread over the wall, in the wall frame"
    )

    def design(self, name: str) -> PanelParams:
        """The design behind a name; "" and "panel" are the main one."""
        return self.panel if is_main(name) else self.designs[name]
