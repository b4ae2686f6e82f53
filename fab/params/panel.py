"""The panel: one design. Sizes are those of the lattice cell; the body is smaller by the gap."""

from __future__ import annotations

from fab.params.artparams import ArtParams
from fab.params.boardparams import BoardParams
from fab.params.features import AdditionParams, OpeningParams
from fab.params.jumperparams import JumperParams
from fab.params.spec import (
    ParamTable,
    choice,
    count,
    flag,
    length,
    number,
    points,
    section,
    sections,
    text,
)


class BaseParams(ParamTable):
    """The printed back."""

    floor: float = length(3.0, "thickness of the floor", 0.4, 30.0)
    wall: float = length(
        None,
        "thickness of the wall inside the shell",
        0.2,
        20.0,
        follows="three printed lines; two where an edge has no room for more",
    )
    board_fixing: str = choice(
        "screw",
        ("screw", "insert"),
        "how screws hold in the base: in a pilot hole, or in a heat-set insert",
    )
    vents: bool = flag(False, "air slots in the floor, under the board")
    feet: float = length(
        0.0,
        "height of the feet that stand the bases off the wall; 0: none, the bases lie on it. With"
        " feet the supply cable runs behind the bases and any panel may have the inlet: 1 mm more"
        " than inlet.cable_d is enough",
        0.0,
        60.0,
    )
    label: bool = flag(True, "raise name and up arrow in bases that carry a hanger")
    roll: str = text(
        "",
        "roll of filament for base, clips, caps and feet; left out: the shop's filament",
        most=60,
    )


class ShellParams(ParamTable):
    """The printed front."""

    wall: float = length(
        None,
        "thickness of the outer wall",
        0.2,
        20.0,
        follows="the whole number of printed lines nearest to 1.8 mm, at least two",
    )
    ledge: float = length(
        None,
        "width of the ledge under the diffuser",
        0.3,
        20.0,
        follows="2 mm; more where the coldest sheet, pushed to one side, would not lie on it",
    )
    fixing: str = choice(
        "screw",
        ("screw", "snap"),
        "fixing of the shell: screws from the back, or snaps at the corners",
    )
    snap_tongue: float = length(
        None,
        "thickness of a snap's tongue in the base wall",
        0.3,
        10.0,
        follows="two printed lines",
    )
    snap_engage: float = length(0.35, "reach of a snap's hook into the shell", 0.05, 5.0)
    screws: int | None = count(
        None,
        "screws or snaps per panel; left out: 3 for a panel of many corners, else one per corner",
        2,
        64,
    )
    roll: str = text("", "roll of filament for the shell; left out: the shop's filament", most=60)


class DiffuserParams(ParamTable):
    """The sheet part."""

    stock: str = text("opal-3", "name of the stock in the shop", most=60)
    proud: float = length(0.2, "permissible height of the thickest sheet over the rim", 0.0, 2.0)
    warm_c: float = number(60.0, "highest temperature of the sheet", 0.0, 150.0, unit="degC")
    cut_c: float = number(20.0, "temperature of the sheet when it is cut", 0.0, 50.0, unit="degC")
    cold_c: float = number(0.0, "lowest temperature of the sheet", -50.0, 50.0, unit="degC")
    mark: bool = flag(False, "engrave the names of design and thickness near the rim")
    spares: int = count(0, "spare diffusers to cut", 0, 10_000)


class LedParams(ParamTable):
    """The LED grid."""

    pattern: str = choice(
        None,
        ("triangular", "square", "rings"),
        "pattern of the LEDs",
        follows="square on a panel of four sides, else triangular: a row along every edge",
    )
    pitch: float = length(
        None,
        "distance between neighbouring LEDs",
        2.0,
        500.0,
        follows=(
            "the largest with an LED in every corner, as near to it as screws let it, of those up "
            "to the throw from LED to sheet (square pattern: 0.88 of it), so that rim and corners "
            "are lit"
        ),
    )
    count: int | None = count(
        None, "wanted number of LEDs; the pitch is derived from it", 1, 10_000
    )
    at: tuple[tuple[float, float], ...] = points(
        (),
        "places of the LEDs in the panel frame, one by one in the order of the data line, in place"
        " of the pattern",
        most_items=1_000,
    )
    margin: float = length(
        None,
        "free distance between LED centres and the board's edge",
        0.0,
        200.0,
        follows="the smallest at which an LED's body fits on the board at any turn",
    )
    size: float = length(5.0, "body of an LED, square", 0.3, 30.0)
    height: float = length(1.6, "height over the board at which the light leaves", 0.1, 30.0)
    half_angle_deg: float = number(
        60.0, "half-intensity angle (60 is Lambertian)", 5.0, 80.0, unit="deg"
    )
    full_a: float = number(
        0.036,
        "current of one LED at full white",
        0.0001,
        10.0,
        unit="A",
        source="three channels of 12 mA",
    )
    lumen: float = number(9.0, "light of one LED at full white", 0.01, 10_000.0, unit="lm")
    bypass_nf: float = number(100.0, "capacitor beside each LED", 0.0, 100_000.0, unit="nF")
    least_v: float = number(
        3.7, "lowest supply at which an LED holds its colour", 1.0, 60.0, unit="V"
    )


