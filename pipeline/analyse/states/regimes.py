"""One model of a client's strength: getting on, standing still or tired, weighed anew every week.

A client's lifts share one level x. Week by week `y[s] = offset[s] + x − depth + error`. Under *gain* x rises
by a rate g of the client's own, under *stall* it stands, under *slump* it stands and shows `depth` less.
Which of them holds, since when, and how large g is are not known: each combination of a rate (`RATES`) and a
regime with its age or depth is followed by a Kalman filter of its own, weighed by how well it foretold the
week (a switching state-space model: Kim 1994, doi:10.1016/0304-4076(94)90036-1; explicit durations: Yu 2010,
doi:10.1016/j.artint.2009.11.011). Where several roads lead into one regime they are joined by their moments.
The offsets of the lifts and the error that all lifts of a client share are learned along the way, so that a
noisy client must show more before anything is said. What the check-ins say weighs the depths of a slump
beside what the lifts say.

It answers: how likely is it that this client stands still now, how likely that they are tired, and how fast
do they get on? All of it looks back only: week t is never touched by a later one.

When not to trust it: with fewer than about six weeks the rate is the training age's guess; below 0.1 % a week
a stall and slow progress look alike for months. Its probabilities are those of the model, so they are signals
to be weighed in the laboratory, not confidences.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pipeline.analyse.states.panel import Grid
from pipeline.analyse.states.strength import MISFIT, Curve, Lifts, sum_runs

RATES = np.array([0.0004, 0.0009, 0.0016, 0.0025, 0.0037, 0.0053, 0.0075, 0.0105])
"""Weekly gains weighed for a client who is getting on, log units."""
RATE_SPREAD = 0.8
"""Spread of the log of such rates around what the training age lets expect [P]: meet records show a spread
above the mean."""
RATE_DRIFT = 0.01
"""Share of belief in a rate that moves to its neighbours in a week: rates slow down with training."""
STALL_START = 1 / 16
LEAST_STALL = 6
STALL_END = 1 / 7
LONGEST = 16
"""A stall begins about once in sixteen weeks of gain, lasts six and then about seven more [P]; ages above
`LONGEST` weeks are taken together."""
DEPTHS = np.array([0.025, 0.05, 0.08, 0.11])
SLUMP_START = 1 / 45
DEEPER, SHALLOWER = 0.3, 0.4
"""Depths of a slump, how often one begins, and how often it moves a step up or down in a week [P]."""
STRAIN_PER_DEPTH = 30.0
SILENT_SHARE = 0.3
"""Standard deviations by which check-ins shift for a slump of all strength: 1.5 at 5 % [P]; and the share of
weeks in which a client's answers say nothing of it."""
WOBBLE = 0.0035
"""Weekly wobble of the level (log units) [P]."""
AWAY_WOBBLE = 0.004
"""The same for a week that tells nothing: away, just back or lighter."""
COMMON = 0.006
COMMON_WEIGHT = 10.0
"""Error of a week that all lifts share, and the weeks it weighs against what the client showed [P]."""
OUTLIER = 5.0
"""Weeks further than this many standard errors from what was foretold count as this far."""
QUIET_GAIN = 0.3
"""Share of the usual gain expected in such a week [P]."""

_N_STALLS = LONGEST
_SLUMP = slice(1 + _N_STALLS, 1 + _N_STALLS + len(DEPTHS))
_N = 1 + _N_STALLS + len(DEPTHS)


@dataclass(frozen=True)
class Regimes:
    """Client × week: chance of a stall (of two weeks and more), of a slump, its depth (log units), the rate
    expected while getting on and now (log units a week), and the last week's surprise in standard errors."""

    stall: Grid
    slump: Grid
    depth: Grid
    own_rate: Grid
    rate_now: Grid
    surprise: Grid


def _moves() -> NDArray[np.float64]:
    """Chance to go from regime i to j in a week (rows sum to 1): gain, stalls by age, slumps by depth."""
    move = np.zeros((_N, _N))
    first_slump = _SLUMP.start
    move[0, 1] = STALL_START
    move[0, first_slump] = 0.6 * SLUMP_START
    move[0, first_slump + 1] = 0.4 * SLUMP_START
    move[0, 0] = 1 - move[0].sum()
    for age in range(1, _N_STALLS + 1):
        end = STALL_END if age >= LEAST_STALL else 0.02
        move[age, min(age + 1, _N_STALLS)] = 1 - end - SLUMP_START
        move[age, 0] = end
        move[age, first_slump] = SLUMP_START
    for k in range(len(DEPTHS)):
        at = first_slump + k
        move[at, at - 1 if k else 0] += SHALLOWER
        move[at, min(at + 1, _N - 1)] += DEEPER
        move[at, at] += 1 - SHALLOWER - DEEPER
    return move


