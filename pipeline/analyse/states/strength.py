"""What the lifts say, pooled over a client: slopes over several windows, drops, bests, effort.

The model behind it: on the log scale, observation of stretch s in week t is
`y[s,t] = a[s] + level[t] + error`, with one level for the client, an offset of its own for each stretch,
and errors whose size is learned from successive differences. A pooled slope over a window is the
least-squares slope with those offsets (the within estimator); a drop is the mean of the last week(s)
against the stretch's own weeks before. One lift alone tells little in four weeks (a 0.5 % weekly gain
against 2.5 % error needs about ten); all of them together tell more.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pipeline.analyse.states.panel import Grid, trailing_sum, window_of

NOISE_PRIOR = 0.028
"""Error of a lift's week, log scale: 2–4 % (Mitter et al. 2022; Grgic et al. 2020)."""
NOISE_PRIOR_WEIGHT = 10.0
SHARED_NOISE = 0.12
"""Share of that error that a client's lifts have in common: a bad day is bad for all of them [P]."""
CURVE_SPREAD = 0.15
"""Spread of clients' θ: repetitions at a share of the maximum differ between people by a sixth [P]."""
CURVE_STEP = 0.04
MISFIT = 0.02
"""What a client's one curve leaves between two ranges of one lift (log units) [P]."""
REFERENCE_WEEKS = 6
"""Weeks a drop is held against; they end two weeks back."""


@dataclass(frozen=True)
class Lifts:
    """Stretches × weeks: `y` with NaN where not trained, `weight` of each week, `bend` (see observations).

    `exercise` numbers the exercise of each row from 0 and `owner` the client of each row; rows are sorted by
    owner, exercise and stretch.
    """

    y: Grid
    weight: Grid
    bend: Grid
    exercise: NDArray[np.int64]
    owner: NDArray[np.int64]
    n_clients: int

    def by_client(self, grid: Grid) -> Grid:
        """Sum of stretch rows by client."""
        return sum_runs(grid, self.owner, self.n_clients)

    def by_exercise(self, grid: Grid) -> Grid:
        """Sum of stretch rows by exercise."""
        return sum_runs(grid, self.exercise, int(self.exercise[-1]) + 1 if len(self.exercise) else 0)

    @property
    def exercise_owner(self) -> NDArray[np.int64]:
        """The client of each exercise."""
        return self.owner[_run_starts(self.exercise)]


def _run_starts(labels: NDArray[np.int64]) -> NDArray[np.int64]:
    return np.flatnonzero(np.r_[True, labels[1:] != labels[:-1]]) if len(labels) else labels


def sum_runs(grid: Grid, labels: NDArray[np.int64], n: int) -> Grid:
    out = np.zeros((n, grid.shape[1]))
    if len(labels):
        starts = _run_starts(labels)
        out[labels[starts]] = np.add.reduceat(grid, starts, axis=0)
    return out


@dataclass(frozen=True)
class Curve:
    """A client's departure from the equation's curve by week: `theta` and its `variance`."""

    theta: Grid
    variance: Grid


@dataclass(frozen=True)
class Trend:
    """A pooled slope: `slope` (log units a week), `precision` (1 / variance), `n` observations, `lifts`."""

    slope: Grid
    precision: Grid
    n: Grid
    lifts: Grid


@dataclass(frozen=True)
class Change:
    """A pooled difference against the weeks before: `mean` (log units), `z`, `breadth` share that fell,
    `lifts` compared."""

    mean: Grid
    z: Grid
    breadth: Grid
    lifts: Grid


