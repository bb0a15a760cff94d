"""The day an update from the page reads up to."""

from __future__ import annotations

import datetime as dt

import pytest

from dashboards.running_update import day_to_read_up_to

TODAY = dt.date(2026, 11, 25)


def days_ago(n: int) -> dt.date:
    return TODAY - dt.timedelta(days=n)


@pytest.mark.parametrize(
    ("read_up_to", "published", "suggested"),
    [
        (None, None, TODAY),
        (days_ago(7), days_ago(7), TODAY),
        (days_ago(40), days_ago(40), TODAY),
        (days_ago(8), days_ago(7), TODAY),
        (days_ago(150), days_ago(0), days_ago(150)),
        (days_ago(150), days_ago(20), days_ago(150)),
        (days_ago(-3), days_ago(0), TODAY),
    ],
    ids=[
        "no history yet", "last Monday", "back from a long holiday", "up to the evening before",
        "an example held at its day", "a look back some weeks ago", "a clock that ran ahead",
    ],
)  # fmt: skip
def test_today_unless_the_history_is_held_at_an_earlier_day(
    read_up_to: dt.date | None, published: dt.date | None, suggested: dt.date
) -> None:
    assert day_to_read_up_to(read_up_to, published, TODAY) == suggested
