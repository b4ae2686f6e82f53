"""Light in the book: pictures of each design's face and of the wall, made once for what they depend
on.
"""

from __future__ import annotations

import base64
import json
from collections.abc import Mapping
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from fab.book.facts import BookFacts
from fab.book.pagestore import from_plain, to_plain
from fab.files.document import Block, Figure, Heading, Para, Picture
from fab.layout.model import Layout
from fab.outlines.page import Page
from fab.params.job import LightParams
from fab.parts.plan import Plan

if TYPE_CHECKING:
    from fab.light.face import Face

DAY_LX = 500.0  # on the wall: the light to read by of EN 12464-1, as a room has it by day


def light_blocks(facts: BookFacts) -> list[Block]:
    """For each design its face, heat map, cut and curve; the lit wall is on the cover."""
    design = facts.design
    blocks: list[Block] = [
        Heading("How it will look"),
        Para(
            "This is a simulation. Light reaches the sheet straight from each LED, or bounces"
            " between walls, board and sheet until almost none is left; the sheet scatters it. Use"
            " the picture to judge dots and rims. It is not a photograph."
        ),
        Para(
            "A face is judged as a whole, rim and corners included: the darkest spot over the"
            " brightest. The middle two thirds are judged apart and more strictly. The last 2 mm"
            " beside the dark frame of ledge and shell belong to the frame. The limits and their"
            " reasons are listed with the checks light.evenness and light.middle."
        ),
    ]
    for name in design.lit_designs:
        face, pages = facts.pictures["light", name]
        blocks.append(face)
        for page, caption in zip(
            pages,
            (
                "Luminance of the face in per cent of its middle.",
                "A cut through the middle of the face.",
                "What a deeper or flatter panel would do with this LED grid.",
            ),
            strict=True,
        ):
            blocks.append(Figure(page, caption))
    return blocks


def cover(facts: BookFacts) -> list[Block]:
    """The wall lit, in the dark room and by day; nothing for blank covers."""
    there = [("light", ""), ("daylight", "")]
    return [facts.pictures[key] for key in there if key in facts.pictures]


def light_bytes(
    plan: Plan, reflectance: float, brightness: float, limits: LightParams, white: Face
) -> bytes:
    """Face, heat map, cut and curve of a design as a product; `white` is its face at full white."""
    from fab.light.pictures import curve_page, cut_page, face_png, heat_page
    from fab.light.solve import depth_curve

    face = replace(white, brightness=brightness)
    curve = depth_curve(plan, reflectance)
    return json.dumps(
        {
            "face": _plain_png(face_png(plan, face)),
            "heat": to_plain(heat_page(plan, face)),
            "cut": to_plain(cut_page(plan, face)),
            "curve": to_plain(curve_page(curve, limits)),
        }
    ).encode()


def wall_bytes(
    layout: Layout, plans: Mapping[str, Plan], brightness: float, room_lx: float, *white: Face
) -> bytes:
    """The wall lit as a product, in the dark or in a room's own light.

    `white`: the face at full white of each design that has a board, in the order of `plans`.
    """
    from fab.light.wallpicture import wall_png

    names = (name for name, plan in plans.items() if not plan.params.board.none)
    faces = {
        name: replace(face, brightness=brightness) for name, face in zip(names, white, strict=True)
    }
    return json.dumps(_plain_png(wall_png(layout, plans, faces, room_lx))).encode()


def _plain_png(picture: Any) -> dict[str, Any]:
    return {
        "png": base64.b64encode(picture.data).decode(),
        "width": picture.width,
        "height": picture.height,
        "caption": picture.caption,
        "says": picture.says,
    }


def design_pictures(data: bytes) -> tuple[Picture, list[Page]]:
    """The pictures of a design that were kept."""
    packed = json.loads(data)
    return _picture(packed["face"]), [from_plain(packed[key]) for key in ("heat", "cut", "curve")]


def wall_picture(data: bytes) -> Picture:
    """The picture of the wall that was kept."""
    return _picture(json.loads(data))


def _picture(packed: dict[str, Any]) -> Picture:
    return Picture(
        base64.b64decode(packed["png"]),
        packed["width"],
        packed["height"],
        packed["caption"],
        packed["says"],
    )
