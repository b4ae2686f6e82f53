"""The page's state: the newest good state with the one before it, and the faults."""

from __future__ import annotations

import json
import threading
from collections.abc import Mapping, Sequence
from hashlib import sha256
from pathlib import Path
from typing import Any

from fab.errors import PanejigError
from fab.live import faults, pictures, words
from fab.live.board import Board
from fab.live.look import Look
from fab.live.pieces import SOLID, PagePiece

STATE, PICTURES, SCENE = "/state.json", "/pictures.json", "/scene.json"


class Screen:
    """Puts states on the board. Older ones than the newest begun are left out."""

    def __init__(self, board: Board) -> None:
        self.board = board
        self._lock = threading.RLock()
        self._number = 0
        self._before = words.Before()
        self._then = words.Before()  # what is known of the newest good state: the next one's before
        self._look: Look | None = None
        self._faults: list[dict[str, Any]] = []
        self._notice = ""
        self._busy, self._working = False, ""
        self._views: dict[str, dict[str, Any]] = {}
        self._old: dict[str, str] = {}  # picture to what it showed at the last save
        self._wall: tuple[tuple[object, ...], dict[str, Any]] = ((), {})  # what it was drawn of

    @property
    def look(self) -> Look | None:
        """The newest good state."""
        with self._lock:
            return self._look

    def begin(self, number: int, look: Look) -> None:
        """A new good state: what was known until now is what was before."""
        with self._lock:
            self._number, self._before, self._busy = number, self._then, True
            self._faults, self._notice, self._working = [], "", "checks of the plan"
            for name, view in self._views.items():
                view["stale"] = True
                self._old[name] = view["key"]
                for picture in view["pictures"]:
                    self._old[picture["name"]] = _shown(picture)
            self.show(number, look)

    def show(self, number: int, look: Look) -> None:
        """A state of which more is known."""
        with self._lock:
            if number == self._number:
                self._look, self._then = look, self._before.then(look)
                self._publish()

    def add(self, number: int, piece: PagePiece) -> None:
        """A view that was made."""
        with self._lock:
            if number != self._number:
                return
            shown = [
                {**one, "changed": self._old.get(one["name"], _shown(one)) != _shown(one)}
                for one in piece.pictures
            ]
            key = _key([shown, piece.scene])
            changed = piece.view == SOLID and self._old.get(piece.view, key) != key
            view = {"stale": False, "changed": changed, "pictures": shown, "key": key}
            self._views[piece.view] = view
            scenes = {SCENE: json.loads(piece.scene)} if piece.view == SOLID else {}
            self._publish(scenes | {PICTURES: self._views})

    def refuse(self, number: int, error: PanejigError, sources: Sequence[Path]) -> None:
        """A state that can't be used: the last good one stays, dimmed."""
        with self._lock:
            if number >= self._number:
                self._number, self._busy = number, False
                self._faults, self._notice = faults.rows(error, sources), ""
                self._publish()

    def done(self, number: int, notice: str) -> None:
        """All of a state was made, or as much as can be."""
        with self._lock:
            if number == self._number:
                self._busy, self._notice = False, notice
                self._publish()

    def working(self, what: str) -> None:
        """The work that goes on."""
        with self._lock:
            self._working = what
        self.board.tell(what)

    def _publish(self, more: Mapping[str, Any] | None = None) -> None:
        views = {name: {**view, "pictures": []} for name, view in self._views.items()}
        state: dict[str, Any] = {
            "save": self._number,
            "busy": self._busy,
            "notice": self._notice,
            "faults": self._faults,
            "views": views,
        }
        if self._look is not None:
            state |= self._drawn(self._look) | said(self._look, self._before)
        if not self._busy:
            self._working = ""
        self.board.publish({STATE: state, **(more or {})}, self._working)

    def _drawn(self, look: Look) -> dict[str, Any]:
        """The wall's picture, drawn anew only where the wall is another."""
        of = (look.layout, look.design, self._before)
        if len(self._wall[0]) != len(of) or any(
            a is not b for a, b in zip(of, self._wall[0], strict=True)
        ):
            self._wall = (of, drawn(look, self._before))
        return self._wall[1]


def state_of(look: Look, before: words.Before) -> dict[str, Any]:
    """A state for the page: picture of the wall, figures, checks, all beside what was before."""
    return drawn(look, before) | said(look, before)


def drawn(look: Look, before: words.Before) -> dict[str, Any]:
    """The picture of the wall, its legend, and which panels are others than before."""
    now = pictures.signs(look.layout, look.design)
    changed = pictures.changed(now, before.signs)
    job, layout, was = look.loaded.job, look.layout, before.signs or {}
    wall = pictures.wall_svg(layout, job.hang, look.design, look.title, before.layout, was, changed)
    return {
        "wall": wall,
        "legend": pictures.legend_of(look.design) if look.design is not None else [],
        "changed": _changes(now, before, changed),
    }


def said(look: Look, before: words.Before) -> dict[str, Any]:
    """Figures and checks, each with what it was before."""
    return {
        "job": look.loaded.job.job,
        "title": look.loaded.job.title,
        "wired": look.design is not None,
        "unbuildable": look.unbuildable,
        "rows": words.rows(look, before),
        "checks": words.checks(look, before),
    }


def _changes(now: pictures.Signs, before: words.Before, changed: Sequence[str]) -> str:
    """The panels that changed, in words."""
    if before.signs is None:
        return ""
    new = [name for name in changed if name not in before.signs]
    other = [name for name in changed if name in before.signs]
    gone = [name for name in before.signs if name not in now]
    said = [
        f"{word}: {_some(names)}"
        for word, names in (("New", new), ("Changed", other), ("Gone", gone))
        if names
    ]
    return ". ".join(said)


def _some(names: Sequence[str]) -> str:
    return ", ".join(names[:12]) + (f" and {len(names) - 12} more" if len(names) > 12 else "")


def _shown(picture: dict[str, Any]) -> str:
    return str(picture.get("svg") or picture.get("png"))


def _key(value: Any) -> str:
    return sha256(json.dumps(value, sort_keys=True).encode()).hexdigest()[:16]
