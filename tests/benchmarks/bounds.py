"""The bounds of speed, each as a ratio or seconds over a bare interpreter measured in this one run.

    python tests/benchmarks/bounds.py [--panels 10,100,1000,10000]

Whole processes, median of several runs; nothing is asserted.
"""

from __future__ import annotations

import argparse
import math
import os
import resource
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).parents[2]


def seconds(code: str, env: dict[str, str], runs: int = 5) -> float:
    """Median wall time of a fresh interpreter that runs `code`."""
    spent = []
    for _ in range(runs):
        began = time.perf_counter()
        subprocess.run([sys.executable, "-c", code], check=False, env=env, cwd=ROOT, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        spent.append(time.perf_counter() - began)
    return statistics.median(spent)


def command(*words: str) -> str:
    return f"from fab.cli.main import main; main({list(words)!r})"


def many(count: int) -> str:
    """Layout, joints, zones, hangers, nest, template and lists of `count` hexagons in one process; no solid."""
    side = math.ceil(math.sqrt(count))
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
job = dataclasses.replace(loaded.job, shop=shop, layout=dataclasses.replace(loaded.job.layout, cells=cells))
began = time.perf_counter()
design = decide(job, lambda plans, layout: {{p.name: PanelMass(190.0, 0.0, 0.0, 15.0) for p in layout.panels}})
nested = cut.nested(design)
template = wall.made_template(design)
rows = lists.addresses(design)
print(time.perf_counter() - began, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024)
"""


def main() -> None:
    words = argparse.ArgumentParser()
    words.add_argument("--panels", default="10,100,1000")
    asked = words.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        env = os.environ | {"PANEJIG_CACHE": f"{folder}/cache"}
        bare = seconds("pass", env)
        print(f"bare interpreter                      {bare:.3f} s")
        print(f"--help over bare                      {seconds(command('--help'), env) - bare:.3f} s (bound 0.15)")
        bad = Path(folder) / "bad.toml"
        bad.write_text("[panel]\nsides = 2\nacross_flat = 120\n")
        print(f"a refused file over bare              {seconds(command('check', str(bad)), env) - bare:.3f} s (bound 0.15)")
        kernel = seconds("import cadquery", env, 3)
        job, out = str(ROOT / "params" / "reading-nook.toml"), f"{folder}/out"
        cold = seconds(command("build", job, "--out", out), env, 1)
        print(f"import cadquery                       {kernel:.2f} s")
        print(f"cold build of the demo                {cold:.2f} s, {cold / kernel:.1f} x the import (bound 5)")
        same = seconds(command("build", job, "--out", out), env)
        print(f"unchanged rebuild over bare           {same - bare:.3f} s (bound 0.4)")
        laser = seconds(command("build", job, "--out", out, "--set", "shop.stock.opal-3.kerf=0.2"), env, 1)
        print(f"rebuild after a laser value           {laser:.2f} s")
        layout = seconds(command("build", job, "--out", out, "--set", "layout.turn_deg=30"), env, 1)
        print(f"rebuild after a layout value          {layout:.2f} s")
        before: tuple[int, float] | None = None
        for count in (int(word) for word in asked.panels.split(",")):
            done = subprocess.run([sys.executable, "-c", many(count)], check=True, env=env, cwd=ROOT, capture_output=True, text=True)
            spent, megabytes = (float(word) for word in done.stdout.split())
            growth = f", exponent {math.log(spent / before[1]) / math.log(count / before[0]):.2f}" if before else ""
            print(f"{count:6d} panels, no solid                {spent:.2f} s, {megabytes:.0f} MB{growth}")
            before = (count, spent)
    print(f"this script's own peak                {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:.0f} MB")


if __name__ == "__main__":
    main()
