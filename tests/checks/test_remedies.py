"""The promise of remedies: what is told was tried. 25 failing jobs, the same each time: each told
remedy is done, its check passes and no other one fails that passed; a job that mending says passes
does pass.
"""

from __future__ import annotations

from collections import Counter
from itertools import islice
from pathlib import Path

import pytest

from tests.benchmarks.mend_jobs import failing_jobs, untrue_of


@pytest.mark.slow
def test_every_told_remedy_is_true_and_every_mended_job_passes(tmp_path: Path) -> None:
    tally: Counter[str] = Counter()
    untrue = [
        line
        for job, failed in islice(failing_jobs(23, tmp_path, tally), 25)
        for line in untrue_of(job, failed, tally)
    ]
    assert untrue == []
    assert tally["jobs"] == 25
    assert tally["remedies"] >= 20  # else the jobs tell nothing
    assert tally["mended"] >= 20
