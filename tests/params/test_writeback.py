"""A measured value into a shop file: one value changes, nothing else, and a crash loses nothing."""

from __future__ import annotations

import os
import tomllib
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fab.errors import InputError, OutputError
from fab.params import replacing
from fab.params.replacing import replace_file
from fab.params.shopfile import kind_of, shop_file_of, shop_of
from fab.params.writeback import rewrite, write

SHOP = """#:schema ../schema/shop.schema.json
# A bench.

name = "bench" # ours
   [printer]   # the one by the window
bed = [220, 220]
# measured in May:
clearance = { sliding = 0.25, press = -0.05 } # per side

[stock.opal-3] # sold as 3 mm
thickness = 3
kerf   =   0.18   # read off the coupon


[stock."clear-2"]
thickness = "0.090 in"
kerf = "0.008 in" # in inches

# the end
"""
KERF = ("stock", "opal-3", "kerf")


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    path = tmp_path / "shop.toml"
    path.write_bytes(SHOP.encode())
    return path


def changed_lines(before: str, after: str) -> list[tuple[str, str]]:
    old, new = before.split("\n"), after.split("\n")
    assert len(old) == len(new)
    return [(a, b) for a, b in zip(old, new, strict=True) if a != b]


def test_one_value_changes_and_its_comment_stays(shop: Any) -> None:
    change = rewrite(shop, KERF, 0.171)
    assert shop.read_text() == SHOP  # shown, not written
    assert (change.before, change.after, change.line) == ("0.18", "0.171", 12)
    write(change)
    assert changed_lines(SHOP, shop.read_text()) == [
        ("kerf   =   0.18   # read off the coupon", "kerf   =   0.171   # read off the coupon")
    ]
    assert change.diff == (
        "- kerf   =   0.18   # read off the coupon",
        "+ kerf   =   0.171   # read off the coupon",
    )
    assert shop_of(shop).stock["opal-3"].kerf == 0.171
    assert list(shop.parent.iterdir()) == [shop]


def test_inches_stay_inches(shop: Any) -> None:
    """0.2 mm is 0.00787 in; four decimals are 0.0079 in = 0.20066 mm.

    By hand, 25.4 mm to the inch.
    """
    write(rewrite(shop, ("stock", "clear-2", "kerf"), 0.2))
    assert changed_lines(SHOP, shop.read_text()) == [
        ('kerf = "0.008 in" # in inches', 'kerf = "0.0079 in" # in inches')
    ]
    assert shop_of(shop).stock["clear-2"].kerf == pytest.approx(0.20066)


@pytest.mark.parametrize("key", [("printer", "time_factor"), ("laser", "time_factor")])
def test_a_factor_has_no_unit_in_a_shop_of_inches(tmp_path: Path, key: tuple[str, str]) -> None:
    path = tmp_path / "shop.toml"
    path.write_text('units = "in"\n[stock.opal]\nthickness = "1/8 in"\n')
    write(rewrite(path, key, 1.088))
    assert f"[{key[0]}]\ntime_factor = 1.088" in path.read_text()


def test_inline_tables_keep_their_line(shop: Any) -> None:
    write(rewrite(shop, ("printer", "clearance", "press"), -0.1))
    assert changed_lines(SHOP, shop.read_text()) == [
        (
            "clearance = { sliding = 0.25, press = -0.05 } # per side",
            "clearance = { sliding = 0.25, press = -0.1 } # per side",
        )
    ]


def test_a_key_that_is_missing_comes_first_in_its_table(shop: Any) -> None:
    text = SHOP.replace("kerf   =   0.18   # read off the coupon\n", "")
    shop.write_text(text)
    change = rewrite(shop, KERF, 0.171)
    assert change.before == "0.18 (not in this file: from the file that it extends, or the default)"
    write(change)
    assert shop.read_text() == text.replace("# sold as 3 mm\n", "# sold as 3 mm\nkerf = 0.171\n")
    assert change.line == 11


@pytest.mark.parametrize("end", ["\n", "", "\n\n"])
def test_a_table_that_is_missing_comes_last(shop: Any, end: str) -> None:
    text = SHOP.rstrip("\n") + end
    shop.write_text(text)
    write(rewrite(shop, ("paper", "bar_x"), 97.2))
    assert shop.read_text() == SHOP.rstrip("\n") + "\n\n[paper]\nbar_x = 97.2\n"


