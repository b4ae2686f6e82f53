"""A PDF read back object by object; ours are not compressed, so plain patterns suffice."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from fab.outlines.page import Group, Item, Page, Text

_OBJECT = re.compile(rb"^(\d+) 0 obj\b(.*?)^endobj", re.DOTALL | re.MULTILINE)
_STRING = re.compile(rb"\((?:\\.|[^\\()])*\)", re.DOTALL)  # text shown, escapes and all
_KIDS = re.compile(rb"/Kids\s*\[(.*?)\]", re.DOTALL)
_PT_MM = 25.4 / 72
_TOL_MM = 0.01


def check_pdf(data: bytes, pages: Sequence[Page]) -> list[str]:
    """Differences of a PDF from the `pages` that it was written from; empty when there are none."""
    if not data.startswith(b"%PDF-1.") or not data.rstrip().endswith(b"%%EOF"):
        return ["the PDF is cut off"]
    start = re.search(rb"startxref\s+(\d+)\s+%%EOF\s*$", data)
    if not start or not data[int(start[1]) :].startswith(b"xref"):
        return ["the PDF's table of contents is not where it says"]
    objects = {int(match[1]): match[2] for match in _OBJECT.finditer(data)}
    told = []
    if not any(re.search(rb"/PrintScaling\s*/None", body) for body in objects.values()):
        told.append("the PDF does not ask for printing without scaling")
    kids = next((found for body in objects.values() if (found := _KIDS.search(body))), None)
    order = [int(number) for number in re.findall(rb"(\d+) 0 R", kids[1])] if kids else []
    if len(order) != len(pages):
        return [*told, f"the PDF has {len(order)} pages, should have {len(pages)}"]
    for number, (reference, page) in enumerate(zip(order, pages, strict=True), 1):
        box = re.search(rb"/MediaBox\s*\[\s*([-\d. ]+)\]", objects.get(reference, b""))
        sides = [float(word) * _PT_MM for word in box[1].split()] if box else []
        want = (0.0, 0.0, page.width, page.height)
        if len(sides) != 4 or any(
            abs(have - need) > _TOL_MM for have, need in zip(sides, want, strict=True)
        ):
            told.append(
                f"page {number} of the PDF is {sides} mm, should be {page.width:g} x"
                f" {page.height:g}"
            )
        content = re.search(rb"/Contents\s+(\d+) 0 R", objects.get(reference, b""))
        if not content or re.search(
            rb"\b(nan|inf)\b", _STRING.sub(b"", objects.get(int(content[1]), b"nan"))
        ):
            told.append(f"page {number} of the PDF holds a number that is none")
    if (
        any(isinstance(item, Text) for page in pages for item in _all(page.items))
        and b"/FontFile2" not in data
    ):
        told.append("the PDF does not carry its font")
    return told


def _all(items: Sequence[Item]) -> Iterator[Item]:
    for item in items:
        yield item
        if isinstance(item, Group):
            yield from _all(item.items)
