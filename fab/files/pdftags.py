"""Tagged PDF (ISO 32000-1, 14.7 and 14.8): a tree of headings, paragraphs, tables and pictures in
reading order, pictures with their words.

The library writes no tags, so the marks go into its pages' streams here and the tree into its
objects. Links are not tied into the tree: a reader finds them as links of the page.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from functools import cache
from typing import Any

LANGUAGE = "en-GB"


@dataclass(eq=False)
class Tag:
    """An element of the tree: its kind as the standard names it, and what says a picture in words.

    `marks`: (page from 0, mark on it) of what was drawn for it.
    """

    kind: str
    alt: str = ""
    inner: list[Tag] = field(default_factory=list)
    marks: list[tuple[int, int]] = field(default_factory=list)

    def add(self, kind: str, alt: str = "") -> Tag:
        """A new element as the last inside this one."""
        made = Tag(kind, alt)
        self.inner.append(made)
        return made


class Marker:
    """Counts the marks of each page while a document is drawn."""

    def __init__(self, root: Tag) -> None:
        self.root = root
        self.by_page: dict[int, list[Tag]] = {}
        self.pages: dict[int, Any] = {}

    @contextmanager
    def drawn(self, canvas: Any, tag: Tag | None) -> Iterator[None]:
        """A context: all drawn inside it belongs to the element; for None it is decoration."""
        if tag is None:
            canvas._code.append("/Artifact BMC")
        else:
            page = canvas.getPageNumber() - 1
            self.pages[page] = canvas._doc.thisPageRef()
            here = self.by_page.setdefault(page, [])
            tag.marks.append((page, len(here)))
            canvas._code.append(f"/{tag.kind} <</MCID {len(here)}>> BDC")
            here.append(tag)
        yield
        canvas._code.append("EMC")

    def write(self, canvas: Any) -> None:
        """The tree into the document's objects; call before it is saved."""
        from reportlab.pdfbase.pdfdoc import PDFArray, PDFDictionary, PDFName, PDFString

        refs: dict[int, Any] = {}
        document = canvas._doc
        top = PDFDictionary({"Type": PDFName("StructTreeRoot")})
        root = document.Reference(top)

        def put(tag: Tag, parent: Any) -> Any:
            # short forms (ISO 32000-1, 14.7.2, 14.7.4.2): no type, marks of the own page
            entry = PDFDictionary({"S": PDFName(tag.kind), "P": parent})
            ref = refs[id(tag)] = document.Reference(entry)
            if tag.alt:
                entry["Alt"] = PDFString(tag.alt)
            if tag.kind == "TH":
                layout = {"O": PDFName("Table"), "Scope": PDFName("Column")}
                entry["A"] = PDFDictionary(layout)
            own = tag.marks[0][0] if tag.marks else None
            if own is not None:
                entry["Pg"] = self.pages[own]
            kids: list[Any] = [
                mark
                if page == own
                else PDFDictionary({"Type": PDFName("MCR"), "Pg": self.pages[page], "MCID": mark})
                for page, mark in tag.marks
            ]
            kids += [put(one, ref) for one in tag.inner if _said(one)]
            entry["K"] = PDFArray(kids)
            return ref

        first = put(self.root, root)
        numbers: list[Any] = []
        for page, tags in sorted(self.by_page.items()):
            numbers += [page, PDFArray([refs[id(tag)] for tag in tags])]
        top["K"] = PDFArray([first])
        top["ParentTree"] = document.Reference(PDFDictionary({"Nums": PDFArray(numbers)}))
        top["ParentTreeNextKey"] = max(self.by_page, default=-1) + 1
        canvas.setCatalogEntry("StructTreeRoot", top)
        canvas.setCatalogEntry("MarkInfo", {"Marked": "true"})
        canvas.setCatalogEntry("Lang", LANGUAGE)
        canvas.setViewerPreference("DisplayDocTitle", "true")


def _said(tag: Tag) -> bool:
    """True when anything was drawn for an element or inside it."""
    return bool(tag.marks) or any(_said(one) for one in tag.inner)


def canvas_of(marker: Marker) -> Any:
    """The library's canvas whose pages point into the tree."""
    from reportlab.pdfbase.pdfdoc import PDFName, PDFPage
    from reportlab.pdfgen.canvas import Canvas

    class TaggedPage(PDFPage):
        __NoDefault__ = (*PDFPage.__NoDefault__, "StructParents", "Tabs")

    class TaggedCanvas(Canvas):
        def _setAnnotations(self, page: Any) -> None:  # the library calls it for page and form
            super()._setAnnotations(page)
            if isinstance(page, PDFPage):
                page.__class__ = TaggedPage
                page.StructParents = self.getPageNumber() - 1
                page.Tabs = PDFName("S")

        def save(self) -> None:
            marker.write(self)
            super().save()

    return TaggedCanvas


@cache
def paragraph_class() -> Any:
    """The library's paragraph, marked as `tag` by `marker`; its pieces on several pages alike.

    What is drawn once more, as a table's head on its next page is, is decoration.
    """
    from reportlab.platypus import Paragraph

    class TaggedParagraph(Paragraph):
        marker: Marker | None = None
        tag: Tag | None = None
        piece = False
        wrapped_to: float | None = None

        def wrap(self, wide: float, high: float) -> Any:
            """Lines are broken once a width: tables ask again for each row and when they draw. What
            did not fit on a page has forgotten its lines.
            """
            if wide != self.wrapped_to or not hasattr(self, "blPara"):
                self.wrapped_to, self.wrapped = wide, super().wrap(wide, high)
            return self.wrapped

        def split(self, wide: float, high: float) -> Any:
            pieces = super().split(wide, high)
            for number, one in enumerate(pieces):
                one.marker, one.tag, one.piece = self.marker, self.tag, number > 0
            return pieces

        def draw(self) -> None:
            if self.marker is None:
                super().draw()
                return
            again = self.tag is not None and bool(self.tag.marks) and not self.piece
            with self.marker.drawn(self.canv, None if again else self.tag):
                super().draw()

    return TaggedParagraph


@cache
def table_class() -> Any:
    """The library's long table, whose lines and grounds are decoration."""
    from reportlab.platypus import LongTable

    class TaggedTable(LongTable):
        marker: Marker | None = None

        def split(self, wide: float, high: float) -> Any:
            pieces = super().split(wide, high)
            for one in pieces:
                one.marker = self.marker
            return pieces

        def _drawLines(self) -> None:
            self._plain(super()._drawLines)

        def _drawBkgrnd(self) -> None:
            self._plain(super()._drawBkgrnd)

        def _plain(self, draw: Any) -> None:
            if self.marker is None:
                draw()
                return
            with self.marker.drawn(self.canv, None):
                draw()

    return TaggedTable
