"""Holds flags against the truth: events found, weeks of delay, false alarms, weekly precision and recall.

A flag is a client × Sunday on which a state is shown. An event is found when a flag lies between its first
day and a week after its last; the delay runs from its first day to the first such flag. A false alarm is a
run of flagged weeks of which none lies in an event (with that week's grace). Any unflagged week ends a run.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import polars as pl

GRACE_DAYS = 7


@dataclass(frozen=True)
class Result:
    """Figures of one state; rates are shares, delays weeks, alarms a client-year."""

    n_events: int
    found: float
    delay_weeks: float
    false_alarms: float
    precision: float
    recall: float
    flagged: float

    def line(self, name: str) -> str:
        """A table row in Markdown."""
        return (
            f"| {name} | {self.n_events} | {100 * self.found:.0f} % | {self.delay_weeks:.1f} | "
            f"{self.false_alarms:.2f} | {self.precision:.2f} | {self.recall:.2f} |"
        )


HEAD = (
    "| | events | found | median delay, weeks | false alarms a client-year | weekly precision | "
    "weekly recall |\n|---|---|---|---|---|---|---|"
)


def week_truth(weeks: pl.DataFrame, truth: pl.DataFrame, kind: str, grace_days: int = 0) -> np.ndarray:
    """Whether each row (client_id, week_end) of `weeks` lies in a true span of `kind`."""
    spans = truth.filter(pl.col("kind") == kind).with_columns(pl.col("last") + pl.duration(days=grace_days))
    inside = (
        weeks.with_row_index("row")
        .join(spans, on="client_id")
        .filter((pl.col("week_end") >= pl.col("first")) & (pl.col("week_end") <= pl.col("last")))
    )
    out = np.zeros(len(weeks), dtype=bool)
    out[inside["row"].to_numpy()] = True
    return out


@dataclass(frozen=True)
class Tally:
    """Counts behind a `Result`; tallies of several rosters add up."""

    n_events: int
    delays: np.ndarray
    false_runs: int
    n_weeks: int
    n_flags: int
    n_near: int
    n_hits: int
    n_inside: int

    def __add__(self, other: Tally) -> Tally:
        return Tally(
            self.n_events + other.n_events,
            np.concatenate([self.delays, other.delays]),
            self.false_runs + other.false_runs,
            self.n_weeks + other.n_weeks,
            self.n_flags + other.n_flags,
            self.n_near + other.n_near,
            self.n_hits + other.n_hits,
            self.n_inside + other.n_inside,
        )

    def result(self) -> Result:
        """The rates."""
        return Result(
            n_events=self.n_events,
            found=len(self.delays) / max(self.n_events, 1),
            delay_weeks=float(np.median(self.delays)) if len(self.delays) else float("nan"),
            false_alarms=self.false_runs / max(self.n_weeks / 52, 1e-9),
            precision=self.n_near / max(self.n_flags, 1),
            recall=self.n_hits / max(self.n_inside, 1),
            flagged=self.n_flags / max(self.n_weeks, 1),
        )


class Marks:
    """The truth of one state laid on `weeks` (client_id, week_end; sorted, no week left out within a client),
    so that many sets of flags can be scored on it. Events no week of which is there are left out."""

    def __init__(self, weeks: pl.DataFrame, truth: pl.DataFrame, kind: str) -> None:
        self.near, self.inside = week_truth(weeks, truth, kind, GRACE_DAYS), week_truth(weeks, truth, kind)
        clients = weeks["client_id"].rle_id().to_numpy()
        self.starts = np.r_[True, clients[1:] != clients[:-1]]
        spans = truth.filter(pl.col("kind") == kind).with_row_index("event")
        events = (
            weeks.with_row_index("row")
            .join(spans, on="client_id")
            .filter(
                (pl.col("week_end") >= pl.col("first"))
                & (pl.col("week_end") <= pl.col("last") + pl.duration(days=GRACE_DAYS))
            )
            .group_by("event")
            .agg(
                pl.col("row").min(),
                after=pl.col("row").max() + 1,
                days=(pl.col("week_end") - pl.col("first")).dt.total_days().min(),
            )
            .sort("event")
        )
        self.row, self.after = (
            events["row"].cast(pl.Int64).to_numpy(),
            events["after"].cast(pl.Int64).to_numpy(),
        )
        self.days = events["days"].to_numpy()

    def tally(self, flags: np.ndarray) -> Tally:
        """Count `flags` (bool, one a week)."""
        n = len(flags)
        ahead = np.r_[np.where(flags, np.arange(n), n), n]
        ahead = np.minimum.accumulate(ahead[::-1])[::-1]
        found = ahead[self.row] < self.after
        run = np.cumsum(flags & (self.starts | ~np.r_[False, flags[:-1]]))
        false = len(np.unique(run[flags])) - len(np.unique(run[flags & self.near]))
        return Tally(
            n_events=len(self.row),
            delays=((self.days + 7 * (ahead[self.row] - self.row)) / 7)[found],
            false_runs=false,
            n_weeks=n,
            n_flags=int(flags.sum()),
            n_near=int((flags & self.near).sum()),
            n_hits=int((flags & self.inside).sum()),
            n_inside=int(self.inside.sum()),
        )


def score_flags(weeks: pl.DataFrame, flags: np.ndarray, truth: pl.DataFrame, kind: str) -> Result:
    """Score `flags` (bool, one a row of `weeks`, see `Marks`) on the events of `kind`."""
    return Marks(weeks, truth, kind).tally(flags).result()


def share_flagged(weeks: pl.DataFrame, flags: np.ndarray, truth: pl.DataFrame, kind: str) -> float:
    """Share of the true weeks of `kind` that are flagged."""
    inside = week_truth(weeks, truth, kind)
    return float((flags & inside).sum() / max(inside.sum(), 1))
