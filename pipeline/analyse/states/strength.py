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

from pipeline.analyse.states.panel import Grid, trailing_sum

NOISE_PRIOR = 0.028
"""Error of a lift's week, log scale: 2–4 % (Mitter et al. 2022; Grgic et al. 2020)."""
NOISE_PRIOR_WEIGHT = 10.0
SHARED_NOISE = 0.25
"""Share of that error that a client's lifts have in common: a bad day is bad for all of them [P]."""
REFERENCE_WEEKS = 6
"""Weeks a drop is held against; they end two weeks back."""


@dataclass(frozen=True)
class Lifts:
    """Stretches × weeks: `y` with NaN where not trained, `weight` of each week, `owner` row of the client.

    Rows are sorted by owner. `noise` (stretches × weeks) is the error known by then.
    """

    y: Grid
    weight: Grid
    owner: NDArray[np.int64]
    n_clients: int

    def by_client(self, grid: Grid) -> Grid:
        """Sum of stretch rows by client."""
        out = np.zeros((self.n_clients, grid.shape[1]))
        if len(self.owner):
            starts = np.flatnonzero(np.r_[True, self.owner[1:] != self.owner[:-1]])
            out[self.owner[starts]] = np.add.reduceat(grid, starts, axis=0)
        return out


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


def fit_trend(lifts: Lifts, noise: Grid, weeks: int, lag: int = 0) -> Trend:
    """Pooled least-squares slope over the `weeks` that end `lag` weeks back, offsets by stretch."""
    n_weeks = lifts.y.shape[1]
    t = np.arange(n_weeks, dtype=float)[None, :]
    w = np.where(np.isnan(lifts.y), 0.0, lifts.weight)
    y = np.nan_to_num(lifts.y)
    sw = trailing_sum(w, weeks, lag)
    st, stt = trailing_sum(w * t, weeks, lag), trailing_sum(w * t * t, weeks, lag)
    sy, sty = trailing_sum(w * y, weeks, lag), trailing_sum(w * t * y, weeks, lag)
    safe = np.maximum(sw, 1e-9)
    sxx = np.where(sw > 0, np.maximum(stt - st * st / safe, 0.0), 0.0)
    sxy = np.where(sw > 0, sty - st * sy / safe, 0.0)
    speaks = sxx > 1e-6
    v = np.where(speaks, 1.0 / noise**2, 0.0)
    information, moment = lifts.by_client(v * sxx), lifts.by_client(v * sxy)
    n = lifts.by_client(np.where(speaks, sw, 0.0))
    active = lifts.by_client((w > 0).astype(float))
    per_week = trailing_sum(active, weeks, lag) / np.maximum(
        trailing_sum((active > 0).astype(float), weeks, lag), 1
    )
    return Trend(
        slope=np.where(information > 0, moment / np.maximum(information, 1e-9), 0.0),
        precision=information / _shared(per_week),
        n=n,
        lifts=lifts.by_client(speaks.astype(float)),
    )


def fit_change(lifts: Lifts, noise: Grid, weeks: int, fall: float = 0.02) -> Change:
    """Mean of the last `weeks` weeks against the stretch's own weeks two to seven back, pooled."""
    w = np.where(np.isnan(lifts.y), 0.0, lifts.weight)
    y = np.nan_to_num(lifts.y)
    n_new, sum_new = trailing_sum(w, weeks), trailing_sum(w * y, weeks)
    n_old = trailing_sum(w, REFERENCE_WEEKS, 2)
    sum_old = trailing_sum(w * y, REFERENCE_WEEKS, 2)
    both = (n_new > 0.2) & (n_old > 0.9)
    difference = np.where(both, sum_new / np.maximum(n_new, 1e-9) - sum_old / np.maximum(n_old, 1e-9), 0.0)
    difference = np.clip(difference, -0.25, 0.25)
    h = np.where(both, n_new * n_old / np.maximum(n_new + n_old, 1e-9), 0.0)
    v = h / noise**2
    information = lifts.by_client(v)
    mean = lifts.by_client(v * difference) / np.maximum(information, 1e-9)
    n_lifts = lifts.by_client(both.astype(float))
    se = np.sqrt(_shared(n_lifts) / np.maximum(information, 1e-9))
    return Change(
        mean=np.where(information > 0, mean, 0.0),
        z=np.where(information > 0, mean / se, 0.0),
        breadth=lifts.by_client(v * (difference < -fall)) / np.maximum(information, 1e-9),
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
