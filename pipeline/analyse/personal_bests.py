"""Personal bests that beat the noise: load, repetitions at a load, e1RM, volume load of a session."""

from __future__ import annotations

import duckdb
import numpy as np
import numpy.typing as npt
import polars as pl

Floats = npt.NDArray[np.float64]
Whole = npt.NDArray[np.int64]

# What a value must exceed the last best by: the usual smallest step between two loads [P]; two repetitions
# (repetitions to failure vary by about one: Mitter et al. 2022); for volume one part in twenty [P].
LOAD_STEP_KG = {
    "barbell": 2.5, "trap_bar": 2.5, "ez_bar": 2.5, "smith": 2.5, "dumbbell": 1.0, "kettlebell": 2.0,
}
OTHER_STEP_KG = 1.25
REPS_STEP = 2.0
VOLUME_SHARE = 0.05
E1RM_Z = 1.2816  # one-sided 90 % on the difference of two estimates


def find_bests(series: Whole, value: Floats, margin: Floats, n_baseline: int = 2) -> tuple[Whole, Whole]:
    """Which rows are bests, and which row each of them beat.

    `series` numbers the series from 0; rows are sorted by series and date. The first `n_baseline` rows of a
    series only set its first best. A later row is a best when it exceeds the last best by its `margin`: small
    gains that go on add up against that best, noise around it does not. Runs over all series at once.

    Example: values 100, 101, 102, 103.5 with margin 2.5 and a baseline of 1: only 103.5 is a best, over 100.
    """
    if not len(series):
        return np.zeros(0, dtype=np.int64), np.zeros(0, dtype=np.int64)
    starts = np.flatnonzero(np.r_[True, np.diff(series) != 0])
    lengths = np.diff(np.r_[starts, len(series)])
    best_row = starts.copy()
    found: list[Whole] = []
    beaten: list[Whole] = []
    active = np.arange(len(starts))
    for turn in range(1, int(lengths.max())):
        active = active[lengths[active] > turn]
        rows = starts[active] + turn
        old = best_row[active]
        if turn < n_baseline:
            better = value[rows] > value[old]
        else:
            better = value[rows] >= value[old] + margin[rows] - 1e-9
            found.append(rows[better])
            beaten.append(old[better])
        best_row[active[better]] = rows[better]
    return np.concatenate([*found, np.zeros(0, dtype=np.int64)]), np.concatenate(
        [*beaten, np.zeros(0, dtype=np.int64)]
    )


def _bests(
    frame: pl.DataFrame, by: list[str], kind: str, unit: str, value: str, margin: pl.Expr
) -> pl.DataFrame:
    frame = frame.drop_nulls(value).sort(*by, "session_date").with_columns(
        margin.cast(pl.Float64).alias("margin"), pl.struct(by).rle_id().cast(pl.Int64).alias("series")
    )
    rows, beaten = find_bests(
        frame["series"].to_numpy(), frame[value].cast(pl.Float64).to_numpy(), frame["margin"].to_numpy()
    )
    now, before = frame[rows], frame[beaten]
    return now.select(
        "client_id", pl.col("session_date").alias("best_date"), "exercise_id", "exercise_name",
        pl.lit(kind).alias("kind"), pl.col(value).cast(pl.Float64).alias("value"), pl.lit(unit).alias("unit"),
        before[value].cast(pl.Float64).alias("previous_value"),
        before["session_date"].alias("previous_date"),
        "load_kg", pl.col("reps").cast(pl.Int64),
    )


def build_personal_best(con: duckdb.DuckDBPyConnection) -> pl.DataFrame:
    """`personal_best` from `exercise_session`, `stg_set` and `exercise`."""
    sessions = con.sql(
        "select s.client_id, s.session_date, s.exercise_id, s.exercise_name, s.top_load_kg, s.top_load_reps,"
        " s.best_e1rm_kg, s.e1rm_se_pct, s.e1rm_kind, s.best_load_kg, s.best_reps, s.volume_kg, e.implement"
        " from exercise_session as s left join exercise as e on s.exercise_id = e.exercise_id"
    ).pl()
    at_load = con.sql(
        "select client_id, session_date, exercise_id, max(exercise_name) as exercise_name, load_kg,"
        " max(reps) as reps from stg_set where is_done and reps >= 1 and load_kg is not null"
        " and set_kind in ('work', 'drop') and drop_index = 1"
        " group by client_id, session_date, exercise_id, load_kg"
    ).pl()
    lift = ["client_id", "exercise_id"]
    step = pl.col("implement").replace_strict(LOAD_STEP_KG, default=OTHER_STEP_KG, return_dtype=pl.Float64)
    top = pl.col("top_load_kg").alias("load_kg"), pl.col("top_load_reps").alias("reps")
    estimated = pl.col("best_load_kg").alias("load_kg"), pl.col("best_reps").alias("reps")
    parts = [
        _bests(sessions.with_columns(*top), lift, "load", "kg", "top_load_kg", step),
        _bests(at_load.with_columns(n_reps=pl.col("reps")), [*lift, "load_kg"], "reps_at_load", "repetitions",
               "n_reps", pl.lit(REPS_STEP)),
        _bests(sessions.filter(pl.col("e1rm_kind") == "point").with_columns(*estimated), lift, "e1rm", "kg",
               "best_e1rm_kg", E1RM_Z * 2**0.5 * pl.col("e1rm_se_pct") / 100 * pl.col("best_e1rm_kg")),
        _bests(sessions.filter(pl.col("volume_kg") > 0).with_columns(*top), lift, "volume", "kg", "volume_kg",
               VOLUME_SHARE * pl.col("volume_kg")),
    ]
    return pl.concat(parts).sort("client_id", "best_date", "exercise_id", "kind")
