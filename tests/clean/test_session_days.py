"""The year of each day: a long log is no slip, a year that jumps back is asked about."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from pipeline.answers import read_answers
from pipeline.clean.session_dates import DateSetting, find_days
from tests.inbox_reading import read_log

AS_OF = date(2026, 6, 28)


def _setting(tmp_path_factory: pytest.TempPathFactory) -> DateSetting:
    answers = read_answers(tmp_path_factory.mktemp("coach") / "answers.csv")
    return DateSetting(AS_OF, "ana/log.csv", "ana", "ymd", None, answers)


@pytest.mark.parametrize("n_days", [400, 800, 2000])
def test_a_log_of_years_is_read_without_a_question(
    n_days: int, tmp_path_factory: pytest.TempPathFactory
) -> None:
    days = [AS_OF - timedelta(days=n_days - n) for n in range(0, n_days, 2)]
    found = find_days([d.isoformat() for d in days], _setting(tmp_path_factory), {})
    assert [entry.day for entry in found.values()] == days


def test_a_year_that_slipped_among_its_neighbours_is_asked_about(
    tmp_path_factory: pytest.TempPathFactory,
) -> None:
    days = [date(2025, 12, 20) + timedelta(days=n) for n in range(0, 60, 3)]
    texts = [d.isoformat() for d in days]
    texts[5] = "2025-01-04"  # January still written with the old year
    found = find_days(texts, _setting(tmp_path_factory), {})
    assert found["2025-01-04"].question is not None
    assert found["2025-01-04"].suggested == "2026-01-04"
    assert sum(entry.question is not None for entry in found.values()) == 1


def test_the_first_day_is_judged_by_those_behind_it(tmp_path_factory: pytest.TempPathFactory) -> None:
    days = [date(2026, 1, 5) + timedelta(days=n) for n in range(0, 60, 3)]
    texts = ["2025-01-02", *(d.isoformat() for d in days)]
    found = find_days(texts, _setting(tmp_path_factory), {})
    assert found["2025-01-02"].suggested == "2026-01-02"


@pytest.mark.parametrize(
    ("texts", "days"),
    [
        (["Mon 01/06/2026", "Wed 03/06/2026"], [date(2026, 6, 1), date(2026, 6, 3)]),
        (["Mon 01/06/2026", "Sat 03/06/2026"], [date(2026, 6, 1), None]),
        (["Sun 1 Feb", "Tue 3 Feb"], [date(2026, 2, 1), date(2026, 2, 3)]),
        (["Sat 1 Feb", "Mon 3 Feb"], [date(2025, 2, 1), date(2025, 2, 3)]),
        (["Sun 1 Feb", "Mon 3 Feb"], [date(2026, 2, 1), None]),
    ],
    ids=["right", "one wrong", "this year", "all fit last year", "one fits another year"],
)
def test_a_weekday_beside_its_date_must_be_the_right_one(
    texts: list[str], days: list[date | None], tmp_path_factory: pytest.TempPathFactory
) -> None:
    found = find_days(texts, _setting(tmp_path_factory), {})
    assert [entry.day for entry in found.values()] == days
    assert {entry.problem for entry in found.values() if not entry.day} <= {"weekday_contradicts"}


@pytest.mark.parametrize(
    ("rows", "days"),
    [
        ("Mon,02/03/2026\nWed,04/03/2026\n", [date(2026, 3, 2), date(2026, 3, 4)]),
        ("Tue,02/03/2026\nThu,02/05/2026\n", [date(2026, 2, 3), date(2026, 2, 5)]),
        ("Mon,02/03/2026\nThu,02/05/2026\n", [date(2026, 3, 2), date(2026, 5, 2)]),
    ],
    ids=["day first", "month first", "neither: the profile says"],
)
def test_a_column_of_weekdays_tells_the_day_from_the_month(rows: str, days: list[date]) -> None:
    text = "Day,Date,Exercise,kg,Reps\n" + rows.replace("\n", ",Back squat,100,5\n")
    read = read_log(text, "anna/log.csv")
    assert [row["session_date"] for row in read.sets] == days
