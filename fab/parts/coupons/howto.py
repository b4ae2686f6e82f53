"""Instructions for each coupon: to cut or print, to measure, to type.

One sheet a coupon.
"""

from __future__ import annotations

import textwrap
from dataclasses import dataclass

from fab.parts.coupons.bed import POST, BedSize
from fab.parts.coupons.kerf import KerfSize
from fab.parts.coupons.model import FIT_STEPS, PRESS_STEPS, SNAP_STEPS
from fab.units import fixed, inches

LASER_CAUTION = (
    "Laser: the beam can blind and burn, and the cut smokes and can catch fire. Close the lid,"
    " switch on the extraction, keep an extinguisher at hand, and never leave the laser running"
    " alone. Cut only known sheet: never PVC, vinyl, polycarbonate or unlabelled plastic. The"
    " rules of your workshop and local codes come first."
)
PRINT_CAUTION = (
    "Printer: the nozzle and the bed are hot enough to burn; let both cool before you reach in."
    " Edges of prints can cut: smooth them first."
)
SNAP_CAUTION = (
    "Parts of a broken hook can fly: wear eye protection, and never try clips on a wall that"
    " hangs over someone."
)
THRICE = "Measure three times, open the caliper each time, and enter all readings."


@dataclass(frozen=True)
class HowTo:
    """One sheet: steps in order, blanks for readings, what to type, cautions."""

    title: str
    purpose: str
    steps: tuple[str, ...]
    blanks: tuple[str, ...]  # what the maker writes a reading behind
    types: tuple[str, ...]  # command lines
    cautions: tuple[str, ...]

    @property
    def text(self) -> str:
        """The sheet as plain text of at most 100 characters a line, command lines apart."""
        out = [self.title, "=" * len(self.title), "", *_wrapped(self.purpose), ""]
        for number, step in enumerate(self.steps, 1):
            out += _wrapped(step, f"{number}. ")
        wide = max((len(blank) for blank in self.blanks), default=0)
        out += [
            "",
            *(f"{blank.ljust(wide)}  ________  ________  ________" for blank in self.blanks),
            "",
        ]
        out += [f"    {line}" for line in self.types]
        out += ["", *(line for caution in self.cautions for line in _wrapped(caution, "! "))]
        return "\n".join(out) + "\n"


def _wrapped(text: str, head: str = "") -> list[str]:
    return textwrap.wrap(text, 100, initial_indent=head, subsequent_indent=" " * len(head))


def length(value_mm: float, units: str) -> str:
    """A length as the sheet says it: inches beside millimetres for a shop that thinks in inches."""
    beside = f" ({fixed(inches(value_mm), 3)} in)" if units == "in" else ""
    return f"{fixed(value_mm, 2)} mm{beside}"


def _inch_hint(units: str) -> str:
    return " Readings in inches have their unit, in quotes: '2.295 in'." if units == "in" else ""


def kerf_howto(stock: str, size: KerfSize, shop: str, units: str = "mm") -> HowTo:
    """The kerf of one stock.

    `shop`: the word for the shop file in the command lines; `units`: the shop's.
    """
    n = size.strips
    read = [fixed(size.stack_mm - 0.17 * n + shift, 2) for shift in (0.0, -0.02, 0.02)]
    return HowTo(
        f"Kerf of {stock}",
        f"The beam removes a little material. {n} strips side by side show the kerf {n} times, so"
        f" the caliper's error is divided by {n}.",
        (
            (
                f"Cut kerf-{stock}.dxf, or the .svg, from this very stock at the settings that you"
                " will use. Cut at true size, without kerf compensation in the laser's own"
                " program. Lay the sheet flat and set the focus."
            ),
            "Let the coupon cool. Wipe the edges clean; do not sand or scrape them.",
            (
                f"Lay the {n} upright strips on something flat, numbers up and in order, and push"
                " them together so that no light shows between. Measure across all of them: a"
                f" little under {length(size.stack_mm, units)}. {THRICE}"
            ),
            f"Do the same with the {n} lying strips: the kerf can differ along X and Y.",
            (
                "If you like, check with the windows: measure their width from inside"
                f" ({length(size.window_mm, units)} as drawn), numbers up. They are less exact and"
                " count only a little."
            ),
            f"Enter all readings. Without --write the result is only shown.{_inch_hint(units)}",
        ),
        ("upright strips", "lying strips", "windows"),
        (f"panejig measure {shop} kerf {' '.join(read)} --stock {stock} --window 10.17 --write",),
        (
            LASER_CAUTION,
            (
                f"Strips of {length(size.strip_mm, units)} can fall through the grid and tilt: put"
                " a plate under them, and reach in only when the head does not move."
            ),
        ),
    )


