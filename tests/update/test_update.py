"""Whole updates of a small workspace: every layout, question and answer, resends, slips, refusals, as-of."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import Any

import duckdb
import pytest

from pipeline.answers import write_answer
from pipeline.update import UpdateResult, update
from pipeline.workspace import Workspace, open_workspace
from tests.update.small_roster import AS_OF, FILES, HEAD, write_roster

RECORD_TABLES = ("logged_set", "rejected_row", "duplicate_row", "waiting_row", "ignored_row", "open_question")


def fetch(workspace: Workspace, sql: str) -> list[tuple[Any, ...]]:
    """Rows of the published history."""
    with duckdb.connect(str(workspace.published_history()), read_only=True) as con:
        return con.execute(sql).fetchall()


def snapshot(workspace: Workspace) -> dict[str, list[tuple[Any, ...]]]:
    """The record tables, sorted."""
    return {table: fetch(workspace, f"from {table} order by all") for table in RECORD_TABLES}


def hashes(root: Path) -> dict[str, str]:
    """Every file below a folder by its content."""
    return {
        p.relative_to(root).as_posix(): hashlib.sha256(p.read_bytes()).hexdigest()
        for p in root.rglob("*")
        if p.is_file()
    }


@pytest.fixture(scope="module")
def place(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder that holds the workspace and something else that must stay as it is."""
    folder = tmp_path_factory.mktemp("coach")
    (folder / "diary.txt").write_text("mine")
    write_roster(folder / "roster")
    return folder


@pytest.fixture(scope="module")
def first(place: Path) -> Iterator[tuple[Workspace, UpdateResult, dict[str, str], dict[str, str]]]:
    """The workspace after one update, with every file's hash before and after it."""
    before = hashes(place)
    workspace = open_workspace(place / "roster")
    result = update(workspace, AS_OF)
    yield workspace, result, before, hashes(place)


First = tuple[Workspace, UpdateResult, dict[str, str], dict[str, str]]


def test_every_layout_gives_its_sets(first: First) -> None:
    found = dict(fetch(first[0], "select source_file, count(*) from logged_set group by all"))
    assert found == {name: n for name, (_, n) in FILES.items() if n}


def test_every_record_of_every_file_has_one_fate(first: First) -> None:
    workspace, result, _, _ = first
    rows = fetch(
        workspace,
        "select source_file, n_records, n_loaded + n_duplicate + n_rejected + n_waiting + n_ignored"
        " from file_ledger where source_area = 'inbox'",
    )
    assert {name for name, _, _ in rows} == set(FILES)
    assert all(records == fates for _, records, fates in rows)
    assert result.counts["n_records"] == sum(records for _, records, _ in rows)
    assert result.n_files == len(FILES)


def test_files_that_cannot_be_read_stand_beside_good_ones_with_their_reason(first: First) -> None:
    rows = fetch(
        first[0], "select source_file, reason_code from rejected_row where source_row is null order by all"
    )
    assert rows == [
        ("jon/broken.xlsx", "file_truncated"),
        ("jon/empty.csv", "file_empty"),
        ("jon/photo.csv", "file_misnamed"),
    ]
    assert first[1].n_refused_files == 3


def test_what_only_the_coach_can_decide_is_asked(first: First) -> None:
    rows = fetch(first[0], "select kind, client_id, n_rows_waiting from open_question order by all")
    assert rows == [
        ("client", "", 1),
        ("correction", "kim", 2),
        ("exercise", "ivy", 1),
        ("load", "gina", 1),
        ("unit", "mo", 1),
    ]


def test_a_question_is_a_sentence_with_choices_that_have_names(first: First) -> None:
    for question, choices in fetch(first[0], "select question, choices from open_question"):
        assert "?" in question
        assert all(choice["value"] and choice["label"] for choice in json.loads(choices))


def test_a_slip_is_held_with_a_suggestion_and_a_real_jump_or_a_first_file_is_not(first: First) -> None:
    (row,) = fetch(first[0], "select suggested, question from open_question where kind = 'load'")
    assert float(row[0]) == 85.0
    assert "850" in row[1]
    assert fetch(first[0], "select max(load_kg) from logged_set where client_id = 'gina'") == [(85.0,)]
    assert fetch(first[0], "select max(load_kg) from logged_set where client_id = 'nell'") == [(100.0,)]
    assert fetch(first[0], "select max(load_kg) from logged_set where client_id = 'hal'") == [(250.0,)]


def test_what_was_sent_twice_counts_once(first: First) -> None:
    rows = fetch(
        first[0],
        "select source_file, count(*), min(first_seen_file) from duplicate_row group by all order by all",
    )
    assert rows == [
        ("kim/march corrected.csv", 4, "kim/march.csv"),
        ("kim/march_b.csv", 1, "kim/march.csv"),
        ("lea/pasted.csv", 3, "lea/pasted.csv"),
    ]


