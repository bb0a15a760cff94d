"""Fits the shipped scores: a ridge logistic regression on named signals, then thresholds with hysteresis.

Fitted on some dynamics and seeds, reported on others (see report). The result is score.toml, a few dozen
figures that a coach can read; nothing is fitted on a coach's machine.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import polars as pl
from scipy.optimize import minimize

from pipeline.analyse.states.context import read_axis
from pipeline.analyse.states.client_states import read_signal_grids
from pipeline.analyse.states.decision import decide
from pipeline.analyse.states.panel import Axis, Grid
from pipeline.analyse.states.score import CLIP, Score, Term
from tests.laboratory.roster import Roster
from tests.laboratory.scorer import Result, score_flags, week_truth
from tests.laboratory.tables import load_tables, run_states


@dataclass(frozen=True)
class Sample:
    """A simulated roster reduced to what fitting needs: signal grids, rows that exist, the truth."""

    kind: str
    axis: Axis
    grids: dict[str, Grid]
    weeks: pl.DataFrame
    at: tuple[np.ndarray, np.ndarray]
    truth: pl.DataFrame
    clients: pl.DataFrame

    def column(self, name: str) -> np.ndarray:
        """A signal at the rows of `weeks`."""
        return self.grids[name][self.at]


def take_sample(roster: Roster) -> Sample:
    """Run the signals on a roster."""
    con = load_tables(roster)
    run_states(con, ("state_lift_week", "client_signal"))
    axis = read_axis(con)
    grids = read_signal_grids(con, axis)
    con.close()
    at = np.nonzero(grids["weeks_known"] > 0)
    weeks = pl.DataFrame({
        "client_id": pl.Series(axis.clients).gather(at[0]),
        "week_end": pl.Series([axis.week(i) for i in range(axis.n_weeks)], dtype=pl.Date).gather(at[1]),
    }).with_columns(pl.col("week_end") + pl.duration(days=6))
    return Sample(roster.kind, axis, grids, weeks, at, roster.truth, roster.clients)


def fit_logistic(x: np.ndarray, y: np.ndarray, weight: np.ndarray, ridge: float) -> tuple[float, np.ndarray]:
    """Intercept and weights of a ridge logistic regression; x is n × k, standardised."""

    def loss(beta: np.ndarray) -> tuple[float, np.ndarray]:
        z = beta[0] + x @ beta[1:]
        p = 1 / (1 + np.exp(-z))
        value = (weight * (np.logaddexp(0, z) - y * z)).sum() + ridge * (beta[1:] ** 2).sum() / 2
        error = weight * (p - y)
        gradient = np.concatenate([[error.sum()], x.T @ error + ridge * beta[1:]])
        return value, gradient

    out = minimize(loss, np.zeros(x.shape[1] + 1), jac=True, method="L-BFGS-B", options={"maxiter": 500})
    return float(out.x[0]), out.x[1:]


def _usable(sample: Sample) -> np.ndarray:
    """Weeks that may teach: trained, enough data, not quiet."""
    g = sample.column
    return (
        (g("n_sessions") > 0) & (g("planned_light") == 0) & (g("is_returning") == 0)
        & (g("weeks_logged") >= 4) & (g("n_points") >= 6)
    )


def fit_score(samples: list[Sample], kind: str, signals: tuple[str, ...], ridge: float = 30.0) -> Score:
    """Weights of the named signals for the state `kind` (thresholds are set by `tune`)."""
    xs, ys = [], []
    for sample in samples:
        use = _usable(sample)
        inside, near = week_truth(sample.weeks, sample.truth, kind), week_truth(sample.weeks, sample.truth, kind, 7)
        use &= inside | ~near
        if kind == "plateau":
            use &= ~week_truth(sample.weeks, sample.truth, "over_reaching", 7)
            use &= ~week_truth(sample.weeks, sample.truth, "cut")
        xs.append(np.stack([sample.column(name)[use] for name in signals], axis=1))
        ys.append(inside[use])
    x, y = np.concatenate(xs), np.concatenate(ys).astype(float)
    centre = np.nanmedian(x, axis=0)
    scale = np.maximum(np.nanpercentile(x, 84, axis=0) - np.nanpercentile(x, 16, axis=0), 1e-3) / 2
    scale = np.maximum(scale, np.nanstd(x, axis=0) / 3)
    z = np.nan_to_num(np.clip((x - centre) / scale, -CLIP, CLIP))
    intercept, weights = fit_logistic(z, y, np.ones(len(y)), ridge)
    terms = tuple(
        Term(n, float(c), float(s), float(w)) for n, c, s, w in zip(signals, centre, scale, weights, strict=True)
    )
    return Score(kind, intercept, 0.0, 0.0, 0.0, 1.0, 0.0, terms)


def states_of(sample: Sample, scores: dict[str, Score]) -> np.ndarray:
    """The state of each row of `sample.weeks` under these scores."""
    return decide(sample.grids, scores, 14).state[sample.at]


def pooled(samples: list[Sample], scores: dict[str, Score], kind: str) -> Result:
    """Score of a state over several samples, client ids kept apart."""
    weeks = pl.concat([s.weeks.with_columns(client_id=s.kind + pl.lit("-") + pl.col("client_id")) for s in samples])
    truth = pl.concat([s.truth.with_columns(client_id=s.kind + pl.lit("-") + pl.col("client_id")) for s in samples])
    flags = np.concatenate([states_of(s, scores) == kind for s in samples])
    return score_flags(weeks, flags, truth, kind)


MEMORY = (0.0, 0.3, 0.5, 0.65)
HYSTERESIS = (0.0, 0.6, 1.2, 2.0)


def tune(
    samples: list[Sample], scores: dict[str, Score], kind: str, alarms: float, delay: float
) -> tuple[Score, Result]:
    """The memory, threshold and hysteresis that find most events at no more than `alarms` false alarms."""
    best: tuple[float, Score, Result] | None = None
    for memory in MEMORY:
        for gap in HYSTERESIS:
            low, high = -4.0, 3.0
            for _ in range(7):
                enter = (low + high) / 2
                trial = replace(scores[kind], memory=memory, enter=enter, leave=enter - gap)
                result = pooled(samples, {**scores, kind: trial}, kind)
                if result.false_alarms > alarms:
                    low = enter
                else:
                    high = enter
            trial = replace(scores[kind], memory=memory, enter=high, leave=high - gap)
            result = pooled(samples, {**scores, kind: trial}, kind)
            value = result.found - 0.03 * max(result.delay_weeks - delay, 0) + 0.3 * min(result.precision - 0.6, 0)
            if best is None or value > best[0]:
                best = (value, trial, result)
    if best is None:
        raise ValueError("nothing to tune")
    return best[1], best[2]
