"""Personal bests that beat the noise: load, repetitions at a load, e1RM, volume load of a session."""

from __future__ import annotations

import duckdb
import numpy as np
import numpy.typing as npt
import polars as pl

Floats = npt.NDArray[np.float64]
Whole = npt.NDArray[np.int64]
Flags = npt.NDArray[np.bool_]

# What a value must exceed the last best by: the usual smallest step between two loads, 2.5 kg or 5 lb
# (2.27 kg) on a bar, half of it elsewhere [P]; two repetitions (repetitions to failure vary by about one:
# Mitter et al. 2022); for volume one part in twenty [P].
LOAD_STEP_KG = {
    "barbell": 2.26,
    "trap_bar": 2.26,
    "ez_bar": 2.26,
    "smith": 2.26,
    "dumbbell": 1.0,
    "kettlebell": 2.0,
}
OTHER_STEP_KG = 1.13
REPS_STEP = 2.0
VOLUME_SHARE = 0.05
E1RM_Z = 1.2816  # one-sided 90 % on the difference of two estimates
CURVE_SD = 0.30  # how much lifters' load-repetition curves differ (Nuzzo et al. 2024), as in the trend
NEW_LIFT_SESSIONS = 2  # the first sessions of a lift only set its mark: nothing to beat yet


def find_bests(
    series: Whole,
    value: Floats,
    margin: Floats,
    n_baseline: int = NEW_LIFT_SESSIONS,
    bend: Floats | None = None,
) -> tuple[Whole, Whole]:
    """Which rows are bests, and which row each of them beat.

    `series` numbers the series from 0; rows are sorted by series and date. The first `n_baseline` rows of a
    series only set its first best. A later row is a best when it exceeds the last best by its `margin`:
    small gains that go on add up against that best, noise around it does not. With `bend`, the margin grows
    with the distance between the two rows' bends, sqrt(margin^2 + (bend_now - bend_best)^2). Runs over all
    series at once.

    Example: values 100, 101, 102, 103.5 with margin 2.5 and a baseline of 1: only 103.5 is a best, over 100.
    """
    found: list[Whole] = [np.zeros(0, dtype=np.int64)]
    beaten: list[Whole] = [np.zeros(0, dtype=np.int64)]
    if len(series):
        starts = np.flatnonzero(np.r_[True, np.diff(series) != 0])
        lengths = np.diff(np.r_[starts, len(series)])
        best_row = starts.copy()
        active = np.arange(len(starts))
        for turn in range(1, int(lengths.max())):
            active = active[lengths[active] > turn]
            rows = starts[active] + turn
            old = best_row[active]
            if turn < n_baseline:
                better = value[rows] > value[old]
            else:
                needed = margin[rows]
                if bend is not None:
                    needed = np.sqrt(needed**2 + (bend[rows] - bend[old]) ** 2)
                better = value[rows] >= value[old] + needed - 1e-9
                found.append(rows[better])
                beaten.append(old[better])
            best_row[active[better]] = rows[better]
    return np.concatenate(found), np.concatenate(beaten)


def is_outdone(lift: Whole, day: Whole, load: Floats, reps: Floats, candidates: Whole) -> Flags:
    """For each candidate row: was as much done before, at this load or a heavier one?

    Rows are sorted by lift, candidates ascend. Eight repetitions at 100 kg are no best once nine were done at
    105 kg.
    """
    outdone = np.zeros(len(candidates), dtype=bool)
    if not len(candidates):
        return outdone
    first = np.searchsorted(lift, lift[candidates], side="left")
    last = np.searchsorted(lift, lift[candidates], side="right")
    for start in np.unique(first):
        mine = slice(np.searchsorted(first, start, "left"), np.searchsorted(first, start, "right"))
        rows = candidates[mine]
        span = slice(int(start), int(last[mine][0]))
        before = day[None, span] < day[rows, None]
        as_much = (load[None, span] >= load[rows, None]) & (reps[None, span] >= reps[rows, None])
        outdone[mine] = np.any(before & as_much, axis=1)
    return outdone


def _numbered(frame: pl.DataFrame, by: list[str], value: str) -> pl.DataFrame:
    """The rows with a value, which stand in order of `by` and date, with their series numbered from 0."""
    return frame.drop_nulls(value).with_columns(pl.struct(by).rle_id().cast(pl.Int64).alias("series"))


def _as_bests(
    frame: pl.DataFrame, rows: Whole, beaten: Whole, kind: str, unit: str, value: str
) -> pl.DataFrame:
    now, before = frame[rows], frame[beaten]
    return now.select(
        "client_id",
        pl.col("session_date").alias("best_date"),
        "exercise_id",
        "exercise_name",
        pl.lit(kind).alias("kind"),
        pl.col(value).cast(pl.Float64).alias("value"),
        pl.lit(unit).alias("unit"),
        before[value].cast(pl.Float64).alias("previous_value"),
        before["session_date"].alias("previous_date"),
        "load_kg",
        pl.col("reps").cast(pl.Int64),
    )


