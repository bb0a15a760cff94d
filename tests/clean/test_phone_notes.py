"""Notes from a phone: small files of free lines and the sets a careful person reads in them."""

from __future__ import annotations

from datetime import date

import pytest

from tests.inbox_reading import read_log

D2, D4 = date(2026, 3, 2), date(2026, 3, 4)
B, S = "bench_press", "back_squat"
NOTES = [
    pytest.param(
        "2 March\nBench press 60x8, 60x8, 60x7\nSquat 3x5 @ 100\n",
        [(2, D2, B, 60.0, 8), (2, D2, B, 60.0, 8), (2, D2, B, 60.0, 7)] + [(3, D2, S, 100.0, 5)] * 3,
        id="exercise and sets in a line",
    ),
    pytest.param(
        "Mon 2 March 2026\n\nBench press\n60kg x 8\n60kg x 7\n\nSquat:\n100x5\n100x5\n",
        [(4, D2, B, 60.0, 8), (5, D2, B, 60.0, 7), (8, D2, S, 100.0, 5), (9, D2, S, 100.0, 5)],
        id="sets below their exercise",
    ),
    pytest.param(
        "2026-03-02\n- Bench: 60x8\n- Squat: 100x5\n2026-03-04\n- Bench: 62.5x8\n",
        [(2, D2, B, 60.0, 8), (3, D2, S, 100.0, 5), (5, D4, B, 62.5, 8)],
        id="bullets and two days",
    ),
    pytest.param(
        "## 02.03.2026 - Push\n1. Bankdrücken 62,5 kg x 8\n2. Kniebeuge 100 kg x 5\n",
        [(2, D2, B, 62.5, 8), (3, D2, S, 100.0, 5)],
        id="German, numbered, a title with the day",
    ),
    pytest.param(
        "2 March\nBench press\nSet 1: 60x8\nSet 2: 60x7\n",
        [(3, D2, B, 60.0, 8), (4, D2, B, 60.0, 7)],
        id="sets labelled",
    ),
    pytest.param(
        "2 March\nBench press: 5,5,5 @ 60\n",
        [(2, D2, B, 60.0, 5)] * 3,
        id="repetitions at a load",
    ),
]


@pytest.mark.parametrize("reps", ["12/11/11", "12/11", "10/9/8/8"])
def test_repetitions_behind_an_exercise_are_no_date(reps: str) -> None:
    read = read_log(f"2 March\nPush-ups {reps}\n", "anna/notes.txt")
    assert read.amounts == [(0.0, int(r)) for r in reps.split("/")]


@pytest.mark.parametrize(("text", "expected"), NOTES)
def test_the_sets_of_phone_notes_are_read_and_nothing_else(
    text: str, expected: list[tuple[int, date, str, float, int]]
) -> None:
    read = read_log(text, "anna/notes.txt")
    assert read.accounts.faults == ()
    assert read.values("source_row", "session_date", "exercise_id", "load_kg", "reps") == expected


@pytest.mark.parametrize(
    ("line", "note"),
    [
        ("Bench press 60x8 felt easy", "felt easy"),
        ("Bench press 60x8, 60x8 - slow off the chest", "slow off the chest"),
        ("Bench press 60x8 (shoulder a bit stiff)", "shoulder a bit stiff"),
        ("Bench press 60x8 💪", "💪"),
        ("Bench press 60x8 Easy!", "Easy!"),
        ("Bench press 60x8 tempo 3-1-1", "tempo 3-1-1"),
        ("Bench press 60kg 8 reps easy, 65kg 8 reps ok", "easy, ok"),
        ("Bench press 60kg 8 reps easy, 65kg 8 reps then home", "easy, then home"),
    ],
)
def test_a_remark_behind_the_sets_is_kept_word_for_word(line: str, note: str) -> None:
    read = read_log(f"2 March\n{line}\n", "anna/notes.txt")
    assert {row["note"] for row in read.sets} == {note}


@pytest.mark.parametrize(
    ("line", "rule"),
    [
        ("", "blank"),
        ("---", "blank"),
        ("3 March", "heading"),
        ("Rest day", "rest_day"),
        ("Total: 5000 kg", "total"),
        ("skipped the rest, no time", "not_done"),
        ("slept well, good coffee", "note"),
        ("all weights in kg", "heading"),
    ],
)
def test_a_line_that_holds_no_set_is_named_by_rule(line: str, rule: str) -> None:
    read = read_log(f"2 March\nBench press 60x8\n{line}\n", "anna/notes.txt")
    assert read.ignored == {1: "heading", 3: rule}
    assert len(read.sets) == 1


def test_lines_of_words_stay_with_the_session() -> None:
    read = read_log("2 March\nBench press 60x8\nknee hurts on the way down\n", "anna/notes.txt")
    (note,) = read.cleaned.tables.session_note.to_dicts()
    assert (note["client_id"], note["session_date"], note["exercise_id"], note["note"]) == (
        "anna", D2, B, "knee hurts on the way down",
    )  # fmt: skip
    (pain,) = read.cleaned.tables.pain_note.to_dicts()
    assert pain["note"] == "knee hurts on the way down"
    assert not pain["is_warning_sign"]


def test_a_line_that_looks_like_sets_and_cannot_be_read_is_refused_not_dropped() -> None:
    read = read_log("2 March\nBench press 60x8\nBench press 60kg xx 8y\n", "anna/notes.txt")
    assert read.reasons == [(3, "set_notation_unreadable")]


def test_sets_without_a_day_are_refused() -> None:
    read = read_log("Bench press 60x8\n2 March\nBench press 60x8\n", "anna/notes.txt")
    assert read.reasons == [(1, "date_missing")]
    assert len(read.sets) == 1


def test_a_unit_said_once_holds_for_the_lines_below() -> None:
    read = read_log("2 March\nall weights in lbs\nBench press 135x8\n", "anna/notes.txt", unit="")
    assert read.amounts == [(pytest.approx(135 * 0.45359237), 8)]


def test_nobody_says_the_unit_so_it_is_asked() -> None:
    read = read_log("2 March\nBench press 60x8\n", "anna/notes.txt", unit="")
    assert read.waiting == [(2, "unit")]


def test_what_two_readers_read_differently_is_asked() -> None:
    read = read_log("2 March\nBench press 10x10\n", "anna/notes.txt")
    assert read.waiting == [(2, "layout")]
