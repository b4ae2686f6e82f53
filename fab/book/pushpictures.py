"""Pictures of the joining as one sees it at the table: panels face down, so left and right are
swapped.

 front view            at the table (back view)
  A | B                 B | A
 B goes to the left    B goes to the right
"""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Sequence
from functools import partial

from fab.book.datalines import arrow_to
from fab.book.wallmarks import BLANK, SOFT, inlet_mark, inlet_places
from fab.design import Design
from fab.layout.model import Joint, PlacedPanel
from fab.outlines.contour import Point, around, circle, polygon
from fab.outlines.figures import size_to_fit_mm, text_width_mm
from fab.outlines.fitted import WALL_SCALE, Place, fitted
from fab.outlines.inks import BLUE, INK, SOFT_INK
from fab.outlines.page import Fill, Group, Item, Page, Stroke, Text, line, ring
from fab.wall.pushes import Push

MOVING, RESTING, WAY, CLIP = "#f6c77d", "#e4e8ee", "#c04a00", BLUE
SMALL_MM, WIDE_MM, HIGH_MM = 74.0, 150.0, 74.0
MANY = 10  # panels from which a picture takes the width of the page
APART = 0.75  # how far the moving piece is drawn off, in lengths of an edge
MARGIN = 3.0
INLET_MM = 6.0  # an inlet's arrow reaches this far out of its panel
LEAST_MM = 2.0  # an arrow beside which no figure of this height has room is left out
READ_MM = 3.0  # figures below it cannot be read where pictures stand side by side


def seen_deg(front_deg: float) -> float:
    """A direction of the front view as it is seen at the table, degrees in 0..360."""
    return (180.0 - front_deg) % 360.0


def joints_of(design: Design, push: Push) -> tuple[int, ...]:
    """Joints that a push closes, with a header or without, by index."""
    moving, onto = set(push.moving), set(push.onto)
    return tuple(
        k
        for k, joint in enumerate(design.layout.joints)
        if (joint.a in moving and joint.b in onto) or (joint.b in moving and joint.a in onto)
    )


def push_page(design: Design, number: int, push: Push) -> Page:
    """One push: the piece that moves stands off against its way, an arrow leads it home."""
    closed = joints_of(design, push)
    away = _away(design, push, closed)
    panels = [design.layout.by_name[name] for name in (*push.onto, *push.moving)]
    moving = set(push.moving)

    def shifted(name: str) -> Point:
        return away if name in moving else (0.0, 0.0)

    corners = [
        (-(x + shifted(panel.name)[0]), y + shifted(panel.name)[1])
        for panel in panels
        for x, y in panel.corners
    ]
    width = SMALL_MM if len(panels) < MANY else WIDE_MM
    most_height = HIGH_MM if width == SMALL_MM else 110.0
    scale, high, place = fitted(around(corners), width, most_height, MARGIN, most_scale=WALL_SCALE)

    def at(point: Point, name: str) -> Point:
        dx, dy = shifted(name)
        return place((-(point[0] + dx), point[1] + dy))

    items: list[Item] = []
    for panel in panels:
        tint = MOVING if panel.name in moving else RESTING
        items.append(_panel(design, panel, tint, scale, partial(at, name=panel.name)))
    for k in closed:
        joint = design.layout.joints[k]
        mover = joint.a if joint.a in moving else joint.b
        other = joint.b if mover == joint.a else joint.a
        middle = (joint.x, joint.y)
        turned = seen_deg(joint.normal_deg)
        if k in push.joints:
            items.append(
                _header(at(middle, mover), turned, supply=design.table.rows[k].supply, scale=scale)
            )
        elif design.table.rows[k].kind == "jumper":
            ends = _across(at(middle, mover), at(middle, other), scale)
            items.append(Group(tuple(_jumper(*ends)), css="jumper", title="a jumper, later"))
        items += _clips(design, joint, scale, partial(at, name=other))
    items.append(_way(design, push, closed, at, scale))
    said = (
        f"At the table, panels face down: {', '.join(push.moving)} "
        f"{'laid in from above' if push.heading_deg is None else 'pushed'} onto"
        f" {', '.join(push.onto)}."
    )
    return Page(width, high, tuple(items), f"Push {number}", said)


