"""The whole job, top to bottom: values in, checks, files, and one swap of the finished tree.

    loaded job -> decide -> checks without the kernel -> parts -> checks on solids -> files -> proof -> book -> manifest -> out/

A failed check stops the build before any file is written, unless it is allowed by name; the allowance is told in the
manifest and the book. The only place that knows both ends, and the only one that holds the store.
"""

from __future__ import annotations

import hashlib
import json
import time
from collections.abc import Callable, Sequence
from dataclasses import asdict, dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

from fab import __version__
from fab.built import KINDS, LISTING, TOOL, Built, entry, older, summary, unchanged
from fab.checks.model import Verdict, stop_on_failure, told
from fab.decisions import Design, decide
from fab.errors import CheckFailed, Fault, InputError
from fab.makerfiles import Standing, listing_bytes, refuse_blocked, refuse_clash, refuse_strangers, standing
from fab.outtree import locked, recover, swap_in
from fab.params.placed import told_with_places
from fab.params.read import Loaded
from fab.products import Made, PartSpec, make
from fab.store import Store, code_version, default_folder, library_versions

if TYPE_CHECKING:
    from fab.outputs.cut import Nested, Search
    from fab.outputs.model import OutFile
    from fab.params.job import Job

WORKS = "Move them away, or choose another --out or another name of the job."
Progress = Callable[[str, float], None]
Look = Callable[[tuple[Verdict, ...], dict[str, Any]], None]


def quiet(_says: str, _share: float) -> None:
    """Progress that nobody watches."""


def unseen(_verdicts: tuple[Verdict, ...], _counts: dict[str, Any]) -> None:
    """A first look that nobody takes."""


@dataclass
class _Clock:
    """Seconds per stage; kept out of every hash."""

    progress: Progress
    seconds: dict[str, float] = field(default_factory=dict)
    _stage: str = ""
    _since: float = 0.0

    def stage(self, name: str, share: float) -> None:
        now = time.perf_counter()
        if self._stage:
            self.seconds[self._stage] = round(now - self._since, 3)
        self._stage, self._since = name, now
        self.progress(name, share)


@dataclass(frozen=True)
class Parts:
    """Everything made of a design: its parts and the plates, nest and pages that follow."""

    design: Design
    made: dict[PartSpec, Made]


def open_store(fresh: bool = False) -> Store:
    """The store of this user, filled with the help of other processes. `fresh` makes everything again, and keeps it."""
    return Store(default_folder(), read=not fresh, helped=True)


@told_with_places
def design_of(loaded: Loaded, store: Store) -> Design:
    """All choices of a job; parts whose weight is asked come through the store."""
    from fab import ahead
    from fab.prints.counting import count
    from fab.prints.layercount import LayerCount
    from fab.weigh import weigh_all

    shop = loaded.job.shop

    def weigh(plans: Any, layout: Any) -> Any:
        refuse_unbuildable(plans)
        ahead.of_plans(loaded.job, plans, store)

        def counted(spec: PartSpec) -> tuple[Made, LayerCount]:
            made = make(store, plans[spec.design], spec)
            return made, count(store, made, shop.printer)

        return weigh_all(shop, plans, layout, counted)

    return decide(loaded.job, weigh)


def refuse_unbuildable(plans: Any) -> None:
    """Stop before the kernel is asked for a solid that the plan already shows can't be."""
    from fab.checks.board import board_checks
    from fab.checks.plan import plan_checks

    failed = [verdict for name, plan in plans.items() for verdict in plan_checks(name, plan) if verdict.verdict == "fail"]
    if failed:  # what does not fit may be a board that was brought along: that is told with its places
        brought = [board_checks(name, plan) for name, plan in plans.items() if plan.params.board.part]
        failed += [verdict for found in brought for verdict in found if verdict.verdict == "fail"]
        raise CheckFailed("\n".join(told(verdict) for verdict in failed))


def parts_of(design: Design, store: Store) -> Parts:
    """Every part of the job, made or found."""
    from fab import ahead

    specs = [spec for spec, _ in design.printed]
    specs += [PartSpec("diffuser", name) for name in design.plans]
    specs += [PartSpec("board", name) for name, plan in design.plans.items() if not plan.params.board.none]
    ahead.of_parts(design, specs, store)
    return Parts(design, {spec: make(store, design.plans[spec.design], spec) for spec in specs})


def check(loaded: Loaded, *, fresh: bool = False, progress: Progress = quiet) -> tuple[Verdict, ...]:
    """All checks of a job; nothing is written but the store."""
    return check_and_count(loaded, fresh=fresh, progress=progress)[0]


