"""From signals to one state a client and week, by a fixed order of what explains what.

The order: nothing to go by, then what was planned or announced, then what speaks of harm, then what is
simply not done, then progress. A state that is planned is never a symptom.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pipeline.analyse.states.panel import Grid
from pipeline.analyse.states.score import Score, latch, smooth

Flags = NDArray[np.bool_]

CUT_SLOPE_PCT = -0.35
"""Bodyweight falling faster than this a week (%) is a cut: lifts may stand still or fall with it [P]."""
FEW_POINTS = 6
"""Fewer lift weeks than this in the last eight tell no trend."""
FEW_WEEKS = 4
"""Fewer weeks with a log than this tell no trend."""
OFF_ENTER = 3.2
OFF_LEAVE = 2.7
"""Log odds of being off plan at which the state starts and ends."""
OFF_CONFIDENCE = 0.86
"""Share of such weeks that held in the laboratory."""
RISING_ENTER, RISING_LEAVE = 0.85, 0.25
LEAST_SLOPE_PCT = 0.03
"""The pooled slope of eight weeks counts as progress from so many standard errors on, until it falls below
the second figure, and never below this many per cent a week [P]."""
CUT_DOUBT = 1.5
"""Log odds taken off accumulated fatigue while bodyweight falls: strength may fall with it [P]."""
BRIDGE_WEEKS = 2
"""A planned lighter stretch of so many weeks at most leaves the run of the state around it whole."""
RULE_CONFIDENCE = 0.97
"""Confidence of states that are read off the log or the plan rather than inferred."""


@dataclass(frozen=True)
class Decision:
    """Grids: the state (as text), its confidence, and the smoothed scores behind it."""

    state: NDArray[np.str_]
    confidence: Grid
    plateau: Grid
    over_reaching: Grid
    is_cut: Flags


def find_off_plan(signals: Mapping[str, Grid]) -> Flags:
    """Sessions or sets left out over two weeks and more (see `omissions`), until they are back.

    More than a fortnight without a log does not count (a gap or a pause is not sessions missed), nor do
    excused sessions; without a plan no one is off it.
    """
    planned = signals["planned_4"] > 0
    # a silent week confirms what partly done weeks had begun to say, and tells nothing on its own
    unknown = (signals["n_sessions"] == 0) & planned & (signals["off_plan_odds"] < OFF_ENTER)
    return latch(np.where(planned, signals["off_plan_odds"], 0.0), OFF_ENTER, OFF_LEAVE, unknown) & planned


def decide(signals: Mapping[str, Grid], scores: Mapping[str, Score], recent_log_days: int) -> Decision:
    """The state of every client and week from their signals (grids of one shape)."""
    plateau_score, over_score = scores["plateau"], scores["over_reaching"]
    exists = signals["weeks_known"] > 0
    trained = signals["n_sessions"] > 0
    planned_light = signals["planned_light"] > 0
    announced = (signals["break_days"] >= 4) | ((signals["excused_days"] >= 4) & (signals["n_sessions"] <= 1))
    silent = signals["days_since_log"] > recent_log_days
    returning = (signals["is_returning"] > 0) & trained
    fresh = np.nan_to_num(signals["return_days"], nan=1e9) < 7 * (
        np.clip(np.nan_to_num(signals["gap_days"]) / 7.0, 1.0, 3.0) + 1
    )
    is_cut = (signals["bodyweight_slope"] <= CUT_SLOPE_PCT) & (signals["n_bodyweights"] >= 3)
    quiet = planned_light | announced | returning | ~trained | (signals["own_light"] > 0)

    plateau = smooth(_held(plateau_score.raw(signals), quiet), plateau_score.memory)
    over = smooth(_held(over_score.raw(signals) - CUT_DOUBT * is_cut, quiet), over_score.memory)
    enough = (signals["weeks_logged"] >= FEW_WEEKS) & (signals["n_points"] >= FEW_POINTS)
    # the first week after a quiet one is compared with a rest, not with training
    settling = quiet.copy()
    settling[:, 1:] |= quiet[:, :-1]
    on_plateau = latch(
        np.where(enough, plateau, -9.0), plateau_score.enter, plateau_score.leave, settling, True
    )
    on_over = latch(np.where(enough & ~fresh, over, -9.0), over_score.enter, over_score.leave, quiet, True)
    on_over &= ~fresh
    off_plan = find_off_plan(signals)

    slope, se = signals["slope_raw"], signals["slope_se"]
    certain = np.where(enough & (slope >= LEAST_SLOPE_PCT), slope / np.maximum(se, 1e-6), -9.0)
    rising = latch(certain, RISING_ENTER, RISING_LEAVE, ~trained) & enough
    state = np.full(exists.shape, "steady", dtype="U16")
    # a steady week is at most as sure as a plateau is unlikely
    confidence = np.clip(1 - plateau_score.confidence(plateau), 0.5, 0.6)
    for name, where, sure in (
        ("progressing", rising, np.clip(_normal(slope / np.maximum(se, 1e-6)), 0.5, 0.95)),
        ("not_enough_data", ~enough, RULE_CONFIDENCE),
        ("plateau", on_plateau & enough & ~is_cut, plateau_score.confidence(plateau)),
        ("returning", returning, RULE_CONFIDENCE),
        ("off_plan", off_plan, OFF_CONFIDENCE),
        ("over_reaching", on_over & enough & ~quiet, over_score.confidence(over)),
        ("planned_deload", planned_light | announced, RULE_CONFIDENCE),
        ("no_recent_log", silent & ~announced, RULE_CONFIDENCE),
    ):
        state = np.where(where, name, state)
        confidence = np.where(where, sure, confidence)
    return Decision(state, np.clip(confidence, 0.05, 0.99), plateau, over, is_cut)


def _held(raw: Grid, quiet: Flags) -> Grid:
    """Log odds with quiet weeks replaced by the last week that told something (0 evidence before any)."""
    out = np.array(raw)
    for t in range(1, out.shape[1]):
        out[:, t] = np.where(quiet[:, t], out[:, t - 1], out[:, t])
    return out


def _normal(z: Grid) -> Grid:
    """Standard normal distribution function, logistic approximation (error below 0.01)."""
    return 1 / (1 + np.exp(-1.702 * z))


def run_lengths(state: NDArray[np.str_], exists: Flags) -> NDArray[np.int64]:
    """Weeks the present state has lasted, 1 in its first; 0 before a client's first week.

    A planned lighter week between two weeks of one state does not end that state's run: it told nothing.
    """
    n_clients, n_weeks = state.shape
    out = np.zeros(state.shape, dtype=np.int64)
    first = np.zeros(n_clients, dtype=np.int64)
    real, real_first, real_last = np.full(n_clients, "", dtype=state.dtype), first.copy(), first.copy()
    for t in range(n_weeks):
        light = state[:, t] == "planned_deload"
        goes_on = (
            (state[:, t] == state[:, t - 1]) & exists[:, t - 1] if t else np.zeros(n_clients, dtype=bool)
        )
        resumed = ~goes_on & ~light & (state[:, t] == real) & (t - real_last <= BRIDGE_WEEKS + 1)
        first = np.where(goes_on, first, np.where(resumed, real_first, t))
        keep = exists[:, t] & ~light
        real = np.where(keep, state[:, t], real)
        real_first, real_last = np.where(keep, first, real_first), np.where(keep, t, real_last)
        out[:, t] = np.where(exists[:, t], t - first + 1, 0)
    return out
