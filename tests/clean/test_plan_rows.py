"""Plan files as coaches write them: what each cell, heading and title comes to, and why a row is refused."""

from datetime import date

import polars as pl
import pytest

from pipeline.answers import Answers
from pipeline.clean.coach_tables import CoachTable
from pipeline.clean.exercise_names import NameMatcher
from pipeline.clean.knowledge import ClientProfile, Knowledge
from pipeline.clean.people import Roster
from pipeline.clean.plan_amounts import parse_percent, parse_rest, parse_sets_and_reps
from pipeline.clean.plan_days import parse_day_cell, parse_weekdays
from pipeline.clean.plan_rows import read_plans
from pipeline.clean.plan_weeks import parse_weeks
from pipeline.contract.sheets import Sheet, SourceFile
from pipeline.reference import load_catalogue

HEADER = ["client", "valid from", "day", "exercise", "sets", "reps"]


@pytest.fixture(scope="module")
def known():
    catalogue = load_catalogue()
    answers = Answers({})
    roster = Roster([("amara", "Amara Okonjo"), ("lukas", "Lukas Brenner")], answers)
    profiles = {
        "amara": ClientProfile("amara", "kg", "dmy", None),
        "lukas": ClientProfile("lukas", "kg", "mdy", None),
    }
    return Knowledge(
        roster, profiles, catalogue, NameMatcher(catalogue), answers, date(2026, 6, 28), "", "", 20.0
    )


def sheet_of(rows, name=""):
    width = max(len(row) for row in rows)
    cells = {"source_row": list(range(1, len(rows) + 1))}
    for c in range(width):
        cells[f"c{c}"] = [row[c] if c < len(row) and row[c] != "" else None for row in rows]
    return Sheet(name, pl.DataFrame(cells, schema_overrides={f"c{c}": pl.String for c in range(width)}))


def read(known, *sheets, file="plan.csv"):
    kept = CoachTable("plans")
    source = SourceFile("plans", file, "hash", tuple(sheets))
    return read_plans(source, known, kept), kept


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


def test_a_new_version_does_not_inherit_the_last_day_of_the_one_above(known):
    slots, kept = read(
        known,
        sheet_of(
            [
                ["client", "plan", "from", "to", "phase", "day", "exercise", "sets", "reps"],
                ["amara", "A", "2026-05-01", "2026-05-31", "deload", "Day 1", "Back Squat", "2", "5"],
                ["amara", "A", "2026-06-01", "", "", "Day 1", "Back Squat", "3", "5"],
            ]
        ),
    )
    assert [(s["valid_to"], s["phase"]) for s in slots] == [(date(2026, 5, 31), "deload"), (None, "build")]
    assert not kept.rejected


def test_what_is_written_once_holds_for_the_rows_below(known):
    slots, _ = read(
        known,
        sheet_of(
            [
                ["client", "from", "day", "weekday", "exercise", "sets", "reps"],
                ["amara", "2026-06-01", "Upper", "Mon", "Bench Press", "3", "5-8"],
                ["", "", "", "", "Lat Pulldown", "3", "8-12"],
                ["", "", "Lower", "", "Back Squat", "3", "5-8"],
            ]
        ),
    )
    assert [(s["day"], s["weekday"], s["slot"]) for s in slots] == [
        ("Upper", 1, 1),
        ("Upper", 1, 2),
        ("Lower", None, 1),
    ]


def test_lines_above_the_table_and_headings_between_its_rows_are_read(known):
    slots, kept = read(
        known,
        sheet_of(
            [
                ["Client: Amara Okonjo"],
                ["Valid from", "2026-06-01"],
                ["Exercise", "Sets x reps", "RIR", "Rest"],
                ["Monday - Upper"],
                ["Bench Press", "3x5-8", "2", "3 min"],
                ["Thursday - Lower"],
                ["Back Squat", "4x5-8", "RPE 8", "180"],
            ]
        ),
    )
    assert [
        (s["client_id"], s["valid_from"], s["day"], s["weekday"], s["sets"], s["target_rir"], s["rest_s"])
        for s in slots
    ] == [
        ("amara", date(2026, 6, 1), "Upper", 1, 3, 2.0, 180.0),
        ("amara", date(2026, 6, 1), "Lower", 4, 4, 2.0, 180.0),
    ]
    assert [row[4] for row in kept.ignored] == ["title", "title", "header", "heading", "heading"]


def test_a_sheet_a_day_and_a_date_in_the_file_name(known):
    table = [["Exercise", "Sets", "Reps"], ["Bench Press", "3", "5-8"]]
    slots, _ = read(
        known, sheet_of(table, "Upper (Mon)"), sheet_of(table, "Lower"), file="amara 2026-06-01.xlsx"
    )
    assert [(s["client_id"], s["valid_from"], s["day"], s["weekday"]) for s in slots] == [
        ("amara", date(2026, 6, 1), "Upper", 1),
        ("amara", date(2026, 6, 1), "Lower", None),
    ]


