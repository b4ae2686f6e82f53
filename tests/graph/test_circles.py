"""No module imports, at once or later, what imports it: neither in a room nor between rooms."""

from __future__ import annotations

import re
from pathlib import Path

import networkx as nx

PACKAGE = Path(__file__).parents[2] / "fab"


FOR_TYPES = re.compile(r"^if TYPE_CHECKING:\n(?:    .*\n|\n)+", re.MULTILINE)
FROM = re.compile(r"^ *from (fab[\w.]*) import (\([^)]*\)|.*)$", re.MULTILINE)
WHOLE = re.compile(r"^ *import (fab[\w.]*)", re.MULTILINE)


def imports(text: str, modules: set[str]) -> set[str]:
    """The modules that a source imports anywhere in it, but for what a type checker alone sees."""
    seen = FOR_TYPES.sub("", text)
    found: set[str] = set()
    for module, words in FROM.findall(seen):
        names = {f"{module}.{name}" for name in re.findall(r"\w+", words)} & modules
        found |= names or ({module} & modules)
    return found | (set(WHOLE.findall(seen)) & modules)


def circles(sources: dict[str, str]) -> list[list[str]]:
    """Groups of modules that import each other, lazily or not."""
    net = nx.DiGraph(
        (name, other)
        for name, text in sources.items()
        for other in imports(text, set(sources))
        if other != name
    )
    return [sorted(group) for group in nx.strongly_connected_components(net) if len(group) > 1]


def test_no_two_modules_import_each_other() -> None:
    sources = {
        ".".join(("fab", *path.relative_to(PACKAGE).with_suffix("").parts)): path.read_text(
            encoding="utf-8"
        )
        for path in PACKAGE.rglob("*.py")
    }
    assert len(sources) > 300
    assert circles(sources) == []


def test_a_circle_is_found_wherever_it_stands() -> None:
    later = "def f():\n    from fab.a import x\n"
    assert circles({"fab.a": "from fab import b", "fab.b": later, "fab.c": "import fab.a"}) == [
        ["fab.a", "fab.b"]
    ]
    typed = "if TYPE_CHECKING:\n    from fab.a import x\n"
    assert circles({"fab.a": "from fab import b", "fab.b": typed}) == []
