"""A picture as plain data and back, so that the store can keep it."""

from __future__ import annotations

import base64
import json
from typing import Any

from fab.outlines.contour import Arc, Contour, Line, Segment
from fab.outlines.page import Fill, Group, Image, Item, Page, Stroke, Text


def to_plain(page: Page) -> dict[str, Any]:
    """JSON-ready form of a page."""
    return {
        "width": page.width,
        "height": page.height,
        "title": page.title,
        "says": page.says,
        "items": [_item(item) for item in page.items],
    }


def from_plain(data: dict[str, Any]) -> Page:
    """The page that `to_plain` was given."""
    items = tuple(_from(item) for item in data["items"])
    return Page(data["width"], data["height"], items, data["title"], data["says"])


def pages_of(data: bytes) -> tuple[Page, ...]:
    """The pages that a product of the store holds as JSON, named: an empty map is no pages."""
    return tuple(from_plain(one) for one in json.loads(data)["pages"])


def _segment(seg: Segment) -> list[Any]:
    if isinstance(seg, Arc):
        return [*seg.start, *seg.centre, seg.sweep_rad]
    return [*seg.start, *seg.end]


def _segments(rows: list[list[float]]) -> tuple[Segment, ...]:
    return tuple(
        (
            Arc((row[0], row[1]), (row[2], row[3]), row[4])
            if len(row) == 5
            else Line((row[0], row[1]), (row[2], row[3]))
        )
        for row in rows
    )


def _item(item: Item) -> list[Any]:
    match item:
        case Stroke():
            return [
                "stroke",
                [_segment(seg) for seg in item.segments],
                item.width_mm,
                item.colour,
                list(item.dash),
            ]
        case Fill():
            rings = [[_segment(seg) for seg in contour.segments] for contour in item.contours]
            return ["fill", rings, item.colour, item.opacity]
        case Text():
            return [
                "text",
                item.x,
                item.y,
                item.text,
                item.size_mm,
                item.anchor,
                item.turn_deg,
                item.colour,
                item.bold,
            ]
        case Image():
            box = [item.x, item.y, item.width, item.height]
            return ["image", box, base64.b64encode(item.png).decode()]
        case Group():
            inner = [_item(one) for one in item.items]
            clip = list(item.clip) if item.clip else None
            return [
                "group",
                inner,
                list(item.shift),
                clip,
                item.id,
                item.css,
                item.title,
                item.href,
            ]


def _from(row: list[Any]) -> Item:
    kind, *rest = row
    if kind == "stroke":
        return Stroke(_segments(rest[0]), rest[1], rest[2], tuple(rest[3]))
    if kind == "fill":
        return Fill(tuple(Contour(_segments(ring)) for ring in rest[0]), rest[1], rest[2])
    if kind == "text":
        return Text(*rest)
    if kind == "image":
        x, y, width, height = rest[0]
        return Image(x, y, width, height, base64.b64decode(rest[1]))
    inner, shift, clip, *words = rest
    return Group(
        tuple(_from(one) for one in inner),
        (shift[0], shift[1]),
        tuple(clip) if clip else None,
        *words,
    )
