"""Light in the book: pictures of each design's face and of the wall, made once for what they depend on."""

from __future__ import annotations

import base64
import dataclasses
import json
from typing import Any

from fab.book.facts import BookFacts
from fab.book.pagestore import from_plain, to_plain
from fab.files.document import Block, Figure, Heading, Para, Picture
from fab.outlines.page import Page
from fab.parts.plan import Plan
from fab.products import ROOMS
from fab.verdicts import light_depends

LIGHT_ROOMS = (*ROOMS, "light", "book")


def light_blocks(facts: BookFacts) -> list[Block]:
    """For each design its face, heat map, cut and curve; then the lit wall."""
    design = facts.design
    job = design.job
    blocks: list[Block] = [
        Heading("How it will look"),
        Para("Simulated: light of each LED straight and bounced between walls, board and sheet until next to none is left, the sheet as a scattering filter. A picture for judging dots and rims, not a photograph."),
    ]
    lit = {name: plan for name, plan in design.plans.items() if not plan.params.board.none}
    for name, plan in lit.items():
        values = [light_depends(design, name), dataclasses.asdict(job.light)]
        packed = json.loads(facts.store.once("light pictures", values, LIGHT_ROOMS, _maker(facts, name, plan)))
        blocks.append(_picture(packed["face"]))
        for key, caption in (
            ("heat", "Luminance of the face in per cent of its middle."), ("cut", "A cut through the middle of the face."),
            ("curve", "What a deeper or flatter panel would do with this LED grid."),
        ):  # fmt: skip
            page: Page = from_plain(packed[key])
            blocks.append(Figure(page, caption))
    wall_values = [
        [light_depends(design, name) for name in lit],
        [(panel.design, panel.x, panel.y, panel.turn_deg) for panel in design.layout.panels],
    ]
    packed = json.loads(facts.store.once("light wall", wall_values, LIGHT_ROOMS, lambda: _wall(facts)))
    blocks.append(_picture(packed))
    return blocks


def _maker(facts: BookFacts, name: str, plan: Plan) -> Any:
    def make() -> bytes:
        from fab.light.pictures import curve_page, cut_page, face_png, heat_page
        from fab.light.solve import depth_curve

        job = facts.design.job
        lit = _face(facts, plan)
        curve = depth_curve(plan, job.shop.filament.reflectance)
        return json.dumps(
            {
                "face": _plain_png(face_png(plan, lit)), "heat": to_plain(heat_page(plan, lit)),
                "cut": to_plain(cut_page(plan, lit)), "curve": to_plain(curve_page(curve, job.light)),
            }
        ).encode()  # fmt: skip

    del name
    return make


def _face(facts: BookFacts, plan: Plan) -> Any:
    from fab.light.face import face

    job = facts.design.job
    return face(plan, job.shop.filament.reflectance, brightness=job.power.brightness)


def _wall(facts: BookFacts) -> bytes:
    from fab.light.wallpicture import wall_png

    design = facts.design
    faces = {name: _face(facts, plan) for name, plan in design.plans.items() if not plan.params.board.none}
    return json.dumps(_plain_png(wall_png(design.layout, design.plans, faces))).encode()


def _plain_png(picture: Any) -> dict[str, Any]:
    return {
        "png": base64.b64encode(picture.data).decode(), "width": picture.width, "height": picture.height,
        "caption": picture.caption, "says": picture.says,
    }  # fmt: skip


def _picture(packed: dict[str, Any]) -> Picture:
    return Picture(base64.b64decode(packed["png"]), packed["width"], packed["height"], packed["caption"], packed["says"])