def test_a_value_of_the_file_below_is_laid_over(tmp_path: Path) -> None:
    path = tmp_path / "mine.toml"
    path.write_text('extends = "metric-bench" # the usual\n')
    change = rewrite(path, KERF, 0.2)
    write(change)
    assert (
        path.read_text() == 'extends = "metric-bench" # the usual\n\n[stock.opal-3]\nkerf = 0.2\n'
    )
    after = shop_of(path)
    assert after.stock["opal-3"].kerf == 0.2
    assert after.stock["opal-3"].thickness == shop_of_preset().stock["opal-3"].thickness


def shop_of_preset() -> Any:
    from fab.params import presets

    path = presets.path_of("shop", "metric-bench")
    assert path is not None
    return shop_of(path)


def test_windows_lines_and_a_byte_order_mark_stay(shop: Any) -> None:
    raw = b"\xef\xbb\xbf" + SHOP.replace("\n", "\r\n").encode()
    for key, table in ((KERF, None), (("paper", "bar_x"), b"\r\n[paper]\r\nbar_x = 97.2\r\n")):
        shop.write_bytes(raw)
        write(rewrite(shop, key, 97.2 if table else 0.171))
        new = shop.read_bytes()
        assert new == (raw + table if table else raw.replace(b"0.18 ", b"0.171 "))
        assert b"\n" not in new.replace(b"\r\n", b"")


def test_dotted_keys_are_kept(tmp_path: Path) -> None:
    path = tmp_path / "shop.toml"
    path.write_text('stock.opal-3.kerf = 0.18 # here\nstock.opal-3.thickness = 3\nname = "b"\n')
    write(rewrite(path, KERF, 0.2))
    assert (
        path.read_text()
        == 'stock.opal-3.kerf = 0.2 # here\nstock.opal-3.thickness = 3\nname = "b"\n'
    )


def test_what_can_not_be_kept_is_told_in_place_of_done(tmp_path: Path) -> None:
    path = tmp_path / "shop.toml"
    text = 'stock.opal-3.thickness = 3\nname = "b"\n'
    path.write_text(text)
    with pytest.raises(
        InputError, match=r"stock.opal-3.kerf: this file .* by hand: kerf = 0.2 in \[stock.opal-3\]"
    ):
        rewrite(path, KERF, 0.2)
    assert path.read_text() == text


@pytest.mark.parametrize(
    "fault",
    [
        lambda text: text.replace("# ours", ""),  # a comment gone
        lambda text: text.replace("thickness = 3\n", "thickness = 4\n"),  # another value changed
        lambda text: text.replace("\n\n\n", "\n"),  # blank lines gone
        lambda text: text + "kerf = [\n",  # no TOML any more
    ],
)
def test_a_library_that_loses_something_is_caught(
    shop: Any, monkeypatch: pytest.MonkeyPatch, fault: Any
) -> None:
    import tomlkit

    dumps = tomlkit.dumps
    monkeypatch.setattr(tomlkit, "dumps", lambda document: fault(dumps(document)))
    with pytest.raises(InputError, match="without losing comments or layout"):
        rewrite(shop, KERF, 0.171)


