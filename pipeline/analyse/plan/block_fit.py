"""Strength change of a lift within a block, lifts pooled, and one block against another."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]

LEAST_SESSIONS = 4
LEAST_WEEKS = 2.0
DAY_SD = 0.02  # day to day, beside the estimate's own error (Grgic et al. 2020)
SHARED_WEEK_SD = 0.007  # weeks that are good or bad for every lift at once [P]


@dataclass(frozen=True)
class Rate:
    """A change in % a week with the standard error and degrees of freedom it rests on."""

    pct_per_week: float
    se_pct: float
    df: float

    def interval(self, share: float = 0.90) -> tuple[float, float]:
        """Interval that holds the true change with this confidence (Student's t)."""
        from scipy.special import stdtrit  # scipy.stats takes seconds to load

        half = float(stdtrit(self.df, 0.5 + share / 2)) * self.se_pct
        return self.pct_per_week - half, self.pct_per_week + half


@dataclass(frozen=True)
class BlockFit:
    """The fitted line of a lift: its rate and its e1RM on the first and last session."""

    rate: Rate
    first_kg: float
    last_kg: float
    n_sessions: int


def fit_block(weeks: npt.ArrayLike, ln_e1rm: npt.ArrayLike, se_ln: npt.ArrayLike) -> BlockFit | None:
    """By how much did this lift change within the block?

    Weighted least squares of ln e1RM on time (weeks), weights 1/(se² + day_sd²); the slope's standard error
    is scaled up, never down, by the residuals' own spread. Arrays of one length n, one entry a session. None
    below 4 sessions or 2 weeks: too little is a result. Within a block the repetition range is one, so that
    the equation's bias stays the same; don't compare e1RM levels across blocks of different ranges by this.

    Example: 100, 101, 102, 103 kg in weeks 0 to 3 rise by ln(103/100)/3 = 0.99 % a week.
    """
    x, y = np.asarray(weeks, dtype=np.float64), np.asarray(ln_e1rm, dtype=np.float64)
    sd = np.sqrt(np.asarray(se_ln, dtype=np.float64) ** 2 + DAY_SD**2)
    if not x.shape == y.shape == sd.shape:
        raise ValueError(f"weeks, ln_e1rm and se_ln differ in length: {x.shape}, {y.shape}, {sd.shape}")
    n = len(x)
    if n < LEAST_SESSIONS or float(np.ptp(x)) < LEAST_WEEKS:
        return None
    weight = 1 / sd**2
    middle_x, middle_y = np.average(x, weights=weight), np.average(y, weights=weight)
    spread = float(np.sum(weight * (x - middle_x) ** 2))
    slope = float(np.sum(weight * (x - middle_x) * (y - middle_y)) / spread)
    residual = y - middle_y - slope * (x - middle_x)
    scale = max(1.0, float(np.sum(weight * residual**2)) / (n - 2))
    se = float(np.sqrt(scale / spread))
    ends = [float(np.exp(middle_y + slope * (end - middle_x))) for end in (x.min(), x.max())]
    return BlockFit(Rate(100 * slope, 100 * se, n - 2), ends[0], ends[1], n)


def pool_rates(rates: list[Rate], n_weeks: float = 0.0) -> Rate | None:
    """How did the lifts change on the whole? The precision-weighted mean of their rates.

        rate = Σ w r / Σ w,  w = 1/se²;  se² = max(1, Q/(k − 1))/Σ w + shared²,  Q = Σ w (r − rate)²
        shared = shared_week_sd / √(n (n² − 1)/12)

    k lifts over n weeks; lifts that disagree by more than their errors widen the interval, and so do weeks
    that were good or bad for all of them at once (0 weeks: left out). df: the sum of the lifts'. None without
    a lift. Example: 1.0 ± 0.5 and 2.0 ± 0.5 give 1.5, se 0.354 × √2 = 0.5; over 6 weeks √(0.5² + 0.167²) =
    0.53.
    """
    if not rates:
        return None
    weight = np.array([1 / rate.se_pct**2 for rate in rates])
    value = np.array([rate.pct_per_week for rate in rates])
    mean = float(np.average(value, weights=weight))
    disagreement = float(np.sum(weight * (value - mean) ** 2)) / max(len(rates) - 1, 1)
    shared = 100 * SHARED_WEEK_SD / np.sqrt(n_weeks * (n_weeks**2 - 1) / 12) if n_weeks >= 2 else 0.0
    variance = max(1.0, disagreement) / float(weight.sum()) + float(shared) ** 2
    return Rate(mean, float(np.sqrt(variance)), sum(rate.df for rate in rates))


def difference(later: Rate | None, earlier: Rate | None) -> Rate | None:
    """Did this block bring more than the one before? Their difference, errors added in quadrature (Welch's
    df)."""
    if later is None or earlier is None:
        return None
    variance = later.se_pct**2 + earlier.se_pct**2
    df = variance**2 / (later.se_pct**4 / later.df + earlier.se_pct**4 / earlier.df)
    return Rate(later.pct_per_week - earlier.pct_per_week, float(np.sqrt(variance)), float(df))


def outcome_of(rate: Rate | None) -> str:
    """stronger or weaker where the 90 % interval leaves out zero, else no_clear_change; too_little without a
    rate."""
    if rate is None:
        return "too_little"
    low, high = rate.interval()
    return "stronger" if low > 0 else "weaker" if high < 0 else "no_clear_change"