@told_with_places
def check_and_count(
    loaded: Loaded, *, fresh: bool = False, progress: Progress = quiet
) -> tuple[tuple[Verdict, ...], dict[str, Any]]:
    """Verdicts and counts of a job, sheets and plates included; nothing is written but the store."""
    from fab import ahead
    from fab.outputs.assemble import counted
    from fab.outputs.nestlock import lock_path
    from fab.outputs.prepared import prepare
    from fab.verdicts import all_verdicts

    store = open_store(fresh)
    progress("deciding", 0.1)
    design = design_of(loaded, store)
    progress("making parts", 0.3)
    parts = parts_of(design, store)
    progress("arranging", 0.6)
    kept = lock_path(loaded.sources[0], Path("out"))
    prepared = prepare(design, parts.made, searched(loaded, kept, progress), store)
    if prepared.nested.stopped:
        raise KeyboardInterrupt
    progress("checking", 0.7)
    ahead.of_files(design, parts.made, prepared, (), store)
    verdicts = all_verdicts(design, parts.made, prepared, store)
    store.rest()
    return verdicts, counted(design, prepared)


@told_with_places
def build(
    loaded: Loaded, out: Path, *, only: frozenset[str] = frozenset(), allow: frozenset[str] = frozenset(),
    fresh: bool = False, progress: Progress = quiet, look: Look = unseen,
) -> Built:  # fmt: skip
    """Build a job into `out`/<job>/. `only` names kinds of output (all when empty); `allow` names checks that may fail.

    `look` is handed the checks that need no solid, and the counts, as soon as they are known.

    Raises InputError, CheckFailed or OutputError; the last build is untouched then.
    """
    unknown = sorted(only - set(KINDS))
    if unknown:
        raise InputError([Fault("--only", "", f"there is no output kind {', '.join(unknown)}.", f"Kinds are {', '.join(KINDS)}.")])
    from fab.outputs.nestlock import lock_path, refuse_strange

    folder, kept = out / loaded.job.job, lock_path(loaded.sources[0], out)
    wanted = [kind for kind in KINDS if not only or kind in only]
    key = _digest([loaded.inputs_sha256, sorted(allow), code_version(), __version__])
    if loaded.job.nest.seconds > 0:
        refuse_strange(kept)
    refuse_strangers(folder, LISTING, TOOL, WORKS)
    with locked(folder):
        recover(folder)
        there = standing(folder, LISTING, TOOL)
        refuse_blocked(there, LISTING, wanted, WORKS)
        same = None if fresh else unchanged(there, key, wanted, kept)
        if same is not None:
            return same
        try:
            return _build(loaded, there, wanted, allow, fresh, key, kept, progress, look)
        finally:
            open_store().rest()


