"""Records with more cells than the header: never read as if nothing had happened."""

from __future__ import annotations

import pytest

from tests.inbox_reading import read_log

HEADER = "Date,Exercise,Reps,Weight (kg),RIR,Notes\n"
FINE = "2026-03-02,Back Squat,8,90,2,\n"


@pytest.mark.parametrize(
    "row",
    [
        "2026-03-02,Back Squat,8,92,5,2,\n",
        "2026-03-02,Back Squat,8,92,5,2,felt good\n",
        "2026-03-02,Back Squat,8,92,5,2\n",
    ],
)
def test_a_comma_that_moved_the_cells_is_refused(row: str) -> None:
    read = read_log(HEADER + FINE + row, "anna/log.csv")
    assert read.reasons == [(3, "row_ragged")]
    assert len(read.sets) == 1


def test_where_every_record_has_moved_none_is_read() -> None:
    read = read_log(
        "Date,Exercise,Reps,Weight,RIR\n" + "2026-03-02,Back Squat,8,92,5,2\n" * 3, "anna/log.csv"
    )
    assert [code for _, code in read.reasons] == ["row_ragged"] * 3
    assert read.sets == []


def test_words_behind_a_note_belong_to_it() -> None:
    read = read_log(HEADER + "2026-03-02,Back Squat,8,90,2,felt good, but tired\n", "anna/log.csv")
    (found,) = read.sets
    assert found["note"] == "felt good, but tired"


def test_a_separator_at_the_end_of_every_record_is_no_cell() -> None:
    read = read_log("Date,Exercise,Reps,Weight (kg)\n" + "2026-03-02,Back Squat,8,90,\n" * 2, "anna/log.csv")
    assert len(read.sets) == 2
