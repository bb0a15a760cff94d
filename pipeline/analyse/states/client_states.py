"""`client_week`: the state of every client and week, with its evidence."""

from __future__ import annotations

import duckdb
import numpy as np
import polars as pl

from pipeline.analyse.states.context import read_axis
from pipeline.analyse.states.decision import decide, run_lengths
from pipeline.analyse.states.panel import Axis, Grid
from pipeline.analyse.states.score import read_scores
from pipeline.analyse.states.wording import word_states


def read_signal_grids(con: duckdb.DuckDBPyConnection, axis: Axis) -> dict[str, Grid]:
    """Every column of `client_signal` as a grid; weeks before a client's first are 0 in `weeks_known`."""
    frame = con.sql("select * from client_signal").pl()
    names = [name for name in frame.columns if name not in ("client_id", "week_start")]
    grids = axis.spread_all(frame, names)
    grids["weeks_known"] = np.nan_to_num(grids["weeks_known"])
    return grids


def build_client_week(con: duckdb.DuckDBPyConnection) -> pl.DataFrame:
    """One row a client and complete week from the first log to the as-of day."""
    axis = read_axis(con)
    frame = con.sql("select * from client_signal order by client_id, week_start").pl()
    if frame.is_empty():
        return pl.DataFrame(
            schema={
                "client_id": pl.String,
                "week_start": pl.Date,
                "state": pl.String,
                "reasons": pl.String,
                "evidence": pl.String,
            }
        )
    settings = con.execute("select coalesce(recent_log_days, 14) from setting").fetchall()
    recent = int(settings[0][0]) if settings else 14
    grids = read_signal_grids(con, axis)
    scores = read_scores()
    decision = decide(grids, scores, recent)
    chance = scores["plateau"].confidence(decision.plateau)
    exists = grids["weeks_known"] > 0
    runs = run_lengths(decision.state, exists)
    at = (axis.rows(frame["client_id"]), axis.columns(frame["week_start"]))
    frame = frame.with_columns(
        state=pl.Series(decision.state[at].astype(str).tolist(), dtype=pl.String),
        confidence=pl.Series(np.round(decision.confidence[at], 3)),
        weeks_in_state=pl.Series(runs[at]),
        plateau_chance=pl.Series(chance[at]),
    ).with_columns(
        since_week=pl.col("week_start") - pl.duration(days=7 * (pl.col("weeks_in_state") - 1)),
        has_pain_note=pl.col("pain_notes") > 0,
        n_sessions=pl.col("n_sessions").cast(pl.Int64),
    )
    return word_states(frame).select(
        "client_id",
        "week_start",
        "state",
        "since_week",
        "weeks_in_state",
        "confidence",
        "reasons",
        "evidence",
        "would_change",
        "n_sessions",
        "has_pain_note",
    )
