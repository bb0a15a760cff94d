"""Free lines as people write them: sentences, several exercises a line, markdown, facts, chats, corrections."""

from __future__ import annotations

from datetime import date

import pytest

from tests.inbox_reading import read_log

D2, D3, D4 = date(2026, 3, 2), date(2026, 3, 3), date(2026, 3, 4)
B, S, D, R = "bench_press", "back_squat", "deadlift", "barbell_row"

LINES = [
    # several exercises in a line
    ("A1 bench 80x8 / A2 barbell row 60x10", [(B, 80.0, 8), (R, 60.0, 10)]),
    ("A1) bench 80x8, 80x7 A2) barbell row 60x10", [(B, 80.0, 8), (B, 80.0, 7), (R, 60.0, 10)]),
    (
        "superset: dumbbell curl 14x10, 14x10 + triceps pushdown 25x12, 25x12",
        [("dumbbell_curl", 14.0, 10)] * 2 + [("triceps_pushdown", 25.0, 12)] * 2,
    ),
    ("Squat 100x5, pull-ups 8,8,6", [(S, 100.0, 5)] + [("pull_up", 0.0, r) for r in (8, 8, 6)]),
    ("squat 100x5 bench 80x5", [(S, 100.0, 5), (B, 80.0, 5)]),
    (
        "Squat 3x5 100kg; then bench 2x5 80kg. Deadlift 1x5 @ 140",
        [(S, 100.0, 5)] * 3 + [(B, 80.0, 5)] * 2 + [(D, 140.0, 5)],
    ),
    ("Kniebeuge 2x5 100kg und danach Bankdrücken 1x8 60kg", [(S, 100.0, 5)] * 2 + [(B, 60.0, 8)]),
    ("Dips +10kg 8,8,8; chin-ups bw 6,6,5", [("dip", 10.0, 8)] * 3 + [("chin_up", 0.0, r) for r in (6, 6, 5)]),
    (
        "Squat 100kg 5/5 + leg press 180kg 12/12/10",
        [(S, 100.0, 5)] * 2 + [("leg_press", 180.0, r) for r in (12, 12, 10)],
    ),
    ("leg press 100kg for 3 sets of 12 reps", [("leg_press", 100.0, 12)] * 3),
    ("Bench press 2x8 60kg, 2 min rest", [(B, 60.0, 8)] * 2),
    ("Bench press 60 x 8, 1 min rest, 60 x 7", [(B, 60.0, 8), (B, 60.0, 7)]),
    ("2x6 bench 80", [(B, 80.0, 6)] * 2),
    ("2x5 squat @ 100kg, 2x8 RDL @ 80kg", [(S, 100.0, 5)] * 2 + [("romanian_deadlift", 80.0, 8)] * 2),
    ("slept badly, did squats 2x5 100kg", [(S, 100.0, 5)] * 2),
    # markdown
    ("- **Back squat** 3×8 @ 80 kg", [(S, 80.0, 8)] * 3),
    ("* Pull-ups: 8, 7, 6", [("pull_up", 0.0, 8), ("pull_up", 0.0, 7), ("pull_up", 0.0, 6)]),
    ("__Bench press__: 60x8", [(B, 60.0, 8)]),
    ("*Deadlift* 140x3", [(D, 140.0, 3)]),
    ("> Squat 100x5", [(S, 100.0, 5)]),
    ("- [x] `Squat` 100x5", [(S, 100.0, 5)]),
    ("### 1. Squat 100x5", [(S, 100.0, 5)]),
    # sentences
    ("did squats today, 3 sets of 8 at 60, felt ok", [(S, 60.0, 8)] * 3),
    ("then bench press 3 sets of 10 with 35kg", [(B, 35.0, 10)] * 3),
    ("finished with leg curls, 2 sets of 12 at 25 kg", [("leg_curl", 25.0, 12)] * 2),
    ("After that I did deadlifts: 2x5 at 140 kg", [(D, 140.0, 5)] * 2),
    ("Bench press: worked up to 100 kg x 3, then 3x8 at 80 kg.", [(B, 100.0, 3)] + [(B, 80.0, 8)] * 3),
    (
        "Squat: first set 80 kg for 10 reps, second set 80 kg for 10 reps, third set 85 kg for 8 reps",
        [(S, 80.0, 10), (S, 80.0, 10), (S, 85.0, 8)],
    ),
    ("squats, three sets of 8 at 60 kg", [(S, 60.0, 8)] * 3),
    ("danach Bankdrücken 3 Sätze mit 8 Wiederholungen bei 60 kg", [(B, 60.0, 8)] * 3),
    ("Squat: erster Satz 80 kg x 10, zweiter Satz 85 kg x 8", [(S, 80.0, 10), (S, 85.0, 8)]),
    ("ensuite développé couché 3 séries de 8 avec 60 kg", [(B, 60.0, 8)] * 3),
    ("luego press de banca 3 series de 8 con 60 kg", [(B, 60.0, 8)] * 3),
    ("poi panca piana 3 serie da 8 con 60 kg", [(B, 60.0, 8)] * 3),
    ("daarna bankdrukken 3 sets van 8 met 60 kg", [(B, 60.0, 8)] * 3),
    ("depois supino 3 séries de 8 com 60 kg", [(B, 60.0, 8)] * 3),
    # figures first
    ("60kg squat 3x8", [(S, 60.0, 8)] * 3),
    ("80 kg deadlift 3x5, 60kg bench press 2x8", [(D, 80.0, 5)] * 3 + [(B, 60.0, 8)] * 2),
    ("3x8 squats at 60kg, then 3 sets of 10 bench press with 35kg", [(S, 60.0, 8)] * 3 + [(B, 35.0, 10)] * 3),
    ("three sets of 8 squats at 60kg", [(S, 60.0, 8)] * 3),
    ("20 push-ups", [("push_up", 0.0, 20)]),
    ("3x20 push-ups", [("push_up", 0.0, 20)] * 3),
    # what was left out, and what was done instead
    ("skipped squats, did bench 3x10 60kg", [(B, 60.0, 10)] * 3),
]  # fmt: skip