def test_a_day_on_two_weekdays_stands_on_both(known):
    slots, _ = read(
        known,
        sheet_of(
            [[*HEADER, "weekday"], ["amara", "2026-06-01", "Full", "Back Squat", "3", "5-8", "Mon/Thu"]]
        ),
    )
    assert [(s["day"], s["weekday"], s["slot"], s["source_row"]) for s in slots] == [
        ("Full", 1, 1, 2),
        ("Full", 4, 1, 2),
    ]


def test_letters_in_the_order_column_pair_exercises(known):
    slots, _ = read(
        known,
        sheet_of(
            [
                ["client", "from", "day", "order", "exercise", "sets", "reps"],
                ["amara", "2026-06-01", "Day 1", "A1", "Dumbbell Curl", "3", "10-15"],
                ["amara", "2026-06-01", "Day 1", "A2", "Triceps Pushdown", "3", "10-15"],
            ]
        ),
    )
    assert [(s["superset"], s["slot"]) for s in slots] == [("A1", 1), ("A2", 2)]


def test_alternatives_percent_tempo_progression_and_remark_are_kept(known):
    slots, kept = read(
        known,
        sheet_of(
            [
                [*HEADER, "alternatives", "%1RM", "tempo", "progression", "notes"],
                [
                    "amara",
                    "2026-06-01",
                    "Day 1",
                    "Back Squat",
                    "3",
                    "5-8",
                    "Front Squat; wobble press",
                    "75%",
                    "3-1-1-0",
                    "two for two",
                    "pause at the bottom",
                ],
            ]
        ),
    )
    assert [
        (s["alternatives"], s["percent_e1rm"], s["tempo"], s["progression"], s["note"]) for s in slots
    ] == [("front_squat", 75.0, "3-1-1-0", "two_for_two", "pause at the bottom")]
    assert [(row[4], row[5], row[6], row[9]) for row in kept.rejected] == [
        ("alternatives", "wobble press", "plan_alternative_unknown", True)
    ]


def test_repetitions_of_a_timed_exercise_are_seconds(known):
    slots, _ = read(known, sheet_of([HEADER, ["amara", "2026-06-01", "Day 1", "Plank", "3", "45-60"]]))
    assert [(s["rep_low"], s["duration_low_s"], s["duration_high_s"]) for s in slots] == [(None, 45.0, 60.0)]


def test_dates_follow_the_order_of_the_client(known):
    rows = [
        HEADER,
        ["amara", "01/06/2026", "Day 1", "Back Squat", "3", "5"],
        ["lukas", "06/01/2026", "Day 1", "Back Squat", "3", "5"],
    ]
    slots, _ = read(known, sheet_of(rows))
    assert [s["valid_from"] for s in slots] == [date(2026, 6, 1), date(2026, 6, 1)]


@pytest.mark.parametrize(
    ("row", "column", "code"),
    [
        pytest.param(
            ["nobody", "2026-06-01", "Day 1", "Back Squat", "3", "5"],
            "client_id",
            "client_unknown",
            id="client",
        ),
        pytest.param(
            ["amara", "", "Day 1", "Back Squat", "3", "5"],
            "valid_from",
            "plan_no_first_day",
            id="no first day",
        ),
        pytest.param(
            ["amara", "soon", "Day 1", "Back Squat", "3", "5"],
            "valid_from",
            "plan_value_unreadable",
            id="first day",
        ),
        pytest.param(
            ["amara", "2026-06-01", "Day 1", "wobble press", "3", "5"],
            "exercise_name",
            "plan_exercise_unknown",
            id="exercise",
        ),
        pytest.param(
            ["amara", "2026-06-01", "Day 1", "", "3", "5"],
            "exercise_name",
            "plan_row_incomplete",
            id="no exercise",
        ),
        pytest.param(
            ["amara", "2026-06-01", "Day 1", "Back Squat", "", "5"],
            "sets",
            "plan_row_incomplete",
            id="no sets",
        ),
    ],
)
def test_a_row_that_cannot_be_planned_is_refused_with_its_reason(known, row, column, code):
    slots, kept = read(known, sheet_of([HEADER, row]))
    assert slots == []
    assert [(r[3], r[4], r[6], r[9]) for r in kept.rejected] == [(2, column, code, False)]


def test_a_range_of_sets_plans_the_lower_number_and_says_so(known):
    slots, kept = read(known, sheet_of([HEADER, ["amara", "2026-06-01", "Day 1", "Back Squat", "3-4", "5"]]))
    assert [s["sets"] for s in slots] == [3]
    assert [(r[6], r[9]) for r in kept.rejected] == [("plan_sets_range", True)]