def fit_noise(lifts: Lifts) -> Grid:
    """Error of each stretch's weekly figure (log units, stretches × weeks), from what was seen by then.

    Half the mean square of successive differences (von Neumann et al. 1941), at most four weeks apart,
    shrunk to the client's own, and that to `NOISE_PRIOR`. Differences beyond 12 % count as 12 %.
    """
    n_rows, n_weeks = lifts.y.shape
    seen = ~np.isnan(lifts.y)
    column = np.where(seen, np.arange(n_weeks), -1)
    last = np.maximum.accumulate(column, axis=1)
    before = np.concatenate([np.full((n_rows, 1), -1), last[:, :-1]], axis=1)
    previous = np.take_along_axis(lifts.y, np.maximum(before, 0), axis=1)
    close = seen & (before >= 0) & (np.arange(n_weeks) - before <= 4)
    square = np.where(close, np.minimum(np.abs(lifts.y - previous), 0.12) ** 2 / 2, 0.0)
    own_sum, own_n = np.cumsum(square, axis=1), np.cumsum(close, axis=1).astype(float)
    client_sum, client_n = lifts.by_client(own_sum), lifts.by_client(own_n)
    client = (NOISE_PRIOR_WEIGHT * NOISE_PRIOR**2 + client_sum) / (NOISE_PRIOR_WEIGHT + client_n)
    pooled = client[lifts.owner]
    variance: Grid = (NOISE_PRIOR_WEIGHT * pooled + own_sum) / (NOISE_PRIOR_WEIGHT + own_n)
    return np.asarray(np.sqrt(variance))


def _shared(per_week: Grid) -> Grid:
    """How much wider an interval is because lifts of one day err together (design effect)."""
    return 1.0 + SHARED_NOISE * np.maximum(per_week - 1.0, 0.0)


def fit_curve(lifts: Lifts) -> Curve:
    """How the client's own load–repetition curve departs from the equation's, from what was seen by then.

    If repetitions to failure follow w(1 + r/k) with a k of the client's own, estimates by 30 err by about
    θ·bend with θ = log(30/k). Where the load of an exercise changes by 4 % or more from one week to another,
    at most four weeks on, the true level hardly moved, so θ = Σ Δlog w·Δy / −Σ Δlog w·Δbend (the load is
    the instrument: a good day raises y and bend alike, a chosen load does not). Shrunk to 0 with
    `CURVE_SPREAD`.
    """
    top = np.where(np.isnan(lifts.y), np.nan, lifts.y + np.log1p(-np.minimum(lifts.bend, 0.9)))
    n_weeks = lifts.y.shape[1]
    starts = _run_starts(lifts.exercise)
    n = len(starts)
    merged = [np.full((n, n_weeks), np.nan) for _ in range(3)]
    for row, label in enumerate(lifts.exercise.tolist()):
        there = ~np.isnan(lifts.y[row]) & (lifts.weight[row] > 0)
        for target, source in zip(merged, (lifts.y, lifts.bend, top), strict=True):
            target[label, there] = source[row, there]
    y, bend, load = merged
    seen = ~np.isnan(y)
    column = np.where(seen, np.arange(n_weeks), -1)
    last = np.maximum.accumulate(column, axis=1)
    before = np.concatenate([np.full((n, 1), -1), last[:, :-1]], axis=1)
    pair = seen & (before >= 0) & (np.arange(n_weeks) - before <= 4)
    at = np.maximum(before, 0)
    dy, dx, dw = (np.where(pair, g - np.take_along_axis(g, at, axis=1), 0.0) for g in (y, bend, load))
    use = pair & (np.abs(dw) >= CURVE_STEP) & (np.abs(dy) < 0.15)
    moment = np.cumsum(np.where(use, dw * dy, 0.0), axis=1)
    response = np.cumsum(np.where(use, -dw * dx, 0.0), axis=1)
    square = np.cumsum(np.where(use, dw * dw, 0.0), axis=1)
    owner = lifts.exercise_owner
    moment, response, square = (sum_runs(g, owner, lifts.n_clients) for g in (moment, response, square))
    raw_variance = 4 * NOISE_PRIOR**2 * square / np.maximum(response, 1e-9) ** 2
    shrink = np.where(response > 1e-6, CURVE_SPREAD**2 / (CURVE_SPREAD**2 + raw_variance), 0.0)
    theta = np.where(response > 1e-6, shrink * moment / np.maximum(response, 1e-9), 0.0)
    return Curve(np.clip(theta, -0.5, 0.5), CURVE_SPREAD**2 * (1 - shrink))


@dataclass(frozen=True)
class Totals:
    """Running totals over the weeks of w, wt, wt², wy, wty, wx, wtx and lifts a week, for `fit_trend`."""

    sums: tuple[Grid, ...]
    active: Grid
    trained: Grid


