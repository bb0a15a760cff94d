"""What was sent twice counts once: the same file, a pasted session, a corrected resend."""

from __future__ import annotations

import pytest

from tests.inbox_reading import knowledge, read_inbox, read_log

HEAD = "Date,Exercise,kg,Reps\n"
DAY = "2026-03-02,Bench Press,60,8\n2026-03-02,Bench Press,60,7\n" + "2026-03-02,Squat,100,5\n" * 2
NEXT = "2026-03-04,Bench Press,62.5,8\n2026-03-04,Squat,102.5,5\n"


def test_the_same_file_under_another_name_is_known_already() -> None:
    read = read_inbox({"anna/march.csv": HEAD + DAY, "anna/march (1).csv": HEAD + DAY})
    assert len(read.sets) == 4
    assert {row["source_file"] for row in read.sets} == {"anna/march.csv"}
    assert [(row, file) for row, file, _ in read.duplicates] == [(n, "anna/march.csv") for n in range(1, 6)]
    assert read.accounts.faults == ()


def test_two_clients_who_send_the_same_file_both_keep_it() -> None:
    read = read_inbox({"anna/march.csv": HEAD + DAY, "ben/march.csv": HEAD + DAY})
    assert len(read.sets) == 8


def test_a_longer_file_that_repeats_an_older_one_adds_only_what_is_new() -> None:
    read = read_inbox({"anna/a.csv": HEAD + DAY, "anna/b.csv": HEAD + DAY + NEXT})
    assert read.fates["loaded"] == 6
    assert read.fates["duplicate"] == 4
    assert read.values("source_file", "source_row")[-2:] == [("anna/b.csv", 6), ("anna/b.csv", 7)]


def test_a_session_pasted_again_further_down_counts_once() -> None:
    read = read_log(HEAD + DAY + NEXT + DAY)
    assert read.fates["loaded"] == 6
    assert [row for row, _, _ in read.duplicates] == [8, 9, 10, 11]


def test_a_session_pasted_right_behind_itself_counts_once() -> None:
    read = read_log(HEAD + DAY + DAY)
    assert read.fates["loaded"] == 4
    assert [row for row, _, _ in read.duplicates] == [6, 7, 8, 9]


def test_a_numbered_set_that_stands_twice_counts_once() -> None:
    text = "Date,Exercise,Set,kg,Reps\n2026-03-02,Bench,1,60,8\n" + "2026-03-02,Bench,2,60,8\n" * 2
    assert read_log(text).fates == {
        "records": 4, "loaded": 2, "duplicate": 1, "rejected": 0, "waiting": 0, "ignored": 1,
    }  # fmt: skip


def test_a_numbered_set_pasted_further_down_counts_once() -> None:
    head = "Date,Exercise,Set,kg,Reps\n"
    row = "2026-03-02,Bench,2,60,8\n"
    read = read_log(head + "2026-03-02,Bench,1,60,8\n" + row + "2026-03-04,Squat,1,100,5\n" + row)
    assert [number for number, _, _ in read.duplicates] == [5]


def test_equal_sets_of_one_session_are_all_counted() -> None:
    assert len(read_log(HEAD + "2026-03-02,Bench Press,60,8\n" * 6).sets) == 6


def test_notes_do_not_make_a_session_another_one() -> None:
    first = "Date,Exercise,kg,Reps,Note\n2026-03-02,Bench Press,60,8,\n2026-03-02,Squat,100,5,\n"
    second = "Date,Exercise,kg,Reps,Note\n2026-03-02,Bench Press,60,8,easy\n2026-03-02,Squat,100,5,\n"
    read = read_inbox({"anna/a.csv": first, "anna/b.csv": second})
    assert (read.fates["loaded"], read.fates["duplicate"]) == (2, 2)


def test_the_same_session_in_pounds_is_the_same_session() -> None:
    read = read_inbox(
        {
            "anna/a.csv": HEAD + "2026-03-02,Bench Press,61.23,8\n2026-03-02,Squat,102.06,5\n",
            "anna/b.csv": "Date,Exercise,lb,Reps\n2026-03-02,Bench Press,135,8\n2026-03-02,Squat,225,5\n",
        }
    )
    assert (read.fates["loaded"], read.fates["duplicate"]) == (2, 2)


OTHER = DAY.replace("60,7", "60,6")


@pytest.mark.parametrize(
    "name", ["b_corrected.csv", "b korrigiert.csv", "b corrigé.csv", "b_v2.csv", "b fixed.csv"]
)
def test_a_resend_whose_name_says_that_it_corrects_replaces_the_older_one(name: str) -> None:
    read = read_inbox({"anna/b.csv": HEAD + DAY, f"anna/{name}": HEAD + OTHER})
    assert sorted(reps for (reps,) in read.values("reps")) == [5, 5, 6, 8]
    assert read.fates["waiting"] == 0
    assert read.accounts.faults == ()


@pytest.mark.parametrize(
    ("answer", "reps", "duplicates"),
    [
        (None, [5, 5, 7, 8], 2),
        ("newer", [5, 5, 6, 8], 4),
        ("older", [5, 5, 7, 8], 4),
        ("both", [5, 5, 6, 7, 8, 8], 2),
    ],
)
def test_another_resend_with_other_figures_is_asked_about_and_never_counted_twice(
    answer: str | None, reps: list[int], duplicates: int
) -> None:
    answers = [("correction", "anna", "anna/b.csv", "2026-03-02", answer)] if answer else []
    read = read_inbox({"anna/a.csv": HEAD + DAY, "anna/b.csv": HEAD + OTHER}, knowledge(answers=answers))
    assert sorted(r for (r,) in read.values("reps")) == reps
    assert read.fates["duplicate"] == duplicates
    assert [question["kind"] for question in read.questions] == ([] if answer else ["correction"])
    assert read.accounts.faults == ()


def test_two_exercises_of_one_day_in_two_files_are_no_conflict() -> None:
    read = read_inbox(
        {
            "anna/a.csv": HEAD + "2026-03-02,Bench Press,60,8\n",
            "anna/b.csv": HEAD + "2026-03-02,Squat,100,5\n",
        }
    )
    assert read.fates["loaded"] == 2
    assert read.questions == []
