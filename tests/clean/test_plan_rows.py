"""Plan files as coaches write them: what rows, headings and titles come to, and why a row is refused."""

from datetime import date

import polars as pl
import pytest

from pipeline.answers import Answers
from pipeline.clean.coach_tables import CoachTable
from pipeline.clean.exercise_names import NameMatcher
from pipeline.clean.knowledge import ClientProfile, Knowledge
from pipeline.clean.people import Roster
from pipeline.clean.plan_rows import read_plans
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
