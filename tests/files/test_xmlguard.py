"""Entities are found by the parser on the decoded text: no encoding hides them, no comment makes
them up.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from fab.errors import InputError
from fab.files.read_outline import read_outline

BODY = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="10mm" height="10mm" viewBox="0 0 10 10"><path'
    ' d="M0 0L{x} 0L10 10Z"/></svg>'
)
ENCODINGS = ("utf-8", "utf-16", "utf-16-le", "utf-16-be", "iso-8859-1", "us-ascii")


def drawing(encoding: str, inner: str, x: str = "10", before: str = "") -> bytes:
    """An SVG in an encoding, its name in the declaration, a mark at its head where the encoding
    needs one.
    """
    named = "utf-16" if encoding.startswith("utf-16") else encoding
    text = (
        f'<?xml version="1.0" encoding="{named}"?>{before}<!DOCTYPE svg'
        f" [{inner}]>{BODY.format(x=x)}"
    )
    mark = {"utf-16-le": b"\xff\xfe", "utf-16-be": b"\xfe\xff"}.get(encoding, b"")
    return mark + text.encode(encoding)


@pytest.mark.parametrize("encoding", ENCODINGS)
@pytest.mark.parametrize(
    ("inner", "x"),
    [
        ('<!ENTITY a "10">', "&a;"),
        ('<!ENTITY a "1"><!ENTITY b "&a;&a;&a;">', "&b;"),
        ('<!ENTITY a SYSTEM "file:///etc/hostname">', "&a;"),
        ('<!ENTITY % p SYSTEM "file:///etc/hostname"> %p;', "10"),
        ('<!NOTATION n SYSTEM "n"><!ENTITY a SYSTEM "a" NDATA n>', "10"),
        ('<!ENTITY\n a "10">', "10"),
    ],
)
def test_a_drawing_with_entities_is_refused_in_every_encoding(
    encoding: str, inner: str, x: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Also with `<svg` in a comment, by which the content used to be told; by the command: exit 2,
    nothing written.
    """
    from fab.cli.main import main

    for before in ("", "<!-- <svg -->"):
        data = drawing(encoding, inner, x, before)
        with pytest.raises(InputError, match="declares entities of its own"):
            read_outline(data, "x.svg")
    (tmp_path / "x.svg").write_bytes(data)
    assert (
        main(
            [
                "nest",
                "--shop",
                "metric-bench",
                "--shape",
                f"{tmp_path / 'x.svg'}=1@opal-3",
                "--out",
                str(tmp_path / "out"),
            ]
        )
        == 2
    )
    assert "declares entities" in capsys.readouterr().err
    assert [path.name for path in tmp_path.iterdir()] == ["x.svg"]


@pytest.mark.parametrize("encoding", ENCODINGS)
def test_words_in_a_comment_are_no_entities(encoding: str) -> None:
    found = read_outline(drawing(encoding, "", before='<!-- <!ENTITY a "1"> <svg -->'), "x.svg")
    assert len(found.segments) == 3
