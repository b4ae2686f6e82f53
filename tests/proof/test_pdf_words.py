"""Words of a page are read alike quickly and in full, also those that are written like
operators.
"""

from __future__ import annotations

import io

from reportlab.pdfgen.canvas import Canvas

from fab.proof.pdf import read_pdf, read_words


def test_names_like_operators_are_words() -> None:
    """Panels of a wall of 300 are called BT and ET, as a text object begins and ends."""
    said = ["BT", "ET", "x ET y", "a (b) c", "back \\ slash", "Q"]
    out = io.BytesIO()
    canvas = Canvas(out)
    for k, word in enumerate(said):
        canvas.drawString(50, 700 - 20 * k, word)
    canvas.save()
    for reader in (read_words, read_pdf):
        assert [
            word.text for page in reader("x.pdf", out.getvalue()) for word in page.words
        ] == said
