"""Names of the package: a class name says one thing wherever it is read."""

import re
from collections import defaultdict
from pathlib import Path

import fab

CLASS = re.compile(r"^\s*class (\w+)", re.MULTILINE)


def test_no_two_classes_share_a_name() -> None:
    """Nested ones included: a name in a traceback or a search leads to one place."""
    homes = defaultdict(list)
    for path in sorted(Path(fab.__file__).parent.rglob("*.py")):
        for name in CLASS.findall(path.read_text(encoding="utf-8")):
            homes[name].append(path.name)
    assert len(homes) > 300
    assert {name: files for name, files in homes.items() if len(files) > 1} == {}
