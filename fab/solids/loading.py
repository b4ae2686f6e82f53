"""Loading the CAD kernel, once, and as late and as little of it as will do."""

from __future__ import annotations

import re
import sys
import threading
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


SHAPES = {  # what is asked of the kernel day by day, and the modules that it stands in
    "cadquery.occ_impl.geom": ("Location", "Vector"),
    "cadquery.occ_impl.shapes": ("Compound", "Edge", "Face", "Shape", "Shell", "Solid", "Wire"),
}
_one = threading.Lock()  # two threads may want the kernel at once


@lru_cache(maxsize=1)
def kernel() -> ModuleType:
    """The cadquery module; MissingKernel with the reason and what helps when it can't be loaded.

    Its shapes are loaded; what else is asked of it loads all the rest.
    """
    try:
        with _one, _toolkit_later():
            return _shapes()
    except Exception as error:
        raise MissingKernel(why_missing(error)) from error


def loaded_as(_process: int) -> bytes:
    """Load the kernel; its name, as a product of one process among several."""
    return kernel().__name__.encode()


def _shapes() -> ModuleType:
    """The package without running what stands at its head, which loads solvers and formats that
    take as long as the shapes.
    """
    if "cadquery" in sys.modules or (spec := find_spec("cadquery")) is None:
        return import_module("cadquery")
    sys.modules["cadquery"] = package = _InPart("cadquery")
    package.__spec__, package.__path__ = spec, list(spec.submodule_search_locations or ())
    package.__file__, package.__package__ = spec.origin, "cadquery"
    try:
        for module, names in SHAPES.items():
            found = import_module(module)
            vars(package).update({name: getattr(found, name) for name in names})
    except BaseException:
        for name in [name for name in sys.modules if name.partition(".")[0] == "cadquery"]:
            del sys.modules[name]
        raise
    return package


class _InPart(ModuleType):
    """A package of which only modules were loaded; it runs its head, and is as any other, when
    something else is asked for.
    """

    def __getattr__(self, name: str) -> Any:
        if name.startswith("__") or self.__spec__ is None or self.__spec__.loader is None:
            raise AttributeError(name)
        with _toolkit_later():
            self.__class__ = ModuleType  # type: ignore[assignment]
            self.__spec__.loader.exec_module(self)
        return getattr(self, name)


def why_missing(error: Exception) -> str:
    """The reason why the kernel does not load, and how to get it."""
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
    """Stands in for a module, which is loaded when an attribute of it is asked for."""

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