def test_words_and_pain_are_kept_word_for_word(first: First) -> None:
    assert fetch(first[0], "select distinct note from logged_set where client_id = 'eva' and note <> ''") == [
        ("felt good",)
    ]
    assert fetch(first[0], "select note, is_warning_sign from pain_note") == [
        ("knee hurts a bit today", False)
    ]


def test_nothing_is_written_outside_the_workspace_and_the_coachs_files_stay_as_they_are(first: First) -> None:
    _, _, before, after = first
    assert {name: after[name] for name in before} == before
    new = {name.split("/")[1] for name in set(after) - set(before)}
    assert new <= {".setwright", "backups", "reports", "history.duckdb"}


def test_the_result_page_tells_the_coach_what_was_refused_and_reaches_for_nothing(first: First) -> None:
    page = (first[0].reports / "what came in.html").read_text(encoding="utf-8")
    assert "jon/photo.csv" in page
    assert "http" not in page
    assert "<script" not in page


def test_the_same_files_give_the_same_history_again(first: First) -> None:
    workspace = first[0]
    before = snapshot(workspace)
    again = update(workspace, AS_OF)
    assert snapshot(workspace) == before
    assert again.counts == first[1].counts


@pytest.mark.slow
def test_answers_let_the_rows_load_by_themselves_and_are_kept(first: First) -> None:
    workspace = first[0]
    answers = {
        "client": "anna",
        "correction": "newer",
        "exercise": "overhead_press",
        "load": "85",
        "unit": "lb",
    }
    for question_id, kind in fetch(workspace, "select question_id, kind from open_question"):
        write_answer(workspace, question_id, answers[kind])
    result = update(workspace, AS_OF)
    assert (result.n_questions, result.counts["n_waiting"]) == (0, 0)
    sets = fetch(
        workspace,
        "select client_id, exercise_id, round(load_kg, 2), reps from logged_set where source_file in"
        " ('ivy/unsure.csv', 'mo/no unit.csv', 'someone.csv', 'kim/march_b.csv') order by all",
    )
    assert sets == [
        ("anna", "deadlift", 120.0, 5),
        ("ivy", "back_squat", 60.0, 5),
        ("ivy", "overhead_press", 40.0, 8),
        ("kim", "bench_press", 60.0, 6),
        ("kim", "bench_press", 60.0, 8),
        ("mo", "bench_press", 61.23, 8),
    ]
    assert fetch(workspace, "select max(load_kg) from logged_set where client_id = 'gina'") == [(85.0,)]
    assert fetch(workspace, "select count(*) from logged_set where client_id = 'kim'") == [(3,)]
    rebuilt = update(workspace, AS_OF)
    assert rebuilt.n_questions == 0


@pytest.mark.slow
def test_a_corrected_resend_that_comes_later_replaces_and_never_counts_twice(first: First) -> None:
    workspace = first[0]
    path = workspace.inbox / "jon" / "good corrected.csv"
    path.write_text(
        HEAD + "2026-03-02,Bench Press,60,8\n2026-03-02,Bench Press,60,6\n2026-03-02,Squat,100,5\n"
    )
    update(workspace, AS_OF)
    rows = fetch(workspace, "select exercise_id, reps from logged_set where client_id = 'jon' order by all")
    assert rows == [("back_squat", 5), ("bench_press", 6), ("bench_press", 8)]
    path.unlink()
    update(workspace, AS_OF)
    rows = fetch(workspace, "select exercise_id, reps from logged_set where client_id = 'jon' order by all")
    assert rows == [("back_squat", 5), ("bench_press", 7), ("bench_press", 8)]
    gone = fetch(workspace, "select outcome from file_ledger where source_file = 'jon/good corrected.csv'")
    assert gone == [("gone",)]


@pytest.mark.slow
def test_an_earlier_day_of_receipt_puts_later_days_into_the_future(first: First) -> None:
    workspace = first[0]
    update(workspace, date(2026, 3, 10))
    assert fetch(workspace, "select max(session_date) <= date '2026-03-10' from logged_set") == [(True,)]
    reasons = fetch(
        workspace, "select distinct reason_code from rejected_row where source_file = 'nell/jump.csv'"
    )
    assert reasons == [("date_in_future",)]
    faults = fetch(
        workspace,
        "select count(*) from file_ledger where is_current and"
        " n_records <> n_loaded + n_duplicate + n_rejected + n_waiting + n_ignored",
    )
    assert faults == [(0,)]
    update(workspace, AS_OF)
