"""Small pieces into the holes of large ones, before the search: what lies in waste takes no room on
the sheet.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from fab.sheets.model import Placed, Sheet, ring_area
from fab.sheets.paths import Path
from fab.sheets.sheet_fill import Laid, SheetFill
from fab.sheets.stock_parts import StockParts


@dataclass(frozen=True)
class Guest:
    """A piece in a hole: where its origin lies in the host's frame, and its turn against
    the host.
    """

    path: Path
    x: float
    y: float
    turn_deg: float


@dataclass(frozen=True)
class Host:
    """One copy of a piece with what lies in its holes."""

    path: Path
    guests: tuple[Guest, ...]


def stuffed(parts: StockParts, left: dict[str, int], *, grain: bool) -> list[Host]:
    """Hosts with their guests for the copies in `left`, which is lowered by the guests; largest
    guests first.
    """
    hosts: list[Host] = []
    with_holes = sorted(
        (p for p in parts.ways if p.outline.holes and left[p.piece.name] > 0),
        key=lambda p: (-p.area, p.piece.name),
    )
    for path in with_holes:
        rooms = [_room(hole, parts.gap_mm) for hole in parts.shapes(path, grain=grain)[0].holes]
        for _ in range(left[path.piece.name]):
            guests: list[Guest] = []
            for room, x, y in rooms:
                for guest in _guests(parts, room, left, path, grain=grain):
                    left[guest.shape.path.piece.name] -= 1
                    guests.append(
                        Guest(guest.shape.path, guest.x + x, guest.y + y, guest.shape.turn_deg)
                    )
            if guests:
                hosts.append(Host(path, tuple(guests)))
    return hosts


def _room(hole: Sequence[tuple[float, float]], gap_mm: float) -> tuple[Sheet, float, float]:
    """A hole as a little sheet whose margin is the gap, and where its corner lies."""
    left, low = min(x for x, _ in hole), min(y for _, y in hole)
    ring = tuple((x - left, y - low) for x, y in hole)
    return Sheet("", "hole", ring if ring_area(ring) > 0 else ring[::-1], (), gap_mm), left, low


def _guests(
    parts: StockParts, room: Sheet, left: dict[str, int], host: Path, *, grain: bool
) -> tuple[Laid, ...]:
    """Fill one hole: try each kind as the first, keep the fullest filling."""
    kinds = sorted(
        (
            p
            for p in parts.ways
            if p is not host
            and left[p.piece.name] > 0
            and not p.outline.holes
            and p.area < room.area
        ),
        key=lambda p: (-p.area, p.piece.name),
    )
    best: tuple[Laid, ...] = ()
    for k in range(len(kinds)):
        filling = SheetFill(room, parts.nofit)
        for path in kinds[k:]:
            shapes = parts.shapes(path, grain=grain)
            for _ in range(left[path.piece.name]):
                item = filling.best(shapes, "right")
                if item is None:
                    break
                filling.put(item)
        if sum(i.shape.area for i in filling.laid) > sum(i.shape.area for i in best) + 1e-6:
            best = tuple(filling.laid)
    return best


def common_turns(host: Host, *, grain: bool) -> tuple[float, ...] | None:
    """Turns of the host that keep every guest at a turn that its own rule allows; None when any
    will do.
    """
    free = host.path.piece.turns == "free" and not grain
    if free and all(g.path.piece.turns in ("free", "symmetry") for g in host.guests):
        return None
    steps = {"none": 360, "half": 180, "quarter": 90, "symmetry": 90, "free": 90}
    step = max(
        [
            180 if grain else 0,
            steps[host.path.piece.turns],
            *(steps[g.path.piece.turns] for g in host.guests),
        ]
    )
    return tuple(float(turn) for turn in range(0, 360, step))


def unpacked(parts: StockParts, host: Host, at: Laid) -> list[Laid]:
    """The guests of a host that lies at `at`, on the sheet."""
    pose = Placed("", 1, at.x, at.y, at.shape.turn_deg)
    return [
        Laid(
            parts.shape(guest.path, round((guest.turn_deg + at.shape.turn_deg) % 360.0, 9)),
            *pose.point((guest.x, guest.y)),
        )
        for guest in host.guests
    ]
