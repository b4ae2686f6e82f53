"""The shop: machines and materials as measured here."""

from __future__ import annotations

from fab.params.spec import (
    ParamTable,
    choice,
    count,
    flag,
    length,
    named,
    number,
    pair,
    points,
    prices,
    rings,
    section,
    sections,
    text,
)
from fab.params.workparams import Minutes


class Clearance(ParamTable):
    """Clearance per side of each class of fit, as a coupon shows it."""

    sliding: float = length(
        0.25, "parts that move on each other", 0.0, 2.0, source="common practice 0.2 to 0.3 mm"
    )
    location: float = length(0.2, "parts that are located and stay", 0.0, 2.0)
    press: float = number(-0.05, "parts held by a squeeze; negative: overlap", -1.0, 1.0, unit="mm")
    seat: float = length(0.2, "sheet in its rebate, before thermal growth", 0.0, 2.0)
    snap: float = length(0.15, "around a snap's hook when it rests", 0.0, 2.0)


class Printer(ParamTable):
    """A filament printer."""

    bed: tuple[float, float] = pair((220.0, 220.0), "printable width and depth", 1.0, 5_000.0)
    height: float = length(240.0, "printable height", 1.0, 5_000.0)
    bed_margin: float = length(4.0, "free margin along the bed's edge (skirt, clips)", 0.0, 200.0)
    part_gap: float = length(6.0, "free gap between parts on a plate", 0.0, 200.0)
    nozzle: float = length(0.4, "nozzle bore", 0.1, 2.0)
    extrusion_width: float = length(0.45, "width of one printed line", 0.1, 3.0)
    layer: float = length(0.2, "layer height", 0.02, 1.5)
    bridge: float = length(
        12.0, "longest bridge that prints cleanly", 0.0, 100.0, source="common practice 10 to 15 mm"
    )
    overhang_deg: float = number(
        45.0, "steepest overhang from upright without support", 10.0, 80.0, unit="deg"
    )
    elephant_foot: float = length(0.3, "chamfer on the bed edges of mating parts", 0.0, 2.0)
    perimeters: int = count(3, "lines along every wall", 1, 50)
    skin_layers: int = count(5, "solid layers at top and bottom", 1, 100)
    infill: float = number(0.15, "share of the inside that is filled", 0.0, 1.0)
    flow_mm3_s: float = number(15.0, "highest flow of the nozzle", 0.1, 500.0, unit="mm3/s")
    outer_mm_s: float = number(60.0, "speed of outer walls", 1.0, 2_000.0, unit="mm/s")
    inner_mm_s: float = number(80.0, "speed of inner walls", 1.0, 2_000.0, unit="mm/s")
    fill_mm_s: float = number(100.0, "speed of solid layers and infill", 1.0, 2_000.0, unit="mm/s")
    bridge_mm_s: float = number(40.0, "speed of bridges", 1.0, 2_000.0, unit="mm/s")
    first_mm_s: float = number(30.0, "speed of the first layer", 1.0, 2_000.0, unit="mm/s")
    travel_mm_s: float = number(180.0, "travel speed between lines", 1.0, 2_000.0, unit="mm/s")
    acceleration_mm_s2: float = number(
        1_500.0, "acceleration of the head", 10.0, 100_000.0, unit="mm/s2"
    )
    time_factor: float = number(
        1.0, "ratio of real to calculated hours of a print, as measured", 0.1, 10.0
    )
    clearance: Clearance = section(
        Clearance, "clearances per side, as measured with the fit coupon"
    )


class Filament(ParamTable):
    """The material of the printed parts."""

    material: str = choice("PETG", ("PLA", "PETG", "ASA", "ABS", "PA", "PC"), "kind of filament")
    density: float = number(
        1.27, "density", 0.5, 10.0, unit="g/cm3", source="PETG 1.25 to 1.29, PLA 1.22 to 1.26"
    )
    price_per_kg: float = number(24.0, "price of a kilogram", 0.0, 1e5, unit="money")
    diameter: float = length(1.75, "filament diameter", 0.5, 5.0)
    snap_strain: float | None = number(
        None,
        "permissible strain of a snap for repeated use; left out: from the material's table",
        0.0005,
        0.2,
    )
    modulus: float = number(
        1900.0, "modulus of elasticity of the print", 10.0, 50_000.0, unit="N/mm2"
    )
    friction: float = number(0.35, "friction of the print on itself", 0.01, 2.0)
    reflectance: float = number(
        0.8, "diffuse reflectance of the print's inside (white: high)", 0.0, 1.0
    )
    softens_c: float = number(
        75.0,
        "temperature at which the print softens",
        30.0,
        300.0,
        unit="degC",
        source="PETG 75 to 85, PLA 55 to 65",
    )