class HeaderParams(ParamTable):
    """The straight double-ended pin header of a joint, and the sockets on the board it enters."""

    pins: int = count(
        5,
        "pins in one row; pin k meets pin n + 1 - k of the neighbour, so the order reads the same"
        " both ways",
        2,
        40,
    )
    pitch: float = length(2.54, "pin pitch", 1.0, 10.0)
    body: float = length(2.54, "height and depth of the plastic body", 0.5, 20.0)
    pin: float = length(
        None,
        "length of the pins each way out of the body",
        1.0,
        60.0,
        follows="8 mm; longer in steps of 0.5 mm where gap and walls ask for it",
    )
    socket_depth: float = length(8.5, "depth of a socket", 1.0, 60.0)
    socket_height: float = length(2.5, "height of a socket under the board", 0.5, 30.0)
    reach: float = length(3.5, "smallest length of pin inside a socket", 0.5, 30.0)
    play: float = length(
        0.4, "play of the body in its window, for boards that are out of line", 0.05, 5.0
    )
    pin_a: float = number(3.0, "current rating of one pin", 0.1, 50.0, unit="A")
    pin_ohm: float = number(0.02, "resistance of one pin with both contacts", 0.0, 10.0, unit="ohm")
    power_pins: int = count(1, "pins that carry supply", 1, 40)
    ground_pins: int = count(2, "pins that carry return", 1, 40)


class ClipParams(ParamTable):
    """The printed bridge across a joint, pushed in from the back."""

    width: float = length(
        None,
        "width along the edge",
        2.0,
        60.0,
        follows=(
            "8 mm, narrower where an edge of a hexagon has less room, wider by 0.5 mm for every 10"
            " mm of edge over 90 mm, up to what the printer bridges; alike in all shapes of one"
            " edge"
        ),
    )
    offset: float = length(
        None,
        "middle of the inner clip from the middle of the edge",
        1.0,
        500.0,
        follows=(
            "1.5 mm of wall between its pocket and the port; on short edges as near as the inlet "
            "allows"
        ),
    )
    bar: float = length(1.6, "thickness of the bar", 0.4, 20.0)
    sunk: float = length(0.25, "depth of the bar under the wall face", 0.05, 5.0)
    leg: float = length(
        None, "thickness of a leg at its root", 0.3, 10.0, follows="two printed lines"
    )
    tip: float = number(1.0, "thickness of the leg at the hook, as a share of its root", 0.5, 1.0)
    hook: float = length(0.6, "overhang of the hook", 0.1, 5.0)
    leg_length: float | None = length(
        None, "length of a leg; left out: as short as the strain allows", 2.0, 100.0
    )
    lead_in_deg: float = number(30.0, "angle of the lead-in", 10.0, 80.0, unit="deg")
    return_deg: float = number(
        50.0, "angle of the face that holds; steeper holds more", 20.0, 90.0, unit="deg"
    )
    root_radius: float = length(0.4, "radius at the root of a leg", 0.0, 5.0)


class HangerParams(ParamTable):
    """The keyhole slot in a base and the screw it hangs on."""

    screw_d: float = length(4.0, "shank of the wall screw", 1.0, 12.0)
    head_d: float = length(
        8.0,
        "head of the wall screw",
        2.0,
        30.0,
        source="about 2 d for a 4 mm wood screw, from memory",
    )
    head_h: float = length(3.1, "height of the head", 0.5, 15.0, source="ISO 7045 M4 k max 3.1")
    travel: float = length(8.0, "from the entry's centre to the rest", 1.0, 100.0)
    offset: float | None = length(
        None,
        (
            "height of the screw's resting place over the panel's centre; left out: as high as"
            " there is room"
        ),
        -500.0,
        500.0,
    )


class InletParams(ParamTable):
    """The power connector of a base that feeds a zone; it leaves through an open edge."""

    kind: str = choice(
        "usb-c", ("usb-c", "round"), "USB Type-C receptacle on a small board, or a round cable hole"
    )
    shell_w: float = length(9.0, "receptacle body, width", 1.0, 60.0)
    shell_h: float = length(3.26, "receptacle body, height", 0.5, 60.0)
    plug_w: float = length(
        12.35, "body of the plug, width", 1.0, 60.0, source="from memory: 12.35 x 6.5 mm at most"
    )
    plug_h: float = length(6.5, "body of the plug, height", 1.0, 60.0)
    room: float = length(
        35.0, "free length outside the edge for the plug and the bend of the cable", 0.0, 500.0
    )
    board_w: float = length(12.0, "width of the receptacle's board", 1.0, 100.0)
    board_l: float = length(15.0, "length of the receptacle's board", 1.0, 100.0)
    board_t: float = length(1.6, "thickness of the receptacle's board", 0.2, 10.0)
    cable_d: float = length(5.0, "diameter of the supply cable", 1.0, 30.0)
    cc_ohm: float = number(
        5_100.0,
        "each of the two pull-downs of a USB Type-C inlet, from CC1 and CC2 to ground",
        0.0,
        1e6,
        unit="ohm",
        source="USB Type-C, sink CC termination Rd: 5.1 kohm",
    )
    cc_tolerance: float = number(0.01, "tolerance of those resistors, as a share", 0.0, 0.5)
    soft_start_ms: float = number(
        30.0,
        "time in which the inlet's load switch ramps the supply up; 0: no load switch",
        0.0,
        1_000.0,
        unit="ms",
    )


