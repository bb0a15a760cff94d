"""Strength change within a block: against scipy, by hand, and where there is too little to say."""

import numpy as np
import pytest
from scipy import stats

from pipeline.analyse.plan.block_fit import Rate, difference, fit_block, outcome_of, pool_rates


def test_with_equal_errors_and_a_wide_scatter_the_fit_is_ordinary_least_squares():
    # scipy.stats.linregress computes slope and its standard error from the residuals [C]
    rng = np.random.default_rng(3)
    weeks = np.arange(8.0)
    ln_e1rm = np.log(100) + 0.01 * weeks + rng.normal(0, 0.08, 8)
    ours = fit_block(weeks, ln_e1rm, np.full(8, 0.01))
    theirs = stats.linregress(weeks, ln_e1rm)
    assert ours is not None
    assert ours.rate.pct_per_week == pytest.approx(100 * theirs.slope)
    assert ours.rate.se_pct == pytest.approx(100 * theirs.stderr)


def test_the_known_error_is_the_least_there_is():
    # a perfect line: se = sd / sqrt(sum of squares) = sqrt(0.03² + 0.02²) / sqrt(5)
    fit = fit_block([0, 1, 2, 3], np.log([100, 101, 102.01, 103.0301]), np.full(4, 0.03))
    assert fit is not None
    assert fit.rate.se_pct == pytest.approx(100 * np.hypot(0.03, 0.02) / np.sqrt(5))
    assert (fit.rate.pct_per_week, fit.first_kg, fit.last_kg) == pytest.approx(
        (100 * np.log(1.01), 100, 103.0301)
    )


def test_the_change_does_not_depend_on_unit_or_first_week():
    rng = np.random.default_rng(5)
    weeks, e1rm = np.arange(6.0), 100 * np.exp(0.01 * np.arange(6) + rng.normal(0, 0.02, 6))
    kg = fit_block(weeks, np.log(e1rm), np.full(6, 0.02))
    lb = fit_block(weeks + 40, np.log(e1rm / 0.45359237), np.full(6, 0.02))
    assert kg is not None and lb is not None
    assert kg.rate.interval() == pytest.approx(lb.rate.interval())


@pytest.mark.parametrize("weeks", [[0, 1, 2], [0, 0.5, 1, 1.5]])
def test_three_sessions_or_less_than_two_weeks_are_too_little(weeks):
    assert fit_block(weeks, np.zeros(len(weeks)), np.full(len(weeks), 0.02)) is None


def test_the_interval_is_students():
    assert Rate(1.0, 0.5, 4).interval() == pytest.approx(
        (1 - 0.5 * 2.131847, 1 + 0.5 * 2.131847), abs=1e-5
    )  # t(0.95, 4) [C]


def test_lifts_are_pooled_by_precision_and_disagreement_widens_the_interval():
    pooled = pool_rates([Rate(1.0, 0.5, 3), Rate(2.0, 0.5, 3)])
    assert pooled == Rate(1.5, pytest.approx(0.5), 6)
    steady = pool_rates([Rate(1.5, 0.5, 3), Rate(1.5, 0.5, 3)])
    assert steady is not None and steady.se_pct == pytest.approx(0.5 / np.sqrt(2))
    assert pool_rates([]) is None


def test_weeks_good_or_bad_for_every_lift_at_once_widen_the_pooled_interval():
    pooled = pool_rates([Rate(1.0, 0.5, 3), Rate(2.0, 0.5, 3)], n_weeks=6)
    assert pooled is not None and pooled.se_pct == pytest.approx(np.hypot(0.5, 0.7 / np.sqrt(17.5)))


def test_the_difference_of_two_blocks_adds_their_errors():
    # Welch-Satterthwaite: equal errors and 4 degrees each give 8
    change = difference(Rate(1.0, 0.3, 4), Rate(0.2, 0.3, 4))
    assert change is not None
    assert (change.pct_per_week, change.se_pct, change.df) == pytest.approx((0.8, 0.3 * np.sqrt(2), 8.0))
    assert difference(None, Rate(0.2, 0.3, 4)) is None


@pytest.mark.parametrize(
    ("rate", "outcome"),
    [
        (Rate(1, 0.2, 8), "stronger"),
        (Rate(-1, 0.2, 8), "weaker"),
        (Rate(0.2, 0.2, 8), "no_clear_change"),
        (None, "too_little"),
    ],
)
def test_only_an_interval_that_leaves_out_zero_is_a_change(rate, outcome):
    assert outcome_of(rate) == outcome
