"""Print how the source reads, in figures, for the package or for any folder of Python files.

    python tests/tools/readability.py [FOLDER ...]

Lines over 100 characters, functions over 60 lines, the median function, positional booleans,
functions with more than 5 arguments, public functions without a docstring.
"""

from __future__ import annotations

import ast
import statistics
import sys
from collections.abc import Iterator
from pathlib import Path

LONG_LINE, LONG_FUNCTION, MANY_ARGUMENTS = 100, 60, 5
Function = ast.FunctionDef | ast.AsyncFunctionDef


def functions(tree: ast.AST, public: bool = True) -> Iterator[tuple[Function, bool]]:
    """Yield each function of a module and whether it is public: no nested one is."""
    for node in ast.iter_child_nodes(tree):
        if isinstance(node, Function):
            yield node, public and not node.name.startswith("_")
            yield from functions(node, public=False)
        elif isinstance(node, ast.ClassDef):
            yield from functions(node, public=public and not node.name.startswith("_"))
        else:
            yield from functions(node, public=public)


def positional_booleans(function: Function) -> int:
    """Return how many arguments are booleans by type or default that a caller may give by place."""
    known = [*function.args.posonlyargs, *function.args.args]
    defaults: list[ast.expr | None] = [None] * (len(known) - len(function.args.defaults))
    defaults += function.args.defaults
    return sum(
        (isinstance(arg.annotation, ast.Name) and arg.annotation.id == "bool")
        or (isinstance(default, ast.Constant) and isinstance(default.value, bool))
        for arg, default in zip(known, defaults, strict=True)
    )


def measured(folder: Path) -> dict[str, int]:
    """Return the figures of all Python files below a folder, by their labels."""
    texts = [path.read_text(encoding="utf-8") for path in sorted(folder.rglob("*.py"))]
    found = [pair for text in texts for pair in functions(ast.parse(text))]
    lengths = [(node.end_lineno or node.lineno) - node.lineno + 1 for node, _ in found]
    lines = [line for text in texts for line in text.splitlines()]
    counts = [len(f.args.posonlyargs + f.args.args + f.args.kwonlyargs) for f, _ in found]
    shown = [node for node, public in found if public]
    return {
        "files": len(texts),
        "lines": len(lines),
        f"lines over {LONG_LINE} characters": sum(len(line) > LONG_LINE for line in lines),
        "functions": len(found),
        f"functions over {LONG_FUNCTION} lines": sum(n > LONG_FUNCTION for n in lengths),
        "median function, lines": round(statistics.median(lengths)) if lengths else 0,
        "positional booleans": sum(positional_booleans(node) for node, _ in found),
        f"functions with more than {MANY_ARGUMENTS} arguments": sum(
            n > MANY_ARGUMENTS for n in counts
        ),
        "most arguments": max(counts, default=0),
        "public functions": len(shown),
        "public functions without a docstring": sum(ast.get_docstring(f) is None for f in shown),
    }


if __name__ == "__main__":
    for word in sys.argv[1:] or [str(Path(__file__).parents[2] / "fab")]:
        print(word)
        for label, value in measured(Path(word)).items():
            print(f"  {value:>7,}  {label}")
