"""`panejig verify`: a finished tree proven from its files alone."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import click

from fab.cli import verdicts as lines
from fab.cli.console import Console
from fab.cli.words import talking
from fab.params.quoting import clean


@click.command()
@click.argument("out", metavar="OUT")
@talking
@click.pass_context
def verify(ctx: click.Context, out: str) -> None:
    """Prove the build folder OUT from its files alone, with other code than wrote them.

    OUT may be any copy of a build, also one from someone else. Nothing is changed. Exit code 1 when
    a proof fails, 2 when OUT is no build. With -v also what passed.
    """
    console: Console = ctx.obj
    from fab.proof.prove import prove_folder  # heavy: numbers and shapes

    manifest, found = prove_folder(Path(out))
    console.clear()
    found = [replace(one, subject=clean(one.subject), says=clean(one.says)) for one in found]
    counts = lines.counted(found)
    if console.json:
        console.tell_json(
            {
                "job": clean(str(manifest.get("job", ""))),
                "checks": lines.data(found),
                "counts": counts,
            }
        )
    else:
        for verdict in lines.worst_first(found):
            if (
                verdict.verdict == "fail"
                or console.verbose
                or (verdict.verdict == "warn" and not console.quiet)
            ):
                console.tell(lines.told(verdict))
        console.tell(
            f"{clean(out)}: proofs passed: {counts['pass']}; warnings: {counts['warn']}; failed:"
            f" {counts['fail']}."
        )
    ctx.exit(1 if counts["fail"] else 0)