def test_every_record_of_a_file_has_one_fate(known):
    rows = [
        ["Program for June"],
        [],
        HEADER,
        ["Monday"],
        ["amara", "2026-06-01", "", "Back Squat", "3", "5"],
        ["amara", "2026-06-01", "", "Rest day", "", ""],
        ["", "", "", "wobble press", "3", "5"],
        ["Total", "", "", "", "6", ""],
    ]
    slots, kept = read(known, sheet_of(rows))
    fates = (
        [s["source_row"] for s in slots]
        + [r[3] for r in kept.rejected if not r[9]]
        + [r[3] for r in kept.ignored]
    )
    assert sorted(fates) == list(range(1, 9))


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


WEEKLY = ["client", "week", "day", "exercise", "sets", "reps"]


def spans(slots):
    return [
        (slot["valid_from"].isoformat(), slot["valid_to"].isoformat(), slot["exercise_id"], slot["sets"])
        for slot in slots
    ]


def test_a_plan_written_week_by_week_is_a_version_a_week_and_not_all_weeks_at_once(known):
    rows = [
        ["Valid from: 2026-06-01"],
        WEEKLY,
        ["amara", "1", "Mon", "Back Squat", "5", "5"],
        ["", "", "Thu", "Bench Press", "5", "5"],
        ["", "2", "Mon", "Back Squat", "3", "5"],
    ]
    slots, kept = read(known, sheet_of(rows))
    assert spans(slots) == [
        ("2026-06-01", "2026-06-07", "back_squat", 5),
        ("2026-06-01", "2026-06-07", "bench_press", 5),
        ("2026-06-08", "2026-06-14", "back_squat", 3),
    ]
    assert kept.rejected == []


def test_weeks_on_end_of_the_same_records_are_one_version(known):
    rows = [
        ["Valid from: 2026-06-01"],
        WEEKLY,
        ["amara", "1-3", "Mon", "Back Squat", "5", "5"],
        ["", "4", "Mon", "Back Squat", "3", "5"],
    ]
    assert spans(read(known, sheet_of(rows))[0]) == [
        ("2026-06-01", "2026-06-21", "back_squat", 5),
        ("2026-06-22", "2026-06-28", "back_squat", 3),
    ]


def test_a_first_day_for_each_week_goes_before_its_number(known):
    rows = [
        ["client", "valid from", "week", "exercise", "sets", "reps"],
        ["amara", "2026-06-01", "1", "Back Squat", "5", "5"],
        ["amara", "2026-06-08", "2", "Back Squat", "4", "5"],
    ]
    slots, _ = read(known, sheet_of(rows))
    assert [slot["valid_from"].isoformat() for slot in slots] == ["2026-06-01", "2026-06-08"]


def test_a_week_that_is_none_is_noted_and_the_row_counts_for_the_whole_plan(known):
    rows = [["Valid from: 2026-06-01"], WEEKLY, ["amara", "soon", "Mon", "Back Squat", "5", "5"]]
    slots, kept = read(known, sheet_of(rows))
    assert slots[0]["valid_to"] is None
    assert [row[6] for row in kept.rejected] == ["plan_week_unreadable"]


@pytest.mark.parametrize(
    ("text", "percent", "rir"),
    [
        pytest.param("80%", 80.0, None, id="per cent"),
        pytest.param("75-80 % 1RM", 77.5, None, id="a span of per cent"),
        pytest.param("RPE 8", None, 2.0, id="RPE"),
        pytest.param("2 RIR", None, 2.0, id="RIR"),
        pytest.param("8", None, None, id="a number of an unknown scale"),
        pytest.param("hard", None, None, id="a word"),
    ],
)
def test_an_intensity_is_a_share_of_the_e1rm_or_an_effort_and_never_guessed(known, text, percent, rir):
    rows = [
        ["Valid from: 2026-06-01"],
        ["client", "exercise", "sets", "reps", "intensity"],
        ["amara", "Back Squat", "5", "5", text],
    ]
    [slot], kept = read(known, sheet_of(rows))
    assert (slot["percent_e1rm"], slot["target_rir"]) == (percent, rir)
    noted = [row[6] for row in kept.rejected]
    assert noted == ([] if percent or rir else ["plan_value_left_out"])


def test_a_heading_right_above_the_table_names_its_first_day(known):
    rows = [
        ["Valid from: 2026-06-01"],
        ["Day 1 - Upper (Monday)"],
        ["exercise", "sets", "reps"],
        ["Bench Press", "3", "8"],
        ["Day 2 - Lower (Thursday)"],
        ["Back Squat", "3", "8"],
    ]
    slots, _ = read(known, sheet_of(rows), file="amara.csv")
    assert [(slot["day"], slot["weekday"]) for slot in slots] == [("Day 1 - Upper", 1), ("Day 2 - Lower", 4)]
