"""The rooms whose tests load no CAD kernel in the default run: run them while you work on them."""

from __future__ import annotations

import sys

ROOMS = (
    "files",
    "graph",
    "layout",
    "light",
    "mend",
    "outlines",
    "params",
    "power",
    "prints",
    "sheets",
    "wall",
)


def kernel_calls() -> int:
    """Return how often this process has asked for the kernel, whether it was loaded or not.

    `fab.solids.loading.kernel` is the one way to it, and counts its calls because it remembers
    its answer.
    """
    loading = sys.modules.get("fab.solids.loading")
    if loading is None:
        return 0
    counted = loading.kernel.cache_info()
    return int(counted.hits + counted.misses)
