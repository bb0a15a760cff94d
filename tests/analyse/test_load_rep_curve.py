"""The client's own load-repetition curve: the published one bent by one figure, there and back."""

import numpy as np
import pytest

from pipeline.analyse.load_rep_curve import expected_ln_factor, ln_load_at

LN_FACTOR = np.log1p(np.arange(1, 16) / 30)  # Epley 1985 at 1 to 15 repetitions
USUAL = np.full(15, np.log1p(6 / 30))


def test_a_curve_of_nought_is_the_published_one():
    loads = np.exp(ln_load_at(np.full(15, np.log(100.0)), LN_FACTOR, np.zeros(15), USUAL))
    assert loads == pytest.approx(100 / (1 + np.arange(1, 16) / 30))


@pytest.mark.parametrize("curve", [-0.4, 0.0, 0.5])
def test_the_repetitions_a_load_allows_are_those_it_was_made_from(curve):
    level, bend = np.full(15, np.log(120.0)), np.full(15, curve)
    load = ln_load_at(level, LN_FACTOR, bend, USUAL)
    assert expected_ln_factor(level, load, bend, USUAL) == pytest.approx(LN_FACTOR)


def test_every_curve_meets_the_published_one_at_the_usual_repetitions():
    level = np.full(15, np.log(100.0))
    for curve in (-0.3, 0.3):
        assert ln_load_at(level, USUAL, np.full(15, curve), USUAL) == pytest.approx(level - USUAL)


def test_a_steeper_lifter_lifts_less_for_many_repetitions_and_more_for_few():
    level = np.full(15, np.log(100.0))
    steep = ln_load_at(level, LN_FACTOR, np.full(15, 0.3), USUAL)
    published = ln_load_at(level, LN_FACTOR, np.zeros(15), USUAL)
    assert np.all(steep[6:] < published[6:])
    assert np.all(steep[:5] > published[:5])


def test_a_load_beyond_reason_asks_for_no_more_than_a_single_or_some_thirty_repetitions():
    level, flat = np.log(np.array([100.0, 100.0])), np.zeros(2)
    reach = expected_ln_factor(level, np.log(np.array([150.0, 10.0])), flat, USUAL[:2])
    assert reach == pytest.approx([0.0, 0.7])


@pytest.mark.parametrize("curve, used", [(-0.9, -0.6), (-0.6, -0.6), (1.5, 1.5), (3.0, 1.5)])
def test_a_curve_beyond_what_lifters_have_is_used_no_further_than_its_bound(curve, used):
    # 6 to 26 repetitions at 70 % of the 1RM: Nuzzo et al. 2024
    level, load, usual = np.log([100.0]), np.log([85.0]), USUAL[:1]
    found = expected_ln_factor(level, load, np.array([curve]), usual)
    assert found == pytest.approx((level - load + used * usual) / (1 + used))
