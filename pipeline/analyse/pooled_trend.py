"""A client's overall line: all lifts pooled on the log scale, week by week, without hindsight."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
Whole = npt.NDArray[np.int64]


@dataclass(frozen=True)
class PoolFigures:
    """The fixed figures, log scale a week; sources as in the trend of one lift."""

    level_sd: float = 0.0025
    slope_sd: float = 0.0006
    slope_keeps: float = 0.99
    slope_prior_sd: float = 0.007
    offset_sd: float = 0.002  # lifts of one client drift apart this much a week [P]
    shared_day_sd: float = 0.012  # a bad week is bad for all lifts at once [P]
    layoff_sd: float = 0.02
    outlier_z: float = 2.0


@dataclass(frozen=True)
class LiftWeekMarks:
    """One row a lift and week with a session, sorted by week: what the lift said of its level that week.

    `client` and `lift` number from 0; `level` is the log level, `sd` its standard error.
    """

    client: Whole
    lift: Whole
    week: Whole
    level: Floats
    sd: Floats


@dataclass(frozen=True)
class ClientWeeks:
    """One row a client and week from the first session on; log scale, level 0 at the first week."""

    client: Whole
    week: Whole
    level: Floats
    level_sd: Floats
    slope: Floats
    slope_sd: Floats


def pool_lifts(
    marks: LiftWeekMarks, n_weeks: int, silent_weeks: int = 12, figures: PoolFigures | None = None
) -> ClientWeeks:
    """Is the client as a whole getting stronger? One level and slope for all lifts, an offset for each.

        level of lift i = client's level + offset i + error

    The client's level is a local linear trend with damped slope (Kalman filter). Offsets are learnt beside
    it, each lift against the client's level, and drift slowly, so that a lift may come, go or move at its
    own pace. A lift that is far off that week counts less. Offsets and level are treated as independent,
    which is right to a few per cent with three lifts or more; with one lift the line is that lift's.

    Don't read it across a change of most lifts at once: new lifts carry no news until their offset is known.
    """
    fig = figures or PoolFigures()
    n_clients = int(marks.client.max()) + 1 if len(marks.client) else 0
    n_lifts = int(marks.lift.max()) + 1 if len(marks.lift) else 0
    level, slope = np.zeros(n_clients), np.zeros(n_clients)
    p00, p01, p11 = np.zeros(n_clients), np.zeros(n_clients), np.full(n_clients, fig.slope_prior_sd**2)
    offset, offset_var = np.zeros(n_lifts), np.zeros(n_lifts)
    lift_week, last_week = np.full(n_lifts, -1), np.full(n_clients, -1)
    edges = np.searchsorted(marks.week, np.arange(n_weeks + 1))
    parts: list[tuple[Whole, Whole, Floats, Floats, Floats, Floats]] = []
    for week in range(n_weeks):
        run = np.flatnonzero((last_week >= 0) & (week - last_week <= silent_weeks))
        level[run] += slope[run]
        slope[run] *= fig.slope_keeps
        p00[run] += 2 * p01[run] + p11[run] + fig.level_sd**2
        p01[run] = (p01[run] + p11[run]) * fig.slope_keeps
        p11[run] = p11[run] * fig.slope_keeps**2 + fig.slope_sd**2
        rows = np.arange(edges[week], edges[week + 1])
        client, lift = marks.client[rows], marks.lift[rows]
        seen = np.unique(client)
        gap = np.where(last_week[seen] >= 0, np.maximum(week - last_week[seen] - 2, 0), 0)
        p00[seen] += gap * fig.layoff_sd**2
        known = lift_week[lift] >= 0
        rows_known, c, i = rows[known], client[known], lift[known]
        offset_var[i] += fig.offset_sd**2 * (week - lift_week[i])
        apart = marks.level[rows_known] - offset[i] - level[c]
        var = marks.sd[rows_known] ** 2 + offset_var[i]
        z = np.abs(apart) / np.sqrt(var + p00[c] + fig.shared_day_sd**2)
        var = var * np.maximum(z / fig.outlier_z, 1.0) ** 2
        weight = np.bincount(c, 1 / var, n_clients)
        told = np.flatnonzero(weight > 0)
        innovation = np.bincount(c, apart / var, n_clients)[told] / weight[told]
        total = p00[told] + 1 / weight[told] + fig.shared_day_sd**2
        gain0, gain1 = p00[told] / total, p01[told] / total
        level[told] += gain0 * innovation
        slope[told] += gain1 * innovation
        p11[told] -= gain1 * p01[told]
        p01[told] *= 1 - gain0
        p00[told] *= 1 - gain0
        left = marks.level[rows_known] - offset[i] - level[c]
        gain = offset_var[i] / (var + p00[c] + fig.shared_day_sd**2)
        offset[i] += gain * left
        offset_var[i] *= 1 - gain
        fresh, c_new, i_new = rows[~known], client[~known], lift[~known]
        offset[i_new] = marks.level[fresh] - level[c_new]
        offset_var[i_new] = marks.sd[fresh] ** 2 + p00[c_new] + fig.shared_day_sd**2
        lift_week[lift] = week
        last_week[seen] = week
        shown = np.flatnonzero((last_week >= 0) & (week - last_week <= silent_weeks))
        parts.append(
            (
                shown,
                np.full(len(shown), week),
                level[shown].copy(),
                np.sqrt(p00[shown]),
                slope[shown].copy(),
                np.sqrt(p11[shown]),
            )
        )
    columns = [np.concatenate(column) for column in zip(*parts, strict=True)] if parts else [np.zeros(0)] * 6
    return ClientWeeks(columns[0].astype(np.int64), columns[1].astype(np.int64), *columns[2:])
