"""The running model of strength: what it believes about clients whose course is known by construction."""

from __future__ import annotations

import numpy as np
import pytest

from pipeline.analyse.states.regimes import DEPTHS, RATES, Regimes, _moves, follow_regimes, log_odds
from pipeline.analyse.states.strength import Lifts, fit_curve, fit_noise

WEEKS, LIFTS = 40, 6


def _follow(
    level: np.ndarray, noise: float = 0.015, lifts: int = LIFTS, seed: int = 3, hidden: slice | None = None
) -> Regimes:
    """One client with `lifts` lifts on a common log `level` (weeks), read with `noise` each."""
    rng = np.random.default_rng(seed)
    y = level[None, :] + rng.normal(0, noise, (lifts, len(level))) + rng.normal(0, 0.3, (lifts, 1))
    if hidden is not None:
        y[:, hidden] = np.nan
    zeros = np.zeros(lifts, dtype=np.int64)
    made = Lifts(
        y,
        np.where(np.isnan(y), 0.0, 1.0),
        np.full(y.shape, 0.25),
        np.arange(lifts, dtype=np.int64),
        zeros,
        1,
    )
    told = np.ones((1, len(level)))
    if hidden is not None:
        told[:, hidden] = 0
    return follow_regimes(made, fit_noise(made), np.array([0.004]), told, fit_curve(made))


def _gain(rate: float = 0.005) -> np.ndarray:
    return rate * np.arange(WEEKS)


def test_chances_to_move_from_a_regime_add_up_to_one() -> None:
    assert _moves().sum(axis=1) == pytest.approx(np.ones(1 + 16 + len(DEPTHS)))


def test_a_client_who_gets_on_is_not_thought_to_stand_still() -> None:
    stall = _follow(_gain()).stall[0]
    assert stall[12:].mean() < 0.25


def test_a_standstill_is_believed_more_with_every_week() -> None:
    level = np.minimum(_gain(), 0.005 * 20)
    stall = _follow(level).stall[0]
    assert stall[20] < 0.35
    assert stall[28] > 0.7
    assert stall[34] > stall[23]


def test_the_rate_of_getting_on_is_learned_from_the_client() -> None:
    quick, slow = _follow(_gain(0.009)).own_rate[0, -1], _follow(_gain(0.0015)).own_rate[0, -1]
    assert quick == pytest.approx(0.009, rel=0.35)
    assert slow < 0.5 * quick


def test_a_sudden_common_fall_is_a_slump_and_not_a_standstill() -> None:
    level = _gain()
    level[25:29] -= 0.06
    out = _follow(level)
    assert out.slump[0, 26] > 0.8
    assert out.depth[0, 26] == pytest.approx(0.06, abs=0.025)
    assert out.slump[0, 24] < 0.1
    assert out.slump[0, 33] < 0.2


def test_the_same_fall_says_less_where_the_lifts_are_read_badly() -> None:
    level = _gain()
    level[25:29] -= 0.04
    assert _follow(level, noise=0.06).slump[0, 25] < _follow(level, noise=0.01).slump[0, 25]


def test_weeks_without_a_reading_leave_belief_to_the_model_and_raise_nothing() -> None:
    out = _follow(_gain(), hidden=slice(20, 24))
    for grid in (out.stall, out.slump, out.own_rate):
        assert np.isfinite(grid).all()
    assert out.slump[0, 24:].max() < 0.5


def test_a_week_is_never_touched_by_a_later_one() -> None:
    level = _gain()
    level[25:] -= 0.05
    whole = _follow(level)
    rng = np.random.default_rng(3)
    y = level[None, :] + rng.normal(0, 0.015, (LIFTS, WEEKS)) + rng.normal(0, 0.3, (LIFTS, 1))
    cut = 22
    made = Lifts(
        y[:, :cut],
        np.ones((LIFTS, cut)),
        np.full((LIFTS, cut), 0.25),
        np.arange(LIFTS),
        np.zeros(LIFTS, dtype=np.int64),
        1,
    )
    part = follow_regimes(made, fit_noise(made), np.array([0.004]), np.ones((1, cut)), fit_curve(made))
    assert part.stall[0] == pytest.approx(whole.stall[0, :cut], abs=1e-9)
    assert part.slump[0] == pytest.approx(whole.slump[0, :cut], abs=1e-9)


def test_clients_side_by_side_get_what_each_gets_alone() -> None:
    rng = np.random.default_rng(5)
    levels = [_gain(0.006), np.minimum(_gain(), 0.08)]
    rows = [level + rng.normal(0, 0.015, (3, WEEKS)) for level in levels]

    def run(parts: list[np.ndarray]) -> Regimes:
        y = np.concatenate(parts)
        n = len(y)
        owner = np.repeat(np.arange(len(parts)), 3)
        made = Lifts(y, np.ones(y.shape), np.full(y.shape, 0.25), np.arange(n), owner, len(parts))
        usual, told = np.full(len(parts), 0.004), np.ones((len(parts), WEEKS))
        return follow_regimes(made, fit_noise(made), usual, told, fit_curve(made))

    both = run(rows)
    for k in range(2):
        assert both.stall[k] == pytest.approx(run([rows[k]]).stall[0], abs=1e-9)


def test_without_lifts_belief_stays_where_training_age_puts_it() -> None:
    empty = Lifts(
        np.zeros((0, 5)),
        np.zeros((0, 5)),
        np.zeros((0, 5)),
        np.zeros(0, dtype=np.int64),
        np.zeros(0, dtype=np.int64),
        2,
    )
    out = follow_regimes(
        empty, np.zeros((0, 5)), np.array([0.006, 0.0015]), np.zeros((2, 5)), fit_curve(empty)
    )
    assert out.stall.shape == (2, 5)
    assert out.own_rate[0, 0] > out.own_rate[1, 0]
    assert RATES[0] < out.own_rate[1, 0] < RATES[-1]


def test_log_odds_are_symmetric_and_bounded() -> None:
    assert log_odds(np.array([0.5]))[0] == pytest.approx(0.0)
    assert log_odds(np.array([0.2]))[0] == pytest.approx(-log_odds(np.array([0.8]))[0])
    assert abs(log_odds(np.array([1.0]))[0]) <= 10
