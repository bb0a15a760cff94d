"""Weekdays in rows below the date of a week or of a day."""

from __future__ import annotations

from datetime import date

import pytest

from pipeline.clean.week_days import parse_week_heading, parse_weekday
from tests.inbox_reading import read_log

HEADINGS = [
    ("Week commencing 02/03/2026", "week from 02/03/2026"),
    ("Week 10 - w/c 2 March 2026", "week from 2 March 2026"),
    ("Week of 2 March", "week of 2 March"),
    ("Week ending 8 March 2026", "week to 8 March 2026"),
    ("Woche vom 02.03.2026", "week of 02.03.2026"),
    ("Semaine du 2 mars 2026", "week of 2 mars 2026"),
    ("Semana del 2 de marzo de 2026", "week of 2 de marzo de 2026"),
    ("Week 3 - 02/03/2026", ""),
    ("Week of hell", ""),
    ("Mon 2 March 2026", ""),
]
DAYS = [
    ("Mon", 1),
    ("Thu.", 4),
    ("Do", 4),
    ("jeudi", 4),
    ("Sábado", 6),
    ("Friday - legs", 5),
    ("Push", None),
    ("", None),
]
TABLES = [
    pytest.param(
        "Week of 2 March 2026,,\nDay,Exercise,kg,Reps\nMon,Squat,100,5\n,Bench press,60,5\nWed,Deadlift,100,5\n"
        "Week of 9 March 2026,,,\nTue,Squat,105,5\n",
        [
            (3, date(2026, 3, 2)),
            (4, date(2026, 3, 2)),
            (5, date(2026, 3, 4)),
            (7, date(2026, 3, 10)),
        ],
        [],
        id="weeks in one table, a weekday written once",
    ),
    pytest.param(
        "Week commencing 02/03/2026,,,\nDay,Exercise,Sets x reps,kg\nMon,Squat,1x5,85\nThu,Deadlift,1x5,115\n"
        "Week commencing 16/03/2026,,,\nDay,Exercise,Sets x reps,kg\nMon,Squat,1x5,90\n",
        [(3, date(2026, 3, 2)), (4, date(2026, 3, 5)), (7, date(2026, 3, 16))],
        [],
        id="a week above each table",
    ),
    pytest.param(
        "Woche vom 02.03.2026;;;\nTag;Übung;Wdh;kg\nMo;Kniebeuge;5;85\n;Bankdrücken;5;65\nDo;Kreuzheben;5;115\n",
        [(3, date(2026, 3, 2)), (4, date(2026, 3, 2)), (5, date(2026, 3, 5))],
        [],
        id="German, carried down",
    ),
    pytest.param(
        "Week commencing,Day,Exercise,Reps,kg\n2026-03-02,Mon,Squat,5,85\n,Thu,Squat,5,85\n",
        [(2, date(2026, 3, 2)), (3, date(2026, 3, 5))],
        [],
        id="the week in a column",
    ),
    pytest.param(
        "Exercise,Reps,kg\nWeek of 2 March 2026,,\nMonday,,\nSquat,5,85\nThursday,,\nSquat,5,90\n",
        [(4, date(2026, 3, 2)), (6, date(2026, 3, 5))],
        [],
        id="weekdays as headings",
    ),
    pytest.param(
        "Week ending Sun 8 March 2026,,,\nDay,Exercise,Reps,kg\nThu,Squat,5,85\nSun,Squat,5,85\n",
        [(3, date(2026, 3, 5)), (4, date(2026, 3, 8))],
        [],
        id="the end of the week",
    ),
    pytest.param(
        "Mon 2 March 2026,,,\nDay,Exercise,Reps,kg\nMon,Squat,5,85\nThu,Deadlift,5,115\n",
        [(3, date(2026, 3, 2))],
        [(4, "weekday_contradicts")],
        id="another weekday than the day above",
    ),
    pytest.param(
        "Week of 4 March 2026,,,\nDay,Exercise,Reps,kg\nMon,Squat,5,85\nWed,Squat,5,85\n",
        [(4, date(2026, 3, 4))],
        [(3, "weekday_contradicts")],
        id="a week that may begin on its date or before",
    ),
    pytest.param(
        "Week commencing 2 March 2026,,\nExercise,Reps,kg\nSquat,5,85\n",
        [],
        [(3, "date_unreadable")],
        id="a week is no day",
    ),
    pytest.param(
        "Date,Day,Exercise,Reps,kg\n2026-03-02,Push,Squat,5,85\n",
        [(2, date(2026, 3, 2))],
        [],
        id="a day that is no weekday",
    ),
]


@pytest.mark.parametrize(("messy", "expected"), HEADINGS)
def test_a_heading_names_a_week(messy: str, expected: str) -> None:
    assert parse_week_heading(messy) == expected


@pytest.mark.parametrize(("messy", "expected"), DAYS)
def test_a_weekday_is_known_in_several_languages(messy: str, expected: int | None) -> None:
    assert parse_weekday(messy) == expected


@pytest.mark.parametrize(("messy", "days", "reasons"), TABLES)
def test_a_weekday_is_the_day_of_its_week_or_refused(
    messy: str, days: list[tuple[int, date]], reasons: list[tuple[int, str]]
) -> None:
    read = read_log(messy, "anna/log.csv")
    assert read.accounts.faults == ()
    assert (read.values("source_row", "session_date"), read.reasons) == (days, reasons)