def total_up(lifts: Lifts) -> Totals:
    """Running totals of `lifts`, so that each further window costs a few subtractions."""
    t = np.arange(lifts.y.shape[1], dtype=float)[None, :]
    w = np.where(np.isnan(lifts.y), 0.0, lifts.weight)
    y, x = np.nan_to_num(lifts.y), np.nan_to_num(lifts.bend)
    active = lifts.by_client((w > 0).astype(float))
    return Totals(
        tuple(np.cumsum(g, axis=1) for g in (w, w * t, w * t * t, w * y, w * t * y, w * x, w * t * x)),
        np.cumsum(active, axis=1),
        np.cumsum((active > 0).astype(float), axis=1),
    )


def fit_trend(
    lifts: Lifts,
    noise: Grid,
    weeks: int,
    curve: Curve | None = None,
    totals: Totals | None = None,
) -> Trend:
    """Pooled least-squares slope over the last `weeks`.

    Two independent parts are joined by their precision: the slope within stretches, each with an offset of
    its own; and the slope between stretches of one exercise, corrected by the client's `curve`, whose error
    also holds what the curve leaves (`MISFIT` a lift) and the curve's own uncertainty.
    """
    known = totals if totals is not None else total_up(lifts)
    v = 1.0 / noise**2
    sw, st, stt, sy, sty, sx, stx = (window_of(total, weeks) for total in known.sums)
    safe = np.maximum(sw, 1e-9)
    there = sw > 0.01
    sxx = np.where(there, np.maximum(stt - st * st / safe, 0.0), 0.0)
    # what is left of two equal sums is rounding, not information
    speaks = sxx > 1e-3
    sxx = np.where(speaks, sxx, 0.0)
    inner = lifts.by_client(v * sxx)
    inner_moment = lifts.by_client(np.where(speaks, v * (sty - st * sy / safe), 0.0))
    inner_bend = lifts.by_client(np.where(speaks, v * (stx - st * sx / safe), 0.0))
    theta = curve.theta if curve is not None else np.zeros_like(inner)
    per_week = window_of(known.active, weeks) / np.maximum(window_of(known.trained, weeks), 1)
    shared = _shared(per_week)
    slope_in = (inner_moment + theta * inner_bend) / np.maximum(inner, 1e-9)
    precision_in = inner / shared
    slope, precision = np.where(inner > 0, slope_in, 0.0), np.where(inner > 0, precision_in, 0.0)
    if curve is not None:
        total = [lifts.by_exercise(np.where(there, v * g, 0.0)) for g in (sw, st, sy, sx)]
        parts = [
            lifts.by_exercise(np.where(there, v * a * b / safe, 0.0))
            for a, b in ((st, st), (st, sy), (st, sx))
        ]
        mass = np.maximum(total[0], 1e-9)
        between = np.maximum(parts[0] - total[1] ** 2 / mass, 0.0)
        between = np.where(between > 1.0, between, 0.0)
        owner = lifts.exercise_owner
        outer = sum_runs(between, owner, lifts.n_clients)
        outer_moment = sum_runs(
            np.where(between > 0, parts[1] - total[1] * total[2] / mass, 0.0), owner, lifts.n_clients
        )
        outer_bend = sum_runs(
            np.where(between > 0, parts[2] - total[1] * total[3] / mass, 0.0), owner, lifts.n_clients
        )
        slope_out = (outer_moment + theta * outer_bend) / np.maximum(outer, 1e-9)
        spread = sum_runs(between**2, owner, lifts.n_clients) / np.maximum(outer, 1e-9) ** 2
        variance_out = (
            shared / np.maximum(outer, 1e-9)
            + MISFIT**2 * spread / (weeks / 2) ** 2
            + curve.variance * (outer_bend / np.maximum(outer, 1e-9)) ** 2
        )
        precision_out = np.where(outer > 0, 1 / variance_out, 0.0)
        precision = precision_in + precision_out
        slope = np.where(
            precision > 0,
            (
                np.where(inner > 0, slope_in, 0.0) * precision_in
                + np.where(outer > 0, slope_out, 0.0) * precision_out
            )
            / np.maximum(precision, 1e-9),
            0.0,
        )
    return Trend(
        slope=slope,
        precision=precision,
        n=lifts.by_client(np.where(speaks, sw, 0.0)),
        lifts=sum_runs(
            (lifts.by_exercise(speaks.astype(float)) > 0).astype(float), lifts.exercise_owner, lifts.n_clients
        ),
    )


