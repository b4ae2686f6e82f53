"""Reading a print with a library that did not write it: text boxes, fonts, pictures."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

# the book's margin is 16 mm (45.4 pt); descenders and strokes may reach a little over it
MARGIN_PT = 40.0


@dataclass(frozen=True)
class Run:
    """A line of text as it stands: page from 1, box in points (left, low, right, top), text."""

    page: int
    box: tuple[float, float, float, float]
    text: str


@dataclass(frozen=True)
class Read:
    """What stands in a print."""

    pages: tuple[tuple[float, float], ...]
    runs: tuple[Run, ...]

    @property
    def text(self) -> str:
        return "\n".join(run.text for run in self.runs)

    def on(self, page: int) -> list[Run]:
        return [run for run in self.runs if run.page == page]


def read(data: bytes | Path) -> Read:
    """Every line of text with its box, as pdfium lays it out."""
    import pypdfium2

    document = pypdfium2.PdfDocument(str(data) if isinstance(data, Path) else data)
    sizes, runs = [], []
    for number, page in enumerate(document, 1):
        sizes.append(page.get_size())
        text = page.get_textpage()
        for k in range(text.count_rects()):
            box = text.get_rect(k)
            runs.append(Run(number, box, text.get_text_bounded(*box).strip()))
    return Read(tuple(sizes), tuple(runs))


def clipped(book: Read) -> list[Run]:
    """Text that reaches into the margins, the running foot apart."""
    out = []
    for run in book.runs:
        wide, high = book.pages[run.page - 1]
        left, low, right, top = run.box
        foot = top < MARGIN_PT and low > 10.0
        if (
            left < MARGIN_PT
            or right > wide - MARGIN_PT
            or top > high - MARGIN_PT
            or (low < MARGIN_PT and not foot)
        ):
            out.append(run)
    return out


def on_each_other(runs: list[Run]) -> list[tuple[str, str]]:
    """Pairs of texts whose boxes overlap by more than a hair."""
    found = []
    ordered = sorted(runs, key=lambda run: (run.page, run.box[0]))
    for k, a in enumerate(ordered):
        for b in ordered[k + 1 :]:
            if b.page != a.page or b.box[0] >= a.box[2]:
                break
            wide = min(a.box[2], b.box[2]) - max(a.box[0], b.box[0])
            high = min(a.box[3], b.box[3]) - max(a.box[1], b.box[1])
            if wide > 1.0 and high > 1.0:
                found.append((a.text, b.text))
    return found


def alone_at_a_foot(book: Read, headings: set[str]) -> list[str]:
    """Headings below which nothing stands on their page but the running foot."""
    found = []
    for page in range(1, len(book.pages) + 1):
        body = [run for run in book.on(page) if run.box[1] > MARGIN_PT]
        if body and (low := min(body, key=lambda run: run.box[1])).text in headings:
            found.append(f"{low.text} on page {page}")
    return found


def fonts(data: bytes | Path) -> dict[str, bool]:
    """Every font that a page or a form on it names, and whether its file is embedded."""
    import io

    import pypdf

    reader = pypdf.PdfReader(str(data) if isinstance(data, Path) else io.BytesIO(data))
    found: dict[str, bool] = {}

    def look(resources: Any) -> None:
        for named in (resources.get("/Font") or {}).values():
            font = named.get_object()
            descriptor = font.get("/FontDescriptor")
            found[str(font["/BaseFont"])] = (
                descriptor is not None and "/FontFile2" in descriptor.get_object()
            )
        for form in (resources.get("/XObject") or {}).values():
            inner = form.get_object()
            if inner.get("/Resources"):
                look(inner["/Resources"].get_object())

    for page in reader.pages:
        look(page["/Resources"].get_object())
    return found


def images(data: bytes | Path) -> int:
    """Pictures made of dots, counted once a page."""
    import pypdfium2

    document = pypdfium2.PdfDocument(str(data) if isinstance(data, Path) else data)
    return sum(
        1
        for page in document
        for item in page.get_objects()
        if item.type == pypdfium2.raw.FPDF_PAGEOBJ_IMAGE
    )
