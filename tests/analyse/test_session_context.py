"""What went with less performance: held to least squares with errors by day, and to planted differences."""

import datetime

import duckdb
import numpy as np
import pandas as pd
import polars as pl
import pytest
import statsmodels.formula.api as smf

from pipeline.analyse.session_context import build_session_context, compare_within_lifts
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


def told(rows):
    """`session_context` from rows of session number, exercise, surprise, expected ln factor, is it late."""
    con = duckdb.connect()
    day = datetime.date(2026, 1, 1)
    frame = pl.DataFrame(  # noqa: F841 read by its name
        [
            ("a", exercise, day + datetime.timedelta(days=2 * n), surprise, 5 + surprise, 5 - expected, late)
            for n, exercise, surprise, expected, late in rows
        ],
        schema=["client_id", "exercise_id", "session_date", "surprise", "level", "ln_load", "is_late"],
        orient="row",
    )
    con.execute("create table lift_reading as select * from frame")
    con.execute(
        "create table lift_observation as select client_id, exercise_id, session_date, ln_load from frame"
    )
    con.execute(
        "create table lift_circumstance as select client_id, exercise_id, session_date, is_late,"
        " null::boolean as is_day_after, null::boolean as is_muscle_again from frame"
    )
    return build_session_context(con).to_dicts()


@pytest.mark.parametrize("effect, word", [(-0.04, "less"), (0.04, "more")])
def test_a_difference_is_told_with_its_interval(effect, word):
    rng = np.random.default_rng(6)
    rows = [(n, "squat", effect * (n % 2) + rng.normal(0, 0.005), 0.25, bool(n % 2)) for n in range(60)]
    [row] = told(rows)
    assert (row["circumstance"], row["n_with"], row["n_without"]) == ("late_in_session", 30, 30)
    assert row["difference_low_pct"] < row["difference_pct"] < row["difference_high_pct"]
    error = (row["difference_high_pct"] - row["difference_pct"]) / Z_90
    assert row["difference_pct"] == pytest.approx(100 * effect, abs=3 * error)
    ends = sorted(abs(row[f"difference_{end}_pct"]) for end in ("low", "high"))
    assert f"showed {abs(row['difference_pct']):.1f} % {word} strength" in row["sentence"]
    assert f"90 % interval {ends[0]:.1f} to {ends[1]:.1f} %" in row["sentence"]


def test_no_difference_is_told_as_none():
    rng = np.random.default_rng(7)
    [row] = told([(n, "squat", rng.normal(0, 0.02), 0.25, n % 3 == 0) for n in range(60)])
    assert "showed no clear difference from those done early (20 against 40" in row["sentence"]


def test_one_very_bad_day_is_cut_to_a_bad_day():
    rows = [(n, "squat", 0.0, 0.25, bool(n % 2)) for n in range(40)]
    [cut] = told([*rows, (41, "squat", -0.1, 0.25, True)])
    [mistyped] = told([*rows, (41, "squat", -1.5, 0.25, True)])
    assert mistyped["difference_pct"] == pytest.approx(cut["difference_pct"])


@pytest.mark.parametrize("heavy, light", [(0.10, 0.25), (0.25, 0.35), (0.10, 0.35)])
def test_a_heavy_and_a_light_day_are_no_circumstance(heavy, light):
    # late on heavy days only: whatever differs between the two lengths of set is not laid on the lateness
    rows = [(n, "squat", -0.05 * (n % 2), heavy if n % 2 else light, bool(n % 2)) for n in range(60)]
    assert told(rows) == []
