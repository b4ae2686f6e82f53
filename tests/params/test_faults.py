"""Bad inputs tried: each ends with exit code 2, one clear message, no traceback, and nothing
written.
"""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path

import pytest

from fab.cli.main import main
from tests.book.texts import faults

Refuses = Callable[[list[str], tuple[str, ...]], None]

HEAD = 'job = "t"\nshop = "metric-bench"\npanel = "hexagon-120"\nlayout.cells = [[0, 0]]\n'
NO_LAYOUT = 'job = "t"\nshop = "metric-bench"\npanel = "hexagon-120"\n'
NO_PANEL = 'job = "t"\nshop = "metric-bench"\nlayout.cells = [[0, 0]]\n'
NO_SHOP = 'job = "t"\npanel = "hexagon-120"\nlayout.cells = [[0, 0]]\n'
SIZED = NO_PANEL + "[panel]\nacross_flats = 120\n"

# what it is, the text of job.toml, words that the message must hold in this order
BAD: list[tuple[str, str | bytes, tuple[str, ...]]] = [
    # no TOML
    ("empty", "", ("job.toml: the file is empty.", "panejig new")),
    ("only blanks", "  \n\n", ("the file is empty",)),
    ("only comments", "# hello\n", ("panel", "no size", "layout", "no panel is placed")),
    ("broken table", "[layout\ncells = 1", ("job.toml:1:", "TOML syntax error")),
    ("broken value", "job = ", ("job.toml:1:", "Give the key a value")),
    ("unclosed list", HEAD + "power.inlet = ['A',", ("job.toml:5:", "TOML syntax error")),
    ("unquoted length", HEAD + "panel.depth = 36 mm", ("job.toml:5:", "in quotes", '"36 mm"')),
    ("unquoted fraction", HEAD + "hang.stud_half = 1/2 in", ("in quotes", '"1/2 in"')),
    ("unquoted word", "shop = metric-bench", ('"metric-bench"',)),
    ("decimal comma", HEAD + "power.supply_v = 5,0", ("decimal point: 5.0",)),
    ("True", HEAD + "hang.jig = True", ("true in lower case",)),
    ("colon", "job: x", ("Write = in place",)),
    ("key twice", 'job = "a"\njob = "b"', ("job.toml:2:", "second time", "Keep one")),
    ("table twice", "[layout]\n[layout]", ("job.toml:2:", "second time")),
    ("value and table", HEAD + "[panel]\ndepth = 3", ("second time", 'extends = "..."')),
    ("windows path", 'shop = "C:\\shops\\mine.toml"', ("backslash",)),
    ("UTF-16", HEAD.encode("utf-16"), ("UTF-16", "UTF-8")),
    ("latin 1", b'job = "caf\xe9"', ("job.toml:1: byte 0xe9 is not UTF-8",)),
    ("zero bytes", b"\x00\x01\x02", ("zero bytes",)),
    ("a picture", b"\x89PNG\r\n\x1a\n rest", ("not UTF-8",)),
    ("one MiB too much", b"#" * 1_048_577, ("1,048,577 bytes", "at most 1,048,576")),
    ("deep brackets", "x = " + "[" * 5000, ("nested too deeply",)),
    ("deep tables", "x = " + "{a = " * 20 + "1" + "}" * 20, ("nested more than 12 deep",)),
    ("endless key", "a." * 50_000 + "b = 1", ("more than 16 parts",)),
    ("endless number", "x = " + "7" * 5_000, ("too many digits",)),
    ("impossible date", "x = 2025-02-30", ("TOML syntax error",)),
    ("lone surrogate", 'job = "\\ud800"', ("TOML syntax error",)),
    ("control character", 'job = "a\x07b"', ("TOML syntax error",)),
    # keys
    (
        "typo at the top",
        HEAD + "titel = 'x'",
        ('job.toml:5: titel: unknown key "titel"', "Did you mean title"),
    ),
    (
        "typo in a panel",
        SIZED + "dpeth = 30",
        ("job.toml:6: panel.dpeth", "Did you mean panel.depth"),
    ),
    (
        "typo in a section",
        SIZED + "[panel.base]\nflor = 3",
        ("panel.base.flor", "Did you mean panel.base.floor"),
    ),
    (
        "typo in a stock",
        HEAD.replace('"metric-bench"', "{ extends = 'metric-bench', stock.opal-3.kerff = 0.2 }"),
        ("shop.stock.opal-3.kerff", "Did you mean shop.stock.opal-3.kerf"),
    ),
    ("one section off", SIZED + "wall = 2", ("panel.wall", "panel.base.wall", "panel.shell.wall")),
    (
        "key of the panel at the top",
        HEAD + "depth = 30",
        ('depth: unknown key "depth"', "panel.depth"),
    ),
    ("key of another layer", SIZED + "kerf = 0.2", ("panel.kerf", "shop.stock.<name>.kerf")),
    ("strange section", HEAD + "[lazer]\nbed = [1, 1]", ("lazer", "shop.laser")),
    ("nothing like it", HEAD + "zzzzqqq = 1", ("zzzzqqq", "Known here: job, title")),
    ("quoted key with escape", HEAD + '"a\\u001b[31m" = 1', ('"a\\u001b[31m"', "unknown key")),
    (
        "extends of a job",
        HEAD + 'extends = "reading-nook"',
        ("extends: `extends` cannot be used here", "[shop]"),
    ),
    (
        "extends in a section",
        SIZED + '[panel.base]\nextends = "x"',
        ("panel.base.extends", "`extends` cannot be used here"),
    ),
    ("empty key", HEAD + '"" = 1', ('"": ', "unknown key")),
    (
        "unknown key in a placed panel",
        NO_LAYOUT + "[[layout.panel]]\ncell = [0, 0]\ncolour = 'red'",
        ("job.toml:6: layout.panel[0].colour",),
    ),
    # kinds of values
    (
        "text for a number",
        SIZED + "[panel.led]\nlumen = 'nine'",
        ("panel.led.lumen", '"nine" is text, not a number'),
    ),
    ("quoted number", SIZED + "[panel.led]\nlumen = '9'", ("Write 9 without quotes",)),
    ("text for a length", SIZED + "depth = 'deep'", ("panel.depth", "is not a length", '"3 mm"')),
    ("length without unit", SIZED + "depth = '36'", ("has no unit", '"36 mm"')),
    ("unknown unit", SIZED + "depth = '3 ft'", ("unknown unit: ft", "mm, cm, m and in")),
    ("comma in a text", SIZED + "depth = '36,5 mm'", ("decimal comma", '"36.5 mm"')),
    ("divided by zero", SIZED + "depth = '1/0 in'", ("divides by zero",)),
    ("true for a number", SIZED + "depth = true", ("true is not a number", "5 to 500 mm")),
    ("date for a number", SIZED + "depth = 2025-01-01", ("2025-01-01 is not a number",)),
    ("list for a number", SIZED + "depth = [36]", ("[36] is not a number",)),
    (
        "table for a number",
        SIZED + "[panel.depth]\nx = 1",
        ("panel.depth", "this is a table, but this key needs a value"),
    ),
    (
        "tables for a number",
        SIZED + "[[panel.depth]]\nx = 1",
        ("these are tables, but this key needs a value",),
    ),
    ("nan", SIZED + "depth = nan", ("nan is not a usable number",)),
    ("inf", SIZED + "depth = inf", ("inf is not a usable number",)),
    ("minus inf", SIZED + "gap = -inf", ("panel.gap", "-inf is not a usable number")),
    ("overflowing float", SIZED + "depth = 1e999", ("inf is not a usable number",)),
    ("huge", SIZED + "depth = 1e300", ("out of range", "5 to 500 mm")),
    ("huge whole number", SIZED + "depth = " + "9" * 400, ("a number of over 18 digits",)),
    (
        "huge count",
        SIZED + "sides = " + "9" * 30,
        ("panel.sides", "over 18 digits", "is more than 64"),
    ),
    (
        "negative size",
        NO_PANEL + "[panel]\nacross_flats = -120",
        ("panel.across_flats: -120 mm is less than 5 mm", "5 mm."),
    ),
    (
        "negative gap",
        SIZED + "gap = -0.1",
        ("-0.1 mm is less than 0 mm", "Nearest that works: 0 mm."),
    ),
    ("negative wall", SIZED + "base.wall = -2", ("panel.base.wall: -2 mm is less than 0.2 mm",)),
    (
        "too small in inches",
        SIZED + "depth = '0.1 in'",
        ('"0.1 in" is less than 5 mm', '"0.197 in"'),
    ),
    (
        "too large in inches",
        SIZED + "depth = '20 in'",
        ('"20 in" is more than 500 mm', '"19.685 in"'),
    ),
    (
        "too large",
        SIZED + "depth = 900",
        (
            "900 mm is more than 500 mm (depth of the panel, from wall to rim",
            "Nearest that works: 500 mm.",
        ),
    ),
    (
        "two sides",
        SIZED + "sides = 2",
        ("panel.sides: 2 is less than 3 (number of sides; 3 to 64)", "works: 3."),
    ),
    ("no sides", SIZED + "sides = 0", ("0 is less than 3",)),
    ("65 sides", SIZED + "sides = 65", ("65 is more than 64",)),
    ("half a side", SIZED + "sides = 5.5", ("5.5 is not a whole number", "works: 6")),
    ("sides as text", SIZED + "sides = 'six'", ('"six" is text, not a whole number',)),
    ("sides as flag", SIZED + "sides = true", ("true is not a whole number",)),
    ("sides as nan", SIZED + "sides = nan", ("nan is not a whole number",)),
    (
        "flag as text",
        HEAD + "hang.jig = 'yes'",
        ("hang.jig", "neither true nor false", "Write true"),
    ),
    ("flag as number", HEAD + "hang.jig = 0", ("0 is neither true nor false", "Write false")),
    (
        "unknown choice",
        HEAD + "layout.groups = 'many'",
        ("layout.groups", '"many" is not a known value', "One of: one, separate"),
    ),
    ("choice in capitals", SIZED + "led.pattern = 'Square'", ("Did you mean square",)),
    ("choice as number", SIZED + "led.pattern = 4", ("4 is not a known value",)),
    ("choice as list", SIZED + "led.pattern = ['square']", ("is not a known value",)),
    ("number for a text", HEAD + "title = 3", ("title: 3 is not a text", 'in quotes: "3"')),
    ("list for a text", HEAD + "title = ['a']", ("is not a text",)),
    ("text too long", HEAD + f"title = '{'x' * 121}'", ("has 121 characters", "At most 120")),
    ("line break in a text", HEAD + 'title = "a\\nb"', ("line breaks", "one line of plain text")),
    (
        "escape sequence in a text",
        HEAD + 'title = "a\\u001b[2Jb"',
        ("\\u001b", "invisible characters"),
    ),
    ("turned writing direction", HEAD + 'title = "a\\u202eb"', ("\\u202e", "invisible characters")),
    (
        "job name as path",
        HEAD.replace('"t"', '"../t"'),
        ("job", '"../t" is not allowed here: letters', "For example"),
    ),
    (
        "job name with blanks",
        HEAD.replace('"t"', '"my wall"'),
        ("not allowed here", 'For example "my-wall"'),
    ),
    ("job name in other letters", HEAD.replace('"t"', '"стена"'), ("not allowed here",)),
    ("empty job name", HEAD.replace('"t"', '""'), ("job", "not allowed here")),
    (
        "job name of a device",
        HEAD.replace('"t"', '"NUL"'),
        ("reserved name of Windows", "NUL-wall"),
    ),
    ("long job name", HEAD.replace('"t"', f'"{"t" * 61}"'), ("has 61 characters", "At most 60")),
    (
        "pair of one",
        NO_SHOP + "shop = { extends = 'metric-bench', printer.bed = [220] }",
        ("shop.printer.bed", "not two lengths"),
    ),
    (
        "pair as number",
        NO_SHOP + "shop = { extends = 'metric-bench', printer.bed = 220 }",
        ("220 is not two lengths",),
    ),
    (
        "pair of texts",
        NO_SHOP + "shop = { extends = 'metric-bench', printer.bed = ['a', 1] }",
        ("is not a length",),
    ),
    (
        "tiny bed",
        NO_SHOP + "shop = { extends = 'metric-bench', printer.bed = [0, 220] }",
        ("0 mm is less than 1 mm",),
    ),
    ("numbers as text", HEAD + "hang.studs = '300'", ("hang.studs", "a list of numbers")),
    ("numbers with nan", HEAD + "hang.studs = [1, nan]", ("[1]: nan is not a usable number",)),
    (
        "names as text",
        HEAD + "power.inlet = 'A'",
        ("power.inlet", "one text, not a list", 'Write ["A"]'),
    ),
    ("names as numbers", HEAD + "power.inlet = [1]", ("[0]: 1 is not a text",)),
    (
        "names twice",
        HEAD + "hang.must = ['A', 'A']",
        ("hang.must", '"A" is listed more than once'),
    ),
    (
        "points of three",
        HEAD + "power.socket = [[1, 2, 3]]",
        ("power.socket: [0]: [1, 2, 3] is not a point",),
    ),
    (
        "points out of reach",
        HEAD + "power.socket = [[1, 2e6]]",
        ("power.socket: [0]: 2000000 mm is more than 100000 mm",),
    ),
    ("points not nested", HEAD + "power.socket = [1, 2]", ("is not a point", "Points are [x, y]")),
    (
        "a ring of two",
        HEAD + "hang.zones = [[[0, 0], [1, 1]]]",
        ("hang.zones", "has 2 corners", "3 or more"),
    ),
    (
        "a ring of tables",
        HEAD + "hang.zones = [{ x = 1 }]",
        ("hang.zones", "these are tables, but this key needs a value"),
    ),
    (
        "negative strain",
        HEAD.replace('"metric-bench"', "{ extends = 'metric-bench', filament.snap_strain = -1 }"),
        ("shop.filament.snap_strain: -1 is less than 0.0005",),
    ),
    (
        "colour by name",
        HEAD.replace('"metric-bench"', "{ extends = 'metric-bench', laser.mark.colour = 'red' }"),
        ("shop.laser.mark.colour", "a colour like #0072b2"),
    ),
    # tables where values belong, and the other way round
    (
        "value for a section",
        SIZED + "base = 3",
        ("panel.base", "3 is not a table", "[panel.base]"),
    ),
    ("list for a section", SIZED + "base = []", ("[] is not a table",)),
    (
        "tables for a section",
        HEAD + "[[power]]\nsupply_v = 5",
        ("power", "a list of tables is not a table"),
    ),
    ("number for the shop", NO_SHOP + "shop = 3", ("shop: 3 is not a table",)),
    (
        "list for the panel",
        NO_PANEL + "panel = ['hexagon-120']",
        ("panel", "is not a table"),
    ),
    (
        "one table for placed panels",
        NO_LAYOUT + "[layout.panel]\ncell = [0, 0]",
        ("layout.panel", "[[layout.panel]]"),
    ),
    (
        "value for placed panels",
        NO_LAYOUT + "layout.panel = 3",
        ("layout.panel", "[[layout.panel]]"),
    ),
    (
        "values and tables mixed",
        NO_LAYOUT + "layout.panel = [1, { cell = [0, 0] }]",
        ("layout.panel", "[[layout.panel]]"),
    ),
    ("value for designs", HEAD + "designs = 3", ("designs", "is not a table of named tables")),
    (
        "number for a design",
        HEAD + "designs.tri = 3",
        ("designs.tri: 3 is not a table",),
    ),
    (
        "tables for a stock",
        HEAD.replace('"metric-bench"', "{ extends = 'metric-bench', stock = [{ kerf = 1 }] }"),
        ("shop.stock", "is not a table of named tables"),
    ),
    (
        "bad name of a design",
        HEAD + "designs.'my tri' = 'edge90-triangle'",
        ('designs."my tri"', "not allowed here", "my-tri"),
    ),
    (
        "taken name of a design",
        HEAD + "designs.panel = 'edge90-triangle'",
        ("designs.panel", "main design"),
    ),
    (
        "201 designs",
        HEAD + "".join(f"designs.d{k} = 'hexagon-120'\n" for k in range(201)),
        ("designs", "has 201 tables", "200"),
    ),
    # layout
    ("no layout", NO_LAYOUT, ("layout", "no panel is placed", 'layout.map = "A B"')),
    ("empty cells", NO_LAYOUT + "layout.cells = []", ("no panel is placed",)),
    (
        "cell twice",
        NO_LAYOUT + "layout.cells = [[0, 0], [1, 0], [0, 0]]",
        ("layout.cells: [0, 0] is listed more than once",),
    ),
    ("half cells", NO_LAYOUT + "layout.cells = [[0, 0.5]]", ("[0]: 0.5 is not a whole number",)),
    (
        "cells of three",
        NO_LAYOUT + "layout.cells = [[0, 0, 0]]",
        ("[0, 0, 0] is not a cell", "[0, 1]"),
    ),
    ("cells not nested", NO_LAYOUT + "layout.cells = [0, 0]", ("0 is not a cell",)),
    ("cells as text", NO_LAYOUT + "layout.cells = '0,0'", ("is not a list of cells",)),
    (
        "cells far out",
        NO_LAYOUT + "layout.cells = [[0, 1000000]]",
        ("1000000 is more than 100000", "-100000 to 100000"),
    ),
    (
        "cells of flags",
        NO_LAYOUT + "layout.cells = [[true, 0]]",
        ("true is not a whole number", "-100000 to 100000"),
    ),
    (
        "20,001 cells",
        NO_LAYOUT + f"layout.cells = [{', '.join(f'[{k}, 0]' for k in range(20_001))}]",
        ("layout.cells: has 20,001 entries", "At most 20,000"),
    ),
    (
        "a million cells",
        NO_LAYOUT + f"layout.cells = [{','.join(['[0,0]'] * 1_000_000)}]",
        ("bytes; at most 1,048,576",),
    ),
    (
        "many bad cells",
        NO_LAYOUT + f"layout.cells = [{', '.join(['[0.5, 0]'] * 1000)}]",
        ("[2]: 0.5", "and 997 more"),
    ),
    (
        "placed nowhere",
        NO_LAYOUT + "[[layout.panel]]\nname = 'A'",
        ("job.toml:4: layout.panel[0]: the panel has no position",),
    ),
    (
        "placed twice over",
        NO_LAYOUT + "[[layout.panel]]\ncell = [0, 0]\non = 'B'",
        ("layout.panel[0].on", "not both"),
    ),
    (
        "two in one cell",
        NO_LAYOUT + "[[layout.panel]]\ncell = [0, 0]\n[[layout.panel]]\ncell = [0, 0]",
        ("job.toml:7: layout.panel[1].cell: [0, 0] is the cell of two panels",),
    ),
    (
        "one name twice",
        NO_LAYOUT
        + "[[layout.panel]]\ncell = [0, 0]\nname = 'A'\n[[layout.panel]]\ncell = [1, 0]\nname"
        " = 'A'",
        ("layout.panel[1].name", '"A" is the name of two panels'),
    ),
    (
        "names alike",
        NO_LAYOUT
        + "[[layout.panel]]\ncell = [0, 0]\nname = 'a'\n[[layout.panel]]\ncell = [1, 0]\nname"
        " = 'A'",
        ('"A" and "a" differ in capitals only',),
    ),
    (
        "unknown design",
        HEAD + "designs.tri = 'edge90-triangle'\n[[layout.panel]]\non = 'A'\ndesign = 'try'",
        ("layout.panel[0].design", '"try" is an unknown design', "Did you mean tri"),
    ),
    (
        "no designs at all",
        HEAD + "[[layout.panel]]\non = 'A'\ndesign = 'tri'",
        ("There is none", "[designs.tri]"),
    ),
    (
        "own edge too high",
        HEAD + "designs.tri = 'edge90-triangle'\n[[layout.panel]]\non = 'A'\ndesign ="
        " 'tri'\nown_edge = 3",
        ("layout.panel[0].own_edge: a panel with 3 sides has no edge 3", "0 to 2"),
    ),
    (
        "negative edge",
        HEAD + "[[layout.panel]]\non = 'A'\nedge = -1",
        ("layout.panel[0].edge: -1 is less than 0",),
    ),
    (
        "turn out of range",
        HEAD + "layout.turn_deg = 400",
        ("layout.turn_deg: 400 deg is more than 360 deg",),
    ),
    (
        "long panel name",
        NO_LAYOUT + f"[[layout.panel]]\ncell = [0, 0]\nname = '{'n' * 25}'",
        ("has 25 characters", "At most 24"),
    ),
    # names that lead nowhere
    (
        "unknown shop",
        HEAD.replace("metric-bench", "metric-bensh"),
        ("shop.extends", "unknown shop preset", "Did you mean metric-bench"),
    ),
    (
        "nothing like a shop",
        HEAD.replace("metric-bench", "q"),
        ("Presets: inch-bench, metric-bench",),
    ),
    (
        "unknown panel",
        HEAD.replace("hexagon-120", "hexagon-12"),
        ("panel.extends", "Did you mean hexagon-120"),
    ),
    (
        "a panel for a shop",
        HEAD.replace("metric-bench", "hexagon-120"),
        ("That is a panel, not a shop",),
    ),
    (
        "a shop for a panel",
        HEAD.replace("hexagon-120", "inch-bench"),
        ("That is a shop, not a panel",),
    ),
    (
        "a job for a shop",
        HEAD.replace("metric-bench", "reading-nook"),
        ("That is a job, not a shop",),
    ),
    ("empty extends", HEAD.replace("metric-bench", ""), ("shop.extends: is empty",)),
    ("extends as number", NO_SHOP + "[shop]\nextends = 3", ("shop.extends: 3 is not a name",)),
    ("extends as list", NO_SHOP + "[shop]\nextends = ['a', 'b']", ("is not a name",)),
    ("extends as table", NO_SHOP + "[shop.extends]\nx = 1", ("a table is not a name",)),
    ("extends with escape", NO_SHOP + 'shop = "a\\u001b[2J"', ("\\u001b", "not a file name")),
    ("extends with zero byte", NO_SHOP + 'shop = "./a\\u0000.toml"', ("not a file name",)),
    ("extends too long", NO_SHOP + f"shop = '{'a/' * 200}x.toml'", ("not a file name",)),
    (
        "missing file",
        HEAD.replace("metric-bench", "./nowhere.toml"),
        ("was not found", "TOML files in that folder: job.toml"),
    ),
    (
        "missing file, name alike",
        HEAD.replace("metric-bench", "./jib.toml"),
        ("Did you mean job.toml",),
    ),
    (
        "absolute path",
        HEAD.replace("metric-bench", "/etc/passwd"),
        ("not in the folder of this file or below it",),
    ),
    (
        "home path",
        HEAD.replace("metric-bench", "~/shop.toml"),
        ("not in the folder of this file or below it",),
    ),
    (
        "drive path",
        HEAD.replace("metric-bench", "C:/shop.toml"),
        ("not in the folder of this file or below it",),
    ),
    (
        "address",
        HEAD.replace("metric-bench", "https://example.org/shop.toml"),
        ("not in the folder of this file or below it",),
    ),
    (
        "backslashes",
        NO_SHOP + "shop = '.\\shops\\mine.toml'",
        ("has backslashes", '"./shops/mine.toml"'),
    ),
    (
        "out of the folder",
        HEAD.replace("metric-bench", "../shop.toml"),
        ("leads out of this file's folder",),
    ),
    (
        "out and in again",
        HEAD.replace("metric-bench", "./a/../../x/shop.toml"),
        ("leads out of this file's folder",),
    ),
    ("the folder itself", HEAD.replace("metric-bench", "./"), ("shop.extends", "is a folder")),
    (
        "itself",
        HEAD.replace("metric-bench", "./job.toml"),
        ("shop.extends", "in a circle: job.toml -> job.toml"),
    ),
    ("no shop", NO_SHOP, ("job.toml:1: shop: no shop is named.", 'shop = "metric-bench"')),
    (
        "a shop without stock",
        NO_SHOP + "shop = { units = 'in' }",
        ("panel.diffuser.stock", "There is none", "[shop.stock.opal-3]"),
    ),
    (
        "unknown stock",
        SIZED + "diffuser.stock = 'opal-4'",
        ("job.toml:6: panel.diffuser.stock", "Did you mean opal-3"),
    ),
    (
        "unknown stock of a design",
        HEAD + "designs.tri = { extends = 'edge90-triangle', diffuser.stock = 'x' }",
        ("designs.tri.diffuser.stock", "Known: opal-3, ply-3"),
    ),
    ("unknown wall", HEAD + "hang.wall = 'plastr'", ("hang.wall", "Did you mean plaster")),
    (
        "rest of unknown stock",
        NO_SHOP + "[shop]\nextends = 'metric-bench'\n[[shop.offcut]]\nstock = 'opal3'\noutline ="
        " [[0,0],[9,0],[0,9]]",
        ("shop.offcut[0].stock", "Did you mean opal-3"),
    ),
    (
        "rest without outline",
        NO_SHOP + "[shop]\nextends = 'metric-bench'\n[[shop.offcut]]\nstock = 'opal-3'",
        ("shop.offcut[0].outline", "has 0 corners", "3 or more"),
    ),
    (
        "custom paper without size",
        NO_SHOP + "[shop]\nextends = 'metric-bench'\npaper.size = 'custom'",
        ("shop.paper.size", "needs its width", "needs its height"),
    ),
    (
        "roll without width",
        NO_SHOP + "[shop]\nextends = 'metric-bench'\npaper.size = 'roll'",
        ("needs its width",),
    ),
    # sizes
    (
        "no size",
        NO_PANEL + "[panel]\nsides = 6",
        ("job.toml:4: panel: the panel has no size", "across_flats = 120"),
    ),
    ("no panel", NO_PANEL, ("panel: the panel has no size", "hexagon-120")),
    (
        "no size of a design",
        HEAD + "[designs.tri]\nsides = 3",
        ("designs.tri: the panel has no size",),
    ),
    (
        "both sizes",
        SIZED + "edge = 60",
        ("job.toml:6: panel.edge: across_flats and edge are both in this file", "Keep one"),
    ),
    (
        "both sizes in a design",
        HEAD + "designs.a = { edge = 60, across_flats = 90 }",
        ("designs.a.edge", "are both"),
    ),
    # files of the wrong layer
    (
        "a shop file",
        "name = 'b'\n[printer]\nbed = [1, 1]\n[stock.x]\nkerf = 0.1",
        ("this is a shop file, not a job",),
    ),
    ("a panel file", "name = 'b'\nsides = 6\nedge = 90", ("this is a panel file, not a job",)),
]