def _spread_rates(weight: Grid) -> Grid:
    """Let belief (… × rates) drift to neighbouring rates."""
    out = (1 - RATE_DRIFT) * weight
    out[:, 1:] += RATE_DRIFT / 2 * weight[:, :-1]
    out[:, :-1] += RATE_DRIFT / 2 * weight[:, 1:]
    out[:, 0] += RATE_DRIFT / 2 * weight[:, 0]
    out[:, -1] += RATE_DRIFT / 2 * weight[:, -1]
    return out


def tired_ratio(strain: Grid, answers: Grid) -> NDArray[np.float64]:
    """Likelihood of the week's check-ins under each depth of a slump against a usual week (… × depths)."""
    shift = STRAIN_PER_DEPTH * DEPTHS
    ratio = np.exp(np.clip(strain[..., None] * shift - shift**2 / 2, -6, 6))
    heard = np.where(answers > 0, 1.0 - SILENT_SHARE, 0.0)[..., None]
    out: NDArray[np.float64] = heard * ratio + (1.0 - heard)
    return out


def follow_regimes(
    lifts: Lifts,
    noise: Grid,
    expected: Grid,
    told: Grid,
    curve: Curve,
    tired: NDArray[np.float64] | None = None,
) -> Regimes:
    """Run the model over the weeks.

    `lifts`, `noise` (stretches × weeks) and `curve` as in `strength`; `expected` the usual weekly gain of the
    client's training age (clients); `told` 1 where a week tells something, 0 where the client is away, just
    back or on a lighter week (clients × weeks); `tired` what check-ins say (`tired_ratio`). Returns grids of
    clients × weeks.
    """
    n_clients, n_weeks = lifts.n_clients, lifts.y.shape[1]
    n_rates, move = len(RATES), _moves()
    shift = np.zeros(_N)
    shift[_SLUMP] = DEPTHS
    gains = np.zeros((n_rates, _N))
    gains[:, 0] = RATES
    prior = np.exp(-0.5 * ((np.log(RATES)[None, :] - np.log(expected)[:, None]) / RATE_SPREAD) ** 2)
    prior /= prior.sum(axis=1, keepdims=True)
    weight = np.zeros((n_clients, n_rates, _N))
    weight[:, :, 0] = 0.85 * prior
    weight[:, :, 3] = 0.15 * prior
    mean = np.zeros((n_clients, n_rates, _N))
    var = np.full((n_clients, n_rates, _N), 1e-6)
    common_sum, common_n = np.zeros(n_clients), np.zeros(n_clients)
    offset, sure = np.zeros(len(lifts.owner)), np.zeros(len(lifts.owner))
    latest = np.full(int(lifts.exercise[-1]) + 1 if len(lifts.exercise) else 0, -1)
    out = {name: np.zeros((n_clients, n_weeks)) for name in Regimes.__dataclass_fields__}
    for t in range(n_weeks):
        # what each road foretells for this week
        total = np.maximum(weight @ move, 1e-300)
        joined = ((weight * mean) @ move) / total
        # deviations from a common centre, lest the difference of two squares be all rounding
        middle = (weight * mean).sum(axis=(1, 2), keepdims=True)
        apart = joined - middle
        var = ((weight * (var + (mean - middle) ** 2)) @ move) / total - apart**2
        quiet = told[:, t] == 0
        mean = joined + np.where(quiet, QUIET_GAIN, 1.0)[:, None, None] * gains[None]
        var = np.maximum(var, 0) + np.where(quiet, AWAY_WOBBLE, WOBBLE)[:, None, None] ** 2
        weight = total
        # the week's pooled level, from the lifts whose offsets are known
        seen = ~np.isnan(lifts.y[:, t]) & (lifts.weight[:, t] > 0.01)
        z = np.where(seen, np.nan_to_num(lifts.y[:, t]) + curve.theta[lifts.owner, t] * lifts.bend[:, t], 0.0)
        error = noise[:, t] ** 2 / np.maximum(lifts.weight[:, t], 0.01)
        new = seen & (sure == 0)
        if new.any():
            _inherit(lifts, curve, t, new, latest, offset, sure)
        use = seen & (sure > 0)
        precision = np.where(use, 1 / (error + 1 / np.maximum(sure, 1e-9)), 0.0)
        mass = sum_runs(precision[:, None], lifts.owner, n_clients)[:, 0]
        level = sum_runs((precision * (z - offset))[:, None], lifts.owner, n_clients)[:, 0]
        there = mass > 0
        level = level / np.maximum(mass, 1e-9)
        common = (COMMON_WEIGHT * COMMON**2 + common_sum) / (COMMON_WEIGHT + common_n)
        spread = np.where(there, 1 / np.maximum(mass, 1e-9), 1.0) + np.maximum(common, 0.002**2)
        # how well each road foretold it
        foretold = var + spread[:, None, None]
        gap = level[:, None, None] - (mean - shift)
        far = np.clip(gap / np.sqrt(foretold), -OUTLIER, OUTLIER)
        all_weight = weight.sum(axis=(1, 2))
        centre = (weight * (mean - shift)).sum(axis=(1, 2)) / all_weight
        wide = (weight * (var + (mean - shift) ** 2)).sum(axis=(1, 2)) / all_weight - centre**2
        surprise = np.where(there, (level - centre) / np.sqrt(wide + spread), 0.0)
        likelihood = np.where(there[:, None, None], np.exp(-0.5 * far**2) / np.sqrt(foretold), 1.0)
        weight = weight * likelihood
        if tired is not None:
            weight[:, :, _SLUMP] *= tired[:, t, None, :]
        weight /= weight.sum(axis=(1, 2), keepdims=True)
        k = np.where(there[:, None, None], var / foretold, 0.0)
        mean = mean + k * np.clip(gap, -OUTLIER * np.sqrt(foretold), OUTLIER * np.sqrt(foretold))
        var = (1 - k) * var
        # the error all lifts share, from what the level left unexplained
        left = np.minimum((level - centre) ** 2, 6 * (wide + spread)) - (wide + 1 / np.maximum(mass, 1e-9))
        common_sum += np.where(there, left, 0.0)
        common_n += there
        common_sum = np.maximum(common_sum, -0.9 * COMMON_WEIGHT * COMMON**2)
        # the lifts' offsets against what the client is now thought to show
        now = (weight * (mean - shift)).sum(axis=(1, 2))
        now_var = np.maximum((weight * (var + (mean - shift) ** 2)).sum(axis=(1, 2)) - now**2, 0)
        told_by = np.where(seen, 1 / (error + now_var[lifts.owner]), 0.0)
        offset = np.where(
            seen,
            (offset * sure + told_by * (z - now[lifts.owner])) / np.maximum(sure + told_by, 1e-9),
            offset,
        )
        sure = sure + told_by
        latest[lifts.exercise[seen]] = np.flatnonzero(seen)
        rates = _spread_rates(weight.sum(axis=2))
        weight = weight * (rates / np.maximum(weight.sum(axis=2), 1e-300))[:, :, None]
        out["stall"][:, t] = weight[:, :, 2 : 1 + _N_STALLS].sum(axis=(1, 2))
        slump = weight[:, :, _SLUMP].sum(axis=1)
        out["slump"][:, t] = slump.sum(axis=1)
        out["depth"][:, t] = slump @ DEPTHS
        out["own_rate"][:, t] = rates @ RATES
        out["rate_now"][:, t] = weight[:, :, 0] @ RATES
        out["surprise"][:, t] = surprise
    return Regimes(**out)


