"""The filter of all lifts, held to a general-purpose library, to itself on one lift, and to known truth."""

from dataclasses import replace

import numpy as np
import pytest
import statsmodels.api as sm
from scipy.stats import theilslopes
from simulated_lifts import simulate
from statsmodels.tsa.statespace.kalman_filter import KalmanFilter

from pipeline.analyse.trend import Z_90, FilterFigures, LiftSessions, filter_lifts

PLAIN = FilterFigures(
    first_factor=1.0,
    second_factor=1.0,
    outlier_z=1e9,
    scale_low=1.0,
    scale_high=1.0,
    curve_prior_sd=0.0,
    layoff_sd=0.0,
    day_sd=0.0,
)


def one_lift(levels, weeks=None, se=0.03, **other):
    """Sessions of one lift, singles to failure, so that the log load is the observed level."""
    n = len(levels)
    facts = {
        "lift": np.zeros(n, dtype=np.int64),
        "week": np.arange(n) if weeks is None else np.asarray(weeks),
        "ln_load": np.asarray(levels, dtype=float),
        "ln_factor": np.zeros(n),
        "se": np.full(n, se),
        "share_per_rep": np.full(n, 1 / 35),
        "is_lower_bound": np.zeros(n, dtype=bool),
        "is_deload": np.zeros(n, dtype=bool),
    }
    return LiftSessions(**(facts | other))


def at_one_load(levels, **other):
    """Sessions of one lift at one load: what varies is the repetitions to failure."""
    levels = np.asarray(levels, dtype=float)
    usual = np.log1p(8 / 30)
    load = levels[0] - usual
    return one_lift(np.full(len(levels), load), ln_factor=levels - load, **other)


def grid(result, name, n_lifts, n_weeks):
    values = np.full((n_lifts, n_weeks), np.nan)
    values[result.lift.astype(int), result.week.astype(int)] = getattr(result, name)
    return values


def test_without_its_robust_parts_it_is_the_kalman_filter_of_statsmodels():
    rng = np.random.default_rng(5)
    observed = 4.6 + np.cumsum(rng.normal(0.003, 0.005, 40)) + rng.normal(0, 0.03, 40)
    result, _ = filter_lifts(one_lift(observed), 40, figures=PLAIN)
    reference = KalmanFilter(k_endog=1, k_states=2, tolerance=0)
    reference.bind(observed[1:].copy())
    reference["design"] = np.array([[1.0, 0.0]])
    reference["obs_cov"] = np.array([[0.03**2]])
    keep = PLAIN.slope_keeps
    reference["transition"] = np.array([[1.0, 1.0], [0.0, keep]])
    reference["selection"] = np.eye(2)
    reference["state_cov"] = np.diag([PLAIN.level_sd**2, PLAIN.slope_sd**2])
    start = np.array([[0.03**2, 0.0], [0.0, PLAIN.slope_prior_sd**2]])
    step = np.array([[1.0, 1.0], [0.0, keep]])
    reference.initialize_known(np.array([observed[0], 0.0]), step @ start @ step.T + reference["state_cov"])
    expected = reference.filter()
    assert result.level[1:] == pytest.approx(expected.filtered_state[0], abs=1e-10)
    assert result.slope[1:] == pytest.approx(expected.filtered_state[1], abs=1e-10)
    assert result.slope_sd[1:] == pytest.approx(np.sqrt(expected.filtered_state_cov[1, 1]), abs=1e-10)


def test_with_the_nile_figures_it_gives_the_local_level_of_durbin_and_koopman():
    # variances 15099 and 1469.1 for the Nile series; levels by statsmodels with the same figures
    nile = sm.datasets.nile.load_pandas().data["volume"].to_numpy(dtype=float)
    figures = replace(PLAIN, level_sd=1469.1**0.5, slope_sd=0.0, slope_prior_sd=0.0)
    result, _ = filter_lifts(one_lift(nile, se=15099**0.5), len(nile), figures=figures)
    model = sm.tsa.UnobservedComponents(nile, "llevel")
    model.ssm.initialize_approximate_diffuse(1e12)
    expected = model.filter([15099.0, 1469.1]).filtered_state[0]
    assert result.level == pytest.approx(expected, rel=1e-5)


