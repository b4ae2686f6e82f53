"""Trials from the page: some values of the job turned, looked at, and nothing written."""

from __future__ import annotations

import math
import threading
import time
from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from fab.errors import PanejigError
from fab.live import faults, snippet
from fab.live import look as looks
from fab.live.look import Look, Scales
from fab.live.screen import Screen, state_of
from fab.live.sliders import KNOBS, key_of, sliders
from fab.live.words import Before
from fab.params.read import load
from fab.units import fixed

Values = list[tuple[str, str]]  # key and text of each

MOST_FAR = 1e6  # no value of a slider is larger


class Trials:
    """Answers the page's questions; of several that wait the newest is answered."""

    def __init__(self, path: Path, sets: Sequence[str], screen: Screen, scales: Scales) -> None:
        self.path, self.sets, self.screen, self.scales = path, tuple(sets), screen, scales
        self._turn = threading.Lock()
        self._asked = 0
        self._last: tuple[object, Look | None] = (None, None)

    def trial(self, asked: Mapping[str, Any]) -> dict[str, Any]:
        """A state with other values, beside the saved one. `whole`: with zones, inlets and screws;
        `light`: with the checks of light as well.

        Raises ValueError for a question that no slider asks.
        """
        base = self.screen.look
        values = self._values(asked, base)
        self._asked += 1
        mine = self._asked
        with self._turn:
            if mine != self._asked or base is None:
                return {"late": True}
            began = time.perf_counter()
            try:
                known = self._looked(base, values, whole=asked.get("whole") is True)
                if asked.get("light") is True and known.design is not None:
                    known = replace(known, verdicts=looks.lit_verdicts(known))
                found = state_of(known, Before().then(base)) | {"faults": []}
            except PanejigError as error:
                found = {"faults": faults.rows(error, (self.path,))}
            found["toml"] = snippet.lines(self.path, values, self._was(base))
            return found | {"seconds": round(time.perf_counter() - began, 3)}

    def _looked(self, base: Look, values: Values, *, whole: bool) -> Look:
        """The state with these values; what was known of it the last time is not found anew."""
        before, known = self._last
        if known is None or before != (base.loaded, values):
            words = [f"{key}={value}" for key, value in values]
            known = looks.shape(load(self.path, (*self.sets, *words)))
            known = replace(known, verdicts=looks.shape_verdicts(known), trial=True)
        if whole and known.design is None and not known.unbuildable:
            design = looks.wired(known.loaded, self.scales.weigh)
            verdicts = looks.wall_verdicts(design)
            rough = not self.scales.know(design)
            known = replace(known, design=design, verdicts=verdicts, rough=rough)
        self._last = (base.loaded, values), known
        return known

    def _values(self, asked: Mapping[str, Any], base: Look | None) -> Values:
        given = asked.get("values")
        if not isinstance(given, dict) or base is None:
            raise ValueError("values to try are missing")
        known = {key_of(base.loaded.job, knob) for knob in KNOBS}
        for key, value in given.items():
            if key not in known:
                raise ValueError("no slider has this key")
            if isinstance(value, bool) or not isinstance(value, int | float):
                raise ValueError("a value is not a number")
            if not math.isfinite(value) or abs(value) > MOST_FAR:
                raise ValueError("a value is out of range")
        return [(key, fixed(float(value), 4)) for key, value in given.items()]

    def _was(self, base: Look) -> dict[str, str]:
        return {one.key: fixed(one.value, 4) for one in sliders(base)}
