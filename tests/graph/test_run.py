"""Products are made in the order of what they need, by whoever has hands free, with the same bytes;
a death costs time only.
"""

from __future__ import annotations

import hashlib
import json
import os
import random
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fab.graph import workers
from fab.graph.product import Product
from fab.graph.run import ASKED, Run, run
from fab.graph.store import Store

ROOT = Path(__file__).parents[2]


@pytest.fixture(scope="module", autouse=True)
def nobody_left() -> Iterator[None]:
    yield
    workers.let_go()


def chain(seed: int, *needed: bytes) -> bytes:
    """Bytes that hang on a number and on all that is needed."""
    return hashlib.sha256(b"".join((str(seed).encode(), *needed))).digest()


def pid(_: int, *needed: bytes) -> bytes:
    return str(os.getpid()).encode()


def dies(parent: int, *needed: bytes) -> bytes:
    """Kills every process but the one that started the run."""
    if os.getpid() != parent:
        os.kill(os.getpid(), signal.SIGKILL)
    return b"made here"


def fails(parent: int) -> bytes:
    if os.getpid() != parent:
        raise ValueError("there")
    raise LookupError("here")


def threshold() -> bytes:
    import gc

    return repr(gc.get_threshold()).encode()


def slow(seconds: float) -> bytes:
    time.sleep(seconds)
    return b"slow"


def random_graph(dice: random.Random, count: int) -> list[Product[bytes]]:
    """Products of which each needs some of those before it."""
    made: list[Product[bytes]] = []
    for k in range(count):
        needs = tuple(dice.sample(made, dice.randint(0, min(3, len(made)))))
        made.append(Product(f"p{k}", chain, (dice.randint(0, 99),), needs, cost=dice.random()))
    return made


def by_hand(product: Product[bytes]) -> bytes:
    return chain(*product.values, *(by_hand(need) for need in product.needs))


@settings(max_examples=25)
@given(st.integers(0, 2**32), st.integers(1, 12))
def test_any_graph_gives_what_its_functions_give(seed: int, count: int) -> None:
    made = random_graph(random.Random(seed), count)
    assert run(made, Store(None)) == [by_hand(one) for one in made]


def test_a_single_product_is_not_worth_another_process(tmp_path: Path) -> None:
    workers.let_go()
    assert run([Product("pid", pid, (1,))], Store(tmp_path), 2) == [str(os.getpid()).encode()]
    assert not workers.is_open()


def test_the_same_with_other_processes_and_from_a_store(tmp_path: Path) -> None:
    dice = random.Random(20261129)
    for k in range(4):
        made, wanted = (
            random_graph(dice, 30),
            [by_hand(one) for one in random_graph(random.Random(0), 0)],
        )
        wanted = [by_hand(one) for one in made]
        with Run(Store(tmp_path / str(k)), 2) as cold:
            assert cold.values(made) == wanted
        keys = {one.key for one in made}
        assert len(cold.made) == len(keys)  # each once, though several need it
        with Run(Store(tmp_path / str(k)), 2) as warm:
            assert warm.values(made) == wanted
        assert warm.made == []
        assert run(made, Store(None), 2) == wanted  # a store for this run alone
    assert workers.is_open()


def test_what_holds_most_up_is_begun_first(tmp_path: Path) -> None:
    """One worker's worth of order: the head of the longest chain before what is longer by
    itself.
    """
    head: Product[Any] = Product("head", chain, (1,), cost=1.0)
    tail: Product[Any] = Product("tail", chain, (2,), (head,), cost=5.0)
    single: Product[Any] = Product("single", chain, (3,), cost=3.0)
    with Run(Store(tmp_path), 1) as one:
        one.begin([single, tail])
        assert [
            entry[2].product.name for entry in sorted(one._ready, key=lambda entry: entry[:2])
        ] == ["head", "single"]


def test_what_is_asked_for_goes_before_what_is_only_begun(tmp_path: Path) -> None:
    """With what it needs, whatever that takes."""
    head: Product[Any] = Product("head", chain, (1,), cost=1.0)
    asked: Product[Any] = Product("asked", chain, (2,), (head,), cost=1.0)
    long: Product[Any] = Product("long", chain, (3,), cost=50.0)
    with Run(Store(tmp_path), 1) as one:
        one.begin([long, asked])
        assert one._ready[0][2].product.name == "long"
        one.begin([asked], ASKED)
        assert one._ready[0][2].product.name == "head"
        assert one.value(asked) == by_hand(asked)
        assert one.made == ["head", "asked"]


def test_other_processes_make_it(tmp_path: Path) -> None:
    made: list[Product[Any]] = [Product(f"pid {k}", pid, (k,)) for k in range(4)]
    found = {int(data) for data in run(made, Store(tmp_path), 2)}
    assert os.getpid() not in found
    assert len(found) <= 2


def test_a_failure_is_told_here_and_only_when_it_is_asked_for(tmp_path: Path) -> None:
    bad: Product[Any] = Product("bad", fails, (os.getpid(),))
    good: list[Product[Any]] = [Product(f"p{k}", chain, (k,)) for k in range(3)]
    with Run(Store(tmp_path), 2) as one:
        one.begin([bad, *good])
        assert one.values(good) == [by_hand(each) for each in good]
        with pytest.raises(LookupError, match="here"):
            one.value(bad)