def table_page(design: Design, width: float = 176.0, most_height: float = 130.0) -> Page:
    """The whole wall as it lies on the table in the end, with what its marks mean."""
    panels = design.layout.panels
    box = around((-x, y) for panel in panels for x, y in panel.corners)
    fed = MARGIN if not design.counts.inlets else MARGIN + INLET_MM  # the arrows lie outside
    scale, high, place = fitted(box, width, most_height, fed, below=10.0, most_scale=WALL_SCALE)

    def at(point: Point) -> Point:
        return place((-point[0], point[1]))

    items: list[Item] = [_panel(design, panel, RESTING, scale, at) for panel in panels]
    seams = set(design.order.seams)
    for k, joint in enumerate(design.layout.joints):
        row, middle = design.table.rows[k], at((joint.x, joint.y))
        if row.is_header and k not in seams:
            items.append(
                _header(middle, seen_deg(joint.normal_deg), supply=row.supply, scale=scale)
            )
        elif row.kind == "jumper":
            angle, reach = math.radians(seen_deg(joint.normal_deg)), max(7.0 * scale, 1.2)
            dx, dy = math.cos(angle) * reach, math.sin(angle) * reach
            items += _jumper((middle[0] - dx, middle[1] - dy), (middle[0] + dx, middle[1] + dy))
        items += _clips(design, joint, scale, at)
    for spot, facing_deg in inlet_places(design):
        items += inlet_mark(at(spot), seen_deg(facing_deg))
    items += _legend(design)
    said = f"The wall {design.job.job} face down on the table, left and right swapped."
    return Page(width, high, tuple(items), "On the table, seen from the back", said)


def _away(design: Design, push: Push, closed: Sequence[int]) -> Point:
    """Distance of the moving piece from its place as drawn, front view, mm of the wall."""
    far = max(design.layout.by_name[name].cell.edge for name in push.moving) * APART
    if push.heading_deg is not None:
        angle = math.radians(push.heading_deg)
        return (-far * math.cos(angle), -far * math.sin(angle))
    if not closed:
        return (0.0, far)
    moving = set(push.moving)
    x = y = 0.0
    for joint in (design.layout.joints[k] for k in closed):
        side = 1.0 if joint.a in moving else -1.0
        x -= side * math.cos(math.radians(joint.normal_deg))
        y -= side * math.sin(math.radians(joint.normal_deg))
    long = math.hypot(x, y)
    return (far * x / long, far * y / long) if long > 1e-6 else (0.0, far)


def _panel(design: Design, panel: PlacedPanel, tint: str, scale: float, at: Place) -> Group:
    """Outline, name, edge 0 and keyhole of a panel from its back."""
    outline = polygon([at(corner) for corner in reversed(panel.corners)])
    x, y = at((panel.x, panel.y))
    room = panel.cell.apothem * scale
    blank = panel.name in design.blank
    size = size_to_fit_mm(panel.name, room * 0.72, max(min(room * 0.55, 6.0), 1.2))
    items: list[Item] = [
        Fill((outline,), BLANK if blank else tint, 0.4 if blank else 1.0),
        ring(outline, 0.3, INK),
        Text(x, y - size * 0.36, panel.name, size, "middle", bold=True),
    ]
    small = min(room * 0.26, READ_MM)
    if small >= LEAST_MM and not blank:
        angle = math.radians(seen_deg(panel.normal_deg(0)))
        head = room - _header_reach(scale) - room * 0.2 - 1.5  # free of a header at that edge
        reach = max(min(room * 0.56, head), room * 0.3)
        spot = (x + math.cos(angle) * reach, y + math.sin(angle) * reach)
        items += arrow_to(spot, math.degrees(angle), room * 0.2, SOFT)
        if small >= READ_MM:
            beside = (spot[0] - math.sin(angle) * small, spot[1] + math.cos(angle) * small)
            low = beside[1] - small * 0.36
            items.append(Text(beside[0], low, "0", small, "middle", colour=SOFT_INK))
    hanger = design.hung.by_panel.get(panel.name)
    if hanger is not None and room > 4.0:
        items += _keyhole(at((hanger.x, hanger.y)), max(room * 0.06, 0.5))
    return Group(tuple(items), css="panel", title=panel.name)


def _keyhole(at: Point, size: float) -> list[Item]:
    """A hanger: the slot's closed end at `at`, the round entry hole below it."""
    x, y = at
    return [
        line((x, y), (x, y - size * 2.4), size * 0.8, SOFT),
        Fill((circle((x, y - size * 2.4), size),), SOFT),
    ]


def _header_reach(scale: float) -> float:
    """Reach of a header into a panel, mm of the page."""
    return max(min(9.0 * scale, 4.0), 1.0)


def _header(at: Point, normal_deg: float, *, supply: bool, scale: float) -> Group:
    """A header that stands half in the edge at `at`."""
    angle, reach = math.radians(normal_deg), _header_reach(scale)
    dx, dy = math.cos(angle) * reach, math.sin(angle) * reach
    ends = ((at[0] - dx, at[1] - dy), (at[0] + dx, at[1] + dy))
    kind = "header" if supply else "header without supply"
    drawn = line(*ends, 1.0, INK if supply else SOFT, () if supply else (0.7, 0.5))
    return Group((drawn,), css="header", title=kind)