class Roll(ParamTable):
    """A further roll of the same kind of filament, in another colour."""

    colour: str = text("#808080", "colour in pictures, #rrggbb", most=7, pattern=r"#[0-9a-fA-F]{6}")
    price_per_kg: float | None = number(
        None, "price of a kilogram; left out: that of the filament", 0.0, 1e5, unit="money"
    )
    reflectance: float | None = number(
        None, "diffuse reflectance; left out: that of the filament", 0.0, 1.0
    )


class Stock(ParamTable):
    """A kind of sheet in the rack, measured on the bench, not as sold."""

    material: str = choice(
        "acrylic",
        ("acrylic", "plywood", "card", "petg-sheet"),
        "material; never cut PVC or unknown plastic by laser",
    )
    finish: str = text("frosted", "surface, as on the label of the rack", most=40)
    made: str = choice(
        "extruded",
        ("cast", "extruded", "measured"),
        "way of making, which sets the thickness tolerance: ISO 7823-1, ISO 7823-2, or your own",
    )
    thickness: float = length(3.0, "thickness", 0.2, 30.0)
    tolerance: float | None = length(
        None, "plus and minus of the thickness; left out: by the standard of `made`", 0.0, 5.0
    )
    width: float = length(600.0, "width of a sheet", 1.0, 5_000.0)
    height: float = length(400.0, "height of a sheet", 1.0, 5_000.0)
    count: int = count(10, "number of sheets in the rack", 0, 100_000)
    price: float = number(14.0, "price of a sheet", 0.0, 1e6, unit="money")
    margin: float = length(5.0, "free margin along the sheet's edge", 0.0, 500.0)
    grain: bool = flag(
        False, "the surface has a direction: parts may be turned by half a turn only"
    )
    kerf: float = length(
        0.18, "full width that the beam removes", 0.0, 2.0, source="0.15 to 0.23 mm in 3 mm acrylic"
    )
    cut_mm_s: float = number(24.0, "cutting speed", 0.1, 2_000.0, unit="mm/s")
    mark_mm_s: float = number(150.0, "speed of marking and engraving", 0.1, 5_000.0, unit="mm/s")
    pierce_s: float = number(0.4, "time for one piercing", 0.0, 60.0, unit="s")
    density: float = number(1.19, "density", 0.1, 10.0, unit="g/cm3", source="PMMA 1.19")
    expansion_per_k: float = number(
        7e-5, "thermal growth per kelvin", 0.0, 1e-3, unit="1/K", source="PMMA 6.5e-5 to 8e-5"
    )
    transmission: float = number(0.75, "share of light that passes", 0.01, 1.0)
    reflectance: float = number(0.15, "share of light reflected inside", 0.0, 1.0)
    half_angle_deg: float = number(
        45.0,
        "half-intensity angle of the light that it scatters; 60 scatters evenly, clear sheet has"
        " about 2",
        1.0,
        60.0,
        unit="deg",
        source=(
            "from memory: opal sheet made for LEDs 40 to 60, satin surfaces 15 to 30; measure yours"
        ),
    )
    service_c: float = number(
        70.0, "highest continuous temperature", 20.0, 300.0, unit="degC", source="PMMA about 70"
    )


class Offcut(ParamTable):
    """A rest on the rack: any polygon, perhaps with holes or bad spots."""

    stock: str = text("", "stock of the offcut", most=60)
    outline: tuple[tuple[float, float], ...] = points((), "corners of the offcut, in order")
    holes: tuple[tuple[tuple[float, float], ...], ...] = rings(
        (), "holes and bad spots, each a list of corners"
    )
    count: int = count(1, "number of identical offcuts", 0, 10_000)
    name: str = text("", "name written on the offcut", most=60)


class Operation(ParamTable):
    """The looks of one laser operation in a file."""

    layer: str = text(
        "", "layer name; left out: the usual one", most=31, pattern=r"[A-Za-z0-9_\-]*"
    )
    colour: str = text(
        "", "line colour #rrggbb; left out: the usual one", most=7, pattern=r"(#[0-9a-fA-F]{6})?"
    )
    aci: int = count(
        0, "colour index for DXF readers without true colour; 0: the usual one", 0, 255
    )


class Reading(ParamTable):
    """The meaning of a layer or colour of a drawing."""

    layer: str = text("", "name of a layer or group, capitals or not; left out: any", most=100)
    colour: str = text(
        "", "line colour #rrggbb; left out: any", most=7, pattern=r"(#[0-9a-fA-F]{6})?"
    )
    operation: str = choice("cut", ("cut", "mark", "engrave", "ignore"), "operation for its lines")


