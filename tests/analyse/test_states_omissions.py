"""Leaving parts of the plan out: what adds up, what does not, and what one silence may say."""

from __future__ import annotations

import numpy as np
import pytest

from pipeline.analyse.states.decision import OFF_ENTER
from pipeline.analyse.states.omissions import (
    MOST_A_WEEK,
    MOST_ODDS,
    add_up,
    habit_of,
    off_plan_odds,
    session_ratio,
    set_ratio,
)


def _odds(share: list[float], within: list[float] | None = None, planned: float = 4.0) -> np.ndarray:
    grid = np.array([share], dtype=float)
    sets = np.array([within if within is not None else [1.0] * len(share)], dtype=float)
    no = np.zeros(grid.shape, dtype=bool)
    trained = grid > 0
    return off_plan_odds(
        np.full(grid.shape, planned), grid, np.where(trained, sets, np.nan), ~trained, no, trained
    )


@pytest.mark.parametrize(
    ("share", "is_off"),
    [
        pytest.param([1, 1, 0.5, 1, 1, 1], False, id="one short week"),
        pytest.param([1, 0, 1, 1, 1, 1], False, id="one week missed whole"),
        pytest.param([1, 0, 0, 1, 1, 1], False, id="one silence over two weeks"),
        pytest.param([1, 1, 0.5, 0.5, 0.25, 0.5], True, id="half the sessions for a month"),
        pytest.param([1, 1, 0.25, 0.5], True, id="two weeks well below"),
        pytest.param([0.75, 1, 0.75, 1, 1, 0.75], False, id="a session missed now and then"),
        pytest.param([1, 0.5, 0.25, 0, 0, 0.25], True, id="short weeks around a silence"),
    ],
)
def test_being_off_plan_takes_more_than_one_short_week(share: list[float], is_off: bool) -> None:
    assert bool((_odds(share) >= OFF_ENTER).any()) is is_off


@pytest.mark.parametrize(
    ("within", "is_off"),
    [
        pytest.param([1, 0.5, 1, 1, 1], False, id="one session day cut short"),
        pytest.param([1, 0.5, 0.55, 0.5, 0.6], True, id="half the sets for a month"),
        pytest.param([0.85, 0.8, 0.85, 0.8, 0.8], False, id="a set trimmed here and there"),
    ],
)
def test_sessions_that_are_all_attended_but_cut_short_are_off_plan_too(
    within: list[float], is_off: bool
) -> None:
    assert bool((_odds([1.0] * len(within), within) >= OFF_ENTER).any()) is is_off


def test_perfect_sessions_on_half_the_days_are_not_excused_by_their_fullness() -> None:
    full, short = _odds([1, 0.5, 0.5, 0.5]), _odds([1, 0.5, 0.5, 0.5], [1, 0.9, 0.9, 0.9])
    assert full[0, -1] >= OFF_ENTER
    assert short[0, -1] >= full[0, -1] - 1e-9


def test_days_missed_in_one_stretch_over_a_sunday_count_once() -> None:
    ratio = np.array([[2.0, 2.0]])
    no, trained = np.zeros((1, 2), dtype=bool), np.ones((1, 2), dtype=bool)
    joined = np.array([[False, True]])
    # by hand: 2 + 2 = 4 apart; 2 + (2.8 − 2) = 2.8 joined
    assert add_up(ratio, no, no, trained)[0, 1] == pytest.approx(4.0)
    assert add_up(ratio, joined, no, trained)[0, 1] == pytest.approx(MOST_A_WEEK)


def test_who_is_back_keeps_what_the_weeks_before_the_silence_said() -> None:
    ratio = np.array([[0.0, 1.5, 2.0, 0.0]])
    no = np.zeros((1, 4), dtype=bool)
    trained = np.array([[True, True, False, True]])
    back = np.array([[False, False, False, True]])
    assert add_up(ratio, no, back, trained)[0, 2] == pytest.approx(3.5)
    assert add_up(ratio, no, back, trained)[0, 3] == pytest.approx(1.5)


def test_the_sum_never_falls_below_nothing_nor_rises_without_end() -> None:
    ratio = np.array([[-2.0, -2.0, *[2.5] * 9]])
    no, trained = np.zeros((1, 11), dtype=bool), np.ones((1, 11), dtype=bool)
    out = add_up(ratio, no, no, trained)
    assert out[0, 1] == 0
    assert out[0, -1] == MOST_ODDS


def test_a_weeks_ratio_is_that_of_its_sessions() -> None:
    # by hand: 2 done and 2 missed of 4 at 0.9: 2 ln(0.4/0.9) + 2 ln(0.6/0.1) = −1.6219 + 3.5835
    ratio = session_ratio(np.array([[4.0]]), np.array([[0.5]]), np.array([[0.9]]))
    assert ratio[0, 0] == pytest.approx(1.9617, abs=1e-4)
    assert set_ratio(np.array([[0.75, np.nan]]))[0].tolist() == pytest.approx([0.0, 0.0])


def test_the_habit_is_the_clients_own_and_ends_six_weeks_back() -> None:
    planned, share = np.full((1, 30), 4.0), np.ones((1, 30))
    share[0, -6:] = 0.0
    lapsed = habit_of(planned, share)[0, -1]
    share[0, -6:] = 1.0
    assert lapsed == habit_of(planned, share)[0, -1]
    assert habit_of(planned, 0.5 * share)[0, -1] < lapsed
