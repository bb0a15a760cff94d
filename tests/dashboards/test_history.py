"""The questions pages ask of a history: right rows, no hindsight, one connection a file."""

from __future__ import annotations

import datetime as dt
import os
import threading
from pathlib import Path

import duckdb
import pytest

from dashboards.athlete_history import AthleteHistory
from dashboards.history import History, open_history, read_order, read_roster, read_weeks
from dashboards.plan_history import read_planned_muscles, read_versions
from pipeline.errors import WorkspaceError


@pytest.fixture
def history(kept_workspace: Path) -> History:
    return open_history((kept_workspace / "history.duckdb").resolve())


def test_past_and_present_rosters_have_the_same_columns_and_people(history: History) -> None:
    weeks = read_weeks(history)
    now, then = read_roster(history, weeks[0]), read_roster(history, weeks[5])
    assert now.columns == then.columns
    assert set(now["client_id"]) == set(then["client_id"])


def test_a_past_roster_puts_those_who_need_a_look_first(history: History) -> None:
    then = read_roster(history, read_weeks(history)[4])
    looks = then["needs_a_look"].to_list()
    assert any(looks)
    assert looks == sorted(looks, reverse=True)


def test_a_past_roster_uses_no_row_of_a_later_day(history: History) -> None:
    week = read_weeks(history)[6]
    then = read_roster(history, week)
    assert then["last_log_date"].max() <= week + dt.timedelta(days=6)
    assert max(point["week"] for line in then["line"].to_list() for point in line) <= week


@pytest.mark.parametrize(
    ("question", "column"),
    [("states", "week_start"), ("strength_line", "week_start"), ("bests", "best_date"),
     ("muscle_weeks", "week_start"), ("planned_sessions", "week_start"), ("sessions", "session_date"),
     ("check_ins", "check_in_date"), ("pain_notes", "session_date"), ("plan_changes", "change_date"),
     ("spans", "date_to"), ("adherence", "week_start")],
)  # fmt: skip
def test_an_athlete_question_asked_of_a_past_week_reads_nothing_later(
    history: History, question: str, column: str
) -> None:
    week = read_weeks(history)[6]
    rows = getattr(AthleteHistory(history, "c001", week), question)()
    later = rows.filter(rows[column] > week + dt.timedelta(days=6))
    assert later.is_empty()


def test_no_athlete_question_returns_another_client(history: History) -> None:
    athlete = AthleteHistory(history, "nobody", read_weeks(history)[0])
    for question in (
        "states", "lifts", "strength_line", "bests", "sessions", "check_ins", "pain_notes", "spans",
        "muscle_weeks", "planned_sessions", "planned_exercises", "next_targets",
    ):  # fmt: skip
        assert getattr(athlete, question)().is_empty(), question


def test_going_on_with_a_plan_after_its_deload_is_no_change(tmp_path: Path) -> None:
    path = tmp_path / "h.duckdb"
    with duckdb.connect(str(path)) as con:
        con.execute(
            "create table plan_slot (client_id varchar, valid_from date, plan varchar, phase varchar)"
        )
        con.execute(
            "insert into plan_slot values ('a', '2025-01-06', 'A', 'build'), "
            "('a', '2025-02-10', 'A', 'deload'), "
            "('a', '2025-02-17', 'A', 'build'), ('a', '2025-03-24', 'B', 'build')"
        )
    changes = AthleteHistory(open_history(path), "a", dt.date(2025, 4, 7)).plan_changes()
    assert changes["label"].to_list() == ["A", "B"]


def test_the_order_of_the_menu_is_the_order_of_the_roster(history: History) -> None:
    week = read_weeks(history)[3]
    assert (
        read_order(history, week)["client_id"].to_list() == read_roster(history, week)["client_id"].to_list()
    )


def test_planned_sets_count_one_direct_and_half_indirect(history: History) -> None:
    version = read_versions(history, "c001")["valid_from"][0]
    planned = {
        row["muscle"]: row["fractional_hard_sets"]
        for row in read_planned_muscles(history, "c001", version).to_dicts()
    }
    # 4 sets of bench press and 3 of overhead press: triceps indirect in both
    assert planned["chest"] == 4
    assert planned["triceps"] == 3.5


def test_a_file_is_opened_once(history: History) -> None:
    assert open_history(history.path) is history


def test_a_session_done_after_the_week_counts_only_where_its_day_was_known(workspace: Path) -> None:
    path = (workspace / "history.duckdb").resolve()
    with duckdb.connect(str(path)) as con:
        con.execute(
            "update planned_session set outcome = 'moved', session_date = week_start + 7; "
            "update planned_exercise set done_sets = 3, session_date = week_start + 7"
        )
    history = open_history(path)
    week = read_weeks(history)[3]
    known = {
        until: AthleteHistory(history, "c001", week, known=until).planned_exercises()
        for until in (None, week + dt.timedelta(days=6), week + dt.timedelta(days=7))
    }
    for until in (None, week + dt.timedelta(days=6)):
        assert set(known[until]["outcome"]) == {"missed"}
        assert known[until]["done_sets"].null_count() == known[until].height
    assert set(known[week + dt.timedelta(days=7)]["outcome"]) == {"moved"}


def test_an_answer_is_kept_and_two_questions_are_not_taken_for_one(history: History) -> None:
    history.forget_answers()
    first = history.ask("select client_id from client where client_id = $client", client="c001")
    assert history.ask("select client_id from client where client_id = $client", client="c001") is first
    other = history.ask("select client_id from client where client_id = $client", client="c002")
    assert other["client_id"].to_list() == ["c002"]


def test_many_threads_can_ask_at_once(history: History) -> None:
    week = read_weeks(history)[0]
    heights: list[int] = []

    def ask() -> None:
        history.forget_answers()
        heights.append(read_roster(history, week).height)

    threads = [threading.Thread(target=ask) for _ in range(12)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert heights == [9] * 12


def test_a_history_of_another_version_is_said_to_be_so(tmp_path: Path) -> None:
    path = tmp_path / "old.duckdb"
    with duckdb.connect(str(path)) as con:
        con.execute("create table client_week (client_id varchar)")
    with pytest.raises(WorkspaceError, match="another version"):
        read_weeks(open_history(path))


def test_a_damaged_history_is_said_to_be_so(tmp_path: Path) -> None:
    path = tmp_path / "broken.duckdb"
    path.write_bytes(os.urandom(5000))
    with pytest.raises(WorkspaceError, match="cannot be read"):
        open_history(path)
