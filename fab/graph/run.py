"""Running: wanted products to values.

Each product is found in the store or made, in the order of what it needs.

    begun      what will be asked for; with workers it is made meanwhile, what holds most up first
    asked      the value of a product, waited for: it goes first; without workers it is made now

Whoever makes a product gives the same bytes: it hangs on its values and on what it needs, which
come from the store by their keys. A product whose maker dies or fails is made in this process when
it is asked for, and tells its fault here.
"""

from __future__ import annotations

import heapq
import itertools
import tempfile
import threading
import time
from collections.abc import Callable, Iterable, Sequence
from concurrent.futures import BrokenExecutor, Future
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path
from typing import Any, TypeVar

from fab.graph import workers as others
from fab.graph.elsewhere import Absent, Read, held, made_there
from fab.graph.product import Product
from fab.graph.store import Store

T = TypeVar("T")
Told = Callable[[str, int, int], None]
ASKED = 1e6  # whoever asked waits: that goes before all that was only begun
WAITS, AWAY, HERE, THERE = "waits", "away", "here", "there"


def run(wanted: Sequence[Product[Any]], store: Store, workers: int = 1) -> list[Any]:
    """Return the values of these products."""
    with Run(store, workers) as one:
        return one.values(wanted)


@dataclass(eq=False)
class _Node:
    product: Product[Any]
    rank: float  # time until all is made that hangs on it
    state: str
    missing: set[str] = field(default_factory=set)
    after: list[_Node] = field(default_factory=list)