@dataclass(frozen=True)
class Stays:
    """A value that can't leave its process."""

    number: int

    def __reduce__(self) -> str:
        raise TypeError("stays here")


def of_stays(value: Stays) -> bytes:
    return str(value.number).encode()


def test_what_cannot_be_sent_is_made_here(tmp_path: Path) -> None:
    odd: list[Product[Any]] = [Product(f"odd {k}", of_stays, (Stays(k),)) for k in range(3)]
    assert run(odd, Store(tmp_path), 2) == [b"0", b"1", b"2"]


def test_garbage_with_a_right_digest_counts_as_absent(tmp_path: Path) -> None:
    """As a thing that is asked for, and as a thing that another needs; here and in another
    process.
    """
    for many in (1, 2):
        need: Product[object] = Product("need", number, (5 + many,), read=json.loads)
        after: list[Product[Any]] = [Product("after", plus, (k, many), (need,)) for k in range(3)]
        folder = tmp_path / str(many)
        Store(folder).put(need.key, b"garbage")
        with Run(Store(folder), many) as one:
            assert one.values(after) == [str(5 + many + k).encode() for k in range(3)]
            assert one.value(need) == 5 + many
            assert "need" in one.made
            assert need.key in one.store.damaged
        assert run([need], Store(folder)) == [5 + many]


def number(value: int) -> bytes:
    return json.dumps(value).encode()


def plus(value: int, _: int, needed: int) -> bytes:
    return str(value + needed).encode()


def test_what_can_never_be_read_is_a_fault_of_ours(tmp_path: Path) -> None:
    with pytest.raises(ValueError, match=r"decode|Expecting"):
        run([Product("part", chain, (1,), read=json.loads)], Store(tmp_path))


def test_a_store_that_cannot_be_written_is_no_reason_to_fail(tmp_path: Path) -> None:
    blocked = tmp_path / "file"
    blocked.write_bytes(b"")
    made = random_graph(random.Random(3), 12)
    for many in (1, 2):
        assert run(made, Store(blocked / "below"), many) == [by_hand(one) for one in made]


@pytest.mark.slow
def test_a_process_that_dies_costs_time_only(tmp_path: Path) -> None:
    me = os.getpid()
    bad: Product[Any] = Product("bad", dies, (me,), cost=9.0)
    made = [bad, *(Product(f"p{k}", chain, (k,), (bad,) * (k % 2)) for k in range(6))]
    found = run(made, Store(tmp_path), 2)
    assert found == [b"made here", *(chain(k, *[b"made here"] * (k % 2)) for k in range(6))]


@pytest.mark.slow
def test_workers_look_for_dead_objects_as_seldom_as_we_do(tmp_path: Path) -> None:
    import gc

    workers.let_go()
    before = gc.get_threshold()
    gc.set_threshold(4321, 21, 22)
    try:
        found = run([Product("t", threshold), Product("p", chain, (1,))], Store(tmp_path), 2)
    finally:
        gc.set_threshold(*before)
        workers.let_go()
    assert found[0] == b"(4321, 21, 22)"


def test_a_worker_ends_with_the_process_that_started_it() -> None:
    """Also when that one is killed, and its workers are at work."""
    code = (
        "import time\nfrom fab.graph import workers\n"
        "calls = [workers.submit(1, time.sleep, 60)]\n"
        "time.sleep(1)\nprint(next(iter(workers.current()._processes)), flush=True)\ntime.sleep(60)"
    )
    with subprocess.Popen(
        [sys.executable, "-c", code], stdout=subprocess.PIPE, cwd=ROOT
    ) as process:
        assert process.stdout is not None
        worker = int(process.stdout.readline())
        process.kill()
    end = time.monotonic() + 30
    while _alive(worker) and time.monotonic() < end:
        time.sleep(0.02)
    assert not _alive(worker)


def _alive(pid: int) -> bool:
    try:
        os.kill(pid, 0)
        return ") Z " not in Path(f"/proc/{pid}/stat").read_text()
    except OSError:
        return False


def test_the_number_of_processes_is_a_choice(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(workers.VARIABLE, "1")
    assert workers.processes() == 1
    monkeypatch.setenv(workers.VARIABLE, "7")
    assert workers.processes() == 7
    with workers.alone():
        assert workers.processes() == 1
    monkeypatch.delenv(workers.VARIABLE)
    assert 1 <= workers.processes() <= 3


def test_seconds_and_progress_come_from_the_run(tmp_path: Path) -> None:
    told: list[tuple[str, int, int]] = []
    made: list[Product[Any]] = [Product("slow", slow, (0.01,)), Product("quick", chain, (1,))]
    with Run(Store(tmp_path), 1, lambda *words: told.append(words)) as one:
        one.values(made)
    assert one.made == ["slow", "quick"]
    assert one.seconds["slow"] >= 0.01
    assert told[-1][1:] == (2, 2)
    assert threading.active_count() < 50
