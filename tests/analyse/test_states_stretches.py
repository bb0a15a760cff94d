"""Stretches of a lift: runs of sessions in one repetition range."""

import numpy as np
import pytest

from pipeline.analyse.states.observations import NEW_RANGE_REPS, SAME_LOAD, mark_stretches


def one_by_one(reps, top):
    """The rule for one lift, session after session."""
    stretch, recent, out = 0, [], []
    for i, (r, t) in enumerate(zip(reps, top, strict=True)):
        if recent:
            outside = max(min(recent) - r, r - max(recent))
            if outside >= NEW_RANGE_REPS and abs(t - top[i - 1]) > SAME_LOAD:
                stretch, recent = stretch + 1, []
        recent = [*recent, r][-4:]
        out.append(stretch)
    return out


@pytest.mark.parametrize(
    ("reps", "load_kg", "stretches"),
    [
        pytest.param([5, 5, 12, 12], [100, 100, 70, 70], [0, 0, 1, 1], id="another range"),
        pytest.param([5, 6, 7, 8, 9], [100, 100, 100, 100, 100], [0, 0, 0, 0, 0], id="repetitions won"),
        pytest.param([5, 12, 5], [100, 100, 100], [0, 0, 0], id="the same load"),
        pytest.param([12, 5, 12], [70, 100, 70], [0, 1, 2], id="there and back"),
    ],
)
def test_another_range_at_another_load_begins_a_stretch(reps, load_kg, stretches):
    lift = np.zeros(len(reps), dtype=np.int64)
    assert mark_stretches(lift, np.array(reps, float), np.log(load_kg)).tolist() == stretches


def test_all_lifts_at_once_are_marked_as_one_by_one():
    random = np.random.default_rng(4)
    lengths = random.integers(1, 40, 60)
    lift = np.repeat(np.arange(60), lengths)
    reps = random.choice([4.0, 5.0, 8.0, 9.5, 13.0], len(lift))
    top = np.log(random.choice([60.0, 61.0, 75.0, 90.0], len(lift)))
    expected = [one for k in range(60) for one in one_by_one(reps[lift == k], top[lift == k])]
    assert mark_stretches(lift, reps, top).tolist() == expected
    assert max(expected) > 2


def test_no_sessions_have_no_stretches():
    assert mark_stretches(np.zeros(0, dtype=np.int64), np.zeros(0), np.zeros(0)).tolist() == []
