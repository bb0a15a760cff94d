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


def score_flags(weeks: pl.DataFrame, flags: np.ndarray, truth: pl.DataFrame, kind: str) -> Result:
    """Score `flags` (bool, one a row of `weeks`: client_id, week_end; sorted) on the events of `kind`.

    Events no week of which is in `weeks` are left out.
    """
    near, inside = week_truth(weeks, truth, kind, GRACE_DAYS), week_truth(weeks, truth, kind)
    marked = weeks.with_columns(flag=pl.Series(flags), near=pl.Series(near))
    spans = truth.filter(pl.col("kind") == kind).with_row_index("event")
    sundays = spans.join(marked, on="client_id").filter(
        (pl.col("week_end") >= pl.col("first"))
        & (pl.col("week_end") <= pl.col("last") + pl.duration(days=GRACE_DAYS))
    )
    events = sundays.group_by("event").agg(
        found=pl.col("flag").any(),
        delay=((pl.col("week_end") - pl.col("first")).dt.total_days() / 7).filter(pl.col("flag")).min(),
    )
    runs = marked.with_columns(run=pl.struct("client_id", "flag").rle_id()).filter(pl.col("flag"))
    false = runs.group_by("run").agg(pl.col("near").any()).filter(~pl.col("near")).height
    years = len(weeks) / 52
    n_flags = int(flags.sum())
    delay = events["delay"].median()
    return Result(
        n_events=events.height,
        found=float(events["found"].mean() or 0.0),
        delay_weeks=float(delay) if delay is not None else float("nan"),  # type: ignore[arg-type]
        false_alarms=false / max(years, 1e-9),
        precision=float((flags & near).sum() / max(n_flags, 1)),
        recall=float((flags & inside).sum() / max(inside.sum(), 1)),
        flagged=n_flags / max(len(weeks), 1),
    )


def share_flagged(weeks: pl.DataFrame, flags: np.ndarray, truth: pl.DataFrame, kind: str) -> float:
    """Share of the true weeks of `kind` that are flagged."""
    inside = week_truth(weeks, truth, kind)
    return float((flags & inside).sum() / max(inside.sum(), 1))