@pytest.mark.parametrize(("line", "expected"), LINES, ids=[line for line, _ in LINES])
def test_a_line_of_words_is_read_as_a_careful_person_reads_it(
    line: str, expected: list[tuple[str, float, int]]
) -> None:
    read = read_log(f"2 March 2026\n{line}\n", "anna/notes.txt")
    assert read.accounts.faults == ()
    assert read.values("session_date", "exercise_id", "load_kg", "reps") == [(D2, *e) for e in expected]
    assert read.reasons == read.waiting == []


@pytest.mark.parametrize(
    ("line", "reason"),
    [
        ("bench press fifty kilos eight reps three sets", "set_notation_unreadable"),
        ("Bankdrücken fünfzig Kilo, acht Wiederholungen", "set_notation_unreadable"),
        ("Squat 10, 9, 8 at 70, last set 6", "set_notation_contradiction"),
        ("Bench 80x5 (sorry, typo, 85)", "load_contradiction"),
        ("bench 80kg 5,5,5 row 60kg 10,10,10", "set_notation_unreadable"),
        ("Squat 100x5 and something like 80x5 on the other thing", "set_notation_unreadable"),
        ("worked up to a heavy single at 140 in the deadlift", "set_notation_unreadable"),
    ],
)
def test_figures_of_sets_that_cannot_be_read_are_refused_never_dropped(line: str, reason: str) -> None:
    read = read_log(f"2 March 2026\nDeadlift\n100x5\n{line}\n", "anna/notes.txt")
    assert read.reasons == [(4, reason)]
    assert read.values("source_row") == [(3,)]


@pytest.mark.parametrize(
    "line",
    [
        "slept 7 h, 2 coffees",
        "weigh-in 80.4 kg",
        "rest 90s between sets",
        "last set was a grind",
        "sleep 7/10",
    ],
)
def test_lines_that_speak_of_no_set_stay_words(line: str) -> None:
    read = read_log(f"2 March 2026\nBench press 60x8\n{line}\n", "anna/notes.txt")
    assert (read.ignored[3], read.reasons, read.waiting) == ("note", [], [])


