"""Lifts whose truth is known: sessions drawn around a true 1RM with a lifter's own load-repetition curve.

The dynamics are not those of the filter under test: strength is piecewise linear with abrupt turns, the
lifter's curve is of another family (repetitions to failure at a share of 1RM are (1/share - 1) x k, k varying
between lifters), repetitions are whole numbers, loads come in 2.5 kg steps, reserve is misjudged.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from pipeline.analyse.trend import LiftSessions

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Simulated:
    """Sessions as the filter gets them, and per lift and week the log of the true 1RM."""

    sessions: LiftSessions
    true_log: Floats
    reps_to_failure: Floats


def simulate(
    n_lifts: int,
    n_weeks: int,
    *,
    rates: Floats,
    turns: Floats,
    seed: int,
    per_week: int = 1,
    aims: Floats | None = None,
    k: Floats | None = None,
    states_effort: bool = True,
) -> Simulated:
    """Sessions of `n_lifts` lifts over `n_weeks` weeks.

    `rates` (lift x phase) are true gains a week on the log scale, `turns` the week the second phase starts,
    `aims` (lift x week) repetitions aimed at, `k` the lifter's curve (30 as published by Epley).
    """
    rng = np.random.default_rng(seed)
    weeks = np.arange(n_weeks)
    rate = np.where(weeks[None, :] < turns[:, None], rates[:, [0]], rates[:, [1]])
    true_log = np.log(rng.uniform(60, 160, n_lifts))[:, None] + np.cumsum(rate, axis=1)
    k = np.full(n_lifts, 30.0) if k is None else k
    aims = np.full((n_lifts, n_weeks), 6.0) if aims is None else aims
    lift = np.repeat(np.arange(n_lifts), n_weeks * per_week)
    week = np.tile(np.repeat(weeks, per_week), n_lifts)
    today = true_log[lift, week] + rng.normal(0, 0.015, len(lift))
    aim_reserve = rng.integers(0, 4, len(lift))
    # the load is chosen from what the lifter was able to do lately, in 2.5 kg steps
    planned_rtf = aims[lift, week] + aim_reserve
    load = np.exp(true_log[lift, week] - np.log1p(planned_rtf / k[lift]) + rng.normal(0, 0.015, len(lift)))
    load = np.maximum(np.round(load / 2.5) * 2.5, 5.0)
    able = k[lift] * (np.exp(today) / load - 1) + rng.normal(0, 0.6, len(lift))
    reps = np.clip(np.floor(able - aim_reserve + rng.normal(0, 0.7, len(lift))), 1, None)
    left = np.maximum(able - reps, 0)
    stated = np.clip(np.round(left - 0.5 + rng.normal(0, 0.5, len(lift))), 0, 6)
    stated = np.where(states_effort, stated, 0.0)
    rtf = np.clip(reps + stated, 1, 25)
    share = 1 / (30 + rtf)
    reps_sd = 0.7 + 0.4 * np.clip((rtf - 4) / 8, 0, 1.5)
    rir_sd = np.where(stated == 0, 0.0, 1.0)
    sessions = LiftSessions(
        lift=lift,
        week=week,
        ln_load=np.log(load),
        ln_factor=np.where(rtf <= 1, 0.0, np.log1p(rtf / 30)),
        se=share * np.sqrt(reps_sd**2 + rir_sd**2),
        share_per_rep=share,
        is_lower_bound=np.full(len(lift), not states_effort),
        is_deload=np.zeros(len(lift), dtype=bool),
    )
    return Simulated(sessions, true_log, rtf)
