"""`3x12` alone: what the exercise, the column and the header around it say of it."""

from __future__ import annotations

import pytest

from tests.inbox_reading import read_log

CASES = [
    pytest.param(
        "Push up,3x12\nLeg Press,100x8\n", {2: [(0.0, 12)] * 3, 3: [(100.0, 8)]}, id="no load to speak of"
    ),
    pytest.param("Back squat,3x8\nLeg Press,100x8\n", {3: [(100.0, 8)]}, id="nobody squats three kilograms"),
    pytest.param(
        "Lateral raise,8x12\nLeg Press,100x8\n",
        {2: [(8.0, 12)], 3: [(100.0, 8)]},
        id="a small load among loads",
    ),
]


@pytest.mark.parametrize(("rows", "expected"), CASES)
def test_a_pair_is_read_where_its_surroundings_settle_it(
    rows: str, expected: dict[int, list[object]]
) -> None:
    text = "Date,Exercise,Work\n" + "".join(f"2026-03-02,{row}\n" for row in rows.splitlines())
    read = read_log(text, "anna/log.csv")
    found: dict[int, list[object]] = {}
    for one in read.sets:
        found.setdefault(one["source_row"], []).append((one["load_kg"], one["reps"]))
    assert found == expected


def test_a_column_that_says_a_set_was_not_done_keeps_it_out() -> None:
    rows = "100,5,yes\n2026-03-02,Squat,100,5,no\n2026-03-02,Squat,100,4,skipped\n2026-03-02,Squat,100,3,x\n"
    read = read_log(f"Date,Exercise,Weight,Reps,Done\n2026-03-02,Squat,{rows}", "anna/log.csv")
    assert [one["reps"] for one in read.sets] == [5, 3]
    assert [rule for rule in read.ignored.values() if rule == "not_done"] == ["not_done"] * 2


def test_words_out_of_ten_are_no_date() -> None:
    read = read_log("2 March\nSquat 5x5 @ 100kg\nlower back pain after squats, 3/10\n", "anna/notes.txt")
    (pain,) = read.cleaned.tables.pain_note.to_dicts()
    assert pain["note"] == "lower back pain after squats, 3/10"


@pytest.mark.parametrize(
    "line", ["📅 2026-03-02", "\u200b2026-03-02", "Training 02.03.2026", "Day 1 (2 March 2026)"]
)
def test_a_day_is_found_behind_what_stands_around_it(line: str) -> None:
    read = read_log(f"{line}\nSquat 5x5 @ 100kg\n", "anna/notes.txt")
    assert {one["session_date"].isoformat() for one in read.sets} == {"2026-03-02"}
