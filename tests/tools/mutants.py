"""Break modules in small ways, one at a time, and print what the tests do not notice.

    python -m tests.tools.mutants fab/outlines/kerf.py --tests tests/outlines
    python -m tests.tools.mutants fab/power fab/layout --tests tests/power tests/layout --many 200
    python -m tests.tools.mutants fab/power --only cables.py:176 --tests tests/wall --seconds 60

A comparison is turned, plus becomes minus, times becomes divided, a number moves by one. Figures
inside of texts, `raise` and annotations are left alone. What survives is either harmless (the same
result in another way) or asks for a test.

The tests are collected once. Each mutant is tried in a fork of that process: the broken function's
code takes the place of the sound one, and the tests that call this function run, those of its own
room first, until one fails. Which test calls what is measured once and kept in a file. A mutant
outside of functions, or in one that the collection calls, needs everything loaded anew.
"""

from __future__ import annotations

import argparse
import ast
import gc
import importlib.machinery
import os
import random
import signal
import sys
from collections import Counter, defaultdict
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import partial
from importlib import import_module
from itertools import islice
from pathlib import Path
from types import CodeType, FunctionType
from typing import Any

import numpy as np  # noqa: F401  # loaded before the forks, so that none of them pays for it
import pytest
import shapely  # noqa: F401
from hypothesis import Phase, settings

from tests.tools.calls import (
    ROOT,
    TEST_S,
    Calls,
    Known,
    collected,
    forked,
    functions,
    known_calls,
    limit,
    passed,
)

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


@dataclass(frozen=True)
class Mutant:
    """The `number`-th break of a module; `function` is its outermost function, empty outside."""

    path: str
    number: int
    function: str
    told: str

    def code(self) -> CodeType:
        """Compile the broken module."""
        tree, _ = next(islice(breaks(self.path), self.number, None))
        return compile(tree, str(ROOT / self.path), "exec")


def breaks(path: str) -> Iterator[tuple[ast.Module, Mutant]]:
    """Yield the tree of the module at `path`, relative to the root, in each of its broken states;
    it is sound again when the next one is asked for.
    """
    tree, count = ast.parse((ROOT / path).read_text(encoding="utf-8")), 0
    holder: Any  # the list or dict that the broken thing stands in
    name: int | str
    other: Any
    for node, function in _sites(tree, "", False):
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
        told = f"{path}:{node.lineno}: {before}  ->  {ast.unparse(node)}"
        yield tree, Mutant(path, count, function, told)
        holder[name] = kept
        count += 1


def _sites(node: ast.AST, name: str, inside: bool) -> Iterator[tuple[ast.AST, str]]:
    """Yield the nodes that may be broken, each with its outermost function."""
    if isinstance(node, ast.JoinedStr | ast.Raise):
        return
    yield node, name if inside else ""
    for field, value in ast.iter_fields(node):
        if field in ("annotation", "returns"):
            continue
        below, within = name, inside
        if isinstance(node, ast.FunctionDef | ast.ClassDef) and not inside and field == "body":
            below = f"{name}.{node.name}" if name else node.name
            within = isinstance(node, ast.FunctionDef)
        for child in value if isinstance(value, list) else [value]:
            if isinstance(child, ast.AST):
                yield from _sites(child, below, within)


def chosen(mutant: Mutant, known: Known, most_s: float) -> list[str]:
    """Return the tests for a mutant: its own room's first, then quick files."""
    hit = {f"{mutant.path}:{mutant.function}"}
    if not mutant.function:  # whoever imports the module
        word = mutant.path[:-3].replace("/", ".")
        users = [p for p in (ROOT / "fab").rglob("*.py") if word in p.read_text(encoding="utf-8")]
        hit = {mutant.path, *(str(p.relative_to(ROOT)) for p in users)}
    of = [test for test, (_, calls) in known.items() if hit & calls]
    room = mutant.path.split("/")[1]
    file_s: dict[str, float] = defaultdict(float)
    for test in of:
        file_s[test.split("::")[0]] += known[test][0]

    def turn(test: str) -> tuple[bool, float, str, float]:
        file = test.split("::", maxsplit=1)[0]
        return file.split("/")[1] != room, file_s[file], file, known[test][0]

    some: list[str] = []
    total = 0.0
    for test in sorted(of, key=turn):
        if total + known[test][0] <= most_s:
            total += known[test][0]
            some.append(test)
    return some


