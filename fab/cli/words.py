"""Words that commands share: job, shop, lengths, --set, --nest-seconds, --json, -q and -v."""

from __future__ import annotations

import math
from collections.abc import Callable
from difflib import get_close_matches
from pathlib import Path
from typing import Any, Literal

import click
from click.shell_completion import CompletionItem

from fab.cli.console import Console
from fab.errors import refused
from fab.params import presets
from fab.params.files import near_files
from fab.params.lengths import NotALength, parse_length
from fab.params.quoting import clean, short, show
from fab.units import fixed

KINDS = ("print", "model", "cut", "wall", "board", "lists", "book")


Complete = Callable[[click.Context, click.Parameter, str], list[CompletionItem]]


def shipped(kind: Literal["job", "shop"]) -> Complete:
    """Return what a shell offers for a file, or the name of a shipped job or shop."""

    def offered(ctx: click.Context, param: click.Parameter, word: str) -> list[CompletionItem]:
        names = [CompletionItem(name) for name in presets.names(kind) if name.startswith(word)]
        return [*names, CompletionItem(word, type="file")]

    return offered


def job_path(word: str) -> Path:
    """The file that JOB names: a path, or a shipped job.

    Raises InputError with the nearest names.
    """
    path = Path(word)
    if path.suffix.lower() in (".svg", ".svgz", ".dxf"):
        raise refused(
            f"{clean(short(word))} is a drawing, not a job file.",
            f"Lay it on sheets: panejig nest --shop SHOP --shape {clean(short(word))}=1@STOCK.",
        )
    looks_like_file = word.endswith(".toml") or "/" in word or "\\" in word
    if looks_like_file or path.is_file():
        return path
    preset = presets.path_of("job", word)
    if preset is not None:
        return preset
    if path.is_dir():
        return path  # the door tells which files are in it
    if Path(f"{word}.toml").is_file():
        raise refused(
            f"{clean(short(word))} is not a file or a shipped job.", f"Did you mean {word}.toml?"
        )
    close = get_close_matches(word, presets.names("job"), n=1)
    works = (
        f"Did you mean {close[0]}?"
        if close
        else f"Shipped jobs: {', '.join(presets.names('job'))}. {near_files(path, word)}"
    )
    raise refused(f"{clean(short(word))!r} is not a file or a shipped job.", works)


def talking(command: Callable[..., Any]) -> Callable[..., Any]:
    """--json, -q and -v; they fill in the console that main made."""

    def keep(ctx: click.Context, param: click.Parameter, value: Any) -> Any:
        setattr(ctx.ensure_object(Console), str(param.name), value)
        return value

    for option in (
        click.option(
            "-v",
            "--verbose",
            count=True,
            expose_value=False,
            callback=keep,
            help="Show more (-vv: all).",
        ),
        click.option(
            "-q", "--quiet", is_flag=True, expose_value=False, callback=keep, help="Show less."
        ),
        click.option(
            "--json",
            is_flag=True,
            expose_value=False,
            callback=keep,
            help="Print the results as JSON.",
        ),
    ):
        command = option(command)
    return command


job_word = click.argument("job", metavar="JOB", shell_complete=shipped("job"))
sets_word = click.option(
    "--set",
    "sets",
    multiple=True,
    metavar="KEY=VALUE",
    help="Change one value for this run: --set panel.depth=40.",
)
allow_word = click.option(
    "--allow",
    multiple=True,
    metavar="CHECK-ID",
    help=(
        "Accept the failure of this check. The manifest and the book record it. CAUTION: an"
        " accepted failure of a power, heat, current or load check can cause fire or a fall."
        " Accept one only if a qualified person has judged the wall."
    ),
)
search_word = click.option(
    "--nest-seconds",
    type=click.FloatRange(0.0, 86_400.0),
    metavar="N",
    help="Search time for a better nest, in seconds; the result is kept beside the job.",
)


force_word = click.option(
    "--force",
    is_flag=True,
    help="Write over files that panejig did not write, or that were changed since.",
)


def sets_with(sets: tuple[str, ...], nest_seconds: float | None) -> tuple[str, ...]:
    """The words of --set, and the search time among them."""
    if nest_seconds is None:
        return sets
    if not math.isfinite(nest_seconds):
        raise refused(
            f"{nest_seconds} is not a time.",
            "Give a number of seconds, for example 30.",
            key="--nest-seconds",
        )
    return (*sets, f"nest.seconds={fixed(nest_seconds)}")


def shop_path(word: str, *, write: bool = False) -> Path:
    """The file that SHOP names. A shipped shop may be looked at, not written."""
    path = Path(word)
    if word.endswith(".toml") or "/" in word or "\\" in word or path.exists():
        return path
    preset = presets.path_of("shop", word)
    if preset is None:
        known = ", ".join(presets.names("shop"))
        works = f"{near_files(path)} Shipped shops: {known}."
        raise refused(f"{show(word)} is not a file or a shipped shop.", works)
    if write:
        works = f'Make your own shop file that begins with extends = "{word}", and give that file.'
        raise refused(f"{word} is a shipped shop and is never changed.", works)
    return preset


def length_word(what: str, word: str) -> float:
    """A length of the command line: bare millimetres, or with a unit."""
    try:
        return float(word) if is_number(word) else parse_length(word)
    except NotALength as fault:
        raise refused(f"{show(clean(short(word)))} {fault}", fault.works, key=what) from None


def is_number(word: str) -> bool:
    """True when a word is a bare number that a length may be."""
    try:
        return abs(float(word)) < 1e9
    except ValueError:
        return False
