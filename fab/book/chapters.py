"""The book's content, chapter by chapter; one value of which page and print are written."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from fab import __version__
from fab.book import (
    assembly,
    checklists,
    cutting,
    firstlight,
    glance,
    glossary,
    hanging,
    joining,
    onepanel,
    ordering,
    stages,
    summary,
    verdictpages,
    wiring,
)
from fab.book.artwork import artwork
from fab.book.facts import BookFacts
from fab.book.lightpictures import cover
from fab.book.pictures import wall_page
from fab.book.scene import scene, script
from fab.book.viewthings import wall_of
from fab.checks.model import Verdict
from fab.files.dochtml import html
from fab.files.docpdf import appendix_pdf, document_pdf
from fab.files.document import Block, Chapter, Document, Facts, Figure, Para, Table, Viewer
from fab.outputs import brief
from fab.outputs.model import PRINT_SIZES, OutFile
from fab.units import figure


def begun(facts: BookFacts) -> Callable[[Sequence[Verdict]], list[OutFile]]:
    """The book composed but for its verdicts.

    What comes back is called with all of them and makes the page, the print, its appendix and the
    customer's page, with the help of other processes.
    """
    chapters = composed(facts)
    size = PRINT_SIZES[facts.design.job.shop.units]
    short = facts.beside(document_pdf, summary.document(facts), *size)

    def bound(verdicts: Sequence[Verdict]) -> list[OutFile]:
        document = with_verdicts(facts, chapters, verdicts)
        # what takes longest first
        appendix = facts.beside(appendix_pdf, document, *size)
        print_ = facts.beside(document_pdf, document, *size)
        page = facts.beside(html, document)
        return [
            OutFile("book/index.html", "book", page(), "book"),
            OutFile("book/book.pdf", "book", print_(), "book"),
            OutFile("book/summary.pdf", "book", short(), "summary"),
            OutFile("book/appendix.pdf", "book", appendix(), "book"),
        ]

    return bound


def write(facts: BookFacts) -> Document:
    """The whole book."""
    return with_verdicts(facts, composed(facts), facts.verdicts)


def composed(facts: BookFacts) -> list[Chapter]:
    """All chapters but those of the verdicts."""
    before = [
        _what(facts),
        checklists.calibrate(facts),
        ordering.chapter(facts),
        checklists.printing(facts),
        cutting.chapter(facts),
        *_lit(facts, wiring.chapter),
        *_lit(facts, onepanel.chapter),
        assembly.chapter(facts),
        *joining.chapter(facts),
        hanging.chapter(facts),
        *_lit(facts, firstlight.chapter),
        wiring.addresses(facts),
    ]
    after = [
        *_lit(facts, wiring.in_full),
        *_boards(facts),
        *assembly.sections(facts),
        _values(facts),
    ]
    return [*before, glossary.chapter((before, after, facts.verdicts)), *after]


def _boards(facts: BookFacts) -> list[Chapter]:
    """Brief for the board, where there are boards."""
    return [brief.chapter(facts.design)] if facts.design.lit_designs else []


def _lit(facts: BookFacts, made: Callable[[BookFacts], Chapter]) -> list[Chapter]:
    """A chapter on power or light, where there is any."""
    return [made(facts)] if facts.design.wired.zones else []


def with_verdicts(
    facts: BookFacts, chapters: Sequence[Chapter], verdicts: Sequence[Verdict]
) -> Document:
    """The document: checks at a glance after the first chapter, in full at the end."""
    job = facts.design.job
    first, *others = chapters
    whole = (
        first,
        verdictpages.at_a_glance(verdicts, facts.allow),
        *others,
        verdictpages.in_full(verdicts),
    )
    title = f"Build book: {job.job}"
    footer = (
        f"panejig {__version__}, inputs {facts.loaded.inputs_sha256}. Local codes and a qualified"
        " person prevail over this book."
    )
    subtitle = job.title or "A wall of modular light panels"
    return Document(title, subtitle, whole, facts.loaded.inputs_sha256[:16], footer)


def _what(facts: BookFacts) -> Chapter:
    design, counts = facts.design, facts.counts
    hours = sum(line.hours or 0.0 for line in facts.lines)
    rows = (*glance.shape(design.layout, design.job), *glance.wall(design))
    rows += glance.made(counts, hours)
    wall = Figure(
        wall_page(design, 176.0, 140.0),
        "The wall from the front, not mirrored. Click a panel for its row in the address table.",
        anchor="wall",
        wide=True,
    )
    blocks: list[Block] = [
        *cover(facts),
        Facts(rows),
        wall,
        *artwork(design),
        Viewer(scene(wall_of(facts)), script()),
        *stages.blocks(facts),
    ]
    return Chapter("What you will build", "what", tuple(blocks))


def _values(facts: BookFacts) -> Chapter:
    changed = facts.loaded.changed
    rows = tuple(
        (item.key, _shown(item.value), _shown(item.default), item.where) for item in changed
    )
    blocks: list[Block] = [
        Para("Values that differ from the built-in defaults, and where they were set.")
    ]
    if rows:
        blocks.append(Table("Parameters", ("key", "value", "default", "set in"), rows))
    provenance = (
        ("Made by", f"panejig {__version__}"),
        ("Input hash", facts.loaded.inputs_sha256),
        ("Files read", ", ".join(path.name for path in facts.loaded.sources)),
        (
            "Kerf applied",
            "; ".join(
                f"{name}: {figure(facts.design.job.shop.stock[name].kerf, 'mm')}"
                for name in facts.nested.sheets_of
            ),
        ),
    )
    blocks.append(Facts(provenance))
    return Chapter("Parameters and provenance", "values", tuple(blocks), folded=True)


def _shown(value: object) -> str:
    text = f"{value:g}" if isinstance(value, float) else str(value)
    return text if len(text) <= 120 else text[:117] + "..."
