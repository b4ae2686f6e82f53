"""Declaration of a parameter: the metadata of validation, reference page and JSON Schema.

A parameter is a field of a `ParamTable`, made with one of the functions below; its `Spec` says what
may stand in the file. There is no second list of parameters anywhere.
"""

from __future__ import annotations

from dataclasses import MISSING, FrozenInstanceError, dataclass, field, fields
from functools import cache
from typing import Any, NoReturn, dataclass_transform

FAR_MM = 100_000.0  # no point of a wall or a sheet lies further out: 100 m
FAR_CELLS = 100_000  # nor any lattice cell
NAME_PATTERN = r"[A-Za-z0-9][A-Za-z0-9_\-]*"  # names that may end up in the name of a file


@dataclass(frozen=True)
class Spec:
    """Everything declared about the value behind one key."""

    # length number count choice flag text pair points rings curves cells cell drawing names numbers
    # prices section sections named
    kind: str
    doc: str
    unit: str = ""
    least: float | None = None
    most: float | None = None
    options: tuple[str, ...] = ()
    optional: bool = False  # may be left out, and is worked out then
    follows: str = ""  # the rule by which it is derived from other values when it is left out
    made_of: type | None = None  # the dataclass of a section
    pattern: str = ""  # full match asked of a text
    most_items: int = 10_000
    source: str = ""  # where a default or a bound comes from
    word: str = ""  # a word that means the same as leaving the key out
    example: str = ""  # rows of a text that takes several


@dataclass_transform(frozen_default=True, kw_only_default=True)
class ParamTable:
    """A frozen dataclass whose fields are parameters, each with a default.

    Its methods stand here once: generated for each table they cost a third of a refused file's
    time.
    """

    def __init_subclass__(cls) -> None:
        dataclass(init=False, repr=False, eq=False)(cls)

    def __init__(self, **given: Any) -> None:
        model: type = type(self)
        usual = defaults(model)
        if strange := given.keys() - usual.keys():
            raise TypeError(f"{model.__name__} has no {', '.join(sorted(strange))}")
        vars(self).update(usual | given)

    def __repr__(self) -> str:
        values = ", ".join(f"{name}={value!r}" for name, value in vars(self).items())
        return f"{type(self).__name__}({values})"

    def __eq__(self, other: object) -> bool:
        return type(self) is type(other) and vars(self) == vars(other)

    def __hash__(self) -> int:
        return hash(tuple(vars(self).values()))

    def __setattr__(self, name: str, value: Any) -> NoReturn:
        raise FrozenInstanceError(f"cannot assign to field {name!r}")

    def __delattr__(self, name: str) -> NoReturn:
        raise FrozenInstanceError(f"cannot delete field {name!r}")


def _field(spec: Spec, default: Any) -> Any:
    return field(default=default, metadata={"spec": spec})


def length(
    default: Any,
    doc: str,
    least: float = 0.0,
    most: float = 10_000.0,
    *,
    source: str = "",
    follows: str = "",
) -> Any:
    """A length in mm, or a string with a unit. `None` as default: worked out when left out, by the
    rule that `follows` tells.
    """
    spec = Spec(
        "length", doc, "mm", least, most, optional=default is None, follows=follows, source=source
    )
    return _field(spec, default)


def number(
    default: Any,
    doc: str,
    least: float = 0.0,
    most: float = 1e9,
    *,
    unit: str = "",
    source: str = "",
    word: str = "",
) -> Any:
    """A plain number in `unit`; `word` may stand in its place and means the default None."""
    return _field(
        Spec("number", doc, unit, least, most, optional=default is None, source=source, word=word),
        default,
    )


def count(
    default: Any, doc: str, least: int = 0, most: int = 1_000_000, *, follows: str = ""
) -> Any:
    """A whole number."""
    return _field(
        Spec("count", doc, "", least, most, optional=default is None, follows=follows), default
    )


