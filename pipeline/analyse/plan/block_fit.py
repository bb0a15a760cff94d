"""Strength change of lifts within blocks, lifts pooled, and one block against another: all at once."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
Whole = npt.NDArray[np.int64]
Flags = npt.NDArray[np.bool_]

LEAST_SESSIONS = 4
LEAST_WEEKS = 2.0
DAY_SD = 0.02  # day to day, beside the estimate's own error (Grgic et al. 2020)
SHARED_WEEK_SD = 0.007  # weeks that are good or bad for every lift at once [P]


@dataclass(frozen=True)
class Rates:
    """Changes in % a week with their standard errors and degrees of freedom, one entry each.

    Where `is_known` is false there is none: rate 0, error and degrees 1, not to be read.
    """

    pct_per_week: Floats
    se_pct: Floats
    df: Floats
    is_known: Flags

    def interval(self, share: float = 0.90) -> tuple[Floats, Floats]:
        """Intervals that hold the true change with this confidence (Student's t)."""
        from scipy.special import stdtrit  # scipy.stats takes seconds to load

        half = stdtrit(self.df, 0.5 + share / 2) * self.se_pct
        return self.pct_per_week - half, self.pct_per_week + half

    def at(self, places: Whole) -> Rates:
        """The rates at these places, in their order; none where a place is -1."""
        if not len(self.df):
            empty = np.zeros(len(places))
            return Rates(empty, empty + 1, empty + 1, empty > 0)
        return Rates(
            self.pct_per_week[places],
            self.se_pct[places],
            self.df[places],
            self.is_known[places] & (places >= 0),
        )


@dataclass(frozen=True)
class BlockLines:
    """The fitted line of each lift: its rate, and its e1RM on the first and last session."""

    rates: Rates
    first_kg: Floats
    last_kg: Floats


def _rates(pct: Floats, se_pct: Floats, df: Floats, is_known: Flags) -> Rates:
    return Rates(
        np.where(is_known, pct, 0.0), np.where(is_known, se_pct, 1.0), np.where(is_known, df, 1.0), is_known
    )


def fit_lines(series: Whole, weeks: Floats, ln_e1rm: Floats, se_ln: Floats, n_series: int) -> BlockLines:
    """By how much did each lift change within its block?

    Weighted least squares of ln e1RM on time (weeks), weights 1/(se² + day_sd²); the slope's standard error
    is scaled up, never down, by the residuals' own spread. Arrays of one length, one entry a session;
    `series` numbers the lifts of blocks from 0 to `n_series` - 1. No rate below 4 sessions or 2 weeks: too
    little is a result. Within a block the repetition range is one, so that the equation's bias stays the
    same; don't compare e1RM levels across blocks of different ranges by this.

    Example: 100, 101, 102, 103 kg in weeks 0 to 3 rise by ln(103/100)/3 = 0.99 % a week.
    """
    n = np.bincount(series, minlength=n_series)
    first, last = np.full(n_series, np.inf), np.full(n_series, -np.inf)
    np.minimum.at(first, series, weeks)
    np.maximum.at(last, series, weeks)
    is_known = (n >= LEAST_SESSIONS) & (last - first >= LEAST_WEEKS)
    first, last = np.where(is_known, first, 0.0), np.where(is_known, last, 0.0)

    def total(values: Floats) -> Floats:
        return np.bincount(series, values, minlength=n_series).astype(np.float64)

    weight = 1 / (se_ln**2 + DAY_SD**2)
    mass = np.where(n > 0, total(weight), 1.0)
    middle_x, middle_y = total(weight * weeks) / mass, total(weight * ln_e1rm) / mass
    x, y = weeks - middle_x[series], ln_e1rm - middle_y[series]
    spread = np.where(is_known, total(weight * x**2), 1.0)
    slope = total(weight * x * y) / spread
    residual = y - slope[series] * x
    scale = np.maximum(1.0, total(weight * residual**2) / np.maximum(n - 2, 1))
    rates = _rates(100 * slope, 100 * np.sqrt(scale / spread), (n - 2).astype(np.float64), is_known)
    ends = [np.exp(np.where(is_known, middle_y + slope * (end - middle_x), 0.0)) for end in (first, last)]
    return BlockLines(rates, ends[0], ends[1])


def pool_rates(block: Whole, rates: Rates, n_weeks: Floats) -> Rates:
    """How did the lifts of each block change on the whole? The precision-weighted mean of their rates.

        rate = Σ w r / Σ w,  w = 1/se²;  se² = max(1, Q/(k − 1))/Σ w + shared²,  Q = Σ w (r − rate)²
        shared = shared_week_sd / √(n (n² − 1)/12)

    `block` numbers the block of each rate from 0, `n_weeks` has an entry a block. k lifts over n weeks; lifts
    that disagree by more than their errors widen the interval, and so do weeks that were good or bad for all
    of them at once (below 2 weeks: left out). df: the sum of the lifts'. No rate without a lift.

    Example: 1.0 ± 0.5 and 2.0 ± 0.5 give 1.5, se 0.354 × √2 = 0.5; over 6 weeks √(0.5² + 0.167²) = 0.53.
    """

    def total(values: Floats) -> Floats:
        heard = np.where(rates.is_known, values, 0.0)
        return np.bincount(block, heard, minlength=len(n_weeks)).astype(np.float64)

    k = total(np.ones(len(block)))
    is_known = k > 0
    weight = 1 / rates.se_pct**2
    mass = np.where(is_known, total(weight), 1.0)
    mean = total(weight * rates.pct_per_week) / mass
    disagreement = total(weight * (rates.pct_per_week - mean[block]) ** 2) / np.maximum(k - 1, 1)
    n = np.maximum(n_weeks, 2.0)
    shared = np.where(n_weeks >= 2, 100 * SHARED_WEEK_SD / np.sqrt(n * (n**2 - 1) / 12), 0.0)
    variance = np.maximum(1.0, disagreement) / mass + shared**2
    return _rates(mean, np.sqrt(variance), total(rates.df), is_known)


def difference(later: Rates, earlier: Rates) -> Rates:
    """Did these blocks bring more than those before? Their differences, errors added in quadrature (Welch's
    df)."""
    variance = later.se_pct**2 + earlier.se_pct**2
    df = variance**2 / (later.se_pct**4 / later.df + earlier.se_pct**4 / earlier.df)
    return _rates(
        later.pct_per_week - earlier.pct_per_week, np.sqrt(variance), df, later.is_known & earlier.is_known
    )


def outcomes_of(rates: Rates) -> list[str]:
    """stronger or weaker where the 90 % interval leaves out zero, else no_clear_change; too_little without a
    rate."""
    low, high = rates.interval()
    return list(
        np.select(
            [~rates.is_known, low > 0, high < 0],
            ["too_little", "stronger", "weaker"],
            default="no_clear_change",
        ).tolist()
    )
