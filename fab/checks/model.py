"""A verdict: what was measured, against which limit, and what to turn when it fails."""

from __future__ import annotations

import math
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


@dataclass(frozen=True)
class Bound:
    """A measured figure and its limit, in one unit."""

    measured: float
    limit: float
    unit: str = "mm"
    most: bool = False  # the limit is a maximum
    tolerance: float = 1e-9  # by so much it may be missed

    @property
    def holds(self) -> bool:
        """True when the figure keeps its limit; NaN never does."""
        if self.most:
            return self.measured <= self.limit + self.tolerance
        return self.measured >= self.limit - self.tolerance

    def sentence(self, label: str) -> str:
        """A result: label, figure, limit. "Gap, clip to board: 0.56 mm (minimum 0.3 mm)." What
        remains is never negative: then it says what is missing up to the limit.
        """
        if label.startswith("Remaining ") and self.measured < 0 <= self.limit and not self.most:
            missing = Bound(self.limit - self.measured, 0.0, self.unit, most=True)
            return missing.sentence(f"Missing {label[10:]}")
        measured, limit = (
            "unlimited" if math.isinf(value) else f"{fixed(value, 2)} {self.unit}".rstrip()
            for value in (self.measured, self.limit)
        )
        return f"{label}: {measured} ({'maximum' if self.most else 'minimum'} {limit})."


def at_least(measured: float, limit: float, unit: str = "mm", tolerance: float = 1e-9) -> Bound:
    """The bound that holds when `measured >= limit`."""
    return Bound(measured, limit, unit, tolerance=tolerance)


def at_most(measured: float, limit: float, unit: str = "mm", tolerance: float = 1e-9) -> Bound:
    """The bound that holds when `measured <= limit`."""
    return Bound(measured, limit, unit, most=True, tolerance=tolerance)


def judge(
    check: str,
    subject: str,
    bound: Bound,
    says: str,
    *,
    remedy: str = "",
    source: str = "",
    otherwise: Word = "fail",
) -> Verdict:
    """The verdict on one bound: `otherwise` where it does not hold, and only then its remedy."""
    word: Word = "pass" if bound.holds else otherwise
    cure = "" if bound.holds else remedy
    measured, limit = bound.measured, bound.limit
    return Verdict(check, word, subject, measured, limit, bound.unit, says, cure, source)


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