def test_a_library_that_can_not_read_is_told(shop: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    import tomlkit
    from tomlkit.exceptions import ParseError

    def refuses(_text: Any) -> None:
        raise ParseError(1, 1)

    monkeypatch.setattr(tomlkit, "parse", refuses)
    with pytest.raises(InputError, match=r"Write it by hand: kerf = 0\.171 in \[stock\.opal-3\]"):
        rewrite(shop, KERF, 0.171)


def test_a_stock_that_is_not_there_is_refused(shop: Any) -> None:
    with pytest.raises(
        InputError, match=r"stock.opal-30: is not in this shop. Did you mean opal-3\?"
    ):
        rewrite(shop, ("stock", "opal-30", "kerf"), 0.2)
    with pytest.raises(InputError, match=r"It has clear-2, opal-3"):
        rewrite(shop, ("stock", "zz", "kerf"), 0.2)


def test_a_file_with_faults_is_not_touched(shop: Any) -> None:
    text = SHOP.replace("thickness = 3\n", "thickness = -3\n")
    shop.write_text(text)
    with pytest.raises(InputError, match=r"shop\.toml:11: .*thickness"):
        rewrite(shop, KERF, 0.2)
    assert shop.read_text() == text


@pytest.mark.parametrize("step", ["fsync", "replace"])
def test_a_crash_leaves_the_old_file_whole(
    shop: Any, monkeypatch: pytest.MonkeyPatch, step: str
) -> None:
    change = rewrite(shop, KERF, 0.171)

    def dies(*_args: Any, **_kwargs: Any) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(replacing.os, step, dies)  # type: ignore[attr-defined]
    with pytest.raises(OutputError, match=r"no space left on device\. It is unchanged"):
        write(change)
    assert shop.read_text() == SHOP
    assert list(shop.parent.iterdir()) == [shop]  # nothing lies about


def test_a_stop_in_the_middle_leaves_the_old_file_whole(
    shop: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    change = rewrite(shop, KERF, 0.171)

    def stopped(*_args: Any) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(replacing.os, "replace", stopped)  # type: ignore[attr-defined]
    with pytest.raises(KeyboardInterrupt):
        write(change)
    assert shop.read_text() == SHOP
    assert list(shop.parent.iterdir()) == [shop]


def test_the_new_text_is_on_the_disk_before_it_is_moved(
    shop: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    order = []
    fsync, replace = os.fsync, os.replace
    monkeypatch.setattr(
        replacing.os,  # type: ignore[attr-defined]
        "fsync",
        lambda handle: (order.append("fsync"), fsync(handle)),  # type: ignore[func-returns-value]
    )
    monkeypatch.setattr(
        replacing.os,  # type: ignore[attr-defined]
        "replace",
        lambda a, b: (order.append("replace"), replace(a, b)),  # type: ignore[func-returns-value]
    )
    write(rewrite(shop, KERF, 0.171))
    assert order[:2] == ["fsync", "replace"]


def test_a_file_that_changed_meanwhile_is_not_overwritten(shop: Any) -> None:
    change = rewrite(shop, KERF, 0.171)
    shop.write_text(SHOP + "# added\n")
    with pytest.raises(OutputError, match="changed while it was read"):
        write(change)
    assert shop.read_text() == SHOP + "# added\n"
    assert list(shop.parent.iterdir()) == [shop]


@pytest.mark.skipif(os.name != "posix", reason="links and rights of POSIX")
def test_links_and_rights_stay(shop: Any, tmp_path: Path) -> None:
    os.chmod(shop, 0o640)
    link = tmp_path / "link.toml"
    link.symlink_to(shop.name)
    write(rewrite(link, KERF, 0.171))
    assert link.is_symlink()
    assert shop.stat().st_mode & 0o777 == 0o640
    assert "0.171" in shop.read_text()


def test_a_folder_that_is_not_there_is_told(tmp_path: Path) -> None:
    with pytest.raises(OutputError, match="cannot be written"):
        replace_file(tmp_path / "none" / "file", b"x")


def test_shop_and_job_are_told_apart(shop: Any, tmp_path: Path) -> None:
    job = tmp_path / "job.toml"
    job.write_text(
        'job = "wall"\nshop = "./shop.toml"\npanel = "hexagon-120"\nlayout.cells = [[0, 0]]\n'
    )
    assert (kind_of(shop), kind_of(job)) == ("shop", "job")
    assert shop_file_of(job) == tmp_path / "shop.toml"
    with pytest.raises(
        InputError, match=r'is a job file, not a shop. Its shop is "./shop.toml": give that file'
    ):
        shop_of(job)
    job.write_text(
        'job = "wall"\nshop = "metric-bench"\npanel = "hexagon-120"\nlayout.cells = [[0, 0]]\n'
    )
    assert shop_file_of(job) is None
    with pytest.raises(InputError, match=r'begins with extends = "metric-bench"'):
        shop_of(job)


comments = st.lists(
    st.text(
        st.characters(min_codepoint=32, max_codepoint=0x24F, exclude_categories=["Cc"]), max_size=30
    ),
    max_size=6,
)


@settings(deadline=None, max_examples=60)
@given(value=st.floats(0, 2), notes=comments, blank=st.integers(0, 3), quoted=st.booleans())
def test_any_comments_and_any_value_stay_whole(
    tmp_path_factory: pytest.TempPathFactory, value: float, notes: Any, blank: int, quoted: bool
) -> None:
    """Read back by the standard library: the same file but for one value; and every comment is
    there.
    """
    path = tmp_path_factory.mktemp("shop") / "shop.toml"
    name = '"opal-3"' if quoted else "opal-3"
    rows = [
        *(f"# {note}" for note in notes),
        "[stock.other]",
        "thickness = 2",
        *[""] * blank,
        f"[stock.{name}] # mine",
    ]
    rows += ["kerf = 0.18 # was", *(f"  # {note}" for note in notes), "thickness = 3"]
    text = "\n".join(rows) + "\n"
    path.write_bytes(text.encode())
    write(rewrite(path, KERF, value))
    new = path.read_bytes().decode()
    before, after = tomllib.loads(text), tomllib.loads(new)
    assert after["stock"]["opal-3"].pop("kerf") == pytest.approx(value, abs=0.0005)
    before["stock"]["opal-3"].pop("kerf")
    assert after == before
    assert len(changed_lines(text, new)) <= 1
