"""What weekly amount of sets went with progress: a client's own blocks, pooled with the roster's."""

from __future__ import annotations

from dataclasses import dataclass

import duckdb
import numpy as np
import numpy.typing as npt
import polars as pl

from pipeline.analyse.strength import numbered_weeks
from pipeline.analyse.trend import Z_90
from pipeline.contract.frames import frame_of
from pipeline.contract.training import OWN_VOLUME_RESPONSE

Floats = npt.NDArray[np.float64]
Whole = npt.NDArray[np.int64]

BLOCK_WEEKS = 4
LEAST_BLOCKS = 5
LEAST_SPREAD_SETS = 3.0  # a client who always does the same amount shows nothing about amounts
SHARED_ERROR = 0.010  # log error that a client's lifts share over a block: sleep, food, bodyweight [P]


@dataclass(frozen=True)
class OwnResponse:
    """A client's own line: gain (log a week) per set a week more, its variance, the changes it rests on."""

    slope: float
    variance: float
    n: int


@dataclass(frozen=True)
class PooledResponse:
    """The roster's mean and its variance, the spread between clients, and each client's pooled estimate."""

    mean: float
    mean_variance: float
    between: float
    slope: Floats
    variance: Floats
    own_share: Floats


def fit_own(sets: Floats, gain: Floats, variance: Floats, when: Floats) -> OwnResponse | None:
    """Did blocks with more sets go with more gain, in this client?

    Weighted least squares of the gain a week (log) on sets a week, an intercept and, from eight changes on,
    the date (a novice's early gains would pass for the merit of few sets otherwise). Weights are 1 /
    variance; the residual spread enlarges the error where it is wider than that, never shrinks it. None with
    fewer than four changes or sets that hardly vary (range below 3 a week).

    `sets`, `gain`, `variance`, `when`: arrays of one length, one entry a change from a block to the next.
    """
    n = len(sets)
    if n < LEAST_BLOCKS - 1 or float(np.ptp(sets)) < LEAST_SPREAD_SETS:
        return None
    columns = [sets - sets.mean(), np.ones(n)] + ([when - when.mean()] if n >= 8 else [])
    design = np.column_stack(columns)
    weight = 1 / variance
    information = design.T @ (design * weight[:, None])
    if np.linalg.cond(information) > 1e12:
        return None
    cov = np.linalg.inv(information)
    beta = cov @ (design.T @ (weight * gain))
    left = gain - design @ beta
    scale = max(1.0, float(np.sum(weight * left**2) / max(n - design.shape[1], 1)))
    return OwnResponse(float(beta[0]), float(cov[0, 0]) * scale, n)


def pool_responses(slope: Floats, variance: Floats) -> PooledResponse:
    """Each client's line drawn towards the roster's, the more so the less its own blocks say.

    Random effects (DerSimonian & Laird 1986): between-client variance from the weighted spread, mean with
    weights 1 / (variance + between); each client's estimate is the precision-weighted mean of its own and the
    roster's. With one client there is nothing to draw towards, and its own line stands.
    """
    if len(slope) < 2:
        one = np.ones(len(slope))
        mean = float(slope[0]) if len(slope) else 0.0
        return PooledResponse(mean, float(variance[0]) if len(slope) else 0.0, 0.0, slope, variance, one)
    weight = 1 / variance
    fixed = float(np.sum(weight * slope) / np.sum(weight))
    q = float(np.sum(weight * (slope - fixed) ** 2))
    scale = float(np.sum(weight) - np.sum(weight**2) / np.sum(weight))
    between = max(0.0, (q - (len(slope) - 1)) / scale)
    weight = 1 / (variance + between)
    mean = float(np.sum(weight * slope) / np.sum(weight))
    mean_variance = float(1 / np.sum(weight))
    share = between / (between + variance)
    pooled = share * slope + (1 - share) * mean
    spread = share * variance + (1 - share) ** 2 * mean_variance
    return PooledResponse(mean, mean_variance, between, pooled, spread, share)