class Run:
    """Products that were begun and asked for in one go, and what of them was made."""

    def __init__(
        self, store: Store, workers: int = 1, told: Told = lambda name, done, of: None
    ) -> None:
        self._temporary = (
            tempfile.TemporaryDirectory(prefix="panejig-")
            if store.folder is None and workers > 1
            else None
        )
        self.store = Store(Path(self._temporary.name)) if self._temporary else store
        self.workers, self.told = workers, told
        self.made: list[str] = []  # names of what was made, in that order
        self.seconds: dict[str, float] = {}  # name to what its making took
        self._nodes: dict[str, _Node] = {}
        self._ready: list[tuple[float, int, _Node]] = []
        self._count = itertools.count()
        self._away = 0
        self._loose: dict[str, bytes] = {}  # what could not be kept
        self._own: set[str] = set()
        self._change = threading.Condition(threading.RLock())

    def __enter__(self) -> Run:
        return self

    def __exit__(self, *_: object) -> None:
        self.rest()
        if self._temporary is not None:
            self._temporary.cleanup()

    def begin(self, products: Iterable[Product[Any]], above: float = 0.0) -> None:
        """Take what will be asked for; `above`: the time of what waits for it."""
        with self._change:
            for product in products:
                self._plan(product, above)
            self._send()

    def values(self, products: Sequence[Product[T]]) -> list[T]:
        """Return the values of products, all begun before the first is waited for."""
        self.begin(products, ASKED)
        return [self.value(product) for product in products]

    def value(self, product: Product[T]) -> T:
        """Return what a product is read as."""
        self.begin((product,), ASKED)
        while True:
            self._wait_for(self._nodes[product.key])
            try:
                value: T = self._read(product.key, product.read)
                return value
            except Absent:
                with self._change:
                    self._again(product)
                    self._send()

    def beside(self, call: Callable[..., bytes], *args: Any) -> Callable[[], bytes]:
        """Return what fetches the result of a call made meanwhile; not kept."""
        future = (
            others.submit(self.workers, call, *args)
            if self.workers > 1 and others.is_open()
            else None
        )

        def fetched() -> bytes:
            if future is not None:
                try:
                    return bytes(future.result())
                except Exception:
                    # whatever it was: the call is made here, and tells its fault here
                    pass
            return call(*args)

        return fetched

    def rest(self) -> None:
        """Forget what nobody waits for any more."""
        with self._change:
            self._ready.clear()

    # -- order
    # -----------------------------------------------------------------------------------------

    def _plan(self, product: Product[Any], above: float) -> _Node:
        """Put a product and its needs into the order; `above`: the time of what waits for it."""
        rank, node = product.cost + above, self._nodes.get(product.key)
        if node is None:
            node = _Node(product, rank, THERE if self.store.has(product.key) else WAITS)
            self._nodes[product.key] = node
            if node.state != THERE:
                self._wait_on_needs(node)
        elif node.state == WAITS and rank > node.rank:
            node.rank = rank
            for need in product.needs:
                self._plan(need, rank)
            self._push(node)
        return node

    def _wait_on_needs(self, node: _Node) -> None:
        for need in node.product.needs:
            other = self._plan(need, node.rank)
            if other.state != THERE:
                node.missing.add(need.key)
                other.after.append(node)
        self._push(node)

    def _push(self, node: _Node) -> None:
        if node.state == WAITS and not node.missing:
            heapq.heappush(self._ready, (-node.rank, next(self._count), node))

    def _again(self, product: Product[Any]) -> None:
        """A product that was there is to be made anew."""
        self._loose.pop(product.key, None)
        node = self._plan(product, 0.0)
        if node.state == THERE:
            node.state, node.missing = WAITS, set()
            self._wait_on_needs(node)

    # -- making
    # ----------------------------------------------------------------------------------------

    def _send(self) -> None:
        """Hand out what is ready, as much as there are workers.

        A single product is not worth another process.
        """
        if self.workers < 2 or not (
            others.is_open() or sum(node.state == WAITS for node in self._nodes.values()) > 1
        ):
            return
        while self._ready and self._away < self.workers:
            node = heapq.heappop(self._ready)[2]
            if node.state != WAITS or node.missing:
                continue
            if any(need.key in self._loose for need in node.product.needs):
                node.state = HERE
                continue
            made = node.product
            needs = [(need.key, need.read) for need in made.needs]
            future = others.submit(
                self.workers, made_there, self.store.folder, made.make, made.values, needs
            )
            if future is None:
                node.state = HERE
                continue
            node.state = AWAY
            self._away += 1
            future.add_done_callback(partial(self._back, node, others.current()))

    def _back(self, node: _Node, pool: object, done: Future[tuple[str, float, Any]]) -> None:
        """Take in the result of a product that was handed out."""
        with self._change:
            self._away -= 1
            node.state = HERE
            try:
                how, seconds, what = done.result()
            except BrokenExecutor:
                others.forget(pool)
            except BaseException:
                pass  # not to be sent, or given up
            else:
                if how == "made":
                    self._keep(node, what, seconds)
                elif how == "absent":
                    node.state = WAITS
                    self._lacks(node, what)
            self._send()
            self._change.notify_all()

    def _lacks(self, node: _Node, key: str) -> None:
        """A need of a product was taken to be there and is not."""
        need = next(one for one in node.product.needs if one.key == key)
        self.store.damaged.append(key)
        self._again(need)
        self._wait_on_needs(node)

    def _keep(self, node: _Node, content: bytes, seconds: float) -> None:
        """A product was made; in mind, when it can't be kept."""
        key, name = node.product.key, node.product.name
        if not self.store.put(key, content):
            self._loose[key] = content
        self._own.add(key)
        self.made.append(name)
        self.seconds[name] = self.seconds.get(name, 0.0) + seconds
        node.state = THERE
        for other in node.after:
            other.missing.discard(key)
            self._push(other)
        node.after = []

    def _wait_for(self, node: _Node) -> None:
        """Return when a product is there; what no worker makes of it is made now."""
        with self._change:
            while node.state != THERE:
                mine = self._mine(node)
                if mine is None:
                    self._change.wait()
                else:
                    self._make(mine)
                    self._send()
                self._tell()

    def _mine(self, node: _Node) -> _Node | None:
        """The next of a product, or of what it waits for, for this process to make."""
        if node.state == HERE or (node.state == WAITS and not node.missing and self._away == 0):
            return node
        if node.state == WAITS:
            for need in node.product.needs:
                found = self._mine(self._nodes[need.key]) if need.key in node.missing else None
                if found is not None:
                    return found
        return None

    def _make(self, node: _Node) -> None:
        began, product = time.perf_counter(), node.product
        try:
            content = product.make(*product.values, *(self._held(need) for need in product.needs))
        except Absent as absent:
            node.state = WAITS
            self._lacks(node, absent.args[0])
            return
        self._keep(node, content, time.perf_counter() - began)

    def _tell(self) -> None:
        left = [node for node in self._nodes.values() if node.state != THERE]
        name = next(
            (node.product.name for node in left if node.state == AWAY),
            left[0].product.name if left else "",
        )
        self.told(name, len(self.made), len(self.made) + len(left))

    # -- reading
    # ---------------------------------------------------------------------------------------

    def _held(self, product: Product[Any]) -> Any:
        return held(product.key, product.read, lambda: self._read(product.key, product.read))

    def _read(self, key: str, read: Read) -> Any:
        """Raise Absent for what is not there or not readable; a fault if it was made just now."""
        content = self._loose[key] if key in self._loose else self.store.get(key)
        if content is None:
            raise Absent(key)
        try:
            return read(content)
        except Exception as error:  # whatever a reader says of bytes that mean nothing
            if key in self._own:
                raise
            self.store.damaged.append(key)
            raise Absent(key) from error