def test_all_lifts_at_once_give_what_each_gives_alone():
    made = simulate(6, 30, rates=np.full((6, 2), 0.002), turns=np.full(6, 15), seed=2, per_week=2)
    together, _ = filter_lifts(made.sessions, 30)
    for lift in range(6):
        mine = made.sessions.lift == lift
        alone = LiftSessions(
            **{
                name: getattr(made.sessions, name)[mine]
                if name != "lift"
                else np.zeros(mine.sum(), dtype=np.int64)
                for name in LiftSessions.__dataclass_fields__
            }
        )
        result, _ = filter_lifts(alone, 30)
        assert together.level[together.lift == lift] == pytest.approx(result.level)
        assert together.slope_sd[together.lift == lift] == pytest.approx(result.slope_sd)


def test_a_heavier_lifter_has_the_same_trend():
    made = simulate(1, 20, rates=np.full((1, 2), 0.004), turns=np.array([10]), seed=3)
    heavier = replace(made.sessions, ln_load=made.sessions.ln_load + np.log(2))
    plain, _ = filter_lifts(made.sessions, 20)
    double, _ = filter_lifts(heavier, 20)
    assert double.slope == pytest.approx(plain.slope)
    assert double.level == pytest.approx(plain.level + np.log(2))


def test_nothing_of_a_later_week_changes_an_earlier_one():
    made = simulate(20, 40, rates=np.full((20, 2), 0.003), turns=np.full(20, 20), seed=4)
    early = made.sessions.week < 25
    cut = LiftSessions(
        **{name: getattr(made.sessions, name)[early] for name in LiftSessions.__dataclass_fields__}
    )
    whole, _ = filter_lifts(made.sessions, 40)
    part, _ = filter_lifts(cut, 25)
    known = whole.week < 25
    for name in ("level", "level_sd", "slope", "slope_sd", "curve"):
        assert getattr(whole, name)[known] == pytest.approx(getattr(part, name))


def test_the_slope_has_the_sign_and_size_of_a_theil_sen_line_on_a_steady_gain():
    rng = np.random.default_rng(6)
    observed = 4.6 + 0.005 * np.arange(30) + rng.normal(0, 0.02, 30)
    result, _ = filter_lifts(one_lift(observed, se=0.02), 30)
    line = theilslopes(observed, np.arange(30), alpha=0.9)
    assert result.slope[-1] == pytest.approx(line.slope, abs=2 * result.slope_sd[-1])
    assert result.slope[-1] - Z_90 * result.slope_sd[-1] > 0


def test_one_bad_day_hardly_moves_the_level():
    flat = np.full(20, np.log(100.0))
    bad = flat.copy()
    bad[15] -= 0.15
    good, _ = filter_lifts(at_one_load(flat), 20)
    hurt, _ = filter_lifts(at_one_load(bad), 20)
    fooled, _ = filter_lifts(at_one_load(bad), 20, figures=FilterFigures(outlier_z=1e9))
    moved = abs(hurt.level[15] - good.level[15])
    assert moved < 0.015
    assert moved < 0.5 * abs(fooled.level[15] - good.level[15])


def test_a_drop_that_stays_is_followed():
    levels = np.r_[np.full(15, np.log(100.0)), np.full(15, np.log(92.0))]
    result, _ = filter_lifts(one_lift(levels), 30)
    assert np.exp(result.level[-1]) == pytest.approx(92.0, rel=0.015)


def test_a_planned_deload_says_little():
    levels = np.full(20, np.log(100.0))
    levels[10] = np.log(85.0)
    planned = np.zeros(20, dtype=bool)
    planned[10] = True
    surprise, _ = filter_lifts(one_lift(levels), 20)
    announced, _ = filter_lifts(one_lift(levels, is_deload=planned), 20)
    assert abs(announced.level[10] - np.log(100)) < abs(surprise.level[10] - np.log(100))
    assert abs(announced.level[10] - np.log(100)) < 0.012


def test_the_first_exposures_to_a_lift_do_not_make_a_trend():
    # a lift that is learnt: 80, 90, then steady at 100
    levels = np.log([80.0, 90.0, *[100.0] * 10])
    learnt, _ = filter_lifts(one_lift(levels), 12)
    naive, _ = filter_lifts(one_lift(levels), 12, figures=FilterFigures(first_factor=1.0, second_factor=1.0))
    assert learnt.slope[-1] < 0.5 * naive.slope[-1]