def _simple_bests(frame: pl.DataFrame, kind: str, value: str, margin: pl.Expr) -> pl.DataFrame:
    frame = _numbered(frame, ["client_id", "exercise_id"], value)
    wanted = frame.select(margin.cast(pl.Float64).alias("margin"))["margin"].to_numpy()
    values = frame[value].cast(pl.Float64).to_numpy()
    return _as_bests(frame, *find_bests(frame["series"].to_numpy(), values, wanted), kind, "kg", value)


def _e1rm_bests(sessions: pl.DataFrame) -> pl.DataFrame:
    """Bests of the estimate: by its error, and by what a change of repetitions may feign."""
    points = sessions.filter(pl.col("e1rm_kind") == "point").with_columns(
        pl.col("best_load_kg").alias("load_kg"),
        pl.col("best_reps").alias("reps"),
        (pl.col("best_reps") + pl.col("best_rir")).alias("to_failure"),
    )
    frame = _numbered(points, ["client_id", "exercise_id"], "best_e1rm_kg")
    value = frame["best_e1rm_kg"].to_numpy()
    margin = E1RM_Z * 2**0.5 * frame["e1rm_se_pct"].to_numpy() / 100 * value
    # ln f of the set, near enough for any of the equations: Epley's
    bend = E1RM_Z * CURVE_SD * np.log1p(frame["to_failure"].to_numpy() / 30) * value
    rows, beaten = find_bests(frame["series"].to_numpy(), value, margin, bend=bend)
    return _as_bests(frame, rows, beaten, "e1rm", "kg", "best_e1rm_kg")


def _reps_bests(at_load: pl.DataFrame) -> pl.DataFrame:
    """Bests of repetitions at a load, unless a heavier load was done as often before."""
    frame = _numbered(
        at_load.with_columns(pl.col("reps").cast(pl.Float64).alias("n_reps")),
        ["client_id", "exercise_id", "load_kg"],
        "n_reps",
    )
    value = frame["n_reps"].to_numpy()
    rows, beaten = find_bests(frame["series"].to_numpy(), value, np.full(len(value), REPS_STEP), n_baseline=1)
    lift = frame.select(pl.struct("client_id", "exercise_id").rle_id().cast(pl.Int64)).to_series().to_numpy()
    order = np.argsort(rows, kind="stable")
    rows, beaten = rows[order], beaten[order]
    day = frame["session_date"].cast(pl.Int32).cast(pl.Int64).to_numpy()
    new = ~is_outdone(lift, day, frame["load_kg"].to_numpy(), value, rows)
    return _as_bests(frame, rows[new], beaten[new], "reps_at_load", "repetitions", "n_reps")


def build_personal_best(con: duckdb.DuckDBPyConnection) -> pl.DataFrame:
    """`personal_best` from `exercise_session`, `stg_set` and `exercise`."""
    sessions = con.sql(
        "select s.client_id, s.session_date, s.exercise_id, s.exercise_name, s.top_load_kg, s.top_load_reps,"
        " s.best_e1rm_kg, s.e1rm_se_pct, s.e1rm_kind, s.best_load_kg, s.best_reps, s.best_rir, s.volume_kg,"
        " e.implement from exercise_session as s left join exercise as e on s.exercise_id = e.exercise_id"
        " order by s.client_id, s.exercise_id, s.session_date"
    ).pl()
    at_load = con.sql(
        "select client_id, session_date, exercise_id, max(exercise_name) as exercise_name, load_kg,"
        " max(reps) as reps from stg_set where is_done and reps >= 1 and load_kg is not null"
        " and set_kind in ('work', 'drop') and drop_index = 1"
        " group by client_id, session_date, exercise_id, load_kg"
        " order by client_id, exercise_id, load_kg, session_date"
    ).pl()
    step = pl.col("implement").replace_strict(LOAD_STEP_KG, default=OTHER_STEP_KG, return_dtype=pl.Float64)
    top = sessions.with_columns(pl.col("top_load_kg").alias("load_kg"), pl.col("top_load_reps").alias("reps"))
    parts = [
        _simple_bests(top, "load", "top_load_kg", step),
        _reps_bests(at_load),
        _e1rm_bests(sessions),
        _simple_bests(
            top.filter(pl.col("volume_kg") > 0), "volume", "volume_kg", VOLUME_SHARE * pl.col("volume_kg")
        ),
    ]
    return pl.concat(parts).sort("client_id", "best_date", "exercise_id", "kind", "load_kg")
