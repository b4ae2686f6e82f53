"""A function that remembers its last answers: a watched job asks the same again after each
save, and a build asks for what the watch has decided.

Arguments are compared, not hashed: tables may be among them. A refusal is not remembered.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from typing import ParamSpec, TypeVar

Asked = ParamSpec("Asked")
Answer = TypeVar("Answer")


def remembering(most: int) -> Callable[[Callable[Asked, Answer]], Callable[Asked, Answer]]:
    """Let a pure function return one of its `most` last answers where the arguments are equal."""

    def of(function: Callable[Asked, Answer]) -> Callable[Asked, Answer]:
        # newest first; replaced whole: threads read it
        kept: tuple[tuple[object, Answer], ...] = ()

        @wraps(function)
        def answer(*args: Asked.args, **words: Asked.kwargs) -> Answer:
            nonlocal kept
            asked = (args, words)
            for known, found in kept:
                if known == asked:
                    return found
            made = function(*args, **words)
            kept = ((asked, made), *kept[: most - 1])
            return made

        return answer

    return of
