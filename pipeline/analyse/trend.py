"""Strength of every lift, week by week, from what was known at each week's end.

One filter runs over all lifts of all clients at once. Its state, for each lift:

- level: log of the e1RM, as sets of the lift's usual repetitions give it by the published equation,
- slope: its change a week,
- curve: how much faster than published the client's load falls with repetitions (0: as published),
- reserve: how much a set of unknown effort understates the level.

Because the curve is part of the state, a change from sets of 6 to sets of 12 shows up as uncertainty about
the curve first, not as strength won or lost; where repetitions vary, the curve is learnt, and where they do
not it stays at the published one with its prior error.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from pipeline.analyse.load_rep_curve import expected_ln_factor

Floats = npt.NDArray[np.float64]
Whole = npt.NDArray[np.int64]
Flags = npt.NDArray[np.bool_]

LEVEL, SLOPE, CURVE, RESERVE = range(4)
Z_90 = 1.6449


@dataclass(frozen=True)
class FilterFigures:
    """The fixed figures of the filter, on the log scale a week; where each comes from stands beside it."""

    level_sd: float = 0.003  # real strength wanders little from week to week [P]
    slope_sd: float = 0.0006  # a rate of gain changes over months, not weeks [P]
    slope_keeps: float = 0.99  # without news a rate fades to none in some months [P]
    slope_prior_sd: float = 0.007  # competing lifters 0.2-0.3 % a week, novices up to 1 % (REFERENCE 7)
    curve_prior_sd: float = 0.30  # 6-26 repetitions at 70 % of 1RM among trained lifters (Nuzzo et al. 2024)
    same_length: float = 0.03  # sets within this of the usual ln f, a repetition or so, count as alike [P]
    reserve_prior: float = 0.055  # about two repetitions in reserve where none is stated [P]
    reserve_prior_sd: float = 0.04
    reserve_reps_sd: float = 1.5  # repetitions by which unstated effort varies from day to day [P]
    day_sd: float = 0.02  # day to day, beside the estimate's error (Grgic et al. 2020)
    deload_factor: float = 3.0  # a planned deload says little about strength
    first_factor: float = 2.5  # nor does the first exposure to a lift, the second somewhat more
    second_factor: float = 1.5
    layoff_sd: float = 0.02  # each week beyond two without the lift may cost or save this much [P]
    outlier_z: float = 2.0  # beyond this a session is a bad (or a mistyped) day and counts less
    outlier_z_below_bound: float = 1.0
    # how steady a lifter's sessions are is learnt as they come: the error expected above counts as this many
    # sessions, and is scaled by no more than these (variance)
    scale_prior_sessions: float = 8.0
    scale_low: float = 0.25
    scale_high: float = 4.0


@dataclass(frozen=True)
class LiftSessions:
    """One row a session of a lift, sorted by lift, week and date.

    `lift` numbers the series from 0, `week` the weeks from 0; `ln_load` is the natural log of the load in kg,
    `ln_factor` that of the published equation's e1RM over load, `se` the log standard error of the estimate,
    `share_per_rep` what one repetition more is worth on the log scale.
    """

    lift: Whole
    week: Whole
    ln_load: Floats
    ln_factor: Floats
    se: Floats
    share_per_rep: Floats
    is_lower_bound: Flags
    is_deload: Flags


@dataclass(frozen=True)
class LiftWeeks:
    """One row a lift and week from its first session on; sd are standard errors, log scale.

    `bound` is the level less the reserve of sets of unknown effort: all that is known of a lift that has no
    other.
    """

    lift: Whole
    week: Whole
    n_sessions: Whole
    n_recent: Whole
    weeks_since: Whole
    has_point: Flags
    level: Floats
    level_sd: Floats
    slope: Floats
    slope_sd: Floats
    bound: Floats
    bound_sd: Floats
    curve: Floats
    curve_sd: Floats
    first_week: Whole


@dataclass(frozen=True)
class ReadSessions:
    """One row a session, in the order given: what it says of the level with curve and reserve allowed for.

    `level` is on the log scale, `sd` the error the filter gave it (bad days, deloads and first exposures
    more). `surprise` is what the session showed above (below 0) what was expected, NaN at a lift's first
    session and where the effort was unknown.
    """

    level: Floats
    sd: Floats
    surprise: Floats


def filter_lifts(
    sessions: LiftSessions,
    n_weeks: int,
    silent_weeks: int = 12,
    recent_weeks: int = 6,
    figures: FilterFigures | None = None,
) -> tuple[LiftWeeks, ReadSessions]:
    """Level and slope of every lift at the end of every week: how strong is it, and where is it going?

    A local linear trend with damped slope, run forward only (Kalman filter; Durbin & Koopman 2012), with the
    observation of a session

        ln load + ln f(r) = level - curve (ln f(r) - ln f(r0)) - reserve [unknown effort] + error

    r: repetitions to failure, f: the published equation, r0: those of the lift's first session. An error far
    from what was expected counts less (its variance grows with the square of its distance); a lower bound
    that lies low says almost nothing, one that lies high as much as any set. How large errors usually are is
    learnt for each lift.

    A lift's rows end `silent_weeks` weeks after its last session. Don't trust a level from fewer than four
    sessions, or across a change of bar, machine or technique: the filter cannot see those.
    """
    fig = figures or FilterFigures()
    n_lifts = int(sessions.lift.max()) + 1 if len(sessions.lift) else 0
    x = np.zeros((n_lifts, 4))
    p = np.zeros((n_lifts, 4, 4))
    first_factor = np.zeros(n_lifts)
    scale = np.ones(n_lifts)
    count = np.zeros(n_lifts, dtype=np.int64)
    first_week = np.full(n_lifts, -1, dtype=np.int64)
    last_week = np.full(n_lifts, -1, dtype=np.int64)
    has_point = np.zeros(n_lifts, dtype=bool)
    recent = np.zeros((n_lifts, recent_weeks), dtype=np.int64)
    order = _turns(sessions)
    read = ReadSessions(
        np.zeros(len(sessions.lift)), np.ones(len(sessions.lift)), np.full(len(sessions.lift), np.nan)
    )
    collected: list[dict[str, npt.NDArray[np.generic]]] = []
    for week in range(n_weeks):
        running = (first_week >= 0) & (week - last_week <= silent_weeks)
        _predict(x, p, running, fig)
        recent[:, week % recent_weeks] = 0
        for rows in order.get(week, ()):
            lifts = sessions.lift[rows]
            new = count[lifts] == 0
            _start(x, p, first_factor, first_week, lifts[new], rows[new], sessions, week, fig, read)
            gap = np.where(new, 0, np.maximum(week - last_week[lifts] - 2, 0))
            p[lifts, LEVEL, LEVEL] += gap * fig.layoff_sd**2
            _update(x, p, first_factor, scale, count, lifts[~new], rows[~new], sessions, fig, read)
            count[lifts] += 1
            last_week[lifts] = week
            has_point[lifts] |= ~sessions.is_lower_bound[rows]
            recent[lifts, week % recent_weeks] += 1
        shown = np.flatnonzero((first_week >= 0) & (week - last_week <= silent_weeks))
        collected.append(
            {
                "lift": shown,
                "week": np.full(len(shown), week),
                "n_sessions": count[shown],
                "n_recent": recent[shown].sum(axis=1),
                "weeks_since": week - last_week[shown],
                "has_point": has_point[shown],
                "level": x[shown, LEVEL].copy(),
                "level_sd": np.sqrt(p[shown, LEVEL, LEVEL]),
                "slope": x[shown, SLOPE].copy(),
                "slope_sd": np.sqrt(p[shown, SLOPE, SLOPE]),
                "bound": x[shown, LEVEL] - x[shown, RESERVE],
                "bound_sd": np.sqrt(
                    p[shown, LEVEL, LEVEL] + p[shown, RESERVE, RESERVE] - 2 * p[shown, LEVEL, RESERVE]
                ),
                "curve": x[shown, CURVE].copy(),
                "curve_sd": np.sqrt(p[shown, CURVE, CURVE]),
                "first_week": first_week[shown],
            }
        )
    names = list(LiftWeeks.__dataclass_fields__)
    joined = {name: np.concatenate([part[name] for part in collected] or [np.zeros(0)]) for name in names}
    return LiftWeeks(**joined), read


def _turns(sessions: LiftSessions) -> dict[int, list[Whole]]:
    """Rows by week, then by their turn within lift and week, so that no lift appears twice in one array."""
    if not len(sessions.lift):
        return {}
    is_new = np.ones(len(sessions.lift), dtype=bool)
    is_new[1:] = (np.diff(sessions.lift) != 0) | (np.diff(sessions.week) != 0)
    starts = np.flatnonzero(is_new)
    turn = np.arange(len(is_new)) - starts[np.cumsum(is_new) - 1]
    by_week: dict[int, list[Whole]] = {}
    order = np.lexsort((sessions.lift, turn, sessions.week))
    keys = sessions.week[order] * (int(turn.max()) + 1) + turn[order]
    for rows in np.split(order, np.flatnonzero(np.diff(keys)) + 1):
        by_week.setdefault(int(sessions.week[rows[0]]), []).append(rows)
    return by_week


def _predict(x: Floats, p: Floats, running: Flags, fig: FilterFigures) -> None:
    """One week passes for the running lifts."""
    keep = fig.slope_keeps
    here = np.flatnonzero(running)
    state, cov = x[here], p[here]
    state[:, LEVEL] += state[:, SLOPE]
    state[:, SLOPE] *= keep
    cov[:, LEVEL, :] += cov[:, SLOPE, :]
    cov[:, SLOPE, :] *= keep
    cov[:, :, LEVEL] += cov[:, :, SLOPE]
    cov[:, :, SLOPE] *= keep
    cov[:, LEVEL, LEVEL] += fig.level_sd**2
    # the spread of rates is kept from growing past its prior by the damping
    cov[:, SLOPE, SLOPE] += fig.slope_sd**2
    x[here], p[here] = state, cov


def _start(
    x: Floats,
    p: Floats,
    first_factor: Floats,
    first_week: Whole,
    lifts: Whole,
    rows: Whole,
    sessions: LiftSessions,
    week: int,
    fig: FilterFigures,
    read: ReadSessions,
) -> None:
    """The first session of a lift sets its level, the rest starts at its prior."""
    bound = sessions.is_lower_bound[rows]
    x[lifts] = 0.0
    x[lifts, RESERVE] = fig.reserve_prior
    x[lifts, LEVEL] = sessions.ln_load[rows] + sessions.ln_factor[rows]
    x[lifts, LEVEL] += np.where(bound, fig.reserve_prior, 0.0)
    p[lifts] = 0.0
    p[lifts, SLOPE, SLOPE] = fig.slope_prior_sd**2
    p[lifts, CURVE, CURVE] = fig.curve_prior_sd**2
    p[lifts, RESERVE, RESERVE] = fig.reserve_prior_sd**2
    noise = _noise(sessions, rows, np.zeros(len(rows), dtype=np.int64), fig)
    p[lifts, LEVEL, LEVEL] = noise + np.where(bound, fig.reserve_prior_sd**2, 0.0)
    p[lifts, LEVEL, RESERVE] = np.where(bound, fig.reserve_prior_sd**2, 0.0)
    p[lifts, RESERVE, LEVEL] = p[lifts, LEVEL, RESERVE]
    read.level[rows] = x[lifts, LEVEL]
    read.sd[rows] = np.sqrt(noise)
    first_factor[lifts] = sessions.ln_factor[rows]
    first_week[lifts] = week


def _noise(sessions: LiftSessions, rows: Whole, count: Whole, fig: FilterFigures) -> Floats:
    """Variance of a session's observation: estimate, day, unstated effort, deload, first exposures."""
    variance = sessions.se[rows] ** 2 + fig.day_sd**2
    unstated = (fig.reserve_reps_sd * sessions.share_per_rep[rows]) ** 2
    variance = variance + np.where(sessions.is_lower_bound[rows], unstated, 0.0)
    factor = np.where(sessions.is_deload[rows], fig.deload_factor, 1.0)
    factor = factor * np.where(count == 0, fig.first_factor, np.where(count == 1, fig.second_factor, 1.0))
    noisy: Floats = variance * factor**2
    return noisy


