"""Cases of a parametrised test, parted between the default run and the slow one."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import pytest


def few(cases: Iterable[Any], *places: int) -> list[Any]:
    """Cases of which the default run takes those at these places, and the slow run the others.

    A tuple holds the values of several arguments.
    """
    return [
        pytest.param(
            *(case if isinstance(case, tuple) else (case,)),
            marks=() if k in places else pytest.mark.slow,
        )
        for k, case in enumerate(cases)
    ]
