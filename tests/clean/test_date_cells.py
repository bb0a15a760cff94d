"""Date cells: messy left, expected right; what a cell leaves open stays open."""

from __future__ import annotations

from datetime import date

import pytest

from pipeline.clean.cells.dates import DateReading, parse_date, to_date

DAY = date(2026, 3, 2)
CLEAR = [
    ("2026-03-02", DAY),
    ("2026/3/2", DAY),
    ("2026.03.02", DAY),
    ("20260302", DAY),
    ("2026-03-02 18:30", DAY),
    ("2026-03-02T18:30:00", DAY),
    ("2026-03-02T18:30:00Z", DAY),
    ("2026-03-02T18:30:00+02:00", DAY),
    ("2026-03-02 00:00:00", DAY),
    ("02.03.2026", DAY),
    ("2.3.26", DAY),
    ("2. 3. 2026", DAY),
    ("2 March 2026", DAY),
    ("2nd March 2026", DAY),
    ("March 2, 2026", DAY),
    ("Mar 2 2026", DAY),
    ("2-Mar-26", DAY),
    ("2 Mar '26", DAY),
    ("2. März 2026", DAY),
    ("2 mars 2026", DAY),
    ("1er mars 2026", date(2026, 3, 1)),
    ("2 de marzo de 2026", DAY),
    ("2 marzo 2026", DAY),
    ("2 maart 2026", DAY),
    ("2 de março de 2026", DAY),
    ("Mon 2 March 2026", DAY),
    ("Monday, 2 March 2026", DAY),
    ("Montag, 02.03.2026", DAY),
    ("lundi 2 mars 2026", DAY),
    ("02.03.2026 (Mo)", DAY),
    ("13/02/2026", date(2026, 2, 13)),
    ("02/13/2026", date(2026, 2, 13)),
    ("12.13.2026", date(2026, 12, 13)),
    ("3/3/2026", date(2026, 3, 3)),
    ("13-02-26", date(2026, 2, 13)),
    ("29.02.2024", date(2024, 2, 29)),
    ("46083", DAY),
    ("46083.75", DAY),
]


@pytest.mark.parametrize(("messy", "expected"), CLEAR, ids=[repr(c[0]) for c in CLEAR])
def test_a_date_that_can_mean_one_day_only_is_that_day(messy: str, expected: date) -> None:
    reading = parse_date(messy)
    assert reading.problem == ""
    assert to_date(reading, "") == expected


@pytest.mark.parametrize("messy", ["03/04/2026", "3-4-26", "03/04", "3/4/26 18:00"])
def test_a_date_that_can_mean_two_days_stays_open(messy: str) -> None:
    reading = parse_date(messy)
    assert (reading.order, to_date(reading, "", 2026)) == ("", None)
    assert to_date(reading, "dmy", 2026) == date(2026, 4, 3)
    assert to_date(reading, "mdy", 2026) == date(2026, 3, 4)


@pytest.mark.parametrize("messy", ["2 March", "March 2", "02.03.", "Mon 2 March", "2. März"])
def test_a_date_without_a_year_takes_none_by_itself(messy: str) -> None:
    reading = parse_date(messy)
    assert reading.year is None
    assert to_date(reading, "") is None
    assert to_date(reading, "", 2026) == DAY


def test_a_day_of_january_without_a_year_is_no_decimal_number() -> None:
    assert to_date(parse_date("5.1"), "", 2026) == date(2026, 1, 5)
    assert parse_date("5.0").problem == "date_unreadable"


@pytest.mark.parametrize(
    ("messy", "weekday"),
    [("Mon 03/04/2026", 1), ("Fr 3.4.2026", 5), ("03/04/2026 (Fri)", 5), ("3/4/2026", None)],
)
def test_a_day_name_beside_a_date_is_kept(messy: str, weekday: int | None) -> None:
    assert parse_date(messy).weekday == weekday


@pytest.mark.parametrize("messy", ["", " ", "-", "n/a", None])
def test_a_blank_cell_is_no_date_and_no_fault(messy: str | None) -> None:
    assert parse_date(messy).is_empty


@pytest.mark.parametrize(
    ("messy", "problem"),
    [
        ("30.02.2026", "date_impossible"),
        ("31/04/2026", "date_impossible"),
        ("29.02.2026", "date_impossible"),
        ("32/13/2026", "date_impossible"),
        ("02.03.1926", "date_impossible"),
        ("02.03.0206", "date_impossible"),
        ("2026-13-02", "date_impossible"),
        ("yesterday", "date_unreadable"),
        ("Week 3", "date_unreadable"),
        ("Bench Press", "date_unreadable"),
        ("8", "date_unreadable"),
        ("100", "date_unreadable"),
        ("3x8", "date_unreadable"),
        ("12345", "date_unreadable"),
        ("2 Marchember 2026", "date_unreadable"),
    ],
)
def test_what_is_no_date_says_why(messy: str, problem: str) -> None:
    assert parse_date(messy).problem == problem


def test_a_day_number_counts_from_the_workbooks_own_first_day() -> None:
    assert to_date(DateReading(serial=44621.0), "", epoch="1904") == DAY
    assert to_date(DateReading(serial=46083.0), "", epoch="1900") == DAY


def test_the_29th_of_february_needs_a_leap_year() -> None:
    reading = parse_date("29 Feb")
    assert (to_date(reading, "", 2024), to_date(reading, "", 2026)) == (date(2024, 2, 29), None)
