"""What went with less or more performance: late in the session, the day after, the same muscle again."""

from __future__ import annotations

from dataclasses import dataclass

import duckdb
import numpy as np
import numpy.typing as npt
import polars as pl

from pipeline.analyse.trend import Z_90

Floats = npt.NDArray[np.float64]
Whole = npt.NDArray[np.int64]
Flags = npt.NDArray[np.bool_]

LEAST_SESSIONS = 8  # on either side, else nothing is said [P]
# ln of e1RM over load: sets up to about 6, to about 10 repetitions to failure, and longer ones [P]
SHORT, LONG = 0.196, 0.300
CLAIM_Z = 2.128  # three questions are asked of each client: 90 % for all of them together (Bonferroni)
BAD_DAY = 0.10  # a surprise beyond this is cut to it: one bad day is no circumstance [P]
CIRCUMSTANCES = {
    "late_in_session": ("is_late", "done late in the session", "done early"),
    "day_after_session": ("is_day_after", "done the day after a session", "done after a day off"),
    "same_muscle_within_two_days": (
        "is_muscle_again",
        "done within two days of training the same muscle",
        "done after longer",
    ),
}


@dataclass(frozen=True)
class Differences:
    """One entry a client: lift sessions with and without the circumstance, mean difference and its error."""

    n_with: Whole
    n_without: Whole
    difference: Floats
    se: Floats


def compare_within_lifts(
    client: Whole, lift: Whole, day: Whole, surprise: Floats, with_it: Flags, n_clients: int
) -> Differences:
    """Did the same lifts show less strength in this circumstance than outside it?

    Least squares of surprise (log strength shown above what was expected) on the circumstance x, each lift
    with a mean of its own; for each client

        difference = sum x~ y~ / sum x~^2,   se^2 = sum over days (sum of x~ e)^2 / (sum x~^2)^2 x G / (G - 1)

    x~, y~: less the lift's mean; e: what is left; G: days. The lifts of a day share its form, hence the sums
    by day (cluster-robust error). A lift that always stands at the same place says nothing. Clients without
    both sides get a difference of 0 with an infinite error. `lift` and `day` number across clients, from 0.
    Circumstances are not drawn by lot: this observes, it does not prove a cause.
    """
    surprise = np.clip(surprise, -BAD_DAY, BAD_DAY)
    count = np.maximum(np.bincount(lift), 1)
    x = with_it - (np.bincount(lift, with_it) / count)[lift]
    y = surprise - (np.bincount(lift, surprise) / count)[lift]
    both = np.abs(x) > 1e-12
    total = np.bincount(client, x * x, minlength=n_clients)
    safe = np.where(total > 0, total, 1.0)
    difference = np.bincount(client, x * y, minlength=n_clients) / safe
    day_sum = np.bincount(day, x * (y - difference[client] * x))
    owner = np.zeros(len(day_sum), dtype=np.int64)
    owner[day] = client
    is_used = np.bincount(day, both) > 0
    n_days = np.bincount(owner, is_used, minlength=n_clients)
    squares = np.bincount(owner, day_sum**2, minlength=n_clients)
    se = np.sqrt(squares * n_days / np.maximum(n_days - 1, 1)) / safe
    return Differences(
        np.bincount(client[both & with_it], minlength=n_clients),
        np.bincount(client[both & ~with_it], minlength=n_clients),
        difference,
        np.where((total > 0) & (n_days > 1), se, np.inf),
    )


def _sentence(name: str, n_with: int, n_without: int, middle: float, error: float) -> str:
    _, here, there = CIRCUMSTANCES[name]
    counted = f"({n_with} against {n_without} lift sessions, same lifts)"
    if abs(middle) < CLAIM_Z * error:
        return f"Lifts {here} showed no clear difference from those {there} {counted}."
    word = "less" if middle < 0 else "more"
    least, most = abs(middle) - Z_90 * error, abs(middle) + Z_90 * error
    return (
        f"Lifts {here} showed {abs(middle):.1f} % {word} strength than those {there} {counted};"
        f" 90 % interval {least:.1f} to {most:.1f} %. An observation, not a cause."
    )


def build_session_context(con: duckdb.DuckDBPyConnection) -> pl.DataFrame:
    """`session_context` from `lift_reading`, `lift_observation` and `lift_circumstance`."""
    frame = (
        con.sql(
            "select r.client_id, r.exercise_id, r.session_date, r.surprise, c.is_late, c.is_day_after,"
            " c.is_muscle_again, r.level - r.surprise - o.ln_load as expected from lift_reading as r"
            " inner join lift_circumstance as c on r.client_id = c.client_id"
            " and r.exercise_id = c.exercise_id and r.session_date = c.session_date"
            " inner join lift_observation as o on r.client_id = o.client_id"
            " and r.exercise_id = o.exercise_id and r.session_date = o.session_date"
            " where r.surprise is not null"
            " order by r.client_id, r.exercise_id, r.session_date"
        )
        .pl()
        .with_columns(
            pl.col("client_id").rle_id().cast(pl.Int64).alias("client"),
            pl.struct("client_id", "exercise_id").rle_id().cast(pl.Int64).alias("lift"),
            (pl.col("expected") > SHORT).cast(pl.Int64).alias("is_beyond_short"),
            (pl.col("expected") > LONG).cast(pl.Int64).alias("is_beyond_long"),
            (pl.col("session_date") - pl.col("session_date").min()).dt.total_days().alias("date_number"),
        )
        .with_columns(
            # a lift at loads for sets of another length is another lift here: a heavy and a light day are no
            # circumstance. The load tells, not the repetitions done: those are what is asked about
            (3 * pl.col("lift") + pl.col("is_beyond_short") + pl.col("is_beyond_long")).alias("lift"),
            # numbers that no day has do no harm: they count for nothing
            (pl.col("client") * (pl.col("date_number").max() + 1) + pl.col("date_number")).alias("day"),
        )
    )
    clients = frame.select("client", "client_id").unique("client").sort("client")
    rows: list[dict[str, object]] = []
    for name, (column, _, _) in CIRCUMSTANCES.items():
        known = frame.drop_nulls(column)
        found = compare_within_lifts(
            known["client"].to_numpy(),
            known["lift"].to_numpy(),
            known["day"].to_numpy(),
            known["surprise"].to_numpy(),
            known[column].to_numpy(),
            clients.height,
        )
        enough = (found.n_with >= LEAST_SESSIONS) & (found.n_without >= LEAST_SESSIONS)
        for client in np.flatnonzero(enough):
            n_with, n_without = int(found.n_with[client]), int(found.n_without[client])
            middle, error = 100 * float(found.difference[client]), 100 * float(found.se[client])
            low, high = middle - Z_90 * error, middle + Z_90 * error
            rows.append(
                {
                    "client_id": clients["client_id"][int(client)],
                    "circumstance": name,
                    "n_with": n_with,
                    "n_without": n_without,
                    "difference_pct": middle,
                    "difference_low_pct": low,
                    "difference_high_pct": high,
                    "sentence": _sentence(name, n_with, n_without, middle, error),
                }
            )
    schema = {
        "client_id": pl.String,
        "circumstance": pl.String,
        "n_with": pl.Int64,
        "n_without": pl.Int64,
        "difference_pct": pl.Float64,
        "difference_low_pct": pl.Float64,
        "difference_high_pct": pl.Float64,
        "sentence": pl.String,
    }
    return pl.DataFrame(rows, schema=schema).sort("client_id", "circumstance")
