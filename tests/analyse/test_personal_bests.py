"""Bests count only when they beat the load step or the measurement error."""

import numpy as np
import pytest

from pipeline.analyse.personal_bests import find_bests, is_outdone


def bests(values, margin, **other):
    n = len(values)
    rows, beaten = find_bests(
        np.zeros(n, dtype=np.int64), np.array(values, float), np.full(n, float(margin)), **other
    )
    return list(zip(rows.tolist(), beaten.tolist(), strict=True))


@pytest.mark.parametrize(
    "values, expected",
    [
        pytest.param([100, 101, 102, 103.5], [(3, 0)], id="small gains add up against the last best"),
        pytest.param([100, 102, 100, 102, 99, 101], [], id="noise around a level is no best"),
        pytest.param([100, 103, 106], [(1, 0), (2, 1)], id="two steps are two bests"),
        pytest.param([100, 90, 102], [], id="a return to an old level is none"),
        pytest.param([100], [], id="one session has nothing to beat"),
        pytest.param([], [], id="nothing"),
    ],
)
def test_a_best_beats_the_last_best_by_the_margin(values, expected):
    assert bests(values, 2.5, n_baseline=1) == expected


def test_the_first_sessions_of_a_lift_only_set_the_mark():
    assert bests([80, 100, 103], 2.5, n_baseline=2) == [(2, 1)]


def test_a_change_of_repetition_range_must_be_beaten_too():
    bend = np.array([0.0, 8.0, 0.5])
    rows, _ = find_bests(
        np.zeros(3, dtype=np.int64), np.array([100.0, 105.0, 105.0]), np.full(3, 3.0), 1, bend
    )
    assert rows.tolist() == [2]


def test_many_series_at_once_give_what_a_naive_loop_gives():
    rng = np.random.default_rng(1)
    series = np.sort(rng.integers(0, 40, 800))
    value = rng.normal(100, 5, 800)
    margin = rng.uniform(1, 4, 800)
    expected = []
    for one in np.unique(series):
        rows = np.flatnonzero(series == one)
        best = rows[0]
        for turn, row in enumerate(rows[1:], start=1):
            if turn < 2:
                best = row if value[row] > value[best] else best
            elif value[row] >= value[best] + margin[row]:
                expected.append((int(row), int(best)))
                best = row
    found, beaten = find_bests(series, value, margin)
    assert sorted(zip(found.tolist(), beaten.tolist(), strict=True)) == sorted(expected)


def test_repetitions_at_a_load_are_no_best_once_a_heavier_load_was_done_as_often():
    lift = np.array([0, 0, 0, 1])
    day = np.array([1, 2, 3, 3])
    load = np.array([100.0, 105.0, 100.0, 100.0])
    reps = np.array([6.0, 9.0, 8.0, 8.0])
    assert is_outdone(lift, day, load, reps, np.array([2, 3])).tolist() == [True, False]
    assert is_outdone(lift, day, load, reps, np.array([], dtype=np.int64)).tolist() == []
