"""The whole job, top to bottom: values in, checks, files, and one swap of the finished tree.

    loaded job -> decide -> checks without the kernel -> parts -> checks on solids -> files -> proof
    -> book -> manifest -> out/

A failed check stops the build before any file is written, unless it is allowed by name; the
allowance is told in the manifest and the book. The only place that knows both ends, and the only
one that holds the store.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

from fab import __version__
from fab.built import CHECKS, KINDS, LISTING, TOOL, Built, entry, older, summary, unchanged
from fab.checks.model import Verdict, stop_on_failure, told
from fab.errors import CheckFailed, refused
from fab.graph.product import Product, digest
from fab.graph.program import program, versions
from fab.graph.store import Store, default_folder
from fab.makerfiles import (
    Standing,
    listing_bytes,
    refuse_blocked,
    refuse_clash,
    refuse_strangers,
    standing,
)
from fab.outtree import locked, recover, swap_in
from fab.params.placed import told_with_places
from fab.params.read import Loaded

if TYPE_CHECKING:
    from fab.book.facts import BookFacts
    from fab.design import Design
    from fab.graph.run import Run
    from fab.outputs.model import OutFile
    from fab.outputs.nested import Nested, Search
    from fab.params.job import Job
    from fab.recipe.job import Recipe

WORKS = "Move them away, or choose another --out or another name of the job."
KERNEL = "CAD kernel"  # begun like a product, but nothing that a maker asked for
Progress = Callable[[str, float], None]
Look = Callable[["Recipe"], None]


def quiet(_says: str, _share: float) -> None:
    """Progress that nobody watches."""


def unseen(_recipe: Recipe) -> None:
    """A first look that nobody takes."""


def open_store(*, fresh: bool = False) -> Store:
    """The store of this user. `fresh` makes everything again, and keeps it."""
    return Store(default_folder(), read=not fresh)


def run_of(store: Store, progress: Progress = quiet) -> Run:
    """A run of products, whose progress is the share of what it knows of."""
    from fab.graph.run import Run
    from fab.graph.workers import processes

    return Run(store, processes(), lambda name, done, of: progress(name, 0.9 * done / max(of, 1)))


def recipe_of(
    loaded: Loaded,
    run: Run,
    wants: Sequence[str],
    search: Callable[[], Search | None] = lambda: None,
) -> Recipe:
    """The recipe of a job; the work on `wants` is begun early.

    Where this program has made nothing yet, each process will need the kernel: it loads there
    while the rest of the program loads here.
    """
    if run.workers > 1:
        from fab.solids.loading import loaded_as

        run.begin(Product(KERNEL, loaded_as, (k,)) for k in range(run.workers))
    from fab.recipe.job import Recipe

    return Recipe(loaded.job, run, wants, refuse_unbuildable, search)


@told_with_places
def design_of(loaded: Loaded, store: Store) -> Design:
    """All choices of a job; parts whose weight is asked come through the store."""
    with run_of(store) as run:
        return recipe_of(loaded, run, ()).design


def refuse_unbuildable(plans: Any) -> None:
    """Stop before the kernel is asked for a solid that the plan already shows can't be."""
    from fab.checks.board import board_checks
    from fab.checks.plan import plan_checks

    failed = [
        verdict
        for name, plan in plans.items()
        for verdict in plan_checks(name, plan)
        if verdict.verdict == "fail"
    ]
    # what does not fit may be the user's own board: its places are reported too
    if failed:
        brought = [
            board_checks(name, plan) for name, plan in plans.items() if plan.params.board.part
        ]
        failed += [verdict for found in brought for verdict in found if verdict.verdict == "fail"]
        raise CheckFailed("\n".join(told(verdict) for verdict in failed))


def check(
    loaded: Loaded, *, fresh: bool = False, progress: Progress = quiet
) -> tuple[Verdict, ...]:
    """All checks of a job; nothing is written but the store."""
    return check_and_count(loaded, fresh=fresh, progress=progress)[0]