def fit_howto(shop: str) -> HowTo:
    """Clearances of printed parts."""
    low, high = FIT_STEPS[0], FIT_STEPS[-1]
    return HowTo(
        "Fits of the printer",
        "Numbers are the gap on each side in hundredths of a millimetre: 25 is 0.25 mm. Walls, cap"
        " and window are those of your panels.",
        (
            (
                "Print the fit plate as it lies: material, layers and speed of your panels, no"
                " support, no brim on the gauges. Let it cool; remove strings, nothing else."
            ),
            (
                f"LOCATION, parts that find their place and stay: peg into slots, from {high} down"
                f" to {low:02d}. Choose the lowest number into which you push it by hand and where"
                " it stays when you turn the block over."
            ),
            (
                "SLIDING, the shell over the base: ring into the openings with thin walls, from"
                f" {high} down. Choose the lowest number through which it slides freely, all the"
                " way, without force."
            ),
            (
                "PRESS, the caps: into the window of the edge piece, from outside, tab up, from"
                f" {PRESS_STEPS[0]:02d} down to {PRESS_STEPS[-1]:03d}. Choose the one that goes in"
                " under a thumb, flush, and stays when you shake it."
            ),
            (
                "If the right fit lies between two numbers, enter both. Turn a gauge by half a"
                " turn and try again: no printer is exactly square."
            ),
            "Enter the numbers that you chose. Without --write they are only shown.",
        ),
        ("location", "sliding", "press"),
        (
            f"panejig measure {shop} location 20 --write",
            f"panejig measure {shop} sliding 25 --write",
            f"panejig measure {shop} press -05 --write",
        ),
        (PRINT_CAUTION,),
    )


def seat_howto(stock: str, side_mm: float, shop: str, units: str = "mm") -> HowTo:
    """The clearance of a sheet in its rebate."""
    low, high = FIT_STEPS[0], FIT_STEPS[-1]
    return HowTo(
        f"Seat of {stock}",
        "A square of the diffuser's own sheet in openings whose walls are those of your shell."
        " Numbers are the gap on each side in hundredths of a millimetre. Measure the kerf first:"
        " the square is cut with it.",
        (
            (
                "Print the openings as they lie: material and settings of your panels. Let them"
                " cool. They are those of the fit coupon; one print serves both."
            ),
            (
                f"Cut seat-{stock}.dxf, or the .svg, from this very stock at the settings that you"
                " will use, its written side up. Let it cool, and wipe the edges."
            ),
            (
                f"Check that the square measures {length(side_mm, units)}. If not, the kerf of the"
                " stock is wrong."
            ),
            (
                f"Square into the openings, written side up, from {high} down to {low:02d}. Choose"
                " the lowest number into which it drops by its own weight and out of which it"
                " falls when you turn the block over."
            ),
            (
                "Turn the square by a quarter and try again; enter both numbers if they differ."
                " The growth of a warm sheet is added to this automatically."
            ),
            "Enter the number that you chose. Without --write it is only shown.",
        ),
        ("seat",),
        (f"panejig measure {shop} seat 20 --write",),
        (PRINT_CAUTION, LASER_CAUTION),
    )


def snap_howto(shop: str) -> HowTo:
    """The clearance of the clip's hook."""
    low, high = SNAP_STEPS[0], SNAP_STEPS[-1]
    return HowTo(
        "Snap of the clip",
        "The real clip in the real pocket, with five gaps behind its hook, in hundredths of a"
        " millimetre. If the number is too small, the clip does not click in. If it is too large,"
        " the joint rattles.",
        (
            (
                "Print the snap plate as it lies, clips on their sides: material and settings of"
                " your panels. Let it cool."
            ),
            (
                "Lay two pieces with the same number edge to edge, numbers up, then turn both"
                " over together: the grooves of the clip now face up and meet."
            ),
            (
                "Push a clip in from this side, legs first, until both hooks click and its bar lies"
                " under the face."
            ),
            (
                f"From {high} down to {low:02d}: choose the lowest number at which it clicks in"
                " without a tool, the hooks rest unbent, and nothing turns white."
            ),
            (
                "Pull the two pieces apart by hand: they must hold a firm pull. To take the clip"
                " out, press both hooks towards each other from the other side, and push."
            ),
            "Enter the number that you chose. Without --write it is only shown.",
        ),
        ("snap",),
        (f"panejig measure {shop} snap 15 --write",),
        (PRINT_CAUTION, SNAP_CAUTION),
    )


def bed_howto(size: BedSize, shop: str, units: str = "mm") -> HowTo:
    """The scale of the printer."""
    return HowTo(
        "Scale of the printer",
        "Three posts on an L. Outside and inside of two posts together give the distance of their"
        " middles, whatever the width of a printed line.",
        (
            (
                "Print the bed coupon as it lies, its X along the X of your printer. Material and"
                " settings of your panels."
            ),
            "Leave it on the bed until both are cold, then remove it.",
            (
                "Along X: measure over the outer faces of the two posts (about"
                f" {length(size.x + POST, units)}), half way up, then between their inner faces"
                f" (about {length(size.x - POST, units)}). {THRICE}"
            ),
            (
                f"Along Y: the same (about {length(size.y + POST, units)} and"
                f" {length(size.y - POST, units)})."
            ),
            (
                "Enter outside and inside in turn. Nothing is written: the result is the setting"
                f" for the printer or the slicer.{_inch_hint(units)}"
            ),
        ),
        ("X outside", "X inside", "Y outside", "Y inside"),
        tuple(
            f"panejig measure {shop} scale-{axis} {fixed(side + POST + 0.05, 2)}"
            f" {fixed(side - POST - 0.12, 2)}"
            for axis, side in (("x", size.x), ("y", size.y))
        ),
        (PRINT_CAUTION,),
    )
