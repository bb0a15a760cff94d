"""The month a report is about, and which days and weeks belong to it."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date, timedelta

from pipeline.errors import SetwrightError

_MONTH = re.compile(r"(\d{4})-(\d{2})")


@dataclass(frozen=True)
class Month:
    """A calendar month, from `first` to `last` day."""

    first: date
    last: date

    @property
    def key(self) -> str:
        """`YYYY-MM`."""
        return f"{self.first:%Y-%m}"

    def before(self) -> Month:
        """The month before."""
        return _month_of(self.first - timedelta(days=1))

    def owns_week(self, week_start: date) -> bool:
        """Whether most days of the week lie in this month (each week belongs to exactly one month)."""
        middle = week_start + timedelta(days=3)
        return self.first <= middle <= self.last


def parse_month(text: str) -> Month:
    """The month written `YYYY-MM`; SetwrightError for anything else."""
    match = _MONTH.fullmatch(text.strip())
    if match:
        year, month = int(match[1]), int(match[2])
        if 1 <= month <= 12 and year >= 1900:
            return _month_of(date(year, month, 1))
    raise SetwrightError(f"{text!r} is not a month.", "Write it as YYYY-MM, for example 2026-05.")


def _month_of(day: date) -> Month:
    first = day.replace(day=1)
    after = (first + timedelta(days=32)).replace(day=1)
    return Month(first, after - timedelta(days=1))