class SwitchParams(ParamTable):
    """Press edges: a rib of the shell over an edge switch of the board."""

    on: bool = flag(False, "one switch per edge")
    size: float = length(6.0, "body of a switch, square", 1.0, 30.0)
    height: float = length(8.5, "top of the plunger over the board", 0.5, 30.0)
    free: float = length(0.3, "free play before the rib touches the plunger", 0.0, 5.0)
    travel: float = length(0.35, "travel of the plunger", 0.05, 10.0)
    extra: float = length(
        0.15,
        "extra travel of the shell beyond free play and plunger travel, before it stops",
        0.0,
        5.0,
    )
    inset: float = length(3.6, "distance of the plunger's centre from the board's edge", 1.0, 60.0)


class PanelParams(ParamTable):
    """One design of light panel."""

    name: str = text("panel", "name of the design", most=40, pattern=r"[A-Za-z0-9][A-Za-z0-9_\-]*")
    sides: int = count(6, "number of sides", 3, 64)
    across_flats: float | None = length(
        None,
        "distance between opposite flats on the lattice, twice the distance from centre to flat;"
        " give this or `edge`",
        5.0,
        5_000.0,
    )
    edge: float | None = length(
        None, "length of an edge on the lattice; give this or `across_flats`", 5.0, 5_000.0
    )
    corner_radius: float = length(3.0, "outer corner radius", 0.0, 500.0)
    gap: float = length(0.4, "gap between two joined panels", 0.0, 20.0)
    depth: float = length(
        None,
        "depth of the panel, from wall to rim",
        5.0,
        500.0,
        follows=(
            "48 mm; more in steps of 0.5 mm for a throw of 26.5 mm from LED to sheet, at which"
            " the corners of a face are lit, and for the parts between board and ledge"
        ),
    )
    screw_d: float = length(
        None,
        "machine screw that holds board and shell",
        1.0,
        8.0,
        follows="M3; M2.5 or M2 where a panel has no room for its corners",
    )
    screw_head_d: float = length(
        None,
        "head of that screw",
        1.0,
        20.0,
        source="ISO 7045 and DIN 965, dk max: M2 4, M2.5 5, M3 5.6",
        follows="that of screw_d: M2 4, M2.5 5, M3 5.6; else twice the screw",
    )
    pilot_d: float = length(
        None,
        "pilot hole for a screw that cuts its own thread",
        0.5,
        8.0,
        source="from memory: 5/6 of the screw",
        follows="that of screw_d: M2 1.7, M2.5 2.1, M3 2.5; else 5/6 of the screw",
    )
    insert_d: float = length(
        None,
        "hole for a heat-set insert",
        0.5,
        12.0,
        source="supplier chart: M2 3.2, M3 4.0; varies by maker",
        follows="that of screw_d: M2 3.2, M2.5 3.6, M3 4; else 1 mm more than the screw",
    )
    insert_l: float = length(
        None,
        "depth of an insert's hole",
        1.0,
        30.0,
        follows="that of screw_d: M2 4, M2.5 5, M3 5.7; else twice the screw",
    )
    clips_per_edge: int = count(
        None,
        "clips per joint; with one or three clips, one side of the edge's middle has one more;"
        " the pockets are on both sides",
        1,
        4,
        follows="2; 4 on edges of 116 mm and more",
    )
    base: BaseParams = section(BaseParams, "the printed back")
    shell: ShellParams = section(ShellParams, "the printed front")
    diffuser: DiffuserParams = section(DiffuserParams, "the sheet in front")
    board: BoardParams = section(BoardParams, "the circuit board")
    led: LedParams = section(LedParams, "the LED grid")
    header: HeaderParams = section(HeaderParams, "the pin header of a joint")
    jumper: JumperParams = section(JumperParams, "the cable across a joint that takes no header")
    clip: ClipParams = section(ClipParams, "the clip across a joint")
    hanger: HangerParams = section(HangerParams, "the hanger")
    inlet: InletParams = section(InletParams, "the power inlet")
    switch: SwitchParams = section(SwitchParams, "press edges")
    opening: tuple[OpeningParams, ...] = sections(
        OpeningParams, "your own holes through base and shell"
    )
    addition: tuple[AdditionParams, ...] = sections(
        AdditionParams, "bosses, ribs, letters and air slots"
    )
    art: tuple[ArtParams, ...] = sections(
        ArtParams, "pictures and letters on every panel of this design"
    )