def choice(default: Any, options: tuple[str, ...], doc: str, *, follows: str = "") -> Any:
    """One word of a few."""
    spec = Spec("choice", doc, options=options, optional=default is None, follows=follows)
    return _field(spec, default)


def flag(default: bool, doc: str) -> Any:
    """true or false."""
    return _field(Spec("flag", doc), default)


def text(default: Any, doc: str, *, most: int = 200, pattern: str = "") -> Any:
    """A line of text of at most `most` characters."""
    return _field(Spec("text", doc, most=most, pattern=pattern, optional=default is None), default)


def pair(default: Any, doc: str, least: float = 0.0, most: float = 10_000.0) -> Any:
    """Two lengths [x, y] in mm."""
    return _field(Spec("pair", doc, "mm", least, most, optional=default is None), default)


def points(default: Any, doc: str, *, most_items: int = 100_000) -> Any:
    """A list of points [[x, y], ...] in mm."""
    return _field(Spec("points", doc, "mm", -FAR_MM, FAR_MM, most_items=most_items), default)


def rings(default: Any, doc: str) -> Any:
    """A list of lists of points in mm."""
    return _field(Spec("rings", doc, "mm", -FAR_MM, FAR_MM), default)


def curves(default: Any, doc: str, *, most_items: int = 2_000) -> Any:
    """A list of closed curves, each a list of corners [x, y] or [x, y, bulge] in mm."""
    return _field(Spec("curves", doc, "mm", -FAR_MM, FAR_MM, most_items=most_items), default)


def drawing(default: Any, doc: str, example: str) -> Any:
    """A text of rows, or a list of rows."""
    return _field(Spec("drawing", doc, most=200_000, example=example), default)


def cells(default: Any, doc: str) -> Any:
    """A list of lattice cells [[q, r], ...]."""
    return _field(Spec("cells", doc, "", -FAR_CELLS, FAR_CELLS, most_items=20_000), default)


def cell(default: Any, doc: str) -> Any:
    """One lattice cell [q, r]."""
    return _field(Spec("cell", doc, "", -FAR_CELLS, FAR_CELLS, optional=True), default)


def names(default: Any, doc: str, *, most: int = 60) -> Any:
    """A list of words."""
    return _field(Spec("names", doc, most=most, most_items=20_000), default)


def numbers(default: Any, doc: str, *, unit: str = "") -> Any:
    """A list of numbers."""
    return _field(Spec("numbers", doc, unit, -FAR_MM, FAR_MM), default)


def prices(doc: str) -> Any:
    """A table of names of the parts list and their prices."""
    spec = Spec("prices", doc, "money", 0.0, 1e6, most_items=500)
    return field(default_factory=dict, metadata={"spec": spec})


def section(made_of: type, doc: str, *, optional: bool = False) -> Any:
    """A table with keys of its own."""
    spec = Spec("section", doc, made_of=made_of, optional=optional)
    if optional:
        return field(default=None, metadata={"spec": spec})
    return field(default_factory=made_of, metadata={"spec": spec})


def sections(made_of: type, doc: str) -> Any:
    """An array of tables."""
    return field(
        default=(), metadata={"spec": Spec("sections", doc, made_of=made_of, most_items=20_000)}
    )


def named(made_of: type, doc: str) -> Any:
    """Tables under names that the maker chooses; the names may end up in file names."""
    spec = Spec("named", doc, most=60, made_of=made_of, pattern=NAME_PATTERN, most_items=200)
    return field(default_factory=dict, metadata={"spec": spec})


@cache
def specs(model: type) -> dict[str, Spec]:
    """Key to Spec of one dataclass, in the order of declaration. The caller changes nothing."""
    return {item.name: item.metadata["spec"] for item in fields(model) if "spec" in item.metadata}


@cache
def defaults(model: type) -> dict[str, Any]:
    """Key to default of one dataclass. The caller changes nothing."""
    return {
        item.name: item.default if item.default_factory is MISSING else item.default_factory()
        for item in fields(model)
    }