def test_a_bound_that_lies_low_says_less_than_one_that_lies_high():
    levels = np.r_[np.full(10, np.log(100.0)), 0.0]
    bound = np.r_[np.zeros(10, dtype=bool), True]

    def last_step(load):
        levels[10] = np.log(load)
        result, _ = filter_lifts(at_one_load(levels.copy(), is_lower_bound=bound), 11)
        return result.level[10] - result.level[9]

    assert abs(last_step(90.0)) < 0.004
    assert last_step(110.0) > 2 * abs(last_step(90.0))


def test_the_slope_interval_holds_the_truth_nine_times_in_ten_early_on():
    rng = np.random.default_rng(7)
    rates = rng.normal(0.002, 0.003, 300)
    made = simulate(300, 12, rates=np.column_stack([rates, rates]), turns=np.full(300, 12), seed=8)
    result, _ = filter_lifts(made.sessions, 12)
    slope, sd = (grid(result, name, 300, 12)[:, -1] for name in ("slope", "slope_sd"))
    assert np.mean(np.abs(slope - rates) < Z_90 * sd) > 0.87


@pytest.mark.parametrize("states_effort", [True, False], ids=["effort stated", "no effort ever"])
def test_a_flat_lift_is_seldom_called_rising_or_falling(states_effort):
    made = simulate(
        300, 30, rates=np.zeros((300, 2)), turns=np.full(300, 15), seed=9, states_effort=states_effort
    )
    result, _ = filter_lifts(made.sessions, 30)
    slope, sd = (grid(result, name, 300, 30)[:, 8:] for name in ("slope", "slope_sd"))
    assert np.mean(np.abs(slope) > Z_90 * sd) < 0.05


def test_changing_from_sets_of_six_to_twelve_is_not_taken_for_progress_or_loss():
    # repetitions at a share of 1RM differ between lifters (Nuzzo et al. 2024), so that a published curve sees
    # a step where true strength is flat, as it is here
    n_lifts, n_weeks = 300, 45
    curves = np.exp(np.random.default_rng(10).normal(np.log(30), 0.3, n_lifts))
    aims = np.tile(np.r_[np.full(20, 6.0), np.full(25, 12.0)], (n_lifts, 1))
    made = simulate(
        n_lifts,
        n_weeks,
        rates=np.zeros((n_lifts, 2)),
        turns=np.full(n_lifts, 20),
        seed=11,
        aims=aims,
        k=curves,
    )

    def step_and_false_calls(figures):
        result, _ = filter_lifts(made.sessions, n_weeks, figures=figures)
        level = grid(result, "level", n_lifts, n_weeks)
        slope, sd = (grid(result, name, n_lifts, n_weeks) for name in ("slope", "slope_sd"))
        calls = np.abs(slope[:, 21:35]) > Z_90 * sd[:, 21:35]
        return np.std(level[:, -1] - level[:, 19]), np.mean(calls.any(axis=1))

    own_step, own_calls = step_and_false_calls(FilterFigures())
    published_step, published_calls = step_and_false_calls(FilterFigures(curve_prior_sd=1e-6))
    assert own_step < 0.6 * published_step
    assert own_calls < 0.05
    assert own_calls < 0.4 * published_calls


def test_a_lifters_own_curve_is_learnt_where_repetitions_vary():
    n_lifts, n_weeks = 200, 40
    curves = np.exp(np.random.default_rng(12).normal(np.log(30), 0.3, n_lifts))
    aims = np.tile(np.where(np.arange(n_weeks) % 2 == 0, 5.0, 12.0), (n_lifts, 1))
    made = simulate(
        n_lifts,
        n_weeks,
        rates=np.zeros((n_lifts, 2)),
        turns=np.full(n_lifts, 20),
        seed=13,
        aims=aims,
        k=curves,
    )
    result, _ = filter_lifts(made.sessions, n_weeks)
    assert np.corrcoef(grid(result, "curve", n_lifts, n_weeks)[:, -1], 30 / curves)[0, 1] > 0.85


def test_a_curve_stays_at_the_published_one_where_all_sets_are_alike():
    noise = np.random.default_rng(14).normal(0, 0.02, 40)
    result, _ = filter_lifts(at_one_load(np.log(100.0) + noise), 40)
    assert abs(result.curve[-1]) < 0.1
    assert result.curve_sd[-1] > 0.2


