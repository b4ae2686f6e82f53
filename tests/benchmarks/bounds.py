"""The bounds of speed, each as a ratio or seconds over a bare interpreter measured in this one run.

    python tests/benchmarks/bounds.py [--panels 1,10,100,1000,10000] [--colds 5] [--block 1000]

Whole processes, median of several runs; nothing is asserted. The exponent of growth is fitted to
the logarithms of all sizes from 100 panels on.
"""

from __future__ import annotations

import argparse
import math
import os
import resource
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from fab.built import KINDS

ROOT = Path(__file__).parents[2]
WIDEST = 32


def seconds(code: str, env: dict[str, str], runs: int = 5, leaves: int = 0) -> float:
    """Median wall time of a fresh interpreter that runs `code` and must leave with this
    exit code.
    """
    spent = []
    for _ in range(runs):
        began = time.perf_counter()
        done = subprocess.run(
            [sys.executable, "-c", code],
            check=False,
            env=env,
            cwd=ROOT,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.PIPE,
        )
        spent.append(time.perf_counter() - began)
        if done.returncode != leaves:
            raise SystemExit(
                f"this run left with {done.returncode}, not {leaves}: {done.stderr.decode()[-400:]}"
            )
    return statistics.median(spent)


def command(*words: str) -> str:
    return f"import sys; from fab.cli.main import script; sys.argv[1:] = {list(words)!r}; script()"


def many(count: int) -> str:
    """Layout, joints, zones, hangers, nest, template and lists of `count` hexagons in one process;
    no solid.

    Walls are square blocks up to 32 panels wide, longer beyond: no inlet's current reaches the
    middle of a wider block.
    """
    side = min(math.ceil(math.sqrt(count)), WIDEST)
    return f"""
import time, resource, dataclasses
from pathlib import Path
from fab.params.read import load
from fab.decisions import decide, plans_of
from fab.outputs import cut, lists, wall
from fab.wall.model import PanelMass
loaded = load(Path("params/reading-nook.toml"))
cells = tuple((k % {side} - (k // {side}) // 2, k // {side}) for k in range({count}))
stock = dataclasses.replace(loaded.job.shop.stock["opal-3"], count=100000)
shop = dataclasses.replace(loaded.job.shop, stock=dict(loaded.job.shop.stock) | {{"opal-3": stock}})
layout = type(loaded.job.layout)(cells=cells)
job = dataclasses.replace(loaded.job, shop=shop, layout=layout)
began = time.perf_counter()
masses = lambda plans, layout: {{p.name: PanelMass(190.0, 0.0, 0.0, 15.0) for p in layout.panels}}
design = decide(job, masses)
nested = cut.nested(design)
template = wall.made_template(design)
rows = lists.addresses(design)
print(time.perf_counter() - began, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024)
"""


