"""The cells of a plan: sets and repetitions, rest, percent, days and weeks."""

import pytest

from pipeline.clean.plan_amounts import parse_percent, parse_rest, parse_sets_and_reps
from pipeline.clean.plan_days import parse_day_cell, parse_weekdays
from pipeline.clean.plan_weeks import parse_weeks


@pytest.mark.parametrize(
    ("sets", "reps", "expected"),
    [
        pytest.param("3", "8-12", (3, 8, 12, None, None), id="range"),
        pytest.param("3", "8 to 12 reps", (3, 8, 12, None, None), id="words"),
        pytest.param("3", "12-8", (3, 8, 12, None, None), id="turned round"),
        pytest.param("", "3x8-12", (3, 8, 12, None, None), id="both in repetitions"),
        pytest.param("4 x 6", "", (4, 6, 6, None, None), id="both in sets"),
        pytest.param("", "3 sets of 10", (3, 10, 10, None, None), id="sets of"),
        pytest.param("4 sets", "5", (4, 5, 5, None, None), id="sets with word"),
        pytest.param("3", "10/8/6", (3, 6, 10, None, None), id="falling list"),
        pytest.param("", "12, 10, 8", (3, 8, 12, None, None), id="list counts its sets"),
        pytest.param("3", "8/side", (3, 8, 8, None, None), id="a side"),
        pytest.param("3", "8+", (3, 8, 100, None, None), id="at least"),
        pytest.param("3", "AMRAP", (3, None, None, None, None), id="as many as possible"),
        pytest.param("3", "30-45s", (3, None, None, 30, 45), id="hold"),
        pytest.param("", "3 x 1 min", (3, None, None, 60, 60), id="hold in minutes"),
    ],
)
def test_sets_and_repetitions_are_read_however_a_coach_writes_them(sets, reps, expected):
    found = parse_sets_and_reps(sets, reps)
    assert found.problem is None
    assert (
        found.sets,
        found.rep_low,
        found.rep_high,
        found.duration_low_s,
        found.duration_high_s,
    ) == expected


@pytest.mark.parametrize(
    ("sets", "reps", "column", "code"),
    [
        pytest.param("", "8", "sets", "plan_row_incomplete", id="no sets"),
        pytest.param("many", "8", "sets", "plan_value_unreadable", id="sets in words"),
        pytest.param("31", "8", "sets", "plan_value_unreadable", id="too many sets"),
        pytest.param("3", "2026-08-12", "reps", "turned_into_date", id="range turned into a date"),
        pytest.param("3", "5x5", "sets", "plan_value_unreadable", id="sets that contradict"),
        pytest.param("3", "heavy", "reps", "plan_value_unreadable", id="repetitions in words"),
        pytest.param("3", "5 @ hard", "reps", "plan_value_unreadable", id="effort in words"),
    ],
)
def test_amounts_that_say_nothing_certain_are_refused_with_their_column(sets, reps, column, code):
    problem = parse_sets_and_reps(sets, reps).problem
    assert problem is not None
    assert (problem[0], problem[2]) == (column, code)


def test_effort_and_percent_behind_the_at_sign_are_kept():
    assert parse_sets_and_reps("5", "5 @ RPE 8").target_rir == 2.0
    assert parse_sets_and_reps("5", "5 @ 75%").percent == 75.0


@pytest.mark.parametrize(
    ("text", "seconds"),
    [
        ("90", 90),
        ("2", 120),
        ("2-3 min", 150),
        ("2:30", 150),
        ("1'30", 90),
        ("60-90", 75),
        ("1.5-2 min", 105),
        ("long", None),
    ],
)
def test_rest_is_read_in_seconds_and_minutes(text, seconds):
    assert parse_rest(text) == seconds


@pytest.mark.parametrize(
    ("text", "percent"),
    [("75%", 75), ("0.75", 75), ("70-75 %", 72.5), ("80 % 1RM", 80), ("5", None), ("130%", None)],
)
def test_percent_of_the_one_repetition_maximum(text, percent):
    assert parse_percent(text) == percent


@pytest.mark.parametrize(
    ("text", "days"),
    [
        ("Monday", (1,)),
        ("Mon/Thu", (1, 4)),
        ("mon & thu", (1, 4)),
        ("Mo, Fr", (1, 5)),
        ("1 4", (1, 4)),
        ("lunes", (1,)),
        ("any", ()),
        ("", ()),
        ("sometimes", None),
    ],
)
def test_weekdays_alone_or_several(text, days):
    assert parse_weekdays(text) == days


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("Upper A (Mon)", ("Upper A", (1,))),
        ("Thu - Lower", ("Lower", (4,))),
        ("Monday", ("Monday", (1,))),
        ("Lower: Friday", ("Lower", (5,))),
        ("Day 1", ("Day 1", ())),
        ("3", ("3", ())),
        ("Push-Pull", ("Push-Pull", ())),
    ],
)
def test_a_weekday_within_a_day_name_counts_where_it_is_set_apart(text, expected):
    assert parse_day_cell(text) == expected


@pytest.mark.parametrize(
    ("text", "weeks"),
    [
        pytest.param("1", (1,), id="a number"),
        pytest.param("Week 2", (2,), id="a word and a number"),
        pytest.param("W3", (3,), id="a letter"),
        pytest.param("1-4", (1, 2, 3, 4), id="a span"),
        pytest.param("Wk 1 to 3", (1, 2, 3), id="a span in words"),
        pytest.param("Woche 1 und 3", (1, 3), id="two in German"),
        pytest.param("1, 3 & 5", (1, 3, 5), id="a list"),
        pytest.param("", (), id="blank"),
        pytest.param("all", (), id="every week"),
        pytest.param("deload", None, id="no number"),
        pytest.param("0", None, id="there is no week nought"),
        pytest.param("4-1", None, id="turned round"),
    ],
)
def test_week_numbers_are_read(text, weeks):
    assert parse_weeks(text) == weeks