def _update(
    x: Floats,
    p: Floats,
    first_factor: Floats,
    scale: Floats,
    count: Whole,
    lifts: Whole,
    rows: Whole,
    sessions: LiftSessions,
    fig: FilterFigures,
    read: ReadSessions,
) -> None:
    """One session each of some lifts is taken in."""
    if not len(lifts):
        return
    bound = sessions.is_lower_bound[rows]
    h = np.zeros((len(lifts), 4))
    h[:, LEVEL] = 1.0
    # the repetitions this load should allow: those done carry the very error the observation has, and would
    # pull every curve the same way
    allowed = expected_ln_factor(
        x[lifts, LEVEL], sessions.ln_load[rows], x[lifts, CURVE], first_factor[lifts]
    )
    apart = allowed - first_factor[lifts]
    # within a repetition or so nothing is learnt: there the way effort is misjudged would pass for a curve
    h[:, CURVE] = -np.sign(apart) * np.maximum(np.abs(apart) - fig.same_length, 0.0)
    h[:, RESERVE] = np.where(bound, -1.0, 0.0)
    cov = p[lifts]
    ph = np.einsum("nij,nj->ni", cov, h)
    expected_var = np.einsum("ni,ni->n", h, ph)
    innovation = sessions.ln_load[rows] + sessions.ln_factor[rows] - np.einsum("ni,ni->n", h, x[lifts])
    noise = _noise(sessions, rows, count[lifts], fig) * scale[lifts]
    z = innovation / np.sqrt(expected_var + noise)
    weight = fig.scale_prior_sessions + count[lifts]
    news = np.where(bound & (z < 0), 0.0, np.minimum(z**2, 4.0) / 0.92 - 1.0)
    scale[lifts] = np.clip(
        scale[lifts] * (1 + news / weight * (noise + expected_var) / noise), fig.scale_low, fig.scale_high
    )
    limit = np.where(bound & (z < 0), fig.outlier_z_below_bound, fig.outlier_z)
    noise = noise * np.maximum(np.abs(z) / limit, 1.0) ** 2
    read.level[rows] = innovation + x[lifts, LEVEL]
    read.sd[rows] = np.sqrt(noise)
    read.surprise[rows] = np.where(bound, np.nan, innovation)
    gain = ph / (expected_var + noise)[:, None]
    x[lifts] += gain * innovation[:, None]
    p[lifts] = cov - gain[:, :, None] * ph[:, None, :]