def _inherit(
    lifts: Lifts,
    curve: Curve,
    t: int,
    new: NDArray[np.bool_],
    latest: NDArray[np.int64],
    offset: NDArray[np.float64],
    sure: NDArray[np.float64],
) -> None:
    """Give a new stretch of a known exercise the offset of its last one, as far as the curve carries it."""
    rows = np.flatnonzero(new)
    old = latest[lifts.exercise[rows]]
    rows, old = rows[old >= 0], old[old >= 0]
    if not len(rows):
        return
    owner = lifts.owner[rows]
    bent = np.array([_last_bend(lifts, int(r), t) for r in old])
    turn = lifts.bend[rows, t] - bent
    offset[rows] = offset[old]
    sure[rows] = 1 / (1 / np.maximum(sure[old], 1e-9) + MISFIT**2 + curve.variance[owner, t] * turn**2)


def _last_bend(lifts: Lifts, row: int, t: int) -> float:
    seen = np.flatnonzero(~np.isnan(lifts.y[row, : t + 1]))
    return float(lifts.bend[row, seen[-1]]) if len(seen) else 0.0


def log_odds(chance: Grid) -> Grid:
    """Log odds of a chance, kept within ±7."""
    return np.clip(np.log((chance + 1e-4) / (1 - chance + 1e-4)), -7, 7)
