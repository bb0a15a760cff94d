"""How likely it is that a client leaves parts of the plan out: whole sessions, or sets within them.

Two cumulative sums of log likelihood ratios (Page 1954, doi:10.1093/biomet/41.1-2.100), kept between 0 and
`MOST_ODDS`, one for sessions and one for sets, because a client may do either alone: full sessions on half
the days must not be outvoted by their fullness, nor short ones by perfect attendance.

- Sessions: each planned one is a trial, done with probability `usual` by this client when on plan and
  `OFF_PLAN` by one off it.
- Sets: the share done of what the attended sessions asked for, about `WHOLE` or `SHORT` with spread `BLUR`;
  a set or two trimmed (a share above the middle of both) speaks for being on plan.

One week adds at most `MOST_A_WEEK`, so that no single week decides. When not to trust it: with two sessions a
week it takes three weeks or more; a missed week and a pause that nobody announced look alike.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from pipeline.analyse.states.panel import Grid, trailing_sum

ON_PLAN = 0.92
OFF_PLAN = 0.4
"""Share of sessions that a client on plan and one off it does [P]."""
USUAL_WEIGHT = 20.0
LEAST_USUAL, MOST_USUAL = 0.84, 0.93
"""Planned sessions that `ON_PLAN` weighs against the client's own habit, and the bounds of the result: who
leaves out a third of the plan every week is off it, however usual that is."""
HABIT_WEEKS, HABIT_LAG = 20, 6
WHOLE, SHORT, BLUR = 0.95, 0.55, 0.18
"""Share of a session's sets done by a client on plan, by one who cuts sessions short, and its spread [P]."""
MOST_A_WEEK = 2.8
LEAST_A_WEEK = -2.4
MOST_ODDS = 4.0
AFRESH_ODDS = 1.2
"""What a silence itself may leave of the log odds when a client is back."""
BOTH = 0.5
"""Share of the lesser of the two sums that is added to the greater."""


def habit_of(planned: Grid, share: Grid) -> Grid:
    """Share of planned sessions this client does when on plan, from twenty weeks that end six back."""
    kept = trailing_sum(share * planned, HABIT_WEEKS, HABIT_LAG)
    asked = trailing_sum(planned, HABIT_WEEKS, HABIT_LAG)
    usual: Grid = np.clip((ON_PLAN * USUAL_WEIGHT + kept) / (USUAL_WEIGHT + asked), LEAST_USUAL, MOST_USUAL)
    return usual


def session_ratio(planned: Grid, share: Grid, usual: Grid) -> Grid:
    """Log likelihood ratio of each week's sessions: off plan against on plan."""
    done, missed = planned * share, planned * (1 - share)
    ratio: Grid = done * np.log(OFF_PLAN / usual) + missed * np.log((1 - OFF_PLAN) / (1 - usual))
    return ratio


def set_ratio(within: Grid) -> Grid:
    """The same of the share of sets done within the sessions attended; 0 where none is known."""
    middle = (WHOLE + SHORT) / 2
    ratio: Grid = np.nan_to_num((WHOLE - SHORT) / BLUR**2 * (middle - within))
    return np.maximum(ratio, LEAST_A_WEEK)


def add_up(
    ratio: Grid, goes_on: NDArray[np.bool_], is_back: NDArray[np.bool_], trained: NDArray[np.bool_]
) -> Grid:
    """Cumulative sum of weekly `ratio`s, kept between 0 and `MOST_ODDS`.

    Sessions missed in a row have one cause, not several: where a silence of the week before `goes_on` into
    this one, both together add no more than one week may. A client who `is_back` from a silence keeps what
    the weeks with training (`trained`) before it had said, not what the silence added.
    """
    out = np.zeros_like(ratio)
    level, heard, before = (np.zeros(ratio.shape[0]) for _ in range(3))
    for t in range(ratio.shape[1]):
        room = np.where(goes_on[:, t], MOST_A_WEEK - np.maximum(before, 0.0), MOST_A_WEEK)
        before = np.minimum(np.maximum(ratio[:, t], -MOST_A_WEEK), np.maximum(room, 0.0))
        level = np.clip(level + before, 0.0, MOST_ODDS)
        level = np.where(is_back[:, t], np.minimum(level, np.maximum(heard, AFRESH_ODDS)), level)
        heard = np.where(trained[:, t], level, heard)
        out[:, t] = level
    return out


def off_plan_odds(
    planned: Grid,
    share: Grid,
    within: Grid,
    goes_on: NDArray[np.bool_],
    is_back: NDArray[np.bool_],
    trained: NDArray[np.bool_],
) -> Grid:
    """Log odds (0 to about 7) that the plan is not being done, of clients × weeks.

    `planned` sessions that count, the `share` of them attended (0 to 1), the share of sets done `within`
    those (NaN where none was), and the masks of `add_up`.
    """
    sessions = add_up(session_ratio(planned, share, habit_of(planned, share)), goes_on, is_back, trained)
    never = np.zeros(goes_on.shape, dtype=bool)
    sets = add_up(set_ratio(within), never, is_back, trained)
    return np.maximum(sessions, sets) + BOTH * np.minimum(sessions, sets)
