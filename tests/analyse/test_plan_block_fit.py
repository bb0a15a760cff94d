"""Strength change within a block: against scipy, by hand, and where there is too little to say."""

import numpy as np
import pytest
from scipy import stats

from pipeline.analyse.plan.block_fit import Rates, difference, fit_lines, outcomes_of, pool_rates


def lines(weeks, ln_e1rm, se_ln):
    """The line of one lift."""
    weeks, ln_e1rm = np.asarray(weeks, dtype=float), np.asarray(ln_e1rm, dtype=float)
    return fit_lines(np.zeros(len(weeks), dtype=np.int64), weeks, ln_e1rm, np.full(len(weeks), se_ln), 1)


def rates(*figures):
    """Rates of (% a week, standard error, degrees of freedom); none for None."""
    known = np.array([one is not None for one in figures], dtype=bool)
    values = np.array([one or (0.0, 1.0, 1.0) for one in figures], dtype=float).reshape(-1, 3)
    return Rates(*values.T, known)


def first(found):
    assert found.is_known[0]
    return found.pct_per_week[0], found.se_pct[0], found.df[0]


def test_with_equal_errors_and_a_wide_scatter_the_fit_is_ordinary_least_squares():
    # scipy.stats.linregress computes slope and its standard error from the residuals [C]
    rng = np.random.default_rng(3)
    weeks = np.arange(8.0)
    ln_e1rm = np.log(100) + 0.01 * weeks + rng.normal(0, 0.08, 8)
    theirs = stats.linregress(weeks, ln_e1rm)
    assert first(lines(weeks, ln_e1rm, 0.01).rates) == pytest.approx(
        (100 * theirs.slope, 100 * theirs.stderr, 6)
    )


def test_the_known_error_is_the_least_there_is():
    # a perfect line: se = sd / sqrt(sum of squares) = sqrt(0.03² + 0.02²) / sqrt(5)
    fit = lines([0, 1, 2, 3], np.log([100, 101, 102.01, 103.0301]), 0.03)
    slope, se, _ = first(fit.rates)
    assert se == pytest.approx(100 * np.hypot(0.03, 0.02) / np.sqrt(5))
    assert (slope, fit.first_kg[0], fit.last_kg[0]) == pytest.approx((100 * np.log(1.01), 100, 103.0301))


def test_the_change_does_not_depend_on_unit_or_first_week():
    rng = np.random.default_rng(5)
    weeks, e1rm = np.arange(6.0), 100 * np.exp(0.01 * np.arange(6) + rng.normal(0, 0.02, 6))
    kg = lines(weeks, np.log(e1rm), 0.02).rates.interval()
    lb = lines(weeks + 40, np.log(e1rm / 0.45359237), 0.02).rates.interval()
    assert np.ravel(kg) == pytest.approx(np.ravel(lb))


@pytest.mark.parametrize("weeks", [[], [0, 1, 2], [0, 0.5, 1, 1.5]])
def test_three_sessions_or_less_than_two_weeks_are_too_little(weeks):
    assert not lines(weeks, np.zeros(len(weeks)), 0.02).rates.is_known[0]


def test_lifts_fitted_together_are_as_fitted_alone():
    rng = np.random.default_rng(8)
    lift = rng.permutation(np.repeat(np.arange(5), [9, 4, 2, 7, 6]))
    weeks, se = rng.uniform(0, 10, len(lift)), rng.uniform(0.01, 0.05, len(lift))
    ln_e1rm = np.log(100) + rng.normal(0, 0.03, len(lift))
    together = fit_lines(lift, weeks, ln_e1rm, se, 5)
    for one in range(5):
        mine = lift == one
        alone = fit_lines(np.zeros(mine.sum(), dtype=np.int64), weeks[mine], ln_e1rm[mine], se[mine], 1)
        for name in ("pct_per_week", "se_pct", "df", "is_known"):
            assert getattr(together.rates, name)[one] == pytest.approx(getattr(alone.rates, name)[0])
        assert together.first_kg[one] == pytest.approx(alone.first_kg[0])
        assert together.last_kg[one] == pytest.approx(alone.last_kg[0])


def test_the_interval_is_students():
    assert np.ravel(rates((1.0, 0.5, 4)).interval()) == pytest.approx(
        (1 - 0.5 * 2.131847, 1 + 0.5 * 2.131847), abs=1e-5
    )  # t(0.95, 4) [C]


def test_lifts_are_pooled_by_precision_and_disagreement_widens_the_interval():
    block = np.array([0, 0, 1, 1, 1])
    lifts = rates((1.0, 0.5, 3), (2.0, 0.5, 3), (1.5, 0.5, 3), (1.5, 0.5, 3), None)
    pooled = pool_rates(block, lifts, np.zeros(3))
    assert pooled.is_known.tolist() == [True, True, False]
    assert pooled.pct_per_week[:2] == pytest.approx([1.5, 1.5])
    assert pooled.se_pct[:2] == pytest.approx([0.5, 0.5 / np.sqrt(2)])
    assert pooled.df[:2] == pytest.approx([6, 6])


def test_weeks_good_or_bad_for_every_lift_at_once_widen_the_pooled_interval():
    lifts = rates((1.0, 0.5, 3), (2.0, 0.5, 3))
    pooled = pool_rates(np.array([0, 0]), lifts, np.array([6.0]))
    assert first(pooled)[1] == pytest.approx(np.hypot(0.5, 0.7 / np.sqrt(17.5)))


def test_the_difference_of_two_blocks_adds_their_errors():
    # Welch-Satterthwaite: equal errors and 4 degrees each give 8
    earlier = rates((0.2, 0.3, 4), None)
    change = difference(rates((1.0, 0.3, 4), (1.0, 0.3, 4)), earlier)
    assert first(change) == pytest.approx((0.8, 0.3 * np.sqrt(2), 8.0))
    assert change.is_known.tolist() == [True, False]
    assert earlier.at(np.array([1, 0, -1])).is_known.tolist() == [False, True, False]


def test_only_an_interval_that_leaves_out_zero_is_a_change():
    told = outcomes_of(rates((1, 0.2, 8), (-1, 0.2, 8), (0.2, 0.2, 8), None))
    assert told == ["stronger", "weaker", "no_clear_change", "too_little"]
