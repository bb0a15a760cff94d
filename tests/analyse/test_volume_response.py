"""What weekly amount went with progress: least squares for one client, random effects for the roster."""

import numpy as np
import pytest
import statsmodels.api as sm
from statsmodels.stats.meta_analysis import combine_effects

from pipeline.analyse.volume_response import fit_own, pool_responses


def drawn(seed, slope, n=7):
    rng = np.random.default_rng(seed)
    sets = rng.uniform(40, 70, n)
    variance = np.full(n, 0.002**2)
    return sets, 0.001 + slope * (sets - 55) + rng.normal(0, 0.002, n), variance, np.arange(n, dtype=float)


def test_a_clients_own_line_is_weighted_least_squares():
    sets, gain, variance, when = drawn(1, 0.0001)
    own = fit_own(sets, gain, variance, when)
    fit = sm.WLS(gain, sm.add_constant(sets), weights=1 / variance).fit()
    assert own.slope == pytest.approx(fit.params[1])
    assert own.variance == pytest.approx(max(fit.cov_params()[1, 1], fit.normalized_cov_params[1, 1]))


@pytest.mark.parametrize("n, is_allowed_for", [(12, True), (8, True), (7, False)])
def test_with_eight_changes_and_more_the_date_is_allowed_for(n, is_allowed_for):
    # a novice whose gains fade while the sets go up: sets are no cause of the loss
    when = np.arange(float(n))
    sets = 40 + when + np.tile([1.0, -1.0], 6)[:n]
    gain = 0.006 - 0.0004 * when
    own = fit_own(sets, gain, np.full(n, 1e-6), when)
    assert (abs(own.slope) < 1e-9) is is_allowed_for


@pytest.mark.parametrize(
    "n, spread", [pytest.param(3, 30.0, id="too few"), pytest.param(8, 1.0, id="all alike")]
)
def test_too_little_to_tell_is_no_answer(n, spread):
    sets = np.linspace(50, 50 + spread, n)
    assert fit_own(sets, np.zeros(n), np.ones(n), np.arange(float(n))) is None


@pytest.mark.parametrize("n", [2, 12])
def test_the_roster_is_pooled_by_random_effects_as_in_statsmodels(n):
    # DerSimonian & Laird 1986
    rng = np.random.default_rng(3)
    slope, variance = rng.normal(1.0, 0.8, n), rng.uniform(0.1, 0.6, n)
    pooled = pool_responses(slope, variance)
    reference = combine_effects(slope, variance, method_re="dl")
    assert pooled.between == pytest.approx(max(0.0, reference.tau2))
    assert pooled.mean == pytest.approx(reference.mean_effect_re)
    assert pooled.mean_variance == pytest.approx(reference.sd_eff_w_re**2)


def test_a_client_with_little_of_their_own_is_drawn_to_the_roster():
    slope = np.array([0.0, 1.0, 2.0, 3.0, 9.0])
    variance = np.array([0.1, 0.1, 0.1, 0.1, 50.0])
    pooled = pool_responses(slope, variance)
    assert pooled.own_share[4] < 0.2 < pooled.own_share[0]
    assert abs(pooled.slope[4] - pooled.mean) < 2
    assert pooled.slope[0] < pooled.mean


def test_one_client_stands_alone_and_none_is_no_error():
    alone = pool_responses(np.array([2.0]), np.array([0.5]))
    assert (alone.slope[0], alone.variance[0], alone.own_share[0]) == (2.0, 0.5, 1.0)
    assert len(pool_responses(np.zeros(0), np.zeros(0)).slope) == 0