def fit_change(
    lifts: Lifts, noise: Grid, weeks: int, curve: Curve | None = None, fall: float = 0.02
) -> Change:
    """Mean of the last `weeks` weeks against the lift's own six weeks before (the last but one left out).

    Within a stretch where there is one on both sides; else, with a `curve`, between stretches of the
    exercise, corrected by it and with its error added.
    """
    lag = max(2, weeks)
    w = np.where(np.isnan(lifts.y), 0.0, lifts.weight)
    y, x = np.nan_to_num(lifts.y), np.nan_to_num(lifts.bend)
    n_new, sum_new = trailing_sum(w, weeks), trailing_sum(w * y, weeks)
    n_old, sum_old = trailing_sum(w, REFERENCE_WEEKS, lag), trailing_sum(w * y, REFERENCE_WEEKS, lag)
    both = (n_new > 0.15) & (n_old > 0.9)
    difference = np.where(both, sum_new / np.maximum(n_new, 1e-9) - sum_old / np.maximum(n_old, 1e-9), 0.0)
    v = np.where(both, n_new * n_old / np.maximum(n_new + n_old, 1e-9), 0.0) / noise**2
    parts = [(lifts.owner, difference, v, both)]
    if curve is not None:
        owner = lifts.exercise_owner
        new, old = lifts.by_exercise(n_new), lifts.by_exercise(n_old)
        bent = [trailing_sum(w * x, weeks), trailing_sum(w * x, REFERENCE_WEEKS, lag)]
        moved = [
            lifts.by_exercise(g) / np.maximum(n, 1e-9)
            for g, n in ((sum_new, new), (sum_old, old), (bent[0], new), (bent[1], old))
        ]
        alone = (lifts.by_exercise(both.astype(float)) == 0) & (new > 0.15) & (old > 0.9)
        turn = moved[2] - moved[3]
        across = np.where(alone, moved[0] - moved[1] + curve.theta[owner] * turn, 0.0)
        # only stretches in these weeks: one that begins later must not be heard
        speaks = ((n_new > 0) | (n_old > 0)).astype(float)
        rows = np.maximum(lifts.by_exercise(speaks), 1)
        error = (
            lifts.by_exercise(speaks * noise**2) / rows * (new + old) / np.maximum(new * old, 1e-9)
            + MISFIT**2
            + curve.variance[owner] * turn**2
        )
        parts.append((owner, across, np.where(alone, 1 / error, 0.0), alone))
    information, moment, fallen, n_lifts = (np.zeros((lifts.n_clients, y.shape[1])) for _ in range(4))
    for owner, gap, certainty, there in parts:
        gap = np.clip(gap, -0.25, 0.25)
        information += sum_runs(certainty, owner, lifts.n_clients)
        moment += sum_runs(certainty * gap, owner, lifts.n_clients)
        fallen += sum_runs(certainty * (gap < -fall), owner, lifts.n_clients)
        n_lifts += sum_runs(there.astype(float), owner, lifts.n_clients)
    safe = np.maximum(information, 1e-9)
    mean = moment / safe
    se = np.sqrt(_shared(n_lifts) / safe)
    return Change(
        mean=np.where(information > 0, mean, 0.0),
        z=np.where(information > 0, mean / se, 0.0),
        breadth=fallen / safe,
        lifts=n_lifts,
    )


def fit_bests(lifts: Lifts) -> tuple[Grid, Grid]:
    """Client × week: stretches that set a best, and stretches that could have (seen before and again)."""
    seen = ~np.isnan(lifts.y)
    filled = np.where(seen, lifts.y, -np.inf)
    best = np.maximum.accumulate(filled, axis=1)
    before = np.concatenate([np.full((len(best), 1), -np.inf), best[:, :-1]], axis=1)
    could = seen & np.isfinite(before)
    beaten = could & (filled > before + 1e-6)
    return lifts.by_client(beaten.astype(float)), lifts.by_client(could.astype(float))