def test_superset_labels_stay_with_their_exercises() -> None:
    read = read_log("2 March 2026\nA1 bench 80x8 / A2 barbell row 60x10\n", "anna/notes.txt")
    assert read.values("exercise_id", "superset") == [(B, "A1"), (R, "A2")]


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        (
            "2026-03-02: Squat 2x5 100kg, Bench press 1x5 80kg\n2026-03-04: Deadlift 1x5 140kg\n",
            [(1, D2, S), (1, D2, S), (1, D2, B), (2, D4, D)],
        ),
        ("Mon 2/3: Squat 100x5; Bench 80x5\nTue 3/3: Deadlift 140x5\n", [(1, D2, S), (1, D2, B), (2, D3, D)]),
        ("2 March 2026 squat 100x5\n100x4\n", [(1, D2, S), (2, D2, S)]),
        ("02.03.2026 – Kniebeuge 100x5\n04.03.2026 – Kreuzheben 140x5\n", [(1, D2, S), (2, D4, D)]),
        ("[2026-03-02 18:00] Bench press: 80x5\n", [(1, D2, B)]),
        ("# 2026-03-02\nSquat 100x5\n\n## 2026-03-04\nSquat 100x5\n", [(2, D2, S), (5, D4, S)]),
    ],
)
def test_the_day_that_opens_a_line_holds_for_it_and_below(
    text: str, expected: list[tuple[int, date, str]]
) -> None:
    read = read_log(text, "anna/notes.txt")
    assert read.values("source_row", "session_date", "exercise_id") == expected
    assert read.reasons == read.waiting == []


def test_blocks_of_one_fact_a_line_are_sets_and_the_date_carries_on() -> None:
    text = (
        "Date: 2026-03-02\nExercise: Bench Press\nWeight: 40kg\nSets: 3\nReps: 8\nRPE: 8\n\n"
        "Exercise: Back Squat\nWeight (lb): 100\nReps: 12\nNotes: slow\n"
    )
    read = read_log(text, "anna/notes.txt")
    assert read.values("source_row", "session_date", "exercise_id", "load_kg", "reps", "rpe", "note") == [
        *[(2, D2, B, 40.0, 8, 8.0, None)] * 3,
        (8, D2, S, pytest.approx(45.359237), 12, None, "slow"),
    ]
    assert set(read.ignored.values()) == {"heading", "blank"}


def test_an_exercise_named_by_its_key_heads_the_sets_below() -> None:
    read = read_log("Date: 2026-03-02\nExercise: Bench Press\n60x8\nSets: 60x7, 60x6\n", "anna/notes.txt")
    assert read.values("source_row", "exercise_id", "reps") == [(3, B, 8), (4, B, 7), (4, B, 6)]


def test_a_box_left_open_beside_ticked_ones_was_not_done() -> None:
    read = read_log("2 March 2026\n- [x] Squat 100x5\n- [ ] Bench 80x5\n", "anna/notes.txt")
    assert read.values("exercise_id") == [(S,)]
    assert read.ignored[3] == "not_done"


CHAT = (
    "13.03.2026, 08:12 - Nora: yesterday: squat 60kg 3x8, bench press 35kg 3x8\n"
    "13.03.2026, 08:13 - Nora: knee felt a bit sore after\n"
    "13.03.2026, 09:00 - Coach: ok, keep me posted\n"
)


def test_sets_of_a_message_that_speaks_of_another_day_are_refused() -> None:
    read = read_log(CHAT, "anna/chat.txt")
    assert read.sets == []
    assert read.reasons == [(1, "date_missing")]
    assert read.ignored == {2: "note", 3: "note"}


def test_a_message_was_written_on_the_day_it_tells_of_and_the_coach_writes_no_log() -> None:
    chat = (
        "2 March 2026\nSquat 100x5\n[13/03/2026, 19:41] Anna: Bench press 70kg x 8\n80x5\n"
        "[13/03/2026, 20:00] Coach: nice! next time\nBench press 75kg x 8\n"
        "[15/03/2026, 00:20] Anna: Squat 105x5\n[16/03/2026, 6:05 PM] Anna: Squat 110x5\n"
    )
    read = read_log(chat, "anna/chat.txt")
    assert read.values("source_row", "session_date") == [
        (2, date(2026, 3, 2)),
        (3, date(2026, 3, 13)),
        (4, date(2026, 3, 13)),
        (8, date(2026, 3, 16)),
    ]
    assert read.reasons == [(7, "date_missing")], "sent in the small hours: of which day?"
    assert read.ignored == {1: "heading", 5: "note", 6: "note"}


