"""Operation of each line of a drawing: by its layer or colour, as the shop file and the options
say.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal, cast

from fab.files.drawn import Drawn
from fab.params.shop import Laser, Reading

Meaning = Literal["cut", "mark", "engrave", "ignore"]
# layers of these names
_OF_LAYER: dict[str, Meaning] = {
    "mark": "mark",
    "engrave": "engrave",
    "ignore": "ignore",
}


def meaning(one: Drawn, reads: Sequence[Reading], laser: Laser) -> Meaning:
    """The operation of a line: the first of `reads` that suits it, then the layers that this
    program writes itself, then "cut".
    """
    layers = [layer.casefold() for layer in one.layers]
    for rule in reads:
        by_layer = not rule.layer or rule.layer.casefold() in layers
        by_colour = not rule.colour or rule.colour.lower() == one.colour
        if by_layer and by_colour and (rule.layer or rule.colour):
            return cast(Meaning, rule.operation)
    own = {laser.mark.layer.casefold(): "mark", laser.engrave.layer.casefold(): "engrave"}
    for layer in layers:
        if found := (own.get(layer) if layer else None) or _OF_LAYER.get(layer):
            return cast(Meaning, found)
    return "cut"


def sorted_out(
    drawn: Sequence[Drawn], reads: Sequence[Reading], laser: Laser
) -> dict[Meaning, list[Drawn]]:
    """Operation to its lines, in the order of the drawing."""
    found: dict[Meaning, list[Drawn]] = {}
    for one in drawn:
        found.setdefault(meaning(one, reads, laser), []).append(one)
    return found


def unused(drawn: Sequence[Drawn], reads: Sequence[Reading]) -> list[str]:
    """Layers and colours that rules name and the drawing does not have."""
    layers = {layer.casefold() for one in drawn for layer in one.layers}
    colours = {one.colour for one in drawn}
    return [
        rule.layer or rule.colour
        for rule in reads
        if (rule.layer and rule.layer.casefold() not in layers)
        or (rule.colour and rule.colour.lower() not in colours)
    ]