def block(count: int) -> str:
    """A job of `count` hexagons in one block, which carries a hanger with a name of its own at
    every seventh or so.
    """
    cells = [[k % WIDEST - (k // WIDEST) // 2, k // WIDEST] for k in range(count)]
    shop = f'[shop]\nextends = "metric-bench"\nstock.opal-3.count = {count}\n'
    return (
        f'job = "block"\n{shop}[panel]\nextends = "hexagon-120"\n[layout]\ncells ='
        f' {cells}\n[hang]\nwall = "plaster"\n'
    )


def watched_check(job: str, env: dict[str, str]) -> tuple[float, float]:
    """Seconds of a check, and the most memory that all its processes held at one time, shared pages
    counted once, MB.
    """
    began, most = time.perf_counter(), 0.0
    with subprocess.Popen(
        [sys.executable, "-c", command("check", job, "-q")],
        env=env,
        cwd=ROOT,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    ) as process:
        while process.poll() is None:
            most = max(most, sum(map(_mb, _family(process.pid))))
            time.sleep(0.5)
    return time.perf_counter() - began, most


def _family(pid: int) -> list[int]:
    """A process and all that it started, and they; by the tables of the system where it has
    such.
    """
    found = [pid]
    for one in found:
        try:
            for task in Path(f"/proc/{one}/task").iterdir():
                found += map(int, (task / "children").read_text().split())
        except OSError:
            continue
    return found


def _mb(pid: int) -> float:
    try:
        rows = Path(f"/proc/{pid}/smaps_rollup").read_text().splitlines()
    except OSError:
        return 0.0
    return sum(int(row.split()[1]) for row in rows if row.startswith("Pss:")) / 1024


def saved(job: str, out: str) -> str:
    """What a watch does after each save, the kernel loaded already: first look and whole round, for
    a laser and a layout value.
    """
    return f"""
import time
from pathlib import Path
from fab import workshop
from fab.params.read import load
from fab.solids.loading import kernel
workshop.build(load(Path({job!r})), Path({out!r}))
kernel()
for name, values in (
    ("shop.stock.opal-3.kerf", ("0.21", "0.22")), ("layout.turn_deg", ("20", "40")),
):
    for value in values:
        began, looks = time.perf_counter(), []
        look = lambda *_: looks.append(time.perf_counter() - began)
        workshop.build(load(Path({job!r}), [f"{{name}}={{value}}"]), Path({out!r}), look=look)
    print(name, looks[0], time.perf_counter() - began)
"""


def fitted(found: list[tuple[int, float]]) -> str:
    """Exponent of the growth by least squares."""
    points = [(math.log(count), math.log(value)) for count, value in found if count >= 100]
    if len(points) < 2:
        return "not fitted"
    x0, y0 = (statistics.fmean(column) for column in zip(*points, strict=True))
    return (
        f"{sum((x - x0) * (y - y0) for x, y in points) / sum((x - x0) ** 2 for x, _ in points):.2f}"
    )


def children_mb() -> float:
    """Largest process that was waited for until now."""
    return resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024


def cold_builds(job: str, out: str, env: dict[str, str], colds: int) -> str:
    """Median time of cold builds, and the median of their ratios to an import of the CAD library,
    each measured just before its build: a machine's pace wanders from minute to minute.
    """
    spent, ratios = [], []
    for _ in range(colds):
        kernel = seconds("import cadquery", env, 1)
        shutil.rmtree(env["PANEJIG_CACHE"], ignore_errors=True)
        shutil.rmtree(out, ignore_errors=True)
        spent.append(seconds(command("build", job, "--out", out), env, 1))
        ratios.append(spent[-1] / kernel)
    who = "one process" if env["PANEJIG_PROCESSES"] else "all cores"
    return (
        f"cold build of the demo, {who:14s}{statistics.median(spent):.2f} s,"
        f" {statistics.median(ratios):.1f} x the import of cadquery (bound 4; {min(ratios):.1f} to"
        f" {max(ratios):.1f}), {children_mb():.0f} MB a process"
    )


def book_share(job: str, folder: str, env: dict[str, str]) -> str:
    """Processor time of a cold build in one process, and the share of it that a build without the
    book does not take.
    """
    rest = [word for kind in KINDS if kind != "book" for word in ("--only", kind)]
    spent = []
    for name, only in (("whole", []), ("bookless", rest)):
        own = env | {"PANEJIG_PROCESSES": "1", "PANEJIG_CACHE": f"{folder}/cache-{name}"}
        before = resource.getrusage(resource.RUSAGE_CHILDREN)
        seconds(command("build", job, "--out", f"{folder}/{name}", *only), own, 1)
        after = resource.getrusage(resource.RUSAGE_CHILDREN)
        spent.append(after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime)
    share = 1 - spent[1] / spent[0]
    return f"cold build, processor time            {spent[0]:.1f} s, book {share:.0%} (bound 25 %)"


def main() -> None:
    words = argparse.ArgumentParser()
    words.add_argument("--panels", default="1,10,100,1000")
    words.add_argument("--colds", type=int, default=5, help="cold builds of the demo")
    words.add_argument(
        "--block", type=int, default=1000, help="hexagons of the block that is checked with solids"
    )
    asked = words.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        env = os.environ | {"PANEJIG_CACHE": f"{folder}/cache"}
        env.pop("PYTHONDONTWRITEBYTECODE", None)  # a maker's Python compiles a module once
        seconds("import compileall; compileall.compile_dir('fab', quiet=2)", env, 1)
        seconds("import cadquery", env, 1)  # and the disk has given all of it before
        bare = seconds("pass", env)
        print(f"bare interpreter                      {bare:.3f} s")
        print(
            f"--help over bare                      {seconds(command('--help'), env) - bare:.3f} s"
            " (bound 0.12)"
        )
        bad = Path(folder) / "bad.toml"
        bad.write_text("[panel]\nsides = 2\nacross_flat = 120\n")
        print(
            "a refused file over bare             "
            f" {seconds(command('check', str(bad)), env, leaves=2) - bare:.3f} s (bound 0.12)"
        )
        job, out = str(ROOT / "params" / "reading-nook.toml"), f"{folder}/out"
        for count in ("1", ""):  # the last one fills the cache for what follows
            own = env | {"PANEJIG_PROCESSES": count, "PANEJIG_CACHE": f"{folder}/cache{count}"}
            print(cold_builds(job, f"{out}{count}", own, asked.colds))
        print(book_share(job, folder, env))
        same = seconds(command("build", job, "--out", out), env)
        print(f"unchanged rebuild over bare           {same - bare:.3f} s (bound 0.3)")
        laser = seconds(
            command("build", job, "--out", out, "--set", "shop.stock.opal-3.kerf=0.2"), env, 1
        )
        print(f"rebuild after a laser value           {laser:.2f} s")
        layout = seconds(command("build", job, "--out", out, "--set", "layout.turn_deg=30"), env, 1)
        print(f"rebuild after a layout value          {layout:.2f} s")
        watched = subprocess.run(
            [sys.executable, "-c", saved(job, out)],
            check=True,
            env=env,
            cwd=ROOT,
            capture_output=True,
            text=True,
        )
        for line in watched.stdout.splitlines():
            name, look, whole = line.split()
            print(
                f"watch, {name:31s}{float(look):.2f} s to the plan's checks (bound 1),"
                f" {float(whole):.2f} s to the whole build (bound 3)"
            )
        if asked.block:
            wall = Path(folder) / "block.toml"
            wall.write_text(block(asked.block))
            own = env | {"PANEJIG_CACHE": f"{folder}/block"}
            for store, bound in (("empty", 45), ("warm", 6)):
                took, megabytes = watched_check(str(wall), own)
                print(
                    f"check of {asked.block} hexagons, {store:5s} store     {took:.1f} s (bound"
                    f" {bound}), {megabytes:.0f} MB in all processes (bound 800)"
                )
        spent: list[tuple[int, float]] = []
        held: list[tuple[int, float]] = []
        for count in (int(word) for word in asked.panels.split(",")):  # type: ignore[assignment]
            done = subprocess.run(
                [sys.executable, "-c", many(count)],  # type: ignore[arg-type]
                check=True,
                env=env,
                cwd=ROOT,
                capture_output=True,
                text=True,
            )
            took, megabytes = (float(word) for word in done.stdout.split())
            print(f"{count:6d} panels, no solid                {took:.2f} s, {megabytes:.0f} MB")
            spent.append((count, took))  # type: ignore[arg-type]
            held.append((count, megabytes))  # type: ignore[arg-type]
        print(
            f"growth from 100 panels on             time exponent {fitted(spent)}, memory exponent"
            f" {fitted(held)}"
        )


if __name__ == "__main__":
    main()