def test_no_sessions_give_no_weeks():
    nothing = LiftSessions(
        **{
            name: np.zeros(
                0, dtype=bool if name.startswith("is_") else np.int64 if name in ("lift", "week") else float
            )
            for name in LiftSessions.__dataclass_fields__
        }
    )
    result, _ = filter_lifts(nothing, 10)
    assert len(result.level) == 0


def test_a_lift_left_alone_for_a_quarter_has_no_more_rows_and_a_wide_interval_when_it_returns():
    weeks = np.r_[np.arange(10), 30]
    result, _ = filter_lifts(one_lift(np.full(11, np.log(100.0)), weeks=weeks), 31)
    assert 15 in result.week
    assert 25 not in result.week
    assert result.level_sd[result.week == 30][0] > 1.5 * result.level_sd[result.week == 9][0]


STEADY = FilterFigures(scale_low=1.0, scale_high=1.0, curve_prior_sd=0.0)
USUAL_SD = np.hypot(0.03, STEADY.day_sd)


@pytest.mark.parametrize(
    "session, other, expected",
    [
        pytest.param(0, {}, 2.5 * USUAL_SD, id="the first exposure to a lift"),
        pytest.param(1, {}, 1.5 * USUAL_SD, id="the second"),
        pytest.param(2, {}, USUAL_SD, id="any later one"),
        pytest.param(3, {"is_deload": np.array([False] * 3 + [True])}, 3 * USUAL_SD, id="a deload"),
        pytest.param(
            3,
            {"is_lower_bound": np.array([False] * 3 + [True])},
            np.hypot(USUAL_SD, 1.5 / 35),
            id="unstated effort: a repetition and a half from day to day",
        ),
    ],
)
def test_a_session_counts_as_much_as_its_kind_can_be_trusted(session, other, expected):
    _, read = filter_lifts(one_lift([4.6] * 4, **other), 4, figures=STEADY)
    assert read.sd[session] == pytest.approx(expected)


def test_a_lift_first_seen_without_effort_starts_with_the_reserve_and_its_doubt():
    result, read = filter_lifts(one_lift([4.6], is_lower_bound=np.array([True])), 1, figures=STEADY)
    assert result.level == pytest.approx([4.6 + STEADY.reserve_prior])
    assert result.level_sd == pytest.approx(np.hypot(read.sd, STEADY.reserve_prior_sd))
    assert result.bound_sd == pytest.approx(read.sd)


@pytest.mark.parametrize(
    "weeks, counted", [([0, 0, 2, 2, 2, 3], [2, 2, 5, 6]), ([0, 0, 2], [2, 2, 3]), ([1, 1, 1], [3])]
)
def test_every_session_of_a_week_is_counted_in_its_week(weeks, counted):
    result, _ = filter_lifts(one_lift([4.6] * len(weeks), weeks=weeks), weeks[-1] + 1, figures=STEADY)
    assert result.n_sessions.tolist() == counted


def test_a_lift_is_shown_until_it_has_been_silent_for_as_long_as_is_asked():
    result, _ = filter_lifts(one_lift([4.6]), 8, figures=STEADY, silent_weeks=3)
    assert result.week.tolist() == [0, 1, 2, 3]


LEARNING = FilterFigures(curve_prior_sd=0.0)


def last_sd(levels, **other):
    """The error the filter gives the last of some sessions of one lift."""
    return filter_lifts(one_lift(levels, **other), len(levels), figures=LEARNING)[1].sd[-1]


def test_a_good_and_a_bad_day_say_the_same_of_how_steady_a_lifter_is():
    steady, good, bad = (last_sd([4.6, 4.6, 4.6, 4.6 + day, 4.6]) for day in (0.0, 0.15, -0.15))
    assert good == pytest.approx(bad)
    assert good > steady


def test_sets_that_were_not_taken_far_say_nothing_of_how_steady_a_lifter_is():
    easy = np.array([False] * 4 + [True] * 3 + [False])
    assert last_sd([4.6] * 4 + [4.3] * 3 + [4.6], is_lower_bound=easy) == pytest.approx(last_sd([4.6] * 5))
