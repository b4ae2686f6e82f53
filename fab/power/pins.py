"""In which order the pins of a header may be used.

The edge of a board is the same seen from both sides of a joint, and any edge may meet any other. So
pin k of one board meets pin n + 1 - k of the other, and the order must read the same from both
ends:

        board a     1 2 3 4 5      ground data supply data ground     data pins meet crosswise:
        board b     5 4 3 2 1      ground data supply data ground     one sends, the other receives
"""

from __future__ import annotations

from fab.params.panel import HeaderParams

MORE = 4  # how many pins more are tried to find an order


def pin_order(header: HeaderParams) -> tuple[str, ...] | None:
    """The net of each pin from end to end; None when no order reads the same both ways.

    Ground is outermost, supply innermost, so that a header put in one pin aside does not put supply
    on ground.
    """
    counts = {"ground": header.ground_pins, "data": data_pins(header), "supply": header.power_pins}
    if min(counts.values()) < 1 or stray_pins(header):
        return None
    half = [name for name, count in counts.items() for _ in range(count // 2)]
    middle = [name for name, count in counts.items() if count % 2]
    return (*half, *middle, *reversed(half))


def data_pins(header: HeaderParams) -> int:
    """Pins left for data; negative when supply and ground want more than there are."""
    return header.pins - header.power_pins - header.ground_pins


def stray_pins(header: HeaderParams) -> int:
    """Pins that meet another kind in any order: one odd kind may take the middle, no more."""
    odd = sum(count % 2 for count in (header.power_pins, header.ground_pins, data_pins(header)))
    return max(odd - header.pins % 2, 0)


def nearest_order(header: HeaderParams) -> tuple[int, int, int] | None:
    """(pins, power_pins, ground_pins) nearest to the asked with an order; none is made smaller."""
    best: tuple[tuple[int, ...], tuple[int, int, int]] | None = None
    for pins in range(header.pins, header.pins + MORE + 1):
        for power in range(header.power_pins, header.power_pins + MORE + 1):
            for ground in range(header.ground_pins, header.ground_pins + MORE + 1):
                asked = HeaderParams(pins=pins, power_pins=power, ground_pins=ground)
                if pins > 40 or pin_order(asked) is None:
                    continue
                more = pins - header.pins + power - header.power_pins + ground - header.ground_pins
                key = (more, pins, power)
                if best is None or key < best[0]:
                    best = (key, (pins, power, ground))
    return best[1] if best else None
