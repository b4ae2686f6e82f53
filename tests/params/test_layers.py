"""Layers: what extends what, which value wins, and what may be read at all."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path

import pytest

from fab.errors import InputError
from fab.params.read import Loaded, load

JOB = 'job = "t"\n{shop}\n{panel}\n[layout]\ncells = [[0, 0]]\n'
SHOP = 'shop = "metric-bench"'
PANEL = 'panel = "hexagon-120"'

Write = Callable[..., Path]
Read = Callable[..., Loaded]


def test_tables_merge_key_by_key_and_lists_are_replaced(write: Write) -> None:
    write(
        'extends = "metric-bench"\nprinter.nozzle = 0.6\nstock.opal-3.kerf ='
        ' 0.21\n[[offcut]]\nstock = "opal-3"\noutline = [[0, 0], [100, 0], [0, 100]]\n',
        "mine.toml",
    )
    job = write(
        JOB.format(
            shop=(
                '[shop]\nextends = "./mine.toml"\nprinter.bed = [180, 180]\nstock.opal-3.count = 1'
            ),
            panel="[panel]\nedge = 60",
        )
    )
    shop = load(job).job.shop
    assert (shop.printer.bed, shop.printer.nozzle) == ((180, 180), 0.6)
    assert (
        shop.stock["opal-3"].kerf,
        shop.stock["opal-3"].count,
        shop.stock["opal-3"].thickness,
    ) == (0.21, 1, 3)
    assert len(shop.offcut) == 1
    over = write(
        JOB.format(shop='[shop]\nextends = "./mine.toml"\noffcut = []', panel="[panel]\nedge = 60")
    )
    assert load(over).job.shop.offcut == ()


def test_short_and_long_forms_of_extends_are_one(read: Read) -> None:
    short = read(JOB.format(shop=SHOP, panel=PANEL)).job
    long = read(
        JOB.format(
            shop='[shop]\nextends = "metric-bench"', panel='[panel]\nextends = "hexagon-120"'
        )
    ).job
    assert short == long
    inline = (
        JOB.format(shop="", panel="")
        + '[designs]\ntri = "edge90-triangle"\n[shop]\nextends = "metric-bench"\n[panel]\nedge = 90'
    )
    assert read(inline).job.designs["tri"].sides == 3


@pytest.mark.parametrize(
    ("panel", "sets", "size"),
    [
        ('[panel]\nextends = "hexagon-120"\nedge = 70', [], (None, 70)),
        ('[panel]\nextends = "edge90-hexagon"\nacross_flats = 140', [], (140, None)),
        ('[panel]\nextends = "edge90-hexagon"', ["panel.across_flats=140"], (140, None)),
        ("[panel]\nacross_flats = 100", ["panel.edge=60"], (None, 60)),
        ("[panel]\nacross_flats = 100", ["panel.edge=60", "panel.across_flats=5 in"], (127, None)),
        ('[panel]\nextends = "hexagon-120"', [], (120, None)),
    ],
)
def test_a_size_above_takes_the_other_size_below_out(
    read: Read, panel: str, sets: list[str], size: tuple[float | None, float | None]
) -> None:
    found = read(JOB.format(shop=SHOP, panel=panel), sets).job.panel
    assert (found.across_flats, found.edge) == size


def test_both_sizes_in_an_extended_file_are_told_with_its_line(write: Write) -> None:
    write("sides = 6\nedge = 60\nacross_flats = 120\n", "panels/p.toml")
    job = write(JOB.format(shop=SHOP, panel='panel = "./panels/p.toml"'))
    with pytest.raises(
        InputError, match=r"panels/p.toml:2: panel.edge: across_flats and edge are both"
    ):
        load(job)


def test_paths_start_at_the_file_that_names_them(write: Write) -> None:
    write('extends = "./more/base.toml"\nunits = "in"', "shops/mine.toml")
    write('extends = "metric-bench"\nname = "deep"', "shops/more/base.toml")
    loaded = load(write(JOB.format(shop='shop = "shops/mine.toml"', panel=PANEL), "jobs.toml"))
    assert (loaded.job.shop.name, loaded.job.shop.units) == ("deep", "in")
    assert [path.name for path in loaded.sources] == [
        "jobs.toml",
        "mine.toml",
        "base.toml",
        "metric-bench.toml",
        "hexagon-120.toml",
    ]
    told = {row.key: row.where for row in loaded.changed}
    assert told["shop.name"] == "shops/more/base.toml:2"
    assert told["panel.across_flats"].startswith("panels/hexagon-120.toml:")


def test_a_file_below_may_not_climb_out_of_its_own_folder(write: Write) -> None:
    write('extends = "../top.toml"', "shops/mine.toml")
    write('name = "top"', "top.toml")
    with pytest.raises(
        InputError, match=r"shops/mine.toml:1: shop.extends: .*leads out of this file's folder"
    ):
        load(write(JOB.format(shop='shop = "./shops/mine.toml"', panel=PANEL)))


@pytest.mark.skipif(os.name == "nt", reason="links need rights there")
def test_links_out_of_the_folder_are_refused_and_links_inside_are_not(
    write: Write, tmp_path: Path
) -> None:
    write('extends = "metric-bench"', "outside/shop.toml")
    write('extends = "metric-bench"', "in/real.toml")
    job = write(JOB.format(shop='shop = "./shop.toml"', panel=PANEL), "in/job.toml")
    link = tmp_path / "in" / "shop.toml"
    link.symlink_to(tmp_path / "outside" / "shop.toml")
    with pytest.raises(InputError, match=r"shop.extends: \"./shop.toml\" is a link that leads out"):
        load(job)
    link.unlink()
    link.symlink_to("real.toml")
    assert load(job).job.shop.stock
    (tmp_path / "in" / "folder").symlink_to(tmp_path / "outside")
    with pytest.raises(InputError, match="is a link that leads out"):
        load(write(JOB.format(shop='shop = "./folder/shop.toml"', panel=PANEL), "in/job.toml"))
    link.unlink()
    link.symlink_to("shop.toml")  # a link to itself
    with pytest.raises(InputError, match=r"cannot be found|was not found|cannot be read"):
        load(write(JOB.format(shop='shop = "./shop.toml"', panel=PANEL), "in/job.toml"))


def test_eight_layers_are_read_and_nine_are_not(write: Write) -> None:
    def chain(count: int) -> Path:
        for k in range(count):
            last = 'extends = "metric-bench"\n' if count < 9 else ""
            write(
                f'extends = "./s{k + 1}.toml"' if k < count - 1 else f'{last}name = "{count} deep"',
                f"s{k}.toml",
            )
        return write(JOB.format(shop='shop = "./s0.toml"', panel=PANEL))

    assert load(chain(7)).job.shop.name == "7 deep"  # the preset is the eighth
    with pytest.raises(
        InputError, match=r"s7.toml:1: shop.extends: files extend each other more than 8 deep"
    ):
        load(chain(9))


def test_a_ring_of_files_is_told_as_a_ring(write: Write) -> None:
    write('extends = "./b.toml"', "a.toml")
    write('extends = "./a.toml"', "b.toml")
    with pytest.raises(
        InputError, match=r"b.toml:1: shop.extends: .*in a circle: a.toml -> b.toml -> a.toml"
    ):
        load(write(JOB.format(shop='shop = "./a.toml"', panel=PANEL)))


@pytest.mark.parametrize(
    ("shop", "panel", "says"),
    [
        (
            '"./p.toml"',
            '"hexagon-120"',
            r"shop.extends: \"./p.toml\" is a panel file, not a shop.*metric-bench",
        ),
        (
            '"metric-bench"',
            '"./s.toml"',
            r"panel.extends: \"./s.toml\" is a shop file, not a panel.*hexagon-120",
        ),
    ],
)
def test_a_file_of_the_wrong_kind_is_told_as_that(
    write: Write, shop: str, panel: str, says: str
) -> None:
    write("sides = 6\nedge = 90\ngap = 0", "p.toml")
    write('units = "in"\n[printer]\nbed = [1, 1]\n[laser]\nbed = [9, 9]', "s.toml")
    with pytest.raises(InputError, match=says):
        load(write(JOB.format(shop=f"shop = {shop}", panel=f"panel = {panel}")))


def test_a_plain_name_is_a_preset_and_the_file_beside_it_is_hinted_at(write: Write) -> None:
    write('extends = "metric-bench"', "mine.toml")
    with pytest.raises(
        InputError, match=r'unknown shop preset "mine". For the file beside it write "mine.toml"'
    ):
        load(write(JOB.format(shop='shop = "mine"', panel=PANEL)))
    assert load(write(JOB.format(shop='shop = "mine.toml"', panel=PANEL))).job.shop.stock


def test_faults_of_all_files_are_told_at_once_and_once(write: Write) -> None:
    write("sides = 3\nedge = 90\ngap = -1\n", "tri.toml")
    write('extends = "metric-bench"\nunit = "in"\n', "shop.toml")
    text = JOB.format(shop='shop = "./shop.toml"', panel="[panel]\nacross_flats = 120\ndepth = 1")
    text += '[designs]\na = "./tri.toml"\nb = "./tri.toml"\n[power]\nbrightness = 2\n'
    with pytest.raises(InputError) as caught:
        load(write(text))
    places = [(Path(fault.where).name, fault.key) for fault in caught.value.faults]
    assert places == [
        ("job.toml:5", "panel.depth"),
        ("job.toml:12", "power.brightness"),
        ("shop.toml:2", "shop.unit"),
        ("tri.toml:3", "designs.a.gap"),
    ]


def test_faults_are_bounded(read: Read) -> None:
    text = (
        'job = "t"\nshop = "metric-bench"\npanel = "hexagon-120"\n'
        + "[[layout.panel]]\ncolour = 1\n" * 400
    )
    with pytest.raises(InputError, match=r"\.\.\. and 200 more errors") as caught:
        read(text)
    assert len(caught.value.faults) == 201


@pytest.mark.parametrize(
    ("word", "get", "value"),
    [
        ("panel.depth=44", lambda job: job.panel.depth, 44),
        ("panel.depth=1 1/2 in", lambda job: job.panel.depth, 38.1),
        ('panel.depth="44 mm"', lambda job: job.panel.depth, 44),
        (" panel . depth = 44 ", lambda job: job.panel.depth, 44),
        ("shop.stock.opal-3.kerf=0.2", lambda job: job.shop.stock["opal-3"].kerf, 0.2),
        ('shop.stock."opal-3".kerf=0.2', lambda job: job.shop.stock["opal-3"].kerf, 0.2),
        ("shop.printer.bed=[180, '7 in']", lambda job: job.shop.printer.bed, (180, 177.8)),
        ("layout.turn_deg=30", lambda job: job.layout.turn_deg, 30),
        ("layout.cells=[[0,0],[1,0]]", lambda job: job.layout.cells, ((0, 0), (1, 0))),
        ("layout.panel=[{cell=[3,0],name='x'}]", lambda job: job.layout.panel[0].name, "x"),
        ("designs.tri=edge90-triangle", lambda job: job.designs["tri"].sides, 3),
        ("shop=inch-bench", lambda job: job.shop.units, "in"),
        ("shop.extends=inch-bench", lambda job: job.shop.units, "in"),
        ("panel.switch.on=true", lambda job: job.panel.switch.on, True),
        ("job=2024", lambda job: job.job, "2024"),
        ("title=true", lambda job: job.title, "true"),
        ("title='a=b'", lambda job: job.title, "a=b"),
        ("title=a.b # c", lambda job: job.title, "a.b # c"),
    ],
)
def test_set_changes_one_value(
    read: Read, word: str, get: Callable[[object], object], value: object
) -> None:
    loaded = read(JOB.format(shop=SHOP, panel=PANEL), [word])
    assert get(loaded.job) == value
    assert loaded.inputs_sha256 != read(JOB.format(shop=SHOP, panel=PANEL)).inputs_sha256


def test_the_last_set_wins_and_is_the_source_of_the_value(read: Read) -> None:
    loaded = read(JOB.format(shop=SHOP, panel=PANEL), ["panel.depth=40", "panel.depth=41"])
    row = next(row for row in loaded.changed if row.key == "panel.depth")
    assert (row.value, row.default, row.where) == ("41", "(none)", "--set panel.depth=41")


def test_a_shop_taken_by_set_keeps_what_the_job_changes_in_it(read: Read) -> None:
    text = JOB.format(
        shop='[shop]\nextends = "metric-bench"\npaper.margin = 7',
        panel=PANEL.replace("panel =", "[panel]\nextends ="),
    )
    shop = read(text, ["shop=inch-bench"]).job.shop
    assert (shop.units, shop.paper.size, shop.paper.margin) == ("in", "Letter", 7)
