"""What a file leaves open is asked once, with candidates; the answer loads the rows and is kept."""

from __future__ import annotations

import json
from datetime import date

import pytest

from pipeline.answers import Answers, Question, read_answers
from pipeline.errors import WorkspaceError
from tests.inbox_reading import knowledge, read_inbox, read_log

ROW = "Date,Exercise,Weight,Reps\n2026-03-02,Bench Press,60,8\n"
# text, what is known, kind of question, choices, an answer, what it gives
ASKED = [
    pytest.param(
        ROW, {"unit": ""}, "unit", ["kg", "lb"], "lb", ("load_kg", 60 * 0.45359237), id="kilograms or pounds"
    ),
    pytest.param(
        "Date,Exercise,kg,Reps\n03/04/2026,Bench Press,60,8\n",
        {"order": ""},
        "date_order",
        ["dmy", "mdy"],
        "mdy",
        ("session_date", date(2026, 3, 4)),
        id="day or month first",
    ),
    pytest.param(
        "Date,Exercise,kg,Reps\n2026-03-02,Press,60,8\n",
        {},
        "exercise",
        None,
        "overhead_press",
        ("exercise_id", "overhead_press"),
        id="a name of several exercises",
    ),
    pytest.param(
        "Date,Exercise,kg,Reps\n2026-03-02,Harbour Shuffle,60,8\n",
        {},
        "exercise",
        None,
        "Bench Press",
        ("exercise_id", "bench_press"),
        id="a name nobody knows, answered by name",
    ),
    pytest.param(
        "Client,Date,Exercise,kg,Reps\nAnja,2026-03-02,Bench Press,60,8\n",
        {},
        "client",
        None,
        "anna",
        ("client_id", "anna"),
        id="a client nobody knows",
    ),
    pytest.param(
        "Date,Exercise,Result\n2026-03-02,Bench Press,10x8\n",
        {},
        "layout",
        ["sets_reps", "load_reps", "reps_load"],
        "load_reps",
        ("load_kg", 10.0),
        id="a notation of two readings",
    ),
    pytest.param(
        "2026-03-02,Bench Press,60,8\n2026-03-02,Squat,100,5\n2026-03-04,Bench Press,62.5,8\n",
        {},
        "layout",
        None,
        "date, exercise, load, reps",
        ("load_kg", 60.0),
        id="a table without a header",
    ),
]


@pytest.mark.parametrize(("text", "known", "kind", "choices", "answer", "gives"), ASKED)
def test_what_is_open_waits_and_loads_once_it_is_answered(
    text: str,
    known: dict[str, object],
    kind: str,
    choices: list[str] | None,
    answer: str,
    gives: tuple[str, object],
) -> None:
    name = "anna/log.csv"
    before = read_log(text, name, **known)
    assert before.sets == []
    (question,) = before.questions
    assert question["kind"] == kind
    assert question["n_rows_waiting"] == before.fates["waiting"] >= 1
    offered = [choice["value"] for choice in json.loads(question["choices"])]
    assert offered == (choices or offered)
    assert question["question"].endswith(("?", text.split(",")[-1].strip())) or "?" in question["question"]
    assert all(choice["label"] for choice in json.loads(question["choices"]))
    row = (kind, question["client_id"], "", question["raw_text"] or "", answer)
    after = read_log(text, name, answers=[row], **known)
    assert after.questions == []
    assert after.fates["loaded"] == before.fates["waiting"]
    column, value = gives
    assert after.sets[0][column] == (pytest.approx(value) if isinstance(value, float) else value)


@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("anna/log.csv", "Date,Exercise,Result\n2026-03-02,Bench,60x8\n2026-03-02,Squat,3x5\n"),
        ("anna/log.txt", "2 March\nBench 60x8\nSquat 3x5\n"),
    ],
    ids=["table", "notes"],
)
def test_three_by_five_beside_sixty_by_eight_is_asked_and_no_load_of_three(name: str, text: str) -> None:
    read = read_log(text, name)
    assert read.amounts == [(60.0, 8)]
    assert read.waiting == [(3, "layout")]


