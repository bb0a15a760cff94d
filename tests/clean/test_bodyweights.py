"""What is moved where the body is moved: the bodyweight known that day, never one weighed later."""

from __future__ import annotations

from datetime import date

import polars as pl
import pytest

from pipeline.clean.bodyweights import with_system_kg
from tests.inbox_reading import read_log

EXERCISE = pl.DataFrame({"exercise_id": ["pull_up", "bench_press"], "bodyweight_share": [1.0, 0.0]})


def moved(weighed: dict[date, float], logged: float | None, profile: float | None) -> list[float | None]:
    sets = pl.DataFrame(
        {
            "client_id": ["anna"] * 2,
            "session_date": [date(2026, 3, 2), date(2026, 3, 9)],
            "exercise_id": ["pull_up"] * 2,
            "load_kg": [10.0, 10.0],
            "bodyweight_kg": [logged, None],
        },
        schema_overrides={"bodyweight_kg": pl.Float64},
    )
    check_in = pl.DataFrame(
        {
            "client_id": ["anna"] * len(weighed),
            "check_in_date": list(weighed),
            "bodyweight_kg": list(weighed.values()),
        },
        schema={"client_id": pl.String, "check_in_date": pl.Date, "bodyweight_kg": pl.Float64},
    )
    client = pl.DataFrame({"client_id": ["anna"], "bodyweight_kg": pl.Series([profile], dtype=pl.Float64)})
    return with_system_kg(sets, check_in, client, EXERCISE)["system_kg"].to_list()


@pytest.mark.parametrize(
    ("weighed", "logged", "profile", "expected"),
    [
        ({}, None, 70.0, [80.0, 80.0]),
        ({date(2026, 3, 5): 66.0}, None, 70.0, [80.0, 76.0]),  # weighed on the 5th, unknown on the 2nd
        ({date(2026, 3, 1): 68.0}, None, 70.0, [78.0, 78.0]),
        ({date(2026, 3, 1): 68.0}, 67.0, 70.0, [77.0, 77.0]),  # the log of the 2nd is newer
        ({date(2026, 3, 20): 66.0}, None, None, [None, None]),
    ],
)
def test_the_newest_bodyweight_up_to_the_day_counts(
    weighed: dict[date, float], logged: float | None, profile: float | None, expected: list[float | None]
) -> None:
    assert moved(weighed, logged, profile) == expected


@pytest.mark.parametrize(
    ("header", "cell", "expected"),
    [
        ("Bodyweight (kg)", "71.5", 71.5),
        ("Bodyweight", "157 lb", pytest.approx(157 * 0.45359237)),
        ("Body weight", "71,5 kg", 71.5),
        ("Bodyweight", "72", 72.0),  # the log's loads are kilograms
        ("Bodyweight (kg)", "7.2", None),
        ("Bodyweight (kg)", "", None),
    ],
)
def test_a_bodyweight_column_of_the_log_is_read(header: str, cell: str, expected: object) -> None:
    text = f"Date;Exercise;Weight;Reps;{header}\n2026-03-02;Bench Press;60;8;{cell}\n"
    (found,) = read_log(text, "anna/log.csv", unit="kg").sets
    assert found["bodyweight_kg"] == expected
