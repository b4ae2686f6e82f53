"""Which base each panel needs, and which panels can share one."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from fab.layout.model import BaseKind, BaseUse, Layout


def base_uses(
    layout: Layout,
    inlets: Mapping[str, int],
    hangers: Mapping[str, float],
    labels: bool = True,
    uneven: Mapping[str, bool] | None = None,
    jumpers: Mapping[str, Iterable[int]] | None = None,
    spots: Mapping[str, tuple[float, float | None]] | None = None,
) -> tuple[BaseUse, ...]:
    """Return one base per panel, in the layout's order.

    `inlets`: panel name to the open edge its inlet leaves by. `hangers`: panel name to the direction of the wall's
    up in the panel frame, degrees. `jumpers`: panel name to its edges (panel frame) whose base gets an opening for a
    jumper; the edge of an inlet gets none. A base is the same in every turn by a whole edge, so a base with an inlet
    has it at its own edge 0 and is mounted turned by `steps` edges; a base with openings alone is turned so that as
    few kinds as possible are made. Bases that carry a hanger have a name of their own and are shared by nobody
    unless labels are off and they hang alike. `uneven`: designs whose base is not alike in every turn, and whether it
    has openings that keep their place in the panel: such a base is another one for every turn. `spots`: how far its
    keyhole stands aside, and how high over the centre, of panels where that is not the middle and the top.
    """
    uneven, jumpers = uneven or {}, jumpers or {}
    uses = []
    taken: dict[tuple[str, str], str] = {}
    for panel in layout.panels:
        inlet = inlets.get(panel.name)
        sides = panel.cell.sides
        opened = sorted({edge % sides for edge in jumpers.get(panel.name, ())} - {inlet})
        steps = inlet or 0
        pitch = 360.0 / sides
        up = hangers.get(panel.name)
        up_base: float | None = None
        if up is not None:
            up_base = round((up - steps * pitch) % 360.0, 9) % 360.0
            if not labels and inlet is None and panel.design not in uneven:  # any whole-edge turn is the same base
                steps = int(up_base // pitch)
                up_base = round(up_base - steps * pitch, 9)
        elif inlet is None and panel.design not in uneven:
            steps = _least_turn(opened, sides)
        in_base = tuple(sorted((edge - steps) % sides for edge in opened))
        label = panel.name if up is not None and labels else ""
        parts = ["inlet"] if inlet is not None else []
        if in_base:
            parts.append("jumper-" + "-".join(map(str, in_base)))
        if up is not None:
            parts.append(f"hanger-{file_word(label)}" if label else f"hanger-{up_base:g}deg".replace(".", "_"))
        aside, rest = (spots or {}).get(panel.name, (0.0, None))
        if up is not None and not label and (aside or rest is not None):
            parts.append(f"{aside:+g}-{rest or 0:g}".replace(".", "_"))
        kept = steps if uneven.get(panel.design, False) else 0
        if kept:
            parts.append(f"turned-{kept}")
        key = "-".join(parts) or "plain"
        while label and taken.setdefault((panel.design, key.casefold()), panel.name) != panel.name:
            key += "-2"  # "a" and "A" are one file on some systems
        kind = BaseKind(
            key, panel.design, inlet is not None, up_base, label, kept, in_base, aside, rest
        )
        uses.append(BaseUse(panel.name, kind, steps))
    return tuple(uses)


def _least_turn(edges: Iterable[int], sides: int) -> int:
    """Return the turn, in whole edges, that brings a set of edges into its first form: the same for all its turns."""
    chosen = tuple(edges)
    return min(range(sides), key=lambda turn: (sorted((edge - turn) % sides for edge in chosen), turn))


def file_word(name: str) -> str:
    """A panel's name as part of a file name: letters and figures stay, a blank becomes _, all else its code.

    Two names never become the same word.
    """
    return "".join(
        char if char.isascii() and (char.isalnum() or char == "-") else "_" if char == " " else f"_{ord(char):x}_"
        for char in name
    )