def put_in_place(mutant: Mutant, loaded: dict[str, list[FunctionType]]) -> None:
    """Give the broken code to the function, whoever holds it under whatever name."""
    inside = [mutant.code()]
    for code in inside:
        inside += [const for const in code.co_consts if isinstance(const, CodeType)]
    (broken,) = [code for code in inside if code.co_qualname == mutant.function]
    for function in loaded[f"{mutant.path}:{mutant.function}"]:
        function.__code__ = broken


def survives_anew(mutant: Mutant, tests: list[str], known: Known, marks: str) -> bool:
    """Load everything with the broken module in its place; return whether no test fails."""
    path, broken = str(ROOT / mutant.path), mutant.code()
    sound = importlib.machinery.SourceFileLoader.get_code

    def get_code(loader: Any, name: str) -> Any:
        return broken if loader.path == path else sound(loader, name)

    setattr(importlib.machinery.SourceFileLoader, "get_code", get_code)  # noqa: B010  # for mypy
    place = {test: k for k, test in enumerate(tests)}

    def job(session: pytest.Session) -> bool:
        items = [item for item in session.items if item.nodeid in place]
        return passed(sorted(items, key=lambda item: place[item.nodeid]), known)

    files = list(dict.fromkeys(test.split("::")[0] for test in tests))
    limit(TEST_S)
    return not tests or collected(files, marks, job) is True


def tried(mutant: Mutant, survives: Callable[[], bool]) -> str:
    """Return what became of a mutant, and print it."""
    answer, ended_by = forked(survives, aside=True)
    assert answer is not None or ended_by, f"no answer from {mutant.told}"
    late = ended_by in (signal.SIGPROF, signal.SIGALRM)
    word = "timed out" if late else "survived" if answer else "killed"
    print(f"{word}: {mutant.told}", flush=True)
    return word


def main() -> int:
    """Try a sample; return 1 when a mutant survived."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n", maxsplit=1)[0])
    parser.add_argument("modules", nargs="+", help="files or folders of fab")
    parser.add_argument("--tests", nargs="+", required=True, help="files or folders of tests")
    parser.add_argument("--marks", default="not slow", help="which of the tests, as pytest's -m")
    parser.add_argument("--many", type=int, default=0, help="sample so many; 0: all")
    parser.add_argument("--seed", type=int, default=7)
    parser.add_argument("--seconds", type=float, default=10.0, help="of tests for one mutant")
    parser.add_argument("--only", default="", help="those whose line holds this text")
    asked = parser.parse_args()
    os.chdir(ROOT)
    # the first failure is enough, the smallest one takes long; the profiles of the tests follow it
    settings.register_profile("no shrinking", phases=[Phase.explicit, Phase.generate])
    settings.load_profile("no shrinking")
    paths = [p for m in asked.modules for p in (sorted(Path(m).glob("**/*.py")) or [Path(m)])]
    found = [m for path in paths for _, m in breaks(str(path)) if asked.only in m.told]
    sample = random.Random(asked.seed).sample(found, min(asked.many or len(found), len(found)))
    known = known_calls(asked.tests, asked.marks)
    tests = {mutant: chosen(mutant, known, asked.seconds) for mutant in sample}
    began, calls = sum(os.times()[:4]), Calls()

    def in_forks(session: pytest.Session) -> list[str | None]:
        """Try what the collection did not call: it is in no test's parameters."""
        sys.setprofile(None)
        for path in paths:
            import_module(str(path)[:-3].replace("/", "."))
        items = {item.nodeid: item for item in session.items}
        early, loaded = calls.named(), functions()
        gc.freeze()  # what no fork touches is not copied

        def one(mutant: Mutant) -> bool:
            put_in_place(mutant, loaded)
            return passed([items[test] for test in tests[mutant]], known)

        return [
            tried(mutant, partial(one, mutant))
            if mutant.function and f"{mutant.path}:{mutant.function}" not in early
            else None
            for mutant in sample
        ]

    def quick() -> list[str | None]:
        sys.setprofile(calls)
        return collected(asked.tests, asked.marks, in_forks)

    first, _ = forked(quick, aside=False)
    words = Counter(
        word or tried(m, partial(survives_anew, m, tests[m], known, asked.marks))
        for m, word in zip(sample, first, strict=True)
    )
    spent = sum(os.times()[:4]) - began
    print(f"{len(found)} mutants, {len(sample)} tried: {dict(words)}")
    print(f"{spent / max(len(sample), 1):.2f} s of processor time each")
    return int(words["survived"] > 0)


if __name__ == "__main__":
    sys.exit(main())