def test_several_people_in_a_chat_keep_their_sets() -> None:
    chat = "[13/03/2026, 19:41] Anna: Squat 100kg x 5\n[13/03/2026, 19:50] Ben: Squat 60kg x 5\n"
    read = read_log(chat, "group/chat.txt")
    assert read.values("client_id", "load_kg") == [("anna", 100.0), ("ben", 60.0)]


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("Week of 2 March 2026\nMonday\nSquat 100x5\nThursday\nSquat 105x5\n", {3: 2, 5: 5}),
        ("BENCH PRESS\n2 March 2026: 60x8\n9 March 2026: 62.5x8\n", {2: 2, 3: 9}),
        ("Squat 100kg x 5 (2.3.2026)\nBench press 60kg x 8 (4.3.2026)\n", {1: 2, 2: 4}),
        ("Hi coach!\nOn Monday 2 March 2026 I did:\nSquat 100x5\n", {3: 2}),
        ("Segunda-feira, 2 de março de 2026\nAgachamento 100x5\n", {2: 2}),
        (
            "Date: 2026-03-02\nExercise: Squat\nkg: 100\nReps: 5\nDate: 2026-03-04\nExercise: Squat\nkg: 90\nReps: 5\n",
            {2: 2, 6: 4},
        ),
        ("2 March 2026\nSquat 100x5\n18:30 - 19:45\n", {2: 2}),
        ("Week of 2 March 2026\nSquat 100x5\n", {}),
        ("2 March 2026\nThursday\nSquat 100x5\n", {}),
    ],
    ids=[
        "weekdays below a week",
        "days below an exercise",
        "the day in brackets behind",
        "a sentence",
        "Portuguese",
        "facts",
        "from when to when",
        "a week is no day",
        "another weekday",
    ],
)
def test_the_day_of_a_line_is_the_one_it_belongs_to_or_none(text: str, expected: dict[int, int]) -> None:
    read = read_log(text, "anna/notes.txt")
    assert {row["source_row"]: row["session_date"].day for row in read.sets} == expected


def test_a_line_that_is_a_clients_name_heads_that_clients_sets() -> None:
    read = read_log(
        "Anna Berg\n2 March 2026\nSquat 100x5\nBen Okafor\n2 March 2026\nSquat 80x5\n", "group.txt"
    )
    assert read.values("client_id", "load_kg") == [("anna", 100.0), ("ben", 80.0)]


@pytest.mark.parametrize(
    ("legend", "reps"),
    [("(weight x reps x sets)", [3, 3, 3, 3, 3]), ("load x sets x reps", [5, 5, 5]), ("", [])],
)
def test_a_legend_says_what_the_figures_mean(legend: str, reps: list[int]) -> None:
    read = read_log(f"{legend}\n2 March 2026\nSquat 100x3x5\n", "anna/notes.txt")
    assert [row["reps"] for row in read.sets] == reps


@pytest.mark.parametrize(
    ("text", "row", "day"),
    [
        (CHAT, 2, date(2026, 3, 13)),
        ("2 March\nBench press 60x8\n4 March\nknee hurts on stairs, no training\n", 4, D4),
        ("2 March\nBench press 60x8\n4 March - no training, knee hurts\n", 3, D4),
    ],
)
def test_pain_is_found_on_days_without_a_set_and_in_headings(text: str, row: int, day: date) -> None:
    read = read_log(text, "anna/notes.txt")
    (pain,) = read.cleaned.tables.pain_note.to_dicts()
    assert (pain["source_row"], pain["session_date"]) == (row, day)
    assert pain["note"] == text.splitlines()[row - 1]


CORRECTED = (
    "Tuesday 3 March 2026\nBench press 80kg 3x5\nBarbell row 80kg 3x10\n\n"
    "Thursday 5 March 2026\nSquat 110kg 3x5\nBench press 80kg 2x5\n"
)


@pytest.mark.parametrize(
    ("line", "rows"),
    [
        ("sorry, Tuesday's bench was 85 not 80", [2]),
        ("Korrektur: Bench 85 statt 80", [7]),
        ("perdón, bench 85 en lugar de 80", [7]),
    ],
)
def test_a_line_that_takes_a_load_back_is_asked_about_with_the_sets_it_names(
    line: str, rows: list[int]
) -> None:
    read = read_log(f"{CORRECTED}{line}\n", "anna/notes.txt")
    assert read.waiting == [(row, "load") for row in rows]
    assert {row for (row,) in read.values("source_row")} == {2, 3, 6, 7} - set(rows)
    assert line in read.cleaned.tables.session_note["note"].to_list()
    (question,) = read.questions
    assert line in question["raw_text"]
    assert question["suggested"] == "85"
    assert read.cleaned.tables.waiting_row["message"].to_list() == [
        f"Words beside it take the load back: “{line}”."
    ]