def test_ten_by_twelve_beside_sixty_by_eight_is_a_load_too() -> None:
    read = read_log("Date,Exercise,Result\n2026-03-02,Bench,60x8\n2026-03-02,Lateral raise,10x12\n")
    assert read.amounts == [(60.0, 8), (10.0, 12)]


@pytest.mark.parametrize("name", ["Press", "Row", "press", "ROW"])
def test_press_and_row_alone_are_asked_with_candidates(name: str) -> None:
    read = read_log(f"Date,Exercise,kg,Reps\n2026-03-02,{name},60,8\n")
    assert read.waiting == [(2, "exercise")]
    assert len(json.loads(read.questions[0]["choices"])) >= 2


def test_an_exercise_answered_as_none_is_ignored() -> None:
    text = "Date,Exercise,kg,Reps\n2026-03-02,Harbour Shuffle,60,8\n2026-03-02,Bench,60,8\n"
    read = read_log(text, answers=[("exercise", "", "", "Harbour Shuffle", "ignore")])
    assert read.ignored[2] == "coach_ignored"
    assert len(read.sets) == 1


def test_an_answer_for_one_client_does_not_hold_for_another() -> None:
    files = {
        "anna/log.csv": "Date,Exercise,kg,Reps\n2026-03-02,Press,60,8\n",
        "ben/log.csv": "Date,Exercise,kg,Reps\n2026-03-02,Press,60,8\n",
    }
    read = read_inbox(files, knowledge(answers=[("exercise", "anna", "", "Press", "overhead_press")]))
    assert read.values("client_id", "exercise_id") == [("anna", "overhead_press")]
    assert [question["client_id"] for question in read.questions] == ["ben"]


def test_one_question_is_asked_for_all_rows_that_wait_for_it() -> None:
    text = "Date,Exercise,kg,Reps\n" + "2026-03-02,Press,60,8\n" * 5 + "2026-03-04,press,60,8\n"
    read = read_log(text)
    assert [question["n_rows_waiting"] for question in read.questions] == [6]


def test_a_record_waits_whole_and_for_every_answer_it_needs() -> None:
    read = read_log("Date,Exercise,Weight,Reps\n2026-03-02,Press,60,8\n2026-03-02,Bench,60,8\n", unit="")
    assert sorted(read.waiting) == [(2, "exercise"), (3, "unit")]
    answered = [("exercise", "", "", "Press", "overhead_press")]
    assert sorted(
        read_log("Date,Exercise,Weight,Reps\n2026-03-02,Press,60,8\n", unit="", answers=answered).waiting
    ) == [(2, "unit")]


def test_the_id_of_a_question_stays_the_same() -> None:
    first, second = (read_log(ROW, unit="").questions[0]["question_id"] for _ in range(2))
    assert first == second == Question("unit", "anna", "anna/log.csv").question_id


@pytest.mark.parametrize(
    ("dates", "order", "expected"),
    [
        (["13/02/2026", "03/04/2026"], "", date(2026, 4, 3)),
        (["02/13/2026", "03/04/2026"], "", date(2026, 3, 4)),
        (["03/04/2026"], "dmy", date(2026, 4, 3)),
        (["03/04/2026"], "mdy", date(2026, 3, 4)),
        (["Fri 03/04/2026"], "", date(2026, 4, 3)),
        (["03/12/2025", "05/01/2026", "03/04/2026"], "", None),
        (["04/10/2026", "03/04/2026"], "", date(2026, 3, 4)),
        (["13/02/2026", "02/13/2026", "03/04/2026"], "", None),
    ],
)
def test_the_order_of_day_and_month_comes_from_the_whole_file_else_the_profile_else_it_is_asked(
    dates: list[str], order: str, expected: date | None
) -> None:
    text = "Date,Exercise,kg,Reps\n" + "".join(f"{day},Bench Press,60,8\n" for day in dates)
    read = read_log(text, order=order)
    last = {row["source_row"]: row["session_date"] for row in read.sets}.get(len(dates) + 1)
    assert last == expected
    if expected is None:
        assert (len(dates) + 1, "date_order") in read.waiting