def _build(
    loaded: Loaded, there: Standing, wanted: Sequence[str], allow: frozenset[str], fresh: bool, key: str, kept: Path,
    progress: Progress, look: Look,
) -> Built:  # fmt: skip
    store, clock = open_store(fresh), _Clock(progress)
    clock.stage("decide", 0.05)
    design = design_of(loaded, store)  # and all that is read below is read while helpers are at the parts
    from fab import ahead
    from fab.outputs import assemble
    from fab.outputs.cut import nest_lines
    from fab.outputs.prepared import prepare
    from fab.verdicts import all_verdicts, early_verdicts

    early = early_verdicts(design)
    look(early, asdict(design.counts))
    clock.stage("parts", 0.15)
    parts = parts_of(design, store)
    clock.stage("arrange", 0.35)
    prepared = prepare(design, parts.made, searched(loaded, kept, progress), store)
    keep_search(kept, prepared.nested)
    clock.stage("checks", 0.4)
    ahead.of_files(design, parts.made, prepared, wanted, store)
    verdicts = all_verdicts(design, parts.made, prepared, store, early)
    stop_on_failure(verdicts, allow, "build")
    listed = assemble.listed(design, parts.made, prepared)
    made_of = _digest([loaded.inputs_sha256, code_version(), __version__, prepared.nested.digests])
    before = older(there, wanted, made_of)
    files = assemble.assemble(design, parts.made, prepared, listed, wanted, store, clock.stage)
    manifest: dict[str, Any] = {
        "tool": TOOL,
        "version": __version__,
        "libraries": list(library_versions()),
        "job": loaded.job.job,
        "inputs_sha256": loaded.inputs_sha256,
        "build_sha256": key,
        "made_of": made_of,
        "kinds": [kind for kind in KINDS if kind in wanted or kind in before.kinds],
        "files": [file.entry for file in files],
        "counts": listed.counts,
        "without": without(design),
        "checks": [entry(verdict, allow) for verdict in verdicts],
        "nest": nest_lines(prepared.nested, loaded.job.job),
        "nest_kept": prepared.nested.digests,
        "seconds": {},
    }
    # beside: other processes read while the book is composed
    proofs = proving(design.job, manifest, files, store)
    bind: Callable[[Sequence[Verdict]], list[OutFile]] = unbound
    if "book" in wanted:
        from fab.book.chapters import begun
        from fab.book.facts import BookFacts

        clock.stage("book", 0.92)
        bind = begun(BookFacts(
            loaded, design, parts.made, verdicts, allow, prepared.nested, prepared.plates, listed.lines,
            listed.addresses, listed.counts, prepared.template, store, (*wanted, *before.kinds),
        ))  # fmt: skip
    clock.stage("proof", 0.95)
    found = proofs()
    stop_on_failure(found, allow, "build")
    verdicts = (*verdicts, *found)
    files += bind(verdicts)
    clock.stage("write", 0.98)
    files.sort(key=lambda file: file.path)
    refuse_clash(there, {file.path for file in files}, WORKS)
    last = proof_of_book(design.job, manifest, files)
    stop_on_failure(last, allow, "build")
    verdicts = (*verdicts, *last)
    lines = sorted([*(file.entry for file in files), *before.files], key=lambda line: str(line["path"]))
    manifest |= {"files": lines, "checks": [entry(verdict, allow) for verdict in verdicts]}
    if before.old:
        manifest["old"] = list(before.old)
    clock.stage("", 1.0)
    manifest["seconds"] = {name: spent for name, spent in clock.seconds.items() if name}
    tree = {file.path: file.data for file in files} | {LISTING: listing_bytes(manifest)}
    swap_in(there.folder, tree, (*before.paths, *there.carried), there.seen)
    store.prune()
    says = summary(there.folder, manifest, verdicts, there.told)
    return Built(there.folder, manifest, verdicts, says, tuple(store.made), len(store.damaged), there.told)


def _digest(values: Sequence[Any]) -> str:
    return hashlib.sha256(json.dumps(values).encode()).hexdigest()


def without(design: Design) -> dict[str, list[str]]:
    """Return the joints that get no clips, because they close on the wall."""
    joints = design.layout.joints
    return {"clips": [f"{joints[k].a}-{joints[k].b}" for k in design.order.seams]}


def unbound(_verdicts: Sequence[Verdict]) -> list[OutFile]:
    """The book of a build that makes none."""
    return []


def proving(
    job: Job, manifest: dict[str, Any], files: Sequence[OutFile], store: Store
) -> Callable[[], list[Verdict]]:
    """The proof of all files but the book, shared with other processes; what comes back gives its verdicts."""
    from functools import partial

    from fab.files.table import json_bytes
    from fab.proof.prove import FILES, from_bytes, needed, prove_bytes
    from fab.values import plain

    tree = {file.path: file.data for file in files} | {"manifest.json": json_bytes(manifest)}
    values = plain(job)
    calls = [store.beside(partial(prove_bytes, needed(tree, (one,)), values, (one,))) for one in FILES]
    return lambda: [verdict for call in calls for verdict in from_bytes(call())]


def proof_of_book(job: Job, manifest: dict[str, Any], files: Sequence[OutFile]) -> list[Verdict]:
    """The proof of the book's figures, when there is one."""
    from fab.files.table import json_bytes
    from fab.proof.prove import BOOK, prove
    from fab.proof.tree import Tree
    from fab.values import plain

    tree = Tree({file.path: file.data for file in files} | {"manifest.json": json_bytes(manifest)})
    return prove(tree, plain(job), BOOK)


def searched(loaded: Loaded, kept: Path, progress: Progress) -> Search:
    """How long this job's nest is searched for, and what was found before."""
    from fab.outputs.cut import Search
    from fab.outputs.nestlock import read_locks

    seconds = loaded.job.nest.seconds
    told = (lambda says, share: progress(f"nest: {says}", share)) if seconds > 0 else quiet
    return Search(seconds, found=read_locks(kept), progress=told, title=loaded.job.job)


def keep_search(kept: Path, nested: Nested) -> None:
    """What was found goes beside the job, also when Ctrl-C ended the search; it then ends the command here."""
    from fab.outputs.nestlock import keep_locks

    if nested.locks:
        keep_locks(kept, nested.locks)
    if nested.stopped:
        raise KeyboardInterrupt(f"The nest found until then is kept in {kept.name}: the next build uses it.")
