"""Words of drawings: over random drawings no two lie on each other, no leader crosses one.

Another way than the placing: each leader is sampled at a hundred points.
"""

from __future__ import annotations

import random

import pytest

from fab.parts.labelplaces import Word, places

FRAME = (0.0, 0.0, 74.0, 74.0)


@pytest.mark.parametrize("seed", range(10))
def test_no_two_words_meet_and_no_leader_crosses_one(seed: int) -> None:
    rnd = random.Random(seed)
    words = []
    for _ in range(4):
        x, y = rnd.uniform(15, 60), rnd.uniform(10, 60)
        near = (x + rnd.uniform(-3, 3), y + rnd.uniform(-3, 3))
        arrows = (((x - 3, y), (x - 0.5, y)), ((x + 0.5, y), (x + 3, y)))
        words.append(Word((x, y), near, rnd.uniform(10, 26), 2.6, arrows))
    ends = places(words, FRAME)
    boxes = [word.box(at) for word, at in zip(words, ends, strict=True)]
    for k, box in enumerate(boxes):
        assert box[0] >= 0
        assert box[1] >= 0
        assert box[2] <= 74
        assert box[3] <= 74
        for j, other in enumerate(boxes):
            if j != k:
                assert (
                    box[2] <= other[0]
                    or other[2] <= box[0]
                    or box[3] <= other[1]
                    or (other[3] <= box[1])
                )
                foot, at = words[j].foot, ends[j]
                for step in range(101):
                    x = foot[0] + (at[0] - foot[0]) * step / 100
                    y = foot[1] + (at[1] - foot[1]) * step / 100
                    assert not (box[0] < x < box[2] and box[1] < y < box[3])


def test_a_word_with_room_stays_where_it_would_like() -> None:
    assert places([Word((40.0, 30.0), (40.0, 36.0), 20.0, 2.6)], FRAME) == [(40.0, 36.0)]