def _across(a: Point, b: Point, scale: float) -> tuple[Point, Point]:
    """The ends of a jumper over a joint that is drawn open."""
    long = math.dist(a, b) or 1.0
    ux, uy = (b[0] - a[0]) / long, (b[1] - a[1]) / long
    reach = 6.0 * scale
    return ((a[0] - ux * reach, a[1] - uy * reach), (b[0] + ux * reach, b[1] + uy * reach))


def _jumper(a: Point, b: Point) -> list[Item]:
    return [
        line(a, b, 0.4, SOFT, (1.0, 0.6)),
        *(ring(circle(end, 0.8), 0.35, INK) for end in (a, b)),
    ]


def _clips(design: Design, joint: Joint, scale: float, at: Place) -> list[Item]:
    """The clips of a joint, each a bar across it."""
    plan = design.plans[design.layout.by_name[joint.a].design]
    if joint in {design.layout.joints[k] for k in design.order.seams}:
        return []
    normal = math.radians(joint.normal_deg)
    u, t = (math.cos(normal), math.sin(normal)), (-math.sin(normal), math.cos(normal))
    reach = max(6.0, 1.0 / scale)
    found: list[Item] = []
    for along in plan.clip.places:
        x, y = joint.x + t[0] * along, joint.y + t[1] * along
        ends = [at((x + side * u[0] * reach, y + side * u[1] * reach)) for side in (-1.0, 1.0)]
        bar = line(ends[0], ends[1], max(5.0 * scale, 0.5), CLIP)
        found.append(Group((bar,), css="clip"))  # no title: the key tells it, and a wall has many
    return found


def _way(
    design: Design,
    push: Push,
    closed: Collection[int],
    at: Callable[[Point, str], Point],
    scale: float,
) -> Group:
    """The arrow of a push, in the middle of what it closes; a crossed ring for one from above."""
    joints = [design.layout.joints[k] for k in (push.joints or closed)]
    moving = next(iter(push.moving))
    if push.heading_deg is None or not joints:
        x, y = at(_centre(design, push.moving), moving)
        size = 3.0
        marks: list[Item] = [
            ring(circle((x, y - 6.0), size), 0.6, WAY),
            line((x - 2.1, y - 8.1), (x + 2.1, y - 3.9), 0.6, WAY),
            line((x - 2.1, y - 3.9), (x + 2.1, y - 8.1), 0.6, WAY),
        ]
        return Group(tuple(marks), css="way", title="down, from above")
    # beside the headers, where the arrow covers none of them: a quarter of an edge along the joint
    joint = joints[len(joints) // 2]
    aside = math.radians(joint.normal_deg + 90.0)
    shift = design.layout.by_name[joint.a].cell.edge * 0.27
    home = (joint.x + math.cos(aside) * shift, joint.y + math.sin(aside) * shift)
    start, rest = at(home, moving), at(home, push.onto[0])
    turned = seen_deg(push.heading_deg)
    drawn: list[Stroke | Fill] = []
    for item in arrow_to(start, turned, math.dist(start, rest) * 0.9, WAY):
        if isinstance(item, Stroke):
            drawn.append(Stroke(item.segments, 0.9, WAY))
        elif isinstance(item, Fill):
            drawn.append(item)
    return Group(tuple(drawn), css="way", title=f"{turned:.0f} degrees")


def _centre(design: Design, names: Sequence[str]) -> Point:
    panels = [design.layout.by_name[name] for name in names]
    return (sum(p.x for p in panels) / len(panels), sum(p.y for p in panels) / len(panels))


def _legend(design: Design) -> list[Item]:
    """The legend: each mark drawn as in the pictures."""
    items: list[Item] = []
    x, y = MARGIN + 2.0, 6.0
    kinds = design.table.counts
    entries: list[tuple[Callable[[float], Sequence[Item]], str, bool]] = [
        (lambda x: [line((x, y), (x + 5.0, y), 1.0, INK)], "header", kinds["header"] > 0),
        (
            lambda x: [line((x, y), (x + 5.0, y), 1.0, SOFT, (0.7, 0.5))],
            "header, supply pins pulled",
            kinds["header without supply"] > 0,
        ),
        (lambda x: _jumper((x + 0.8, y), (x + 5.0, y)), "jumper", kinds["jumper"] > 0),
        (lambda x: [line((x + 1.0, y), (x + 4.0, y), 1.4, CLIP)], "clip", design.counts.clips > 0),
        (lambda x: _keyhole((x + 2.5, y + 1.2), 0.8), "keyhole", bool(design.hung.hangers)),
        (lambda x: inlet_mark((x, y), 0.0), "inlet", design.counts.inlets > 0),
        (lambda x: arrow_to((x + 1.0, y), 0.0, 3.0, SOFT), "to edge 0", True),
    ]
    for draw, word, there in entries:
        if there:
            items += [*draw(x), Text(x + 6.5, y - 1.1, word, 3.0, colour=SOFT_INK)]
            x += 10.0 + text_width_mm(word, 3.0)
    return items