def test_a_wrong_year_in_january_is_asked_and_loads_once_answered() -> None:
    text = "Date,Exercise,kg,Reps\n28.12.2025,Bench,60,8\n30.12.2025,Bench,60,8\n02.01.2025,Bench,60,8\n"
    read = read_log(text)
    assert read.waiting == [(4, "date")]
    assert read.questions[0]["suggested"] == "2026-01-02"
    answered = [("date", "anna", "anna/log.csv", "02.01.2025", "2026-01-02")]
    assert read_log(text, answers=answered).sets[-1]["session_date"] == date(2026, 1, 2)


def test_dates_out_of_order_are_taken_as_they_stand() -> None:
    text = "Date,Exercise,kg,Reps\n2026-03-09,Bench,60,8\n2026-03-02,Bench,60,8\n2026-03-05,Bench,60,8\n"
    assert len(read_log(text).sets) == 3


def test_a_date_after_the_day_of_receipt_is_in_the_future_and_on_it_is_not() -> None:
    text = "Date,Exercise,kg,Reps\n2026-03-02,Bench,60,8\n2026-03-03,Bench,60,8\n"
    read = read_log(text, as_of=date(2026, 3, 2))
    assert read.reasons == [(3, "date_in_future")]
    assert len(read.sets) == 1


@pytest.mark.parametrize(
    ("rows", "question", "expected"),
    [
        ([("unit", "", "", "", "kg")], Question("unit", "anna", "a.csv"), "kg"),
        ([("unit", "ben", "", "", "kg")], Question("unit", "anna", "a.csv"), None),
        (
            [("unit", "", "", "", "kg"), ("unit", "anna", "", "", "lb")],
            Question("unit", "anna", "a.csv"),
            "lb",
        ),
        (
            [("unit", "anna", "", "", "lb"), ("unit", "", "", "", "kg")],
            Question("unit", "anna", "a.csv"),
            "lb",
        ),
        ([("unit", "anna", "", "", "lb"), ("unit", "anna", "", "", "kg")], Question("unit", "anna"), "kg"),
        ([("exercise", "", "", "PRESS ", "row")], Question("exercise", "anna", "", "press"), "row"),
        ([("exercise", "", "", "press", "")], Question("exercise", "anna", "", "press"), None),
        ([("unit", "", "b.csv", "", "kg")], Question("unit", "anna", "a.csv"), None),
    ],
)
def test_the_closest_answer_holds_and_of_equals_the_latest(
    rows: list[tuple[str, ...]], question: Question, expected: str | None
) -> None:
    header = ("kind", "client_id", "source_file", "raw_text", "answer")
    assert Answers([dict(zip(header, row, strict=True)) for row in rows]).find(question) == expected


@pytest.mark.parametrize(
    "data",
    [
        b"kind,client_id,source_file,raw_text,answer\nunit,anna,,,kg\n",
        "\ufeffKind;Client_id;Source_file;Raw_text;Answer\nunit;anna;;;kg\n".encode(),
        b"answer,kind\r\nkg,unit\r\n",
    ],
    ids=["ours", "saved by a spreadsheet", "two columns"],
)
def test_an_answers_file_edited_by_hand_is_read(data: bytes, tmp_path) -> None:  # type: ignore[no-untyped-def]
    path = tmp_path / "answers.csv"
    path.write_bytes(data)
    assert read_answers(path).find(Question("unit", "anna")) == "kg"


def test_an_answers_file_without_its_columns_says_so(tmp_path) -> None:  # type: ignore[no-untyped-def]
    path = tmp_path / "answers.csv"
    path.write_text("a,b\n1,2\n")
    with pytest.raises(WorkspaceError, match="kind and answer"):
        read_answers(path)


def test_no_answers_file_is_no_answers(tmp_path) -> None:  # type: ignore[no-untyped-def]
    assert len(read_answers(tmp_path / "answers.csv")) == 0
