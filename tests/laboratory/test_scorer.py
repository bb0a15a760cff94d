"""The scorer, on a case small enough to count by hand."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np
import polars as pl
import pytest

from tests.laboratory.scorer import score_flags

SUNDAY = date(2024, 1, 7)
WEEKS = pl.DataFrame(
    {
        "client_id": ["a"] * 12,
        "week_end": [SUNDAY + timedelta(days=7 * i) for i in range(12)],
    }
)
TRUTH = pl.DataFrame(
    {
        "client_id": ["a"],
        "kind": ["plateau"],
        "first": [SUNDAY + timedelta(days=7 * 4 - 3)],
        "last": [SUNDAY + timedelta(days=7 * 7)],
    }
)


def _flags(text: str) -> np.ndarray:
    return np.array([c == "x" for c in text])


@pytest.mark.parametrize(
    ("flags", "found", "alarms", "precision"),
    [
        pytest.param("............", 0.0, 0, 0.0, id="no flag finds nothing"),
        pytest.param("......x.....", 1.0, 0, 1.0, id="one flag inside finds the event"),
        pytest.param("........x...", 1.0, 0, 1.0, id="a flag in the week after still does"),
        pytest.param(".........xx.", 0.0, 1, 0.0, id="two weeks after is one false alarm"),
        pytest.param("x.x..x......", 1.0, 2, 1 / 3, id="an unflagged week parts two false alarms"),
        pytest.param("..xxx.......", 1.0, 0, 1 / 3, id="a run that reaches into the event is none"),
    ],
)
def test_events_alarms_and_precision_are_counted_as_by_hand(
    flags: str, found: float, alarms: int, precision: float
) -> None:
    result = score_flags(WEEKS, _flags(flags), TRUTH, "plateau")
    assert result.found == found
    assert result.false_alarms == pytest.approx(alarms / (12 / 52))
    assert result.precision == pytest.approx(precision)


def test_the_delay_runs_from_the_first_day_to_the_first_flagged_sunday() -> None:
    result = score_flags(WEEKS, _flags("......x....."), TRUTH, "plateau")
    assert result.delay_weeks == pytest.approx((2 * 7 + 3) / 7)
