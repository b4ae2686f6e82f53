"""Break a module in small ways, one at a time, and print what its tests do not notice.

    python tests/tools/mutants.py fab/outlines/kerf.py tests/outlines/test_kerf.py [--many 20]

A comparison is turned, plus becomes minus, times becomes divided, a number moves by one. It works
on a copy of the tree. What survives is either harmless (the same result in another way) or asks for
a test.
"""

from __future__ import annotations

import argparse
import ast
import os
import random
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

ROOT = Path(__file__).parents[2]
TURNED: dict[type[ast.AST], type[ast.AST]] = {
    ast.Lt: ast.GtE,
    ast.LtE: ast.Gt,
    ast.Gt: ast.LtE,
    ast.GtE: ast.Lt,
    ast.Eq: ast.NotEq,
    ast.NotEq: ast.Eq,
    ast.Add: ast.Sub,
    ast.Sub: ast.Add,
    ast.Mult: ast.Div,
    ast.Div: ast.Mult,
    ast.And: ast.Or,
    ast.Or: ast.And,
}
SLOWEST_S = 120.0  # a mutant whose tests take longer than this is noticed: it never ends


def mutants(source: str) -> Iterator[tuple[int, str, str]]:
    """Yield each mutant of a module: line, what it was and became, source."""
    tree = ast.parse(source)
    holder: Any  # the list or dict that the broken thing stands in
    name: int | str
    other: Any
    for node in ast.walk(tree):
        if isinstance(node, ast.Compare) and type(node.ops[0]) in TURNED:
            holder, name, other = node.ops, 0, TURNED[type(node.ops[0])]()
        elif isinstance(node, ast.BinOp | ast.BoolOp) and type(node.op) in TURNED:
            holder, name, other = vars(node), "op", TURNED[type(node.op)]()
        elif isinstance(node, ast.Constant) and isinstance(node.value, int | float):
            if isinstance(node.value, bool):
                continue
            holder, name, other = vars(node), "value", node.value + 1
        else:
            continue
        before, kept = ast.unparse(node), holder[name]
        holder[name] = other
        yield node.lineno, f"{before}  ->  {ast.unparse(node)}", ast.unparse(tree)
        holder[name] = kept


def noticed(home: Path, tests: list[str]) -> bool:
    """Return whether the tests fail on the tree in `home`."""
    command = [sys.executable, "-m", "pytest", "-x", "-n", "0", "-p", "no:cacheprovider", *tests]
    env = os.environ | {"PYTHONPATH": str(home)}
    try:
        done = subprocess.run(
            command, cwd=home, env=env, capture_output=True, timeout=SLOWEST_S, check=False
        )
    except subprocess.TimeoutExpired:
        return True
    return done.returncode != 0


def main() -> int:
    """Run the sample; return 1 when a mutant survived, 2 when the tests fail on the module as it
    is.
    """
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("module", type=Path)
    parser.add_argument("tests", nargs="+")
    parser.add_argument("--many", type=int, default=20)
    parser.add_argument("--seed", type=int, default=7)
    asked = parser.parse_args()
    source = (ROOT / asked.module).read_text(encoding="utf-8")
    found = list(mutants(source))
    sample = random.Random(asked.seed).sample(found, min(asked.many, len(found)))
    with tempfile.TemporaryDirectory() as folder:
        home = Path(folder) / "tree"
        left_out = shutil.ignore_patterns(".git", ".venv", "__pycache__", "out")
        shutil.copytree(ROOT, home, ignore=left_out)
        if noticed(home, asked.tests):
            print("the tests fail on the module as it is")
            return 2
        survived = 0
        for line, what, broken in sorted(sample):
            (home / asked.module).write_text(broken, encoding="utf-8")
            if not noticed(home, asked.tests):
                survived += 1
                print(f"{asked.module}:{line}: {what}", flush=True)
    print(f"{asked.module}: {len(sample)} of {len(found)} mutants, {survived} survived")
    return int(survived > 0)


if __name__ == "__main__":
    sys.exit(main())
