"""What the proof costs: its share of the time of a cold build of the demo, measured in one run
(bound 15 %).

    python tests/benchmarks/proof_share.py [--runs 3]

Each run is a process of its own with an empty store and no helpers. Both times are processor time
of that one process, imports and all, so that other work on the machine does not count. Prints the
share of each concern and leaves with 1 when the median is over the bound.
"""

from __future__ import annotations

import argparse
import json
import os
import statistics
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import Any

ROOT = Path(__file__).parents[2]
BOUND = 0.15
ONE_RUN = """
import json, sys, time
from collections import Counter
from pathlib import Path
from fab import workshop
from fab.params.read import load
from fab.proof import prove as room

spent = Counter()
one = room._one

def timed(name, tree, values):
    began = time.process_time()
    try:
        return one(name, tree, values)
    finally:
        spent[name] += time.process_time() - began

room._one = timed
workshop.build(load(Path("params/reading-nook.toml")), Path(sys.argv[1]))
print(json.dumps({"build": time.process_time(), "proof": spent}))
"""


def run() -> dict[str, Any]:
    """Seconds of the build, and of each concern of the proof."""
    with tempfile.TemporaryDirectory() as folder:
        env = os.environ | {"PANEJIG_CACHE": f"{folder}/cache", "PANEJIG_PROCESSES": "1"}
        call = [sys.executable, "-c", ONE_RUN, f"{folder}/out"]
        done = subprocess.run(call, check=True, cwd=ROOT, env=env, stdout=subprocess.PIPE)
    return json.loads(done.stdout)


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--runs", type=int, default=3)
    shares = []
    for _ in range(parser.parse_args().runs):
        found = run()
        proof = sum(found["proof"].values())
        shares.append(proof / found["build"])
        parts = ", ".join(
            f"{name} {seconds:.2f}" for name, seconds in sorted(found["proof"].items())
        )
        print(f"build {found['build']:.1f} s, proof {proof:.2f} s ({shares[-1]:.1%}): {parts}")
    share = statistics.median(shares)
    print(f"share of the proof: {share:.1%} (bound {BOUND:.0%})")
    return 1 if share > BOUND else 0


if __name__ == "__main__":
    sys.exit(main())
