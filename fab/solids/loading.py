"""Loading the CAD kernel, once, and as late and as little of it as will do."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from functools import lru_cache
from importlib import import_module
from importlib.util import find_spec
from types import ModuleType
from typing import Any

from fab.errors import MissingKernel


@lru_cache(maxsize=1)
def kernel() -> ModuleType:
    """The cadquery module; MissingKernel in one sentence when it can't be loaded."""
    try:
        with _toolkit_later():
            import cadquery
    except ImportError as error:
        if "libGL" in str(error):
            raise MissingKernel(
                "the CAD kernel needs the system library libGL: on Debian and Ubuntu run "
                "`apt-get install --no-install-recommends libgl1`"
            ) from error
        raise MissingKernel(f"the CAD kernel can't be loaded ({error}); reinstall with `pip install cadquery`") from error
    return cadquery


class _Later(ModuleType):
    """Stands in for a module, which is loaded when something of it is asked for."""

    def __getattr__(self, name: str) -> Any:
        if name.startswith("__"):
            raise AttributeError(name)
        sys.modules.pop(self.__name__, None)
        return getattr(import_module(self.__name__), name)


@contextmanager
def _toolkit_later() -> Iterator[None]:
    """The kernel's bindings load all of a visualisation toolkit to see whether it is installed: a quarter of the time
    that they take. What they use of it they name part by part, so a stand-in will do meanwhile."""
    if "vtk" in sys.modules or find_spec("vtk") is None:
        yield
        return
    sys.modules["vtk"] = later = _Later("vtk")
    try:
        yield
    finally:
        if sys.modules.get("vtk") is later:
            del sys.modules["vtk"]
