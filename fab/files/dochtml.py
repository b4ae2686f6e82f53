"""Document to one HTML page: self-contained, offline, no request, every text escaped."""

from __future__ import annotations

import base64
import itertools
import json
from html import escape
from importlib.resources import files

from fab.files.document import (
    Block,
    Caution,
    Chapter,
    Document,
    Facts,
    Figure,
    Heading,
    Para,
    Picture,
    Sketches,
    Step,
    Table,
    Viewer,
    runs,
    signalled,
    spans,
)
from fab.files.pagesvg import page_fragment
from fab.outlines.page import Page

# nothing is fetched: pictures, styles and scripts are those that stand in the page
POLICY = "default-src 'none'; img-src data:; style-src 'unsafe-inline'; script-src 'unsafe-inline'"
NARROW = 2  # columns that a phone has room for
_WORDS = {"pass": "pass", "warn": "look", "fail": "FAIL"}


def html(document: Document) -> bytes:
    """The whole page as UTF-8."""
    style, script = _asset("book.css"), _asset("book.js") + _asset("large.js")
    chapters = "\n".join(
        _chapter(chapter, number) for number, chapter in enumerate(document.chapters, 1)
    )
    nav = "".join(
        f'<li><a href="#{escape(chapter.anchor)}">{escape(chapter.title)}</a></li>'
        for chapter in document.chapters
    )
    text = f"""<!DOCTYPE html>
<html lang="en" data-key="{escape(document.key)}">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta http-equiv="Content-Security-Policy" content="{POLICY}">
<link rel="icon" href="data:,">
<title>{escape(document.title)}</title>
<style>{style}</style>
</head>
<body>
<a class="skip" href="#main">Skip to the text</a>
<header><h1>{escape(document.title)}</h1><p>{escape(document.subtitle)}</p></header>
<nav aria-label="Chapters" id="chapters"><ol>{nav}</ol></nav>
<main id="main">
{chapters}
</main>
<footer><p>{escape(document.footer)}</p><a class="up" href="#chapters">Chapters</a></footer>
<script>{script}</script>
</body>
</html>
"""
    return text.encode()


def _asset(name: str) -> str:
    return (files("fab.files") / "assets" / name).read_text(encoding="utf-8")


def _chapter(chapter: Chapter, number: int) -> str:
    places = (f"c{number}b{k}" for k in itertools.count(1))
    blocks = "\n".join(
        _run([_block(block, next(places)) for block in run]) for run in runs(chapter.blocks)
    )
    anchor = escape(chapter.anchor)
    kind = ' class="folded"' if chapter.folded else ""
    if chapter.folded:
        blocks = f"<details><summary>Show {escape(chapter.title)}</summary>\n{blocks}\n</details>"
    return (
        f'<section id="{anchor}"{kind} aria-labelledby="{anchor}-h">\n'
        f'<h2 id="{anchor}-h">{escape(chapter.title)}</h2>\n{blocks}\n</section>'
    )


def _run(shown: list[str]) -> str:
    """One block, or small pictures side by side."""
    return shown[0] if len(shown) == 1 else f'<div class="gallery">{"".join(shown)}</div>'


def _said(text: str) -> str:
    """Escaped text; what stands between backticks is a command."""
    return "".join(
        f"<code>{escape(part)}</code>" if command else escape(part) for command, part in spans(text)
    )


def _block(block: Block, place: str) -> str:
    match block:
        case Heading():
            return f"<h3{_id(block.anchor)}>{escape(block.text)}</h3>"
        case Para():
            return f"<p>{_said(block.text)}</p>"
        case Caution():
            return _caution(block.text)
        case Step():
            return _step(block, place)
        case Facts():
            pairs = "".join(
                f"<div><dt>{escape(name)}</dt><dd>{escape(value)}</dd></div>"
                for name, value in block.rows
            )
            return f'<dl class="facts">{pairs}</dl>'
        case Table():
            return _table(block)
        case Figure():
            return _figure(block, place)
        case Picture():
            data = base64.b64encode(block.png).decode()
            return (
                f'<figure><img alt="{escape(block.says)}" width="{block.width}"'
                f' height="{block.height}" '
                f'src="data:image/png;base64,{data}">'
                f"<figcaption>{escape(block.caption)}</figcaption></figure>"
            )
        case Sketches():
            return _sketches(block)
        case Viewer():
            return _viewer(block, place)


def _id(anchor: str) -> str:
    return f' id="{escape(anchor)}"' if anchor else ""


