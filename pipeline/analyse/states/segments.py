"""How likely a stall or a slump is under way, weighed over when it may have begun.

Stall: a client either gains at their own rate or stands still for a stretch of weeks. For each length a
the log likelihood ratio of "no gain over the last a weeks" against "gain at rate g" is, for a pooled slope b
with precision p, `S_a = p (g²/2 − g b)` (normal errors). An explicit-duration forward recursion (Ferguson
1980; Yu 2010, doi:10.1016/j.artint.2009.11.011) sums over all past stalls and the present one:

    open[t]  = Σ_a gain[t−a] · start · survive(a) · exp(S_a[t])
    gain[t]  = gain[t−1] (1 − start) + Σ_a gain[t−1−a] · start · end(a) · exp(S_a[t−1])

and the log odds are log(open / gain). Slump: the last one to three weeks lie a few per cent below the
weeks before; the same ratio, averaged over plausible depths. Both look back only.

When not to trust them: errors are taken as independent between weeks; a slow wobble looks like a change.
That is why they are weighed in the laboratory with other signals and not read as probabilities.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from pipeline.analyse.states.panel import Grid

STALL_WEEKS = tuple(range(2, 21))
"""Lengths weighed for the present stall, weeks."""
START = 1 / 40
"""A stall begins about once in forty weeks of gain [P]."""
LEAST_WEEKS = 6
LASTING = 8.0
"""A stall lasts six weeks, and then about eight more on average [P]."""
TEMPER = 0.7
"""Share of each ratio believed: weeks are not quite independent."""
ON_PLAN = 0.92
OFF_PLAN = 0.5
"""Share of sessions that a client on plan and one off it does [P]."""
MOST_A_WEEK = 2.8
MOST_ODDS = 4.3
AFRESH_ODDS = 1.5
"""What is left of the log odds when a client comes back from a pause or a gap."""
DEPTHS = (0.02, 0.035, 0.05, 0.075)
"""Depths weighed for a slump, log units."""


def _survive(weeks: int) -> float:
    return float(np.exp(-max(weeks - LEAST_WEEKS, 0) / LASTING))


def _end(weeks: int) -> float:
    return 0.02 if weeks < LEAST_WEEKS else _survive(weeks) - _survive(weeks + 1)


def stall_odds(ratio: dict[int, Grid]) -> Grid:
    """Log odds that a stall is under way; `ratio` holds S_a (clients × weeks) for each a of STALL_WEEKS."""
    shape = next(iter(ratio.values())).shape
    likelihood = {a: np.exp(np.clip(TEMPER * grid, -12, 12)) for a, grid in ratio.items()}
    gain, odds = np.ones(shape), np.zeros(shape)
    for t in range(shape[1]):
        present, past = np.zeros(shape[0]), np.zeros(shape[0])
        for a, grid in likelihood.items():
            before = gain[:, t - a] if t >= a else np.ones(shape[0])
            present += before * START * _survive(a) * grid[:, t]
            if t >= 1:
                earlier = gain[:, t - 1 - a] if t - 1 >= a else np.ones(shape[0])
                past += earlier * START * _end(a) * grid[:, t - 1]
        gain[:, t] = (gain[:, t - 1] if t else 1.0) * (1 - START) + past
        odds[:, t] = np.log(present / gain[:, t])
        # kept near 1 by its own history: only ratios of gain within 21 weeks matter
        largest = gain[:, t] > 1e12
        gain[largest, max(t - 21, 0) : t + 1] /= gain[largest, t : t + 1]
    return odds


def slump_odds(changes: dict[int, tuple[Grid, Grid]]) -> Grid:
    """Log odds of a slump: `changes` holds (mean, precision) of the last a weeks against those before."""
    total = None
    for mean, precision in changes.values():
        for depth in DEPTHS:
            ratio = np.exp(np.clip(TEMPER * precision * (-depth * mean - depth**2 / 2), -12, 12))
            total = ratio if total is None else total + ratio
    if total is None:
        raise ValueError("changes is empty")
    return np.asarray(np.log(total / (len(changes) * len(DEPTHS))))


def off_plan_odds(planned: Grid, share: Grid, goes_on: NDArray[np.bool_], is_back: NDArray[np.bool_]) -> Grid:
    """Cumulated log odds that sessions are being left out: `planned` sessions and the `share` of them done.

    Each session is a trial done with probability `ON_PLAN` by a client on plan and `OFF_PLAN` by one off it
    (Page 1954: cumulative sum of log likelihood ratios, kept between 0 and `MOST_ODDS`). A session at which
    half the sets were done counts half. One week adds at most `MOST_A_WEEK`, so that no single week decides:
    sessions missed in a row have one cause, not several; where a silence of the week before `goes_on` into
    this one, both together add no more than that. A week with nothing planned adds nothing, and a client who
    `is_back` from a pause starts nearly afresh.
    """
    done, missed = planned * share, planned * (1 - share)
    ratio = done * np.log(OFF_PLAN / ON_PLAN) + missed * np.log((1 - OFF_PLAN) / (1 - ON_PLAN))
    ratio = np.clip(ratio, -MOST_A_WEEK, MOST_A_WEEK)
    out = np.zeros_like(planned)
    level = np.zeros(planned.shape[0])
    before = np.zeros(planned.shape[0])
    for t in range(planned.shape[1]):
        room = np.where(goes_on[:, t], MOST_A_WEEK - np.maximum(before, 0.0), MOST_A_WEEK)
        before = np.minimum(ratio[:, t], np.maximum(room, 0.0))
        level = np.clip(level + before, 0.0, MOST_ODDS)
        level = np.where(is_back[:, t], np.minimum(level, AFRESH_ODDS), level)
        out[:, t] = level
    return out