@told_with_places
def check_and_count(
    loaded: Loaded, *, fresh: bool = False, progress: Progress = quiet
) -> tuple[tuple[Verdict, ...], dict[str, Any]]:
    """Verdicts and counts of a job with sheets and plates; only the store is written."""
    from fab.outputs.assemble import counted
    from fab.outputs.nestlock import lock_path

    kept = lock_path(loaded.sources[0], Path("out"))
    with run_of(open_store(fresh=fresh), progress) as run:
        recipe = recipe_of(loaded, run, (CHECKS,), partial(searched, loaded, kept, progress))
        if recipe.prepared.nested.stopped:
            raise KeyboardInterrupt
        return recipe.checks, counted(recipe.design, recipe.prepared)


@told_with_places
def build(
    loaded: Loaded,
    out: Path,
    *,
    only: frozenset[str] = frozenset(),
    allow: frozenset[str] = frozenset(),
    fresh: bool = False,
    progress: Progress = quiet,
    look: Look = unseen,
) -> Built:
    """Build a job into `out`/<job>/.

    `only` names kinds of output (all when empty); `allow` names checks that may fail.

    `look` is handed the recipe as soon as all is decided: checks that need no solid and counts are
    known then, and what it asks for is made once for it and for the build.

    Raises InputError, CheckFailed or OutputError; the last build is untouched then.
    """
    unknown = sorted(only - set(KINDS))
    if unknown:
        raise refused(
            f"unknown kind of output: {', '.join(unknown)}.",
            f"Known kinds: {', '.join(KINDS)}.",
            where="--only",
        )
    from fab.outputs.nestlock import lock_path, refuse_strange

    folder, kept = out / loaded.job.job, lock_path(loaded.sources[0], out)
    wanted = [kind for kind in KINDS if not only or kind in only]
    key = digest([loaded.inputs_sha256, sorted(allow), program()])
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
        with run_of(open_store(fresh=fresh), progress) as run:
            look_for = partial(searched, loaded, kept, progress)
            recipe = recipe_of(loaded, run, (CHECKS, *wanted), look_for)
            return _build(loaded, recipe, there, wanted, allow, key, kept, look)


def _build(
    loaded: Loaded,
    recipe: Recipe,
    there: Standing,
    wanted: Sequence[str],
    allow: frozenset[str],
    key: str,
    kept: Path,
    look: Look,
) -> Built:
    from fab.outputs.cut import nest_lines

    design, run = recipe.design, recipe.run
    look(recipe)
    nested = recipe.prepared.nested
    keep_search(kept, nested)
    recipe.draw(wanted)
    verdicts = recipe.checks
    stop_on_failure(verdicts, allow, "build")
    made_of = digest([loaded.inputs_sha256, program(), nested.digests])
    before = older(there, wanted, made_of)
    files = [file for kind in wanted if kind != "book" for file in recipe.files(kind)]
    manifest: dict[str, Any] = {
        "tool": TOOL,
        "version": __version__,
        "libraries": list(versions()),
        "job": loaded.job.job,
        "inputs_sha256": loaded.inputs_sha256,
        "build_sha256": key,
        "made_of": made_of,
        "kinds": [kind for kind in KINDS if kind in wanted or kind in before.kinds],
        "files": [file.entry for file in files],
        "counts": recipe.listed.counts,
        "without": without(design),
        "checks": [entry(verdict, allow) for verdict in verdicts],
        "nest": nest_lines(nested, loaded.job.job),
        "nest_kept": nested.digests,
        "seconds": {},
    }
    # other processes read while the book is composed
    proofs = proving(design.job, manifest, files, run)
    bind: Callable[[Sequence[Verdict]], list[OutFile]] = unbound
    if "book" in wanted:
        from fab.book.chapters import begun

        bind = begun(book_facts(loaded, recipe, allow, (*wanted, *before.kinds)))
    found = proofs()
    stop_on_failure(found, allow, "build")
    verdicts = (*verdicts, *found)
    files += bind(verdicts)
    files.sort(key=lambda file: file.path)
    refuse_clash(there, {file.path for file in files}, WORKS)
    last = proof_of_book(design.job, manifest, files)
    stop_on_failure(last, allow, "build")
    verdicts = (*verdicts, *last)
    lines = sorted(
        [*(file.entry for file in files), *before.files], key=lambda line: str(line["path"])
    )
    manifest |= {"files": lines, "checks": [entry(verdict, allow) for verdict in verdicts]}
    if before.old:
        manifest["old"] = list(before.old)
    manifest["seconds"] = {name: round(spent, 3) for name, spent in sorted(run.seconds.items())}
    tree = {file.path: file.data for file in files} | {LISTING: listing_bytes(manifest)}
    swap_in(there.folder, tree, (*before.paths, *there.carried), there.seen)
    run.store.prune()
    says = summary(there.folder, manifest, verdicts, there.told)
    made = tuple(name for name in run.made if name != KERNEL)
    damaged = len(run.store.damaged)
    return Built(there.folder, manifest, verdicts, says, made, damaged, there.told)


