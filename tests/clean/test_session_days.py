"""The year of each day: a long log is no slip, a year that jumps back is asked about."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from pipeline.answers import read_answers
from pipeline.clean.session_dates import DateSetting, find_days

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
