"""Four kinds of dynamics: what training and life do to strength, day by day.

Each takes a `Life` and returns a `Course`: the common log strength of every day, what fatigue takes off it,
a dose factor that the client's training follows, and the truth. They differ on purpose, so that nothing is
fitted to one of them:

- `breakpoints`: straight lines with autocorrelated noise, fatigue as a ramp, hold and decay;
- `impulse`: fitness and fatigue as two exponentials driven by dose (Banister et al. 1975);
- `ceiling`: growth towards a ceiling that moves up in steps (diminishing returns), fatigue as random shocks;
- `volume`: gain as a hump over weekly sets with a recoverable limit; beyond it fatigue accumulates.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from tests.laboratory.life import Life, Span

STALL_LEAST_DAYS = 42
STRAIN_LEAST_DAYS = 10


@dataclass(frozen=True)
class Course:
    """Days: `level` log strength without fatigue, `fatigue` taken off (≥ 0), `dose` factor on planned sets.

    `plateaus` and `strains` are the true spans of six weeks and ten days or more.
    """

    level: np.ndarray
    fatigue: np.ndarray
    dose: np.ndarray
    plateaus: list[Span]
    strains: list[Span]


def spans_of(mask: np.ndarray, least: int, bridge: int = 0) -> list[Span]:
    """Runs of true days of at least `least` days; false runs up to `bridge` days are bridged."""
    out: list[Span] = []
    first, last = None, -1
    for day in np.flatnonzero(mask):
        if first is None:
            first = int(day)
        elif day - last - 1 > bridge:
            if last - first + 1 >= least:
                out.append((first, last))
            first = int(day)
        last = int(day)
    if first is not None and last - first + 1 >= least:
        out.append((first, last))
    return out


def _away_loss(life: Life, rate: float) -> np.ndarray:
    """Detraining while away: `rate` a day after the first week, won back three times as fast."""
    away, loss, run = life.away(), np.zeros(life.n_days), 0
    for day in range(1, life.n_days):
        run = run + 1 if away[day] else 0
        loss[day] = (
            min(loss[day - 1] + rate, 0.12) if run > 5 else loss[day - 1] * (0.93 if not away[day] else 1.0)
        )
    return loss


def _truth_stalls(life: Life, stalled: np.ndarray) -> list[Span]:
    """True plateaus: standing still while training, neither cutting nor away."""
    excluded = life.days(life.cuts) | life.days([(a, b) for a, b, _ in life.breaks])
    return spans_of(stalled & ~excluded, STALL_LEAST_DAYS, bridge=3)


def breakpoints(rng: np.random.Generator, life: Life) -> Course:
    """Straight lines between change points, an autocorrelated wobble, fatigue as ramp, hold and decay."""
    stalled, cutting = life.days(life.stalls), life.days(life.cuts)
    daily = np.full(life.n_days, life.gain_per_week / 7)
    daily[stalled] = rng.normal(0, 0.0002) / 7
    daily[cutting] = rng.uniform(-0.002, 0.0005) / 7
    daily[life.away()] = 0
    for a, b, _ in life.off_plan:
        daily[a : b + 1] *= rng.uniform(0.0, 0.5)
    wobble = np.zeros(life.n_days)
    for day in range(1, life.n_days):
        wobble[day] = 0.93 * wobble[day - 1] + rng.normal(0, 0.0012)
    fatigue = np.zeros(life.n_days)
    dose = np.ones(life.n_days)
    for first, last in life.strains:
        depth, ramp = rng.uniform(0.035, 0.11), int(rng.integers(3, 9))
        up = np.minimum(np.arange(1, last - first + 2) / ramp, 1.0)
        fatigue[first : last + 1] = depth * up
        tail = np.arange(1, 15)
        end = fatigue[last + 1 : last + 15]
        end += (depth * up[-1] * np.exp(-tail / 4.0))[: len(end)]
        if rng.random() < 0.6:
            dose[max(first - 10, 0) : last - 3] = rng.uniform(1.1, 1.4)
    level = np.cumsum(daily) + wobble - _away_loss(life, 0.002)
    return Course(level, fatigue, dose, _truth_stalls(life, stalled), life.strains)


def impulse(rng: np.random.Generator, life: Life) -> Course:
    """Fitness (time constant 40–60 days) and fatigue (7–13 days), both driven by dose."""
    stalled, cutting, straining = life.days(life.stalls), life.days(life.cuts), life.days(life.strains)
    away = life.away()
    light = life.days(life.deloads) | life.days(life.own_deloads)
    dose = np.ones(life.n_days)
    shown_dose = np.ones(life.n_days)
    for first, last in life.strains:
        span = slice(max(first - 6, 0), max(last - 5, first + 4))
        dose[span] = rng.uniform(1.45, 2.0)
        # the burden may come from sets, or from harder work and life outside that no log shows
        shown_dose[span] = dose[span] if rng.random() < 0.4 else rng.uniform(1.0, 1.15)
    given = np.where(away, 0.0, np.where(light, 0.5, dose))
    for a, b, kind in life.off_plan:
        given[a : b + 1] *= 0.5 if kind == "sessions" else 0.6
    slow, fast = rng.uniform(40, 60), rng.uniform(7, 13)
    adaptation = np.where(stalled, 0.0, 1.0) * np.where(cutting, 0.1, 1.0)
    base = np.zeros(life.n_days)
    fitness, tired = np.zeros(life.n_days), np.zeros(life.n_days)
    fitness[0], tired[0] = slow, fast
    for day in range(1, life.n_days):
        fitness[day] = fitness[day - 1] * np.exp(-1 / slow) + given[day]
        tired[day] = tired[day - 1] * np.exp(-1 / fast) + given[day]
        base[day] = base[day - 1] + adaptation[day] * given[day] * life.gain_per_week / 7
    k_slow, k_fast = rng.uniform(0.04, 0.08) / slow, rng.uniform(0.08, 0.16) / fast
    excess = np.maximum(k_fast * (tired - fast), 0)
    level = base + np.minimum(k_slow * (fitness - slow), 0) - np.minimum(k_fast * (tired - fast), 0) * 0.2
    truth = spans_of(excess > 0.022, STRAIN_LEAST_DAYS, bridge=2)
    del straining
    return Course(level, excess, shown_dose, _truth_stalls(life, stalled), truth)


def ceiling(rng: np.random.Generator, life: Life) -> Course:
    """Growth in proportion to what is left below a ceiling that rises in steps; fatigue as random shocks."""
    stalled, cutting, away = life.days(life.stalls), life.days(life.cuts), life.away()
    straining = life.days(life.strains)
    level, fatigue = np.zeros(life.n_days), np.zeros(life.n_days)
    rate = rng.uniform(0.15, 0.3) / 7
    room = life.gain_per_week / 7 / rate
    slump = 0.0
    walk = 0.0
    depth = rng.uniform(0.025, 0.06, size=len(life.strains) + 1)
    for day in range(1, life.n_days):
        gain = rate * room
        if stalled[day]:
            room *= 0.93
        else:
            room = max(room, 0.3 * life.gain_per_week / 7 / rate)
            room += (life.gain_per_week / 7 / rate - room) * 0.15
            gain *= float(rng.uniform(0.4, 1.6))
        if cutting[day]:
            gain = -0.0001
        if away[day]:
            gain = -0.0006
        walk = 0.97 * walk + rng.normal(0, 0.001)
        level[day] = level[day - 1] - (level[day - 1] * 0) + gain
        fatigue[day] = walk
        if straining[day]:
            k = int(np.searchsorted([a for a, _ in life.strains], day, side="right"))
            slump = slump * 0.93 + depth[k] * 0.12 * rng.gamma(2, 1)
        else:
            slump *= 0.8
        fatigue[day] = max(slump, 0) - walk
    slumped = spans_of((fatigue > 0.015) & straining, STRAIN_LEAST_DAYS, bridge=4)
    return Course(level, fatigue, np.ones(life.n_days), _truth_stalls(life, stalled), slumped)


def volume(rng: np.random.Generator, life: Life) -> Course:
    """Weekly sets against what the client can use and recover from; plateaus from too little or too long
    the same, fatigue from too much for too long."""
    stalled, cutting, away = life.days(life.stalls), life.days(life.cuts), life.away()
    light = life.days(life.deloads) | life.days(life.own_deloads)
    dose = np.ones(life.n_days)
    for start, stop in zip(life.blocks, [*life.blocks[1:], life.n_days], strict=True):
        dose[start:stop] = rng.uniform(0.9, 1.1)
    for first, last in life.stalls:
        dose[first : last + 1] *= rng.uniform(0.8, 1.0)
    recoverable = rng.uniform(1.15, 1.3)
    for first, last in life.strains:
        dose[max(first - 7, 0) : max(last - 3, first + 7)] = recoverable + rng.uniform(0.15, 0.5)
    shown_dose = dose if rng.random() < 0.5 else np.minimum(dose, 1.1)
    given = np.where(away, 0.0, np.where(light, 0.5, dose))
    level, fatigue, tired = np.zeros(life.n_days), np.zeros(life.n_days), 0.0
    strength = rng.uniform(0.015, 0.035)
    clearing = rng.uniform(0.86, 0.93)
    for day in range(1, life.n_days):
        hump = np.clip(1 - ((given[day] - 1.0) / 0.6) ** 2, -0.3, 1.0)
        gain = life.gain_per_week / 7 * hump
        if stalled[day]:
            gain = 0.0
        if cutting[day]:
            gain = min(gain, 0.0) - 0.00015
        if away[day]:
            gain = -0.0005
        level[day] = level[day - 1] + gain
        tired = tired * clearing + strength * max(given[day] - recoverable, 0.0) * rng.uniform(0.6, 1.4)
        fatigue[day] = min(tired, 0.12)
    truth = spans_of(fatigue > 0.02, STRAIN_LEAST_DAYS, bridge=2)
    return Course(level, fatigue, shown_dose, _truth_stalls(life, stalled), truth)


DYNAMICS: dict[str, Callable[[np.random.Generator, Life], Course]] = {
    "breakpoints": breakpoints,
    "impulse": impulse,
    "ceiling": ceiling,
    "volume": volume,
}