@pytest.mark.parametrize(
    ("answer", "load_kg"), [("85", 85.0), ("187.4 lb", pytest.approx(85.0, abs=0.01)), ("keep", 80.0)]
)
def test_the_answer_says_which_load_holds(answer: str, load_kg: float) -> None:
    text = f"{CORRECTED}sorry, Tuesday's bench was 85 not 80\n"
    (question,) = read_log(text, "anna/notes.txt").questions
    given = ("load", "anna", "anna/notes.txt", question["raw_text"], answer)
    read = read_log(text, "anna/notes.txt", answers=[given])
    assert [load for row, load in read.values("source_row", "load_kg") if row == 2] == [load_kg] * 3
    assert read.waiting == []


@pytest.mark.parametrize(
    ("line", "rows"),
    [
        ("typo: squat should be 115", [6]),
        ("correction: bench 85x5", [7]),
        ("Scusate, bench erano 6 ripetizioni non 5", [7]),
    ],
)
def test_a_line_that_takes_back_more_than_a_load_is_refused_with_the_sets_it_names(
    line: str, rows: list[int]
) -> None:
    read = read_log(f"{CORRECTED}{line}\n", "anna/notes.txt")
    assert read.reasons == [(row, "load_contradiction") for row in (*rows, 8)]
    assert {row for (row,) in read.values("source_row")} == {2, 3, 6, 7} - set(rows)
    assert line in read.cleaned.tables.session_note["note"].to_list()


@pytest.mark.parametrize(
    ("line", "note"),
    [
        ("Bench press 60x8, 2 min rest", "2 min rest"),
        ("slept badly, did bench press 60x8", "slept badly"),
        ("Bench press 60x8 rest 90s", "rest 90s"),
    ],
)
def test_words_around_the_sets_are_kept(line: str, note: str) -> None:
    read = read_log(f"2 March 2026\n{line}\n", "anna/notes.txt")
    assert read.values("exercise_id", "reps", "note") == [(B, 8, note)]


def test_pain_in_a_line_whose_exercise_is_asked_is_found() -> None:
    line = "2 March 2026\nBench press 60x8\nharbour shuffle after my back hurts a lot 60x8\n"
    read = read_log(line, "anna/notes.txt")
    assert [row["source_row"] for row in read.cleaned.tables.pain_note.to_dicts()] == [3]


@pytest.mark.parametrize(
    ("note", "waits"),
    [
        ("typo - should be 45", True),
        ("sorry, was 57.5 not 54", True),
        ("meant to do 8 more", False),
        ("felt like 60", False),
    ],
)
def test_a_note_that_takes_its_own_load_back_is_asked_about(note: str, waits: bool) -> None:
    text = f'Date,Exercise,Weight,Reps,Notes\n2026-03-02,Bench press,54,8,"{note}"\n'
    read = read_log(text, "anna/log.csv")
    assert [question["kind"] for question in read.questions] == (["load"] if waits else [])
    assert len(read.sets) == (0 if waits else 1)


def test_a_line_far_too_long_is_refused_where_it_holds_figures_and_kept_where_it_is_words() -> None:
    text = "2 March 2026\nBench press 60x8\n" + "a1 " * 3000 + "\n" + "my knee hurts " * 300 + "\n"
    read = read_log(text, "anna/notes.txt")
    assert read.reasons == [(3, "set_notation_unreadable")]
    assert read.ignored[4] == "note"
    assert len(read.cleaned.tables.pain_note) == 1


@pytest.mark.parametrize(
    ("text", "loads"),
    [
        ("2 March 2026\nSquat\nPlan: 3x5 95kg\nDid: 90kg x 5, 5\n", [90.0, 90.0]),
        ("2 March 2026\nSquat 90kg x 5\n\nOn 1 Mar 2026 Coach wrote:\n> Squat 5x5 95kg\n", [90.0]),
        ("MARCH 2026\nMon 2\nSquat 90kg x 5\nWed 4\nSquat 92.5kg x 5\n", [90.0, 92.5]),
        ("2 March 2026\nSquat\n90kg x 5\nsame x 4\n", [90.0, 90.0]),
        ("2 March 2026\nSquat = 90kg, reps 5-5-4\n", [90.0, 90.0, 90.0]),
        ("2 March 2026\nBulgarian split squat 16kg x 10/side, 18kg x 9/side\n", [16.0, 18.0]),
    ],
    ids=[
        "plan and done",
        "a quoted mail",
        "a month above its days",
        "the same again",
        "an equals sign",
        "a side",
    ],
)
def test_only_what_was_done_is_read_and_all_of_it(text: str, loads: list[float]) -> None:
    assert [row["load_kg"] for row in read_log(text, "anna/notes.txt").sets] == loads