@pytest.fixture
def refuses(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> Refuses:
    """Runs a command in the test's folder and holds its refusal against the words that it must
    hold, in order.
    """
    monkeypatch.chdir(tmp_path)

    def _refuses(argv: list[str], words: tuple[str, ...]) -> None:
        before = sorted(tmp_path.rglob("*"))
        capsys.readouterr()
        assert main(argv) == 2
        told = capsys.readouterr()
        assert told.out == ""
        assert "Traceback" not in told.err
        assert "an internal error" not in told.err
        assert not any(ord(mark) < 32 and mark != "\n" for mark in told.err)
        assert len(told.err) < 3_000
        assert faults(told.err.splitlines()) == []
        at = 0
        for word in words:
            assert word in told.err[at:], told.err
            at = told.err.index(word, at)
        assert sorted(tmp_path.rglob("*")) == before

    return _refuses


@pytest.mark.parametrize(("text", "words"), [row[1:] for row in BAD], ids=[row[0] for row in BAD])
def test_bad_jobs(
    text: str | bytes, words: tuple[str, ...], write: Callable[..., Path], refuses: Refuses
) -> None:
    write(text)
    refuses(["build", "job.toml", "--out", "built"], words)


SETS: list[tuple[str, list[str], tuple[str, ...]]] = [
    ("no equals sign", ["panel.depth"], ("--set panel.depth: has no =", "--set panel.depth=40")),
    ("no key", ["=3"], ("has no key",)),
    ("no value", ["panel.depth="], ("--set panel.depth=: has no value",)),
    ("blank value", ["panel.depth=  "], ("has no value",)),
    ("no dotted key", ["panel depth=3"], ("not a dotted key",)),
    ("place in a list", ["layout.panel[0].name=x"], ("not a dotted key", "arrays are given whole")),
    ("two dots", ["panel..depth=3"], ("not a dotted key",)),
    ("endless key", [".".join("a" * 40) + "=3"], ("not a dotted key",)),
    (
        "text for a number",
        ["panel.depth=abc"],
        ("--set panel.depth=abc: panel.depth", '"abc" is not a length'),
    ),
    (
        "out of range",
        ["panel.depth=3"],
        ("--set panel.depth=3: panel.depth: 3 mm is less than 5 mm",),
    ),
    ("nan", ["panel.depth=nan"], ("nan is not a usable number",)),
    ("typo", ["panel.dpeth=30"], ("--set panel.dpeth=30: panel.dpeth", "Did you mean panel.depth")),
    ("value for a section", ["panel.base=3"], ("3 is not a table",)),
    (
        "section below a value",
        ["panel.depth.x=3"],
        ("this is a table, but this key needs a value",),
    ),
    (
        "unknown stock",
        ["panel.diffuser.stock=opal-9"],
        ("--set panel.diffuser.stock=opal-9", "Did you mean opal-3"),
    ),
    (
        "unknown shop",
        ["shop=inch-bensh"],
        ("--set shop=inch-bensh: shop.extends", "Did you mean inch-bench"),
    ),
    ("out of the folder", ["shop=../x.toml"], ("leads out of this file's folder",)),
    ("two faults at once", ["panel.depth=1", "panel.gap=99"], ("panel.depth", "panel.gap")),
    ("escape sequence", ["panel.depth=\x1b[2J"], ("\\u001b",)),
    ("several lines", ["title=a\nb"], ("line breaks",)),
    ("a second key smuggled in", ["title=1\njob='x'"], ("line breaks",)),
    ("too long", ["title=" + "x" * 100_001], ("too long",)),
    ("too many", ["panel.depth=30"] * 1001, ("1,001 times",)),
    (
        "list entry by number",
        ["layout.cells.0=[1, 1]"],
        ("layout.cells", "this is a table, but this key needs a value"),
    ),
    ("unclosed list", ["layout.cells=[[0, 0]"], ("is not a list of cells",)),
    ("flag", ["hang.jig=maybe"], ("neither true nor false",)),
]


@pytest.mark.parametrize(("sets", "words"), [row[1:] for row in SETS], ids=[row[0] for row in SETS])
def test_bad_words_of_set(
    sets: list[str], words: tuple[str, ...], write: Callable[..., Path], refuses: Refuses
) -> None:
    write(HEAD)
    flags = [word for value in sets for word in ("--set", value)]
    refuses(["build", "job.toml", "--out", "built", *flags], words)


PLACES: list[tuple[str, str, tuple[str, ...]]] = [
    ("missing job", "jobs.toml", ("jobs.toml: was not found", "Did you mean job.toml")),
    ("missing folder", "nowhere/job.toml", ("was not found", "no folder nowhere")),
    ("folder", "folder", ("folder: is a folder", "There is no TOML file")),
    ("folder with jobs", ".", (".: is a folder", "job.toml")),
    ("file as a folder", "job.toml/x.toml", ("was not found",)),
    (
        "unknown word",
        "reading-nok",
        ("'reading-nok' is not a file or a shipped job", "Did you mean reading-nook"),
    ),
    (
        "word without its ending",
        "job",
        ("job is not a file or a shipped job", "Did you mean job.toml?"),
    ),
    ("drawing", "plate.svg", ("plate.svg is a drawing", "--shape plate.svg=1@STOCK")),
    ("nothing like it", "qqqq", ("Shipped jobs: bedside-lamp", "job.toml")),
    ("empty word", "", ("is a folder",)),
    ("zero byte", "a\0.toml", ("cannot be read",)),
    ("name too long", "x" * 300 + ".toml", ("cannot be read",)),
    ("escape sequence", "a\x1b[2J.toml", ("a\\u001b[2J.toml: was not found",)),
]


@pytest.mark.parametrize(
    ("job", "words"), [row[1:] for row in PLACES], ids=[row[0] for row in PLACES]
)
def test_jobs_that_are_not_there(
    job: str, words: tuple[str, ...], write: Callable[..., Path], tmp_path: Path, refuses: Refuses
) -> None:
    write(HEAD)
    (tmp_path / "folder").mkdir()
    refuses(["build", job, "--out", "built"], words)


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no named pipes here")
def test_a_pipe_is_not_waited_for(
    write: Callable[..., Path], tmp_path: Path, refuses: Refuses
) -> None:
    os.mkfifo(tmp_path / "pipe.toml")
    write(HEAD.replace("metric-bench", "./pipe.toml"))
    refuses(["build", "pipe.toml", "--out", "built"], ("is not a regular file",))
    refuses(
        ["build", "job.toml", "--out", "built"], ("shop.extends", "pipe.toml is not a regular file")
    )


def test_a_file_that_may_not_be_read_is_told(
    write: Callable[..., Path], monkeypatch: pytest.MonkeyPatch, refuses: Refuses
) -> None:
    write(HEAD)

    def denied(*_: object) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr("fab.params.files.open", denied, raising=False)
    refuses(
        ["build", "job.toml", "--out", "built"],
        ("cannot be read: permission denied", "permissions"),
    )


def test_enough_was_tried() -> None:
    """The robustness issue asks for 150 bad inputs at least."""
    assert len(BAD) + len(SETS) + len(PLACES) >= 150
    assert len({row[0] for row in BAD}) == len(BAD)
