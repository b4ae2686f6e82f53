"""Lines of keys, and TOML that is none."""

from __future__ import annotations

import tomllib
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fab.errors import Fault, InputError
from fab.params.locate import has_endless_key, lines
from fab.params.toml import parse
from fab.params.tree import Source, TableNode, plain

SOURCE = Source("job.toml", "job.toml")
TEXT = '''\
# a comment = with [brackets]
a = 1
b.c = """
a = 7
[not.a.table]
""" # "
[t.u] # table
k = [1, [2,
  3]] # = [x]
q = { z = 1 }
"quoted \\u0041 key" = 5

[[p]]
n = 'x = 3'
m = \'\'\'
[[p]]\'\'\'
[[p]]
n = "y"
[p.s]
'w w' = 1
[[p.r]]
a = 1
[[p.r]]
a = 2
'''


def test_every_key_has_its_line() -> None:
    found = lines(TEXT)
    assert found[("a",)] == 2
    assert found[("b", "c")] == 3
    assert found[("t", "u")] == 7
    assert found[("t", "u", "k")] == 8
    assert found[("t", "u", "q")] == 10
    assert found[("t", "u", "quoted A key")] == 11
    assert found[("p", 0)] == 13
    assert found[("p", 0, "n")] == 14
    assert found[("p", 0, "m")] == 15
    assert found[("p", 0, "m", 0)] == 16  # the first row of a text between three quotes
    assert found[("b", "c", 0)] == 4
    assert found[("p", 1, "n")] == 18
    assert found[("p", 1, "s", "w w")] == 20
    assert found[("p", 1, "r", 0, "a")] == 22
    assert found[("p", 1, "r", 1, "a")] == 24
    assert not any("not" in path for path in found)


def test_the_tree_holds_what_the_standard_library_reads() -> None:
    assert plain(parse(TEXT.encode(), SOURCE)) == tomllib.loads(TEXT)


KEYS = st.sampled_from(["a", "b-1", '"c d"', "'e'", "f_"])
VALUES = st.sampled_from(
    [
        "1",
        "'a = 1'",
        '"[x]"',
        "[1, 2]",
        "[\n1,\n# k = 2\n]",
        '"""\nz = 1\n[q]\n"""',
        "'''\n\n'''",
        "{ i = 1 }",
        "true",
    ]
)


@settings(deadline=None)
@given(
    st.lists(
        st.tuples(st.integers(0, 2), st.lists(KEYS, min_size=1, max_size=2, unique=True), VALUES),
        max_size=8,
    )
)
def test_lines_of_any_file_are_those_of_its_rows(rows: list[tuple[int, list[str], str]]) -> None:
    """Each row gets a number as its last part, so that its line can be looked up in the text."""
    text = ""
    for place, (kind, keys, value) in enumerate(rows):
        dotted = ".".join([*keys[:-1], f"k{place}"])
        text += (f"[{dotted}]\n", f"[[{dotted}]]\n", f"{dotted} = {value}\n")[kind]
    try:
        tomllib.loads(text)
    except tomllib.TOMLDecodeError:
        return
    found = lines(text)
    for path, line in found.items():
        name = next(part for part in reversed(path) if isinstance(part, str))
        if not name.startswith("k"):
            continue
        rows_of_file = text.split("\n")
        first_row = path[:-1] in found and found[path[:-1]] + 1 == line and path[-1] == 0
        # a text's first row, below its key
        if first_row and rows_of_file[line - 2].endswith(("'''", '"""')):
            assert name in rows_of_file[line - 2]
        else:
            assert name in rows_of_file[line - 1]
    for place in range(len(rows)):
        assert any(f"k{place}" in path for path in found)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("k = 3mm", r'job.toml:1:6: .*Put lengths with units in quotes: "3mm"'),
        ("k = 1/8 in", r'Put lengths with units in quotes: "1/8 in"'),
        ('k = 0.118"', r'Put lengths with units in quotes: "0.118 in"'),
        ("k = 3 mm # c", r'Put lengths with units in quotes: "3 mm"'),
        ("k = 1,6", r"Write a decimal point: 1\.6"),
        ("k = abc", r'Put words in quotes: "abc"'),
        ("k = True", r"Write true in lower case"),
        ("k =", r"job.toml:1:4: .*Give the key a value"),
        ("k: 3", r"Write = in place of the colon"),
        ("k = .5", r"digits on both sides of its point: 0\.5"),
        ("k = 5.", r"digits on both sides of its point: 5\.0"),
        ("k = 08", r"does not begin with 0: 8"),
        ("a = 1\nk = 1\nk = 2", r"job.toml:3:6: .*second time.*Keep one"),
        ("[a]\n[a]", r"job.toml:2:\d+: .*second time"),
        ("a = 1\n[a]", r"second time"),
        ("a = { b = 1 }\n[a.c]", r"second time|closed before"),
        ('k = "a\\qb"', r"backslash.*single quotes"),
        ('k = "abc', r"a quoted text is not closed"),
        ("k = 'a\nb'", r"a quoted text is not closed"),
        ('k = """abc', r"a quoted text is not closed"),
        ("k = [1,", r"job.toml:1:\d+: TOML syntax error"),
        ("k = [1 2]", r"a bracket is not closed"),
        ("[a\nb = 1", r"TOML syntax error"),
        ("= 3", r"TOML syntax error"),
        ("k y = 3", r"a key must be followed by ="),
        ("a = 1 b = 2", r"there is extra text after the value"),
        ("k = 2020-13-45", r"TOML syntax error"),
        ("k = " + "9" * 5000, r"too many digits"),
        ("k = " + "[" * 3000, r"nested too deep|TOML syntax error"),
        ("a." * 20 + "b = 1", r"more than 16 parts"),
        ("[" + ".".join(["'x'"] * 30) + "]", r"more than 16 parts"),
        ("k = { " + "a . " * 30 + "b = 1 }", r"more than 16 parts"),
        ("", r"the file is empty"),
        (" \n\t\n", r"the file is empty"),
        ("# only a comment\nk = \x01", r"TOML syntax error"),
    ],
)
def test_what_is_no_toml_is_told(text: str, says: str) -> None:
    with pytest.raises(InputError, match=says) as caught:
        parse(text.encode(), SOURCE)
    assert "\x01" not in str(caught.value)


