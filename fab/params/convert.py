"""The merged tree to the frozen job: every value converted, every fault collected."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from fab.errors import Fault
from fab.params.job import Job
from fab.params.keys import may_extend, nearest
from fab.params.one_value import Bad, label, name_like
from fab.params.quoting import clean, short, show, show_key
from fab.params.shop import Shop
from fab.params.spec import Spec, defaults, specs
from fab.params.trade import nearest_name, trade_of
from fab.params.tree import Leaf, Node, TableNode, Tables, Where
from fab.params.values import convert
from fab.units import some

Path = tuple[str | int, ...]
DESIGN_NAMES_TAKEN = ("panel",)  # the job's main design


@dataclass(frozen=True)
class Changed:
    """A value that differs from the built-in default."""

    key: str  # dotted
    value: str  # as in the file
    default: str
    where: str  # "job.toml:12", the same on every machine


@dataclass
class Converter:
    """Goes through a tree with the declarations in hand."""

    faults: list[Fault] = field(default_factory=list)
    changed: list[Changed] = field(default_factory=list)

    def job(self, table: TableNode) -> Job:
        """The job; values with faults are their defaults in it."""
        strange = table.items.keys() - specs(Job).keys()
        if len(strange) > 1 and strange <= specs(Shop).keys() | {"extends"}:
            works = 'A job names it: shop = "./this-file.toml".'
            self._refuse(
                table.where,
                (),
                f"this is a shop file, not a job file: it has {', '.join(sorted(strange))}.",
                works,
            )
            return Job()
        if len(strange) > 1 and {"sides"} < strange:
            works = 'A job names it: panel = "./this-file.toml".'
            self._refuse(table.where, (), "this is a panel file, not a job file.", works)
            return Job()
        found = self.table(Job, table, ())
        assert isinstance(found, Job)
        return found

    def table(self, model: type, table: TableNode, path: Path, *, note: bool = True) -> Any:
        """One dataclass from one table."""
        known = specs(model)
        given: dict[str, Any] = {}
        for key, node in table.items.items():
            if key in known:
                if self._key(known[key], node, (*path, key), given, note=note):
                    continue
            else:
                self._unknown(model, node, path, key)
        return model(**given)

    def _key(
        self, spec: Spec, node: Node, path: Path, given: dict[str, Any], *, note: bool
    ) -> bool:
        key = str(path[-1])
        if spec.kind == "section":
            assert spec.made_of is not None
            if not isinstance(node, TableNode):
                works = f"Write [{show_key(path)}]" + (
                    f', or {key} = "NAME".' if may_extend(path) else "."
                )
                return self._refuse(node.where, path, f"{_shown(node)} is not a table.", works)
            given[key] = self.table(spec.made_of, node, path, note=note)
        elif spec.kind == "named":
            return self._named(spec, node, path, given)
        elif spec.kind == "sections":
            return self._sections(spec, node, path, given)
        elif spec.kind == "prices":
            return self._prices(spec, node, path, given)
        elif not isinstance(node, Leaf):
            what = "this is a table" if isinstance(node, TableNode) else "these are tables"
            return self._refuse(
                node.where,
                path,
                f"{what}, but this key needs a value ({label(spec)}).",
                f"Write {path[-1]} = ...",
            )
        else:
            self._leaf(spec, node, path, given, note=note)
        return True

    def _leaf(
        self, spec: Spec, leaf: Leaf, path: Path, given: dict[str, Any], *, note: bool
    ) -> None:
        value = leaf.value
        if (
            spec.kind in ("text", "choice", "drawing")
            and leaf.raw is not None
            and not isinstance(value, str)
        ):
            value = leaf.raw  # --set job=2024 means the text
        try:
            found = convert(spec, value)
        except Bad as bad:
            self._refuse(leaf.where, path, bad.says, bad.works)
            return
        given[str(path[-1])] = found
        if note:
            self._note(path, value, found, leaf.where)

    def _note(self, path: Path, value: Any, found: Any, where: Where) -> None:
        usual = _default(path)
        if found != usual:
            self.changed.append(Changed(show_key(path), show(value), show(usual), where.told))

    def _named(self, spec: Spec, node: Node, path: Path, given: dict[str, Any]) -> bool:
        assert spec.made_of is not None
        if not isinstance(node, TableNode):
            return self._refuse(
                node.where,
                path,
                f"{_shown(node)} is not a table of named tables.",
                f"Write [{show_key((*path, 'a-name'))}].",
            )
        if len(node.items) > spec.most_items:
            return self._refuse(
                node.where,
                path,
                f"has {some(len(node.items), 'table')}.",
                f"At most {spec.most_items} are read.",
            )
        found = {}
        for name in sorted(node.items):
            item, inner = node.items[name], (*path, name)
            try:
                convert(Spec("text", spec.doc, most=spec.most, pattern=spec.pattern), name)
            except Bad as bad:
                better = name_like(name)
                self._refuse(
                    item.where,
                    inner,
                    bad.says,
                    bad.works or (f"For example {better}." if better else ""),
                )
                continue
            if path == ("designs",) and name in DESIGN_NAMES_TAKEN:
                self._refuse(
                    item.where,
                    inner,
                    f"{name} is the name of the job's main design.",
                    "Give it another name.",
                )
            elif not isinstance(item, TableNode):
                self._refuse(
                    item.where,
                    inner,
                    f"{_shown(item)} is not a table.",
                    f"Write [{show_key(inner)}].",
                )
            else:
                found[name] = self.table(spec.made_of, item, inner)
        given[str(path[-1])] = found
        return True

    def _prices(self, spec: Spec, node: Node, path: Path, given: dict[str, Any]) -> bool:
        """A table of prices; a name that no parts list has is refused with the nearest."""
        if not isinstance(node, TableNode):
            works = f'Write [{show_key(path)}] and below it "wall plug" = 0.2.'
            return self._refuse(
                node.where, path, f"{_shown(node)} is not a table of prices.", works
            )
        found: dict[str, Any] = {}
        price = Spec("number", spec.doc, spec.unit, spec.least, spec.most)
        for name in sorted(node.items):
            item, inner = node.items[name], (*path, name)
            if trade_of(name) is None:
                says = f"{show(name)} is not a name of the parts list."
                self._refuse(item.where, inner, says, nearest_name(name))
            elif not isinstance(item, Leaf):
                works = f"Write {show_key((name,))} = 0.2."
                self._refuse(item.where, inner, f"{_shown(item)} is not a price.", works)
            else:
                self._leaf(price, item, inner, found, note=False)
        given[str(path[-1])] = found
        if found:
            told = f"{len(found)} {'price' if len(found) == 1 else 'prices'}"
            self.changed.append(Changed(show_key(path), told, "none", node.where.told))
        return True

    def _sections(self, spec: Spec, node: Node, path: Path, given: dict[str, Any]) -> bool:
        assert spec.made_of is not None
        if isinstance(node, Leaf) and node.value == []:
            node = Tables((), node.where)
        if not isinstance(node, Tables):
            works = f"Write [[{show_key(path)}]] with two brackets at the head of each table."
            return self._refuse(node.where, path, f"{_shown(node)} is not a list of tables.", works)
        if len(node.items) > spec.most_items:
            return self._refuse(
                node.where,
                path,
                f"has {some(len(node.items), 'entry')}.",
                f"At most {spec.most_items:,} are read.",
            )
        made = spec.made_of
        given[str(path[-1])] = tuple(
            self.table(made, item, (*path, place), note=False)
            for place, item in enumerate(node.items)
        )
        if node.items:
            count = f"{len(node.items)} {'entry' if len(node.items) == 1 else 'entries'}"
            self.changed.append(Changed(show_key(path), count, "none", node.where.told))
        return True

    def _unknown(self, model: type, node: Node, path: Path, key: str) -> None:
        if key == "extends" and not may_extend(path):
            works = (
                "Write `extends` in [shop], in [panel], in a table of [designs], or at the top of"
                " their files."
            )
            self._refuse(node.where, (*path, key), "`extends` cannot be used here.", works)
            return
        self._refuse(
            node.where,
            (*path, key),
            f'unknown key "{clean(short(key))}".',
            nearest(model, path, key),
        )

    def _refuse(self, where: Where, path: Path, says: str, works: str) -> bool:
        self.faults.append(Fault(show_key(path), says, works, where=str(where)))
        return True


def _default(path: Path) -> Any:
    """The built-in default behind a path."""
    model: type = Job
    names = iter(path)
    for name in names:
        spec = specs(model)[str(name)]
        if spec.made_of is None:
            return defaults(model)[str(name)]
        model = spec.made_of
        if spec.kind == "named":
            next(names)
    return None


def _shown(node: Node) -> str:
    if isinstance(node, Leaf):
        return show(node.value)
    return "a table" if isinstance(node, TableNode) else "a list of tables"
