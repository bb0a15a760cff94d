"""What went with less performance: held to least squares with errors by day, and to planted differences."""

import numpy as np
import pandas as pd
import pytest
import statsmodels.formula.api as smf

from pipeline.analyse.session_context import compare_within_lifts
from pipeline.analyse.trend import Z_90


def drawn(seed, effect=0.0, n_days=60, n_lifts=5, shared=0.02):
    """One client: lifts on days, some of them in the circumstance; the lifts of a day share its form."""
    rng = np.random.default_rng(seed)
    day = np.repeat(np.arange(n_days), n_lifts)
    lift = np.tile(np.arange(n_lifts), n_days)
    with_it = np.repeat(rng.random(n_days) < 0.4, n_lifts)
    form = np.repeat(rng.normal(0, shared, n_days), n_lifts)
    surprise = form + rng.normal(0, 0.02, len(day)) + effect * with_it + 0.01 * lift
    return lift, day, np.clip(surprise, -0.1, 0.1), with_it


@pytest.mark.parametrize("n_lifts", [5, 1])
def test_difference_and_error_are_those_of_least_squares_with_errors_by_day(n_lifts):
    lift, day, surprise, with_it = drawn(1, effect=-0.02, n_lifts=n_lifts)
    found = compare_within_lifts(np.zeros(len(lift), dtype=np.int64), lift, day, surprise, with_it, 1)
    frame = pd.DataFrame({"y": surprise, "x": with_it.astype(float), "lift": lift})
    fit = smf.ols("y ~ x + C(lift)" if n_lifts > 1 else "y ~ x", frame).fit(
        cov_type="cluster", cov_kwds={"groups": day, "use_correction": False}
    )
    n_days = len(np.unique(day))
    assert found.difference[0] == pytest.approx(fit.params["x"])
    assert found.se[0] == pytest.approx(fit.bse["x"] * np.sqrt(n_days / (n_days - 1)))


def test_a_planted_difference_is_found():
    lift, day, surprise, with_it = drawn(2, effect=-0.03)
    found = compare_within_lifts(np.zeros(len(lift), dtype=np.int64), lift, day, surprise, with_it, 1)
    assert found.difference[0] + Z_90 * found.se[0] < 0
    assert found.difference[0] == pytest.approx(-0.03, abs=0.015)


def test_where_there_is_none_an_interval_excludes_zero_about_one_time_in_ten():
    calls = []
    for seed in range(300):
        lift, day, surprise, with_it = drawn(100 + seed)
        found = compare_within_lifts(np.zeros(len(lift), dtype=np.int64), lift, day, surprise, with_it, 1)
        calls.append(abs(found.difference[0]) > Z_90 * found.se[0])
    assert np.mean(calls) < 0.15


def test_a_lift_that_is_always_late_says_nothing():
    lift, day, surprise, _ = drawn(3)
    always = lift == 4
    found = compare_within_lifts(np.zeros(len(lift), dtype=np.int64), lift, day, surprise, always, 1)
    assert (found.n_with[0], found.n_without[0], found.se[0]) == (0, 0, np.inf)


def test_clients_do_not_mix():
    lift, day, surprise, with_it = drawn(4, effect=-0.03)
    other_lift, other_day, other_surprise, other_with = drawn(5)
    both = compare_within_lifts(
        np.repeat([0, 1], len(lift)),
        np.r_[lift, other_lift + 5],
        np.r_[day, other_day + 60],
        np.r_[surprise, other_surprise],
        np.r_[with_it, other_with],
        2,
    )
    alone = compare_within_lifts(np.zeros(len(lift), dtype=np.int64), lift, day, surprise, with_it, 1)
    assert both.difference[0] == pytest.approx(alone.difference[0])
    assert both.se[0] == pytest.approx(alone.se[0])
