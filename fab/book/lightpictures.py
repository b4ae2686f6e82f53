"""Light in the book: pictures of each design's face and of the wall, made once for what they depend on."""

from __future__ import annotations

import base64
import dataclasses
import json
from functools import partial
from typing import Any

from fab.book.facts import BookFacts
from fab.book.pagestore import from_plain, to_plain
from fab.decisions import Design
from fab.files.document import Block, Figure, Heading, Para, Picture
from fab.outlines.page import Page
from fab.params.job import Job
from fab.parts.plan import Plan
from fab.products import ROOMS
from fab.store import Task
from fab.verdicts import light_depends

LIGHT_ROOMS = (*ROOMS, "files", "light", "book")


def light_blocks(facts: BookFacts) -> list[Block]:
    """For each design its face, heat map, cut and curve; then the lit wall."""
    design = facts.design
    blocks: list[Block] = [
        Heading("How it will look"),
        Para("Simulated: light of each LED straight and bounced between walls, board and sheet until next to none is left, the sheet as a scattering filter. A picture for judging dots and rims, not a photograph."),
        Para(
            "A face is judged as a whole, rim and corners included: the darkest spot over the brightest. The middle two "
            "thirds are judged apart and more strictly. The last 2 mm beside the dark frame of ledge and shell belong to "
            "the frame. The limits and their reasons stand with the checks light.evenness and light.middle."
        ),
    ]
    *faces, wall = tasks(design)
    for task in faces:
        face, pages = facts.store.read(task, _design_pictures)
        blocks.append(face)
        for page, caption in zip(pages, (
            "Luminance of the face in per cent of its middle.", "A cut through the middle of the face.",
            "What a deeper or flatter panel would do with this LED grid.",
        ), strict=True):  # fmt: skip
            blocks.append(Figure(page, caption))
    blocks.append(facts.store.read(wall, _wall_picture))
    return blocks


def tasks(design: Design) -> list[Task]:
    """What the pictures are made by: one for each lit design, and the wall's."""
    lit = {name: plan for name, plan in design.plans.items() if not plan.params.board.none}
    found = [
        Task("light pictures", [light_depends(design, name), dataclasses.asdict(design.job.light)], LIGHT_ROOMS, partial(_pictures, design.job, plan))
        for name, plan in lit.items()
    ]  # fmt: skip
    wall = [
        [light_depends(design, name) for name in lit],
        [(panel.design, panel.x, panel.y, panel.turn_deg) for panel in design.layout.panels],
    ]
    return [*found, Task("light wall", wall, LIGHT_ROOMS, partial(_wall, design))]


def _pictures(job: Job, plan: Plan) -> bytes:
    from fab.light.pictures import curve_page, cut_page, face_png, heat_page
    from fab.light.solve import depth_curve

    lit = _face(job, plan)
    curve = depth_curve(plan, job.shop.filament.reflectance)
    return json.dumps(
        {
            "face": _plain_png(face_png(plan, lit)), "heat": to_plain(heat_page(plan, lit)),
            "cut": to_plain(cut_page(plan, lit)), "curve": to_plain(curve_page(curve, job.light)),
        }
    ).encode()  # fmt: skip


def _face(job: Job, plan: Plan) -> Any:
    from fab.light.face import face

    return face(plan, job.shop.filament.reflectance, brightness=job.power.brightness or 1.0)


def _wall(design: Design) -> bytes:
    from fab.light.wallpicture import wall_png

    faces = {name: _face(design.job, plan) for name, plan in design.plans.items() if not plan.params.board.none}
    return json.dumps(_plain_png(wall_png(design.layout, design.plans, faces))).encode()


def _plain_png(picture: Any) -> dict[str, Any]:
    return {
        "png": base64.b64encode(picture.data).decode(), "width": picture.width, "height": picture.height,
        "caption": picture.caption, "says": picture.says,
    }  # fmt: skip


def _design_pictures(data: bytes) -> tuple[Picture, list[Page]]:
    packed = json.loads(data)
    return _picture(packed["face"]), [from_plain(packed[key]) for key in ("heat", "cut", "curve")]


def _wall_picture(data: bytes) -> Picture:
    return _picture(json.loads(data))


def _picture(packed: dict[str, Any]) -> Picture:
    return Picture(base64.b64decode(packed["png"]), packed["width"], packed["height"], packed["caption"], packed["says"])
