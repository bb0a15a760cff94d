"""A client's lifts pooled: sharper than any one of them, and not fooled by lifts that come and go."""

import numpy as np
import pytest
from simulated_lifts import simulate

from pipeline.analyse.pooled_trend import LiftWeekMarks, PoolFigures, pool_lifts
from pipeline.analyse.trend import Z_90, filter_lifts


def pooled(n_clients, n_lifts, n_weeks, rates, seed, turns=None):
    """(client x week) level, slope and slope_sd, and the mean true rate of each client's lifts."""
    total = n_clients * n_lifts
    turns = np.full(total, n_weeks) if turns is None else turns
    made = simulate(total, n_weeks, rates=rates, turns=turns, seed=seed)
    _, read = filter_lifts(made.sessions, n_weeks)
    lift, week = made.sessions.lift, made.sessions.week
    order = np.lexsort((lift, week))
    marks = LiftWeekMarks(
        (lift // n_lifts)[order], lift[order], week[order], read.level[order], read.sd[order]
    )
    result = pool_lifts(marks, n_weeks)
    grids = {}
    for name in ("level", "slope", "slope_sd"):
        grids[name] = np.full((n_clients, n_weeks), np.nan)
        grids[name][result.client, result.week] = getattr(result, name)
    return grids


def test_a_steady_gain_shared_by_six_lifts_is_seen_by_the_pool_before_it_is_in_any_one_lift():
    rates = np.full((600, 2), 0.006)
    pool = pooled(100, 6, 11, rates, seed=1)
    single = pooled(600, 1, 11, rates, seed=1)
    seen = [np.mean(g["slope"][:, -1] > Z_90 * g["slope_sd"][:, -1]) for g in (pool, single)]
    assert seen[0] > 0.75
    assert seen[0] > 1.7 * seen[1]


def test_a_flat_client_is_seldom_called_rising_or_falling():
    pool = pooled(150, 6, 40, np.zeros((900, 2)), seed=2)
    assert np.mean(np.abs(pool["slope"][:, 8:]) > Z_90 * pool["slope_sd"][:, 8:]) < 0.05


def test_the_level_follows_the_mean_gain_of_the_lifts():
    pool = pooled(60, 6, 30, np.full((360, 2), 0.004), seed=3)
    gained = pool["level"][:, 29] - pool["level"][:, 9]
    assert np.mean(gained) == pytest.approx(0.004 * 20, rel=0.15)


def test_a_gain_that_ends_is_followed_within_some_weeks():
    pool = pooled(60, 6, 50, np.tile([0.006, 0.0], (360, 1)), seed=4, turns=np.full(360, 25))
    assert np.mean(pool["slope"][:, 24]) > 0.004
    assert np.mean(pool["slope"][:, 40]) < 0.002


def marks(rows):
    """(lift, week, level) of one client, by week."""
    lift, week, level = (
        np.array(column) for column in zip(*sorted(rows, key=lambda row: (row[1], row[0])), strict=True)
    )
    return LiftWeekMarks(
        np.zeros(len(lift), dtype=np.int64), lift, week, level.astype(float), np.full(len(lift), 0.03)
    )


def test_a_new_lift_far_from_the_others_moves_nothing():
    steady = [(lift, week, 4.5 + lift) for lift in (0, 1) for week in range(20)]
    alone = pool_lifts(marks(steady), 20)
    joined = pool_lifts(marks([*steady, *((2, week, 9.0) for week in range(10, 20))]), 20)
    assert joined.level == pytest.approx(alone.level, abs=1e-6)


def test_one_lift_that_falls_apart_does_not_carry_the_client_down():
    steady = [(lift, week, 4.5) for lift in range(4) for week in range(20)]
    broken = [(4, week, 4.5 - (0.25 if week >= 15 else 0.0)) for week in range(20)]
    result = pool_lifts(marks([*steady, *broken]), 20)
    assert result.level[-1] > -0.02


def test_all_lifts_down_together_is_a_drop_of_the_client():
    rows = [(lift, week, 4.5 - (0.08 if week >= 15 else 0.0)) for lift in range(5) for week in range(20)]
    result = pool_lifts(marks(rows), 20)
    assert result.level[-1] < -0.05


def test_nothing_of_a_later_week_changes_an_earlier_one():
    rng = np.random.default_rng(5)
    rows = [(lift, week, 4.5 + rng.normal(0, 0.03)) for lift in range(4) for week in range(30)]
    whole = pool_lifts(marks(rows), 30)
    part = pool_lifts(marks([row for row in rows if row[1] < 18]), 18)
    assert whole.level[whole.week < 18] == pytest.approx(part.level)
    assert whole.slope_sd[whole.week < 18] == pytest.approx(part.slope_sd)


def test_the_slope_interval_holds_the_truth_nine_times_in_ten():
    rng = np.random.default_rng(6)
    client_rate = np.repeat(rng.normal(0.002, 0.003, 150), 6)
    rates = np.column_stack([client_rate, client_rate]) + rng.normal(0, 0.001, (900, 1))
    pool = pooled(150, 6, 16, rates, seed=7)
    truth = rates[:, 0].reshape(150, 6).mean(axis=1)
    assert np.mean(np.abs(pool["slope"][:, -1] - truth) < Z_90 * pool["slope_sd"][:, -1]) > 0.87


def slow_pool(rows, n_weeks, fig, silent_weeks=12, sd=0.03):
    """One client, number by number: (week, level, its sd, slope, its sd) of every week that is shown."""
    level = slope = p00 = p01 = 0.0
    p11, last, told = fig.slope_prior_sd**2, None, []
    offset, doubt, seen_in = {}, {}, {}
    for week in range(n_weeks):
        if last is not None and week - last <= silent_weeks:
            level, slope = level + slope, slope * fig.slope_keeps
            p00 += 2 * p01 + p11 + fig.level_sd**2
            p01 = (p01 + p11) * fig.slope_keeps
            p11 = p11 * fig.slope_keeps**2 + fig.slope_sd**2
        mine = {lift: value for lift, when, value in rows if when == week}
        if mine and last is not None:
            p00 += max(week - last - 2, 0) * fig.layoff_sd**2
        known = {lift: value for lift, value in mine.items() if lift in offset}
        noise = {}
        for lift, value in known.items():
            doubt[lift] += fig.offset_sd**2 * (week - seen_in[lift])
            noise[lift] = sd**2 + doubt[lift]
            z = abs(value - offset[lift] - level) / (noise[lift] + p00 + fig.shared_day_sd**2) ** 0.5
            noise[lift] *= max(z / fig.outlier_z, 1.0) ** 2
        if known:
            weight = sum(1 / noise[lift] for lift in known)
            news = sum((known[i] - offset[i] - level) / noise[i] for i in known) / weight
            total = p00 + 1 / weight + fig.shared_day_sd**2
            gain0, gain1 = p00 / total, p01 / total
            level, slope = level + gain0 * news, slope + gain1 * news
            p11, p01, p00 = p11 - gain1 * p01, p01 * (1 - gain0), p00 * (1 - gain0)
        for lift, value in mine.items():
            if lift in known:
                gain = doubt[lift] / (noise[lift] + p00 + fig.shared_day_sd**2)
                offset[lift] += gain * (value - offset[lift] - level)
                doubt[lift] *= 1 - gain
            else:
                offset[lift], doubt[lift] = value - level, sd**2 + p00 + fig.shared_day_sd**2
            seen_in[lift], last = week, week
        if last is not None and week - last <= silent_weeks:
            told.append((week, level, p00**0.5, slope, p11**0.5))
    return np.array(told)


@pytest.mark.parametrize("seed", range(4))
def test_all_lifts_at_once_give_what_one_number_after_the_other_gives(seed):
    # lifts that come and go, a lay-off of five weeks, silence, bad days
    rng = np.random.default_rng(seed)
    weeks = [w for w in range(40) if not (12 <= w < 17 or 25 <= w < 34)]
    rows = [
        (lift, week, 4 + lift + 0.004 * week + rng.normal(0, 0.1 if rng.random() < 0.1 else 0.03))
        for week in weeks
        for lift in range(5)
        if rng.random() < 0.6 and (lift != 4 or week >= 18)
    ]
    result = pool_lifts(marks(rows), 40, silent_weeks=6)
    expected = slow_pool(rows, 40, PoolFigures(), silent_weeks=6)
    assert result.week.tolist() == expected[:, 0].tolist()
    for column, name in enumerate(("level", "level_sd", "slope", "slope_sd"), start=1):
        assert getattr(result, name) == pytest.approx(expected[:, column], abs=1e-12)


def test_no_marks_give_no_weeks():
    nothing = LiftWeekMarks(*(np.zeros(0, dtype=np.int64) for _ in range(3)), np.zeros(0), np.zeros(0))
    assert len(pool_lifts(nothing, 5).level) == 0