class Laser(ParamTable):
    """A laser cutter."""

    bed: tuple[float, float] = pair((600.0, 400.0), "cutting width and depth", 1.0, 5_000.0)
    part_gap: float = length(2.0, "material left between two cuts", 0.0, 100.0)
    travel_mm_s: float = number(300.0, "travel speed between cuts", 1.0, 5_000.0, unit="mm/s")
    dxf: str = choice("R2000", ("R2000", "R12"), "DXF version; R12 has no units in the file")
    arcs: bool = flag(True, "write true arcs; false: chords within 0.01 mm")
    time_factor: float = number(
        1.0, "ratio of real to calculated minutes of a cut, as measured", 0.1, 10.0
    )
    line_mm: float = length(0.1, "line width in SVG files", 0.001, 5.0)
    inner: Operation = section(Operation, "cuts inside a part")
    outer: Operation = section(Operation, "cuts that free a part")
    mark: Operation = section(Operation, "marks")
    engrave: Operation = section(Operation, "lines round engraved areas")
    reads: tuple[Reading, ...] = sections(
        Reading,
        ("meaning of layers and colours of drawings; the first entry that matches a line counts"),
    )
    inlet_lead: float = length(0.0, "lead-in on the waste side; 0: none", 0.0, 20.0)
    tab: float = length(0.0, "uncut bridge that holds a part in the sheet; 0: none", 0.0, 5.0)
    common_line: bool = flag(False, "cut straight edges of neighbours with one shared line")
    part_names: bool = flag(False, "mark each part with its name, in letters of 1.5 mm or more")
    cut_rests: bool = flag(
        False, ("cut the offcuts to keep free from the sheet, as the last operation")
    )
    pass_through: bool = flag(
        False, ("allow a sheet to extend beyond the bed; its cuts must lie on the bed")
    )


class Paper(ParamTable):
    """The paper that the template is printed on."""

    size: str = choice(
        "A4",
        ("A4", "A3", "A2", "A1", "A0", "Letter", "Tabloid", "custom", "roll", "best"),
        "sheet; best: fewest pages of A4/A3 or Letter/Tabloid",
    )
    width: float | None = length(None, "width of custom paper, or of the roll", 50.0, 5_000.0)
    height: float | None = length(None, "height of custom paper", 50.0, 5_000.0)
    margin: float = length(10.0, "margin that the printer cannot print", 0.0, 100.0)
    overlap: float = length(12.0, "overlap of two neighbouring pages", 0.0, 100.0)
    bar_x: float = length(
        100.0, ("measured length of the horizontal 100 mm bar on your print"), 50.0, 150.0
    )
    bar_y: float = length(
        100.0, ("measured length of the vertical 100 mm bar on your print"), 50.0, 150.0
    )


class WallType(ParamTable):
    """Load of one screw in one kind of wall: take the plug maker's figure, and halve it."""

    shear_n: float = number(
        50.0, "permissible load per screw, along the wall", 0.1, 10_000.0, unit="N"
    )
    pull_n: float = number(
        20.0, "permissible load per screw, out of the wall", 0.1, 10_000.0, unit="N"
    )
    drill: float = length(6.0, "drill diameter for the wall plug", 0.5, 30.0)
    depth: float = length(40.0, "depth of the hole", 1.0, 300.0)
    note: str = text("", "wall plug and screw to use", most=200)


class Shop(ParamTable):
    """Machines, materials and paper of one maker."""

    name: str = text("bench", "name of this shop", most=60)
    units: str = choice("mm", ("mm", "in"), "units that lists and book show beside millimetres")
    currency: str = text("EUR", "currency of prices", most=8)
    hour_price: float | None = number(
        None,
        "price of an hour of manual work; left out: manual work has no price",
        0.0,
        1e5,
        unit="money",
    )
    printer: Printer = section(Printer, "the printer")
    filament: Filament = section(Filament, "the filament")
    roll: dict[str, Roll] = named(
        Roll, ("rolls of filament in other colours, by a name that you choose")
    )
    laser: Laser = section(Laser, "the laser cutter")
    stock: dict[str, Stock] = named(Stock, "sheets in the rack, by a name that you choose")
    offcut: tuple[Offcut, ...] = sections(Offcut, "offcuts in the rack")
    paper: Paper = section(Paper, "paper of the template")
    wall: dict[str, WallType] = named(WallType, "kinds of wall, by a name that you choose")
    prices: dict[str, float] = prices(
        "price of one piece, or of a metre of wire, by its name in lists/parts.csv; a name"
        " without a size sets the price of all sizes"
    )
    minutes: Minutes = section(Minutes, "minutes of manual work, by kind of work")
