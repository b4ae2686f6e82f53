"""The base that each panel needs, and the panels that can share one."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping

from fab.layout.model import BaseKind, BaseUse, Layout


def base_uses(
    layout: Layout,
    inlets: Mapping[str, int],
    hangers: Mapping[str, float],
    alike: Collection[str] = (),
    jumpers: Mapping[str, Iterable[int]] | None = None,
    spots: Mapping[str, tuple[float, float | None]] | None = None,
    *,
    labels: bool = True,
) -> tuple[BaseUse, ...]:
    """Return one base per panel, in the layout's order.

    `inlets`: panel name to the open edge its inlet leaves by. `hangers`: panel name to the
    direction of the wall's up in the panel frame, degrees. `jumpers`: panel name to its edges
    (panel frame) whose base gets an opening for a jumper; the edge of an inlet gets none. A base
    has its inlet at its own edge 0 and is mounted turned by `steps` edges. What keeps its place in
    the panel (the peg of the board's mark, the maker's openings) is turned back, so such a base is
    another one for every turn. `alike`: designs whose base has none of that: it is turned so that
    as few kinds as possible are made. Bases that carry a hanger have a name of their own and are
    shared by nobody unless labels are off and they hang alike. `spots`: how far its keyhole stands
    aside, and how high over the centre, of panels where that is not the middle and the top.
    """
    jumpers = jumpers or {}
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
            # any whole-edge turn is the same base
            if not labels and inlet is None and panel.design in alike:
                steps = int(up_base // pitch)
                up_base = round(up_base - steps * pitch, 9)
        in_base = tuple(sorted((edge - steps) % sides for edge in opened))
        label = panel.name if up is not None and labels else ""
        parts = ["inlet"] if inlet is not None else []
        if in_base:
            parts.append("jumper-" + "-".join(map(str, in_base)))
        if up is not None:
            parts.append(
                f"hanger-{file_word(label)}"
                if label
                else f"hanger-{up_base:g}deg".replace(".", "_")
            )
        aside, rest = (spots or {}).get(panel.name, (0.0, None))
        if up is not None and not label and (aside or rest is not None):
            parts.append(f"{aside:+g}-{rest or 0:g}".replace(".", "_"))
        kept = 0 if panel.design in alike else steps
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


def file_word(name: str) -> str:
    """A panel's name in a file name: letters and figures stay, blank becomes _, all else its code.

    Two names never become the same word.
    """
    return "".join(
        (
            char
            if char.isascii() and (char.isalnum() or char == "-")
            else "_"
            if char == " "
            else f"_{ord(char):x}_"
        )
        for char in name
    )
