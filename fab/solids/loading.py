"""Loading the CAD kernel, once, and as late and as little of it as will do."""

from __future__ import annotations

import re
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from functools import lru_cache
from importlib import import_module
from importlib.util import find_spec
from types import ModuleType
from typing import Any

from fab.errors import MissingKernel

_LIBRARY = re.compile(r"(lib[\w.+-]+\.(?:so[\w.]*|dylib|dll))")
PACKAGES = {  # system libraries of the kernel to their packages on Debian and Ubuntu
    "libGL.so.1": "libgl1",
    "libX11.so.6": "libx11-6",
    "libXext.so.6": "libxext6",
    "libXrender.so.1": "libxrender1",
    "libfontconfig.so.1": "libfontconfig1",
    "libfreetype.so.6": "libfreetype6",
    "libgomp.so.1": "libgomp1",
    "libstdc++.so.6": "libstdc++6",
    "libexpat.so.1": "libexpat1",
}


@lru_cache(maxsize=1)
def kernel() -> ModuleType:
    """The cadquery module; MissingKernel with the reason and what helps when it can't be loaded."""
    try:
        with _toolkit_later():
            import cadquery
    except Exception as error:
        raise MissingKernel(why_missing(error)) from error
    return cadquery


def why_missing(error: Exception) -> str:
    """What the kernel lacks, and how to get it."""
    library = _LIBRARY.search(str(error))
    if library is not None and (
        "cannot open shared object" in str(error) or "not found" in str(error)
    ):
        name = library[1]
        package = PACKAGES.get(name)
        works = (
            f"run `apt-get install --no-install-recommends {package}`"
            if package
            else f"install the package with {name}"
        )
        return f"the CAD kernel needs the system library {name}: on Debian and Ubuntu {works}"
    if isinstance(error, ModuleNotFoundError) and error.name:
        package = {"OCP": "cadquery-ocp"}.get(
            error.name.partition(".")[0], error.name.partition(".")[0]
        )
        return (
            f"the CAD kernel needs the Python package {package}, which is missing: run `pip"
            f" install {package}`"
        )
    says = str(error).splitlines()[0] if str(error) else type(error).__name__
    return (
        f"the CAD kernel cannot be loaded: {says}. `pip install --force-reinstall cadquery`"
        " repairs a damaged installation"
    )


class _Later(ModuleType):
    """Stands in for a module, which is loaded when something of it is asked for."""

    def __getattr__(self, name: str) -> Any:
        if name.startswith("__"):
            raise AttributeError(name)
        sys.modules.pop(self.__name__, None)
        return getattr(import_module(self.__name__), name)


@contextmanager
def _toolkit_later() -> Iterator[None]:
    """The kernel's bindings load all of a visualisation toolkit to see whether it is installed: a
    quarter of the time that they take. What they use of it they name part by part, so a stand-in
    will do meanwhile.
    """
    if "vtk" in sys.modules or find_spec("vtk") is None:
        yield
        return
    sys.modules["vtk"] = later = _Later("vtk")
    try:
        yield
    finally:
        if sys.modules.get("vtk") is later:
            del sys.modules["vtk"]