def _caution(text: str) -> str:
    word, rest = signalled(text)
    return f'<p class="caution" role="note"><strong>{word}</strong> {_said(rest)}</p>'


def _step(block: Step, place: str) -> str:
    """Its heading, what can hurt, the picture, and the texts beside or below it."""
    wide = " wide" if block.wide else ""
    caution = _caution(block.caution) if block.caution else ""
    texts = "".join(f"<p>{_labelled(text)}</p>" for text in block.texts)
    return (
        f'<div class="step{wide}"{_id(block.anchor)}><h3>{escape(block.title)}</h3>{caution}'
        f"<figure{wide and ' class=wide'}>{_sheet(block.page, place)}</figure>"
        f'<div class="texts">{texts}</div></div>'
    )


def _labelled(text: str) -> str:
    label, _, rest = text.partition(":")
    return f"<strong>{escape(label)}:</strong>{_said(rest)}"


def _sheet(page: Page, place: str) -> str:
    return f"<div class='sheet'>{page_fragment(page, place + '-')}</div>"


def _figure(block: Figure, place: str) -> str:
    wide = ' class="wide"' if block.wide else ""
    return (
        f"<figure{wide}{_id(block.anchor)}>{_sheet(block.page, place)}"
        f"<figcaption>{escape(block.caption)}</figcaption></figure>"
    )


def _table(block: Table) -> str:
    tick_head = '<th scope="col">done</th>' if block.ticks else ""
    narrow = ' class="narrow"' if len(block.header) <= NARROW else ""  # wraps on a phone
    head = "".join(
        f'<th scope="col"{_right(block, k)}>{escape(name)}</th>'
        for k, name in enumerate(block.header)
    )
    rows = []
    for number, row in enumerate(block.rows):
        mark = block.marks[number] if block.marks else ""
        anchor = _id(block.anchors[number]) if block.anchors else ""
        tick = ""
        if block.ticks:
            label = escape(f"{row[0]} done")
            tick = (
                f'<td><input type="checkbox" aria-label="{label}"'
                f' data-tick="{escape(block.ticks[number])}"></td>'
            )
        cells = "".join(_cell(block, number, k, text, mark) for k, text in enumerate(row))
        rows.append(
            f"<tr{anchor}{f' class={chr(34)}{mark}{chr(34)}' if mark else ''}>{tick}{cells}</tr>"
        )
    return (
        '<div class="scroll" tabindex="0" role="region"'
        f' aria-label="{escape(block.caption)}"><table{narrow}>'
        f"<caption>{escape(block.caption)}</caption><thead><tr>{tick_head}{head}</tr></thead>"
        f"<tbody>{''.join(rows)}</tbody></table></div>"
    )


def _right(block: Table, column: int) -> str:
    return ' class="n"' if column in block.numeric else ""


def _cell(block: Table, row: int, column: int, text: str, mark: str) -> str:
    shown = escape(text)
    if block.links and block.links[row][column]:
        shown = f'<a href="{escape(block.links[row][column])}">{shown}</a>'
    if column == 0:
        badge = f'<span class="badge">{_WORDS[mark]}</span> ' if mark else ""
        return f'<th scope="row">{badge}{shown}</th>'
    return f"<td{_right(block, column)}>{shown}</td>"


def _sketches(block: Sketches) -> str:
    """Each as an image of its own, so that ids inside can't clash and nothing in it can run."""
    shown = "".join(
        f'<div class="sheet"><img alt="{escape(block.caption)} of {escape(name)}" '
        f'src="data:image/svg+xml;base64,{base64.b64encode(data).decode()}">'
        f"<p>{escape(name)}</p></div>"
        for name, data in block.pictures
    )
    return (
        '<figure class="wide"><div'
        f' class="pair">{shown}</div><figcaption>{escape(block.caption)}</figcaption></figure>'
    )


def _viewer(block: Viewer, place: str) -> str:
    safe = json.dumps(json.loads(block.scene), separators=(",", ":")).replace("<", "\\u003c")
    still = f"<div class='still'>{_figure(block.still, place + 's')}</div>" if block.still else ""
    return (
        f'<div class="viewer" id="{place}"><noscript><p>The view in three dimensions needs'
        " JavaScript; "
        f"the pictures on this page show the same.</p></noscript></div>"
        f'<script type="application/json" id="{place}-scene">{safe}</script>'
        f"{still}"
        f"<script>{block.script}\nview3d(document.getElementById({json.dumps(place)}),"
        f"JSON.parse(document.getElementById({json.dumps(place + '-scene')}).textContent));"
        "</script>"
    )
