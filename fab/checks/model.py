"""A verdict: what was measured, against which limit, and what to turn when it fails."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from typing import Literal

from fab.errors import CheckFailed
from fab.units import figure, fixed

Word = Literal["pass", "warn", "fail"]


@dataclass(frozen=True)
class Verdict:
    """The outcome of one check on one subject."""

    id: str  # "fit.diffuser-seat"
    verdict: Word
    subject: str  # the part, panel, joint or sheet it is about
    measured: float
    limit: float
    unit: str
    says: str  # one sentence
    remedy: str = ""  # the parameter to turn and the value that would pass
    source: str = ""  # where the limit comes from


def at_least(
    check: str,
    subject: str,
    measured: float,
    limit: float,
    unit: str,
    says: str,
    *,
    remedy: str = "",
    source: str = "",
    tolerance: float = 1e-9,
    otherwise: Word = "fail",
) -> Verdict:
    """Passes when `measured >= limit`; the remedy is kept only when it does not."""
    word: Word = "pass" if measured >= limit - tolerance else otherwise  # NaN does not pass
    return Verdict(
        check, word, subject, measured, limit, unit, says, "" if word == "pass" else remedy, source
    )


def at_most(
    check: str,
    subject: str,
    measured: float,
    limit: float,
    unit: str,
    says: str,
    *,
    remedy: str = "",
    source: str = "",
    tolerance: float = 1e-9,
    otherwise: Word = "fail",
) -> Verdict:
    """Passes when `measured <= limit`."""
    word: Word = "pass" if measured <= limit + tolerance else otherwise
    return Verdict(
        check, word, subject, measured, limit, unit, says, "" if word == "pass" else remedy, source
    )


def result(label: str, measured: float, limit: float, unit: str, *, most: bool = False) -> str:
    """A result as one sentence: label, figure, limit. "Gap, clip to board: 0.56 mm (minimum 0.3
    mm)." What remains is never negative: then it says what is missing up to the limit.
    """
    if label.startswith("Remaining ") and measured < 0 <= limit and not most:
        label, measured, limit, most = f"Missing {label[10:]}", limit - measured, 0.0, True
    values = [f"{fixed(value, 2)} {unit}".rstrip() for value in (measured, limit)]
    return f"{label}: {values[0]} ({'maximum' if most else 'minimum'} {values[1]})."


def told(verdict: Verdict) -> str:
    """One line for a maker."""
    figures = ""
    if not any(word in verdict.says for word in ("(minimum ", "(maximum ", "(fit: ")):
        measured, limit = (
            figure(value, verdict.unit) for value in (verdict.measured, verdict.limit)
        )
        figures = f"Measured {measured}, limit {limit}."
    return " ".join(
        filter(
            None,
            (
                f"{verdict.verdict.upper()} {verdict.id} ({verdict.subject}): {verdict.says}",
                figures,
                verdict.remedy,
            ),
        )
    )


# Checks whose failure can hurt someone: power, heat, current, and what hangs over heads. No message
# offers to accept them.
HAZARDS = ("power.", "heat.", "hang.", "lift.")


def is_hazard(check: str) -> bool:
    """True when accepting a failure of this check can hurt someone."""
    return check.startswith(HAZARDS)


def stop_on_failure(verdicts: Sequence[Verdict], allow: Collection[str], what: str) -> None:
    """Raises CheckFailed, before anything is written, when a check failed that is not allowed.

    `what`: "build".
    """
    failed = [
        verdict for verdict in verdicts if verdict.verdict == "fail" and verdict.id not in allow
    ]
    if failed:
        lines = [told(verdict) for verdict in failed]
        names = " ".join(f"--allow {name}" for name in sorted({verdict.id for verdict in failed}))
        hint = (
            ""
            if any(is_hazard(verdict.id) for verdict in failed)
            else f" To {what} anyway: {names}"
        )
        raise CheckFailed("\n".join([*lines, f"Nothing was written.{hint}"]))