def book_facts(
    loaded: Loaded, recipe: Recipe, allow: frozenset[str], kinds: Sequence[str]
) -> BookFacts:
    """The values of a build that the book reads."""
    from fab.book.facts import BookFacts
    from fab.book.scene import shown

    design, prepared, listed = recipe.design, recipe.prepared, recipe.listed
    return BookFacts(
        loaded,
        design,
        recipe.made,
        recipe.checks,
        allow,
        prepared.nested,
        prepared.plates,
        listed.lines,
        listed.addresses,
        listed.counts,
        prepared.template,
        recipe.pictures(),
        recipe.meshes(shown(design)),
        recipe.run.beside,
        kinds,
        listed.orders,
        listed.stages,
    )


def without(design: Design) -> dict[str, list[str]]:
    """Return the joints that get no clips, because they close on the wall."""
    joints = design.layout.joints
    return {"clips": [f"{joints[k].a}-{joints[k].b}" for k in design.order.seams]}


def unbound(_verdicts: Sequence[Verdict]) -> list[OutFile]:
    """The book of a build that makes none."""
    return []


def proving(
    job: Job, manifest: dict[str, Any], files: Sequence[OutFile], run: Run
) -> Callable[[], list[Verdict]]:
    """The proof of all files but the book, shared with other processes; gives its verdicts.

    A concern, or a piece of it, whose files and values are those of an earlier build is not proven
    again.
    """
    from fab.proof.prove import FILES, from_bytes, given, prove_bytes
    from fab.values import plain

    tree, values = {file.path: file.data for file in files}, plain(job)
    proofs = [
        Product(f"proof of {one}", prove_bytes, (*handed, (one,)), (), from_bytes)
        for one in FILES
        for handed in given(tree, manifest, values, one)
    ]
    run.begin(proofs)
    return lambda: [verdict for found in run.values(proofs) for verdict in found]


def proof_of_book(job: Job, manifest: dict[str, Any], files: Sequence[OutFile]) -> list[Verdict]:
    """The proof of the book's figures, when there is one."""
    from fab.files.table import json_bytes
    from fab.proof.prove import BOOK, prove
    from fab.proof.tree import Tree
    from fab.values import plain

    tree = Tree({file.path: file.data for file in files} | {"manifest.json": json_bytes(manifest)})
    return prove(tree, plain(job), BOOK)


def searched(loaded: Loaded, kept: Path, progress: Progress) -> Search:
    """The time to search for this job's nest, and the nests that were found before."""
    from fab.outputs.nested import Search
    from fab.outputs.nestlock import read_locks

    seconds = loaded.job.nest.seconds
    told = (lambda says, share: progress(f"nest: {says}", share)) if seconds > 0 else quiet
    return Search(seconds, found=read_locks(kept), progress=told, title=loaded.job.job)


def keep_search(kept: Path, nested: Nested) -> None:
    """Keep the found nests beside the job; after Ctrl-C in the search, end the command here."""
    from fab.outputs.nestlock import keep_locks

    if nested.locks:
        keep_locks(kept, nested.locks)
    if nested.stopped:
        raise KeyboardInterrupt(
            f"The nest found so far is kept in {kept.name}, and the next build uses it."
        )
