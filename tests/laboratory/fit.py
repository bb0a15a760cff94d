"""Fits the shipped scores: a ridge logistic regression on named signals, then thresholds with hysteresis.

Fitted on some dynamics and seeds, reported on others (see report). The result is score.toml, a few dozen
figures that a coach can read; nothing is fitted on a coach's machine.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from functools import reduce
from operator import add

import numpy as np
import polars as pl
from scipy.optimize import minimize

from pipeline.analyse.states.client_states import read_signal_grids
from pipeline.analyse.states.context import read_axis
from pipeline.analyse.states.decision import decide
from pipeline.analyse.states.panel import Axis, Grid
from pipeline.analyse.states.score import CLIP, Score, Term
from tests.laboratory.roster import Roster
from tests.laboratory.scorer import Marks, Result, week_truth
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
    _marks: dict[str, Marks] = field(default_factory=dict)

    def marks(self, kind: str) -> Marks:
        """The truth of a state on the rows of `weeks`, laid once."""
        if kind not in self._marks:
            self._marks[kind] = Marks(self.weeks, self.truth, kind)
        return self._marks[kind]

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
    weeks = pl.DataFrame(
        {
            "client_id": pl.Series(axis.clients).gather(at[0]),
            "week_end": pl.Series([axis.week(i) for i in range(axis.n_weeks)], dtype=pl.Date).gather(at[1]),
        }
    ).with_columns(pl.col("week_end") + pl.duration(days=6))
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
        (g("n_sessions") > 0)
        & (g("planned_light") == 0)
        & (g("own_light") == 0)
        & (g("is_returning") == 0)
        & (g("weeks_logged") >= 4)
        & (g("n_points") >= 6)
    )


def fit_score(samples: list[Sample], kind: str, signals: tuple[str, ...], ridge: float = 30.0) -> Score:
    """Weights of the named signals for the state `kind` (thresholds are set by `tune`)."""
    xs, ys = [], []
    for sample in samples:
        use = _usable(sample)
        inside, near = (
            week_truth(sample.weeks, sample.truth, kind),
            week_truth(sample.weeks, sample.truth, kind, 7),
        )
        use &= inside | ~near
        if kind == "plateau":
            use &= ~week_truth(sample.weeks, sample.truth, "over_reaching", 7)
            use &= ~week_truth(sample.weeks, sample.truth, "cut")
        xs.append(np.stack([sample.column(name)[use] for name in signals], axis=1))
        ys.append(inside[use])
    x, y = np.concatenate(xs), np.concatenate(ys).astype(float)
    centre = np.nanmedian(x, axis=0)
    scale = np.maximum(np.nanpercentile(x, 84, axis=0) - np.nanpercentile(x, 16, axis=0), 1e-3) / 2
    scale = np.maximum(scale, np.nanstd(x, axis=0) / 2)
    z = np.nan_to_num(np.clip((x - centre) / scale, -CLIP, CLIP))
    intercept, weights = fit_logistic(z, y, np.ones(len(y)), ridge)
    terms = tuple(
        Term(n, float(c), float(s), float(w))
        for n, c, s, w in zip(signals, centre, scale, weights, strict=True)
    )
    return Score(kind, intercept, 0.0, 0.0, 0.0, 1.0, 0.0, terms)


def states_of(sample: Sample, scores: dict[str, Score]) -> np.ndarray:
    """The state of each row of `sample.weeks` under these scores."""
    return decide(sample.grids, scores, 14).state[sample.at]


def pooled(samples: list[Sample], scores: dict[str, Score], kind: str) -> Result:
    """Score of a state over several samples."""
    return pooled_flags(samples, [states_of(s, scores) == kind for s in samples], kind)


def pooled_flags(samples: list[Sample], flags: list[np.ndarray], kind: str) -> Result:
    """Score of `flags` (bool, one a row of each sample's `weeks`) over several samples."""
    return reduce(add, (s.marks(kind).tally(f) for s, f in zip(samples, flags, strict=True))).result()


PLATEAU_SIGNALS = (
    "stall_chance",
    "shown_bests_3",
    "slope_8",
    "slope_16",
    "reserve_breadth_1",
    "attendance_4",
)
OVER_REACHING_SIGNALS = (
    "slump_chance",
    "stall_chance",
    "surprise",
    "bare_change_1",
    "bare_breadth_1",
    "reserve_z_1",
    "failed_share",
    "strain",
    "dose_1",
    "dose_3",
)
GRID = {
    "plateau": ((0.0,), (0.8, 1.0), np.linspace(0.80, 0.94, 29)),
    "over_reaching": ((0.2,), (0.5, 1.0), np.linspace(0.93, 0.985, 23)),
}
"""Memories, widths of the hysteresis and quantiles of the raw score that `tune` tries."""
AIMS = {"plateau": (0.7, 0.48, 5.5, 0.05), "over_reaching": (0.22, 0.6, 1.3, 0.15)}
"""Most false alarms a client-year, least weekly precision, delay aimed at, cost of a week beyond."""


def tune(samples: list[Sample], scores: dict[str, Score], kind: str) -> Score:
    """Memory, threshold and hysteresis that find most events within `AIMS`."""
    alarms, precision, delay, cost = AIMS[kind]
    memories, widths, quantiles = GRID[kind]
    raw = np.concatenate([scores[kind].raw(s.grids)[s.at][_usable(s)] for s in samples])
    best: tuple[float, Score] | None = None
    for memory in memories:
        for quantile in quantiles:
            enter = float(np.quantile(raw, quantile))
            for width in widths:
                trial = replace(scores[kind], memory=memory, enter=enter, leave=enter - width)
                result = pooled(samples, {**scores, kind: trial}, kind)
                value = result.found - cost * max(result.delay_weeks - delay, 0.0)
                value -= 2.0 * max(result.false_alarms - alarms, 0.0) + 2.0 * max(
                    precision - result.precision, 0.0
                )
                if best is None or value > best[0]:
                    best = (value, trial)
    if best is None:
        raise ValueError("nothing to tune")
    return best[1]


def calibrate(samples: list[Sample], scores: dict[str, Score], kind: str) -> Score:
    """Map the smoothed score of flagged weeks to the share of them that held (Platt 1999)."""
    xs, ys = [], []
    for sample in samples:
        decision = decide(sample.grids, scores, 14)
        flagged = decision.state[sample.at] == kind
        value = {"plateau": decision.plateau, "over_reaching": decision.over_reaching}[kind][sample.at]
        xs.append(value[flagged])
        ys.append(week_truth(sample.weeks, sample.truth, kind, 7)[flagged])
    x, y = np.concatenate(xs), np.concatenate(ys).astype(float)
    shift, slope = fit_logistic(x[:, None], y, np.ones(len(y)), 1.0)
    return replace(scores[kind], slope=float(slope[0]), shift=shift)


def fit_all(samples: list[Sample], ridge: float = 30.0) -> dict[str, Score]:
    """Both scores: weights, thresholds, calibration. Over-reaching first, for it outranks a plateau."""
    scores = {
        "over_reaching": fit_score(samples, "over_reaching", OVER_REACHING_SIGNALS, ridge),
        "plateau": fit_score(samples, "plateau", PLATEAU_SIGNALS, ridge),
    }
    for kind in ("over_reaching", "plateau"):
        scores[kind] = tune(samples, scores, kind)
        scores[kind] = calibrate(samples, scores, kind)
    return scores


def write_scores(scores: dict[str, Score], note: str) -> str:
    """score.toml as text; `note` becomes its comment."""
    lines = [f"# {line}" for line in note.splitlines()]
    for name in ("plateau", "over_reaching"):
        score = scores[name]
        lines += ["", f"[{name}]"]
        for key in ("intercept", "memory", "enter", "leave", "slope", "shift"):
            lines.append(f"{key} = {getattr(score, key):.4g}")
        lines += [f"[{name}.signals]"]
        lines += [f"{t.signal} = [{t.centre:.4g}, {t.scale:.4g}, {t.weight:.3g}]" for t in score.terms]
    return "\n".join(lines) + "\n"