def test_nested_tables_are_bounded() -> None:
    text = "k = " + "{ a = " * 14 + "1" + " }" * 14
    with pytest.raises(InputError, match="nested more than 12 deep"):
        parse(text.encode(), SOURCE)


def test_a_byte_order_mark_means_nothing_and_windows_line_ends_count_once() -> None:
    tree = parse(b"\xef\xbb\xbfa = 1\r\nb = 2\r\n", SOURCE)
    assert isinstance(tree, TableNode)
    assert [node.where.line for node in tree.items.values()] == [1, 2]


@pytest.mark.parametrize(
    ("data", "says"),
    [
        ("a = 1".encode("utf-16"), "UTF-16"),
        (b"a = 1\nb = '\xe9'\n", r"job.toml:2: byte 0xe9 is not UTF-8"),
        (b"a = 1\x00", "zero bytes"),
    ],
)
def test_other_encodings_are_told(data: bytes, says: str) -> None:
    with pytest.raises(InputError, match=says):
        parse(data, SOURCE)


def test_a_long_dotted_text_is_no_endless_key() -> None:
    assert not has_endless_key('note = "' + "a.b." * 40 + '" # ' + "c.d." * 40)
    assert not has_endless_key("note = '''\n" + "a." * 40 + "\n'''")
    assert has_endless_key("x = 1\n" + "a." * 16 + "b = 1")


@settings(deadline=None)
@given(st.binary(max_size=200))
def test_any_bytes_are_a_tree_or_one_told_fault(data: bytes) -> None:
    faults: tuple[Fault, ...] = ()
    try:
        assert isinstance(parse(data, SOURCE), TableNode)
    except InputError as refused:
        faults = refused.faults
    assert len(faults) <= 1


@pytest.mark.slow
def test_a_file_of_ten_thousand_panels_is_located(write: Callable[..., Path]) -> None:
    text = "".join(f"[[p]]\nname = 'n{k}'\n" for k in range(10_000))
    assert lines(text)[("p", 9_999, "name")] == 20_000


@pytest.mark.parametrize("text", ['job = "x\nshop = 3\n', 'job = "x', "job = 'x\n"])
def test_a_text_without_its_second_quote_is_told_as_that(text: str) -> None:
    with pytest.raises(
        InputError,
        match=(
            r"job\.toml:1:\d+: TOML syntax error: a quoted text is not closed.* Close the text with"
            r" the same quote"
        ),
    ):
        parse(text.encode(), SOURCE)