def _changes(con: duckdb.DuckDBPyConnection) -> pl.DataFrame:
    """From each four-week block to the next: sets a week, gain a week (log), its variance."""
    weeks = numbered_weeks(con).with_columns((pl.col("week") // BLOCK_WEEKS).alias("block"))
    readings = con.sql("select client_id, exercise_id, week_start, level, sd from lift_reading").pl()
    lift = ["client_id", "exercise_id"]
    blocks: pl.DataFrame = (
        readings.join(weeks, on="week_start")
        .with_columns((1 / pl.col("sd") ** 2).alias("precision"))
        .group_by(*lift, "block")
        .agg(
            level=(pl.col("level") * pl.col("precision")).sum() / pl.col("precision").sum(),
            variance=1 / pl.col("precision").sum(),
        )
        .sort(*lift, "block")
    )
    step = blocks.with_columns(
        gain=pl.col("level").diff().over(lift),
        gap=pl.col("block").diff().over(lift),
        both=pl.col("variance") + pl.col("variance").shift(1).over(lift),
    ).filter(pl.col("gap") == 1)
    gains = step.group_by("client_id", "block").agg(
        gain=(pl.col("gain") / pl.col("both")).sum() / (1 / pl.col("both")).sum() / BLOCK_WEEKS,
        variance=(1 / (1 / pl.col("both")).sum() + 2 * SHARED_ERROR**2) / BLOCK_WEEKS**2,
    )
    done = con.sql("select client_id, week_start, n_working_sets from load_week").pl()
    sets = (
        done.join(weeks, on="week_start")
        .group_by("client_id", "block")
        .agg(sets=pl.col("n_working_sets").mean())
        .sort("client_id", "block")
    )
    sets = sets.with_columns(((pl.col("sets") + pl.col("sets").shift(1).over("client_id")) / 2).alias("sets"))
    return gains.join(sets.drop_nulls("sets"), on=["client_id", "block"]).sort("client_id", "block")


def build_own_volume_response(con: duckdb.DuckDBPyConnection) -> pl.DataFrame:
    """`own_volume_response` from `lift_reading`, `calendar` and `load_week`: each client by itself."""
    rows = []
    for (client_id,), part in _changes(con).group_by("client_id", maintain_order=True):
        sets = part["sets"].to_numpy()
        own = fit_own(
            sets,
            part["gain"].to_numpy(),
            part["variance"].to_numpy(),
            part["block"].cast(pl.Float64).to_numpy(),
        )
        if own is not None:
            low, high = np.quantile(sets, [0.1, 0.9])
            rows.append((str(client_id), own.n, float(low), float(high), own.slope, own.variance))
    return frame_of(OWN_VOLUME_RESPONSE, rows)


def build_volume_response(con: duckdb.DuckDBPyConnection) -> pl.DataFrame:
    """`volume_response` from `own_volume_response`: the clients of the roster drawn towards each other."""
    clients = con.sql("select * from own_volume_response order by client_id").pl()
    pooled = pool_responses(clients["slope"].to_numpy(), clients["variance"].to_numpy())
    rows = []
    for k, (client_id, n, low, high) in enumerate(
        clients.select("client_id", "n_changes", "sets_low", "sets_high").iter_rows()
    ):
        middle, error = 1000 * float(pooled.slope[k]), 1000 * float(np.sqrt(pooled.variance[k]))
        rows.append(
            {
                "client_id": client_id,
                "n_blocks": n + 1,
                "sets_low": low,
                "sets_high": high,
                "gain_per_ten_sets_pct": middle,
                "gain_low_pct": middle - Z_90 * error,
                "gain_high_pct": middle + Z_90 * error,
                "own_share_pct": 100 * float(pooled.own_share[k]),
                "roster_gain_pct": 1000 * pooled.mean,
                "sentence": _sentence(n + 1, low, high, middle, error, 100 * float(pooled.own_share[k])),
            }
        )
    numbers = (
        "sets_low",
        "sets_high",
        "gain_per_ten_sets_pct",
        "gain_low_pct",
        "gain_high_pct",
        "own_share_pct",
        "roster_gain_pct",
    )
    schema: dict[str, type[pl.DataType]] = {"client_id": pl.String, "n_blocks": pl.Int64}
    schema |= dict.fromkeys(numbers, pl.Float64)
    return pl.DataFrame(rows, schema=schema | {"sentence": pl.String})


def _sentence(n_blocks: int, low: float, high: float, middle: float, error: float, share: float) -> str:
    base = (
        f"Over {n_blocks} four-week blocks of {low:.0f} to {high:.0f} sets a week, ten sets more went with"
        f" {middle:+.2f} % strength a week (90 % interval {middle - Z_90 * error:+.2f} to"
        f" {middle + Z_90 * error:+.2f} %)"
    )
    clear = "" if abs(middle) > Z_90 * error else "; no clear direction"
    whose = "mostly own blocks" if share >= 50 else "mostly the roster's figure"
    return f"{base}{clear}; {whose}. Observed together, which is no proof that one caused the other."
