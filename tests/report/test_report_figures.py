"""The report's figures against the database, by queries written apart from the report's own."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from pathlib import Path

import duckdb
import pytest
from made_month import AS_OF, AWAY, CLIENTS, FULL, HOSTILE, LIFTS, MONTH, NEW, POUNDS, QUIET, make_history

from dashboards.report.facts import Level, Lift, MonthFacts
from dashboards.report.month import parse_month
from dashboards.report.month_calendar import mark_days
from dashboards.report.read_facts import read_facts
from dashboards.report.roster import read_roster
from dashboards.report.strength_sections import strength_table
from dashboards.report.words import read_words
from pipeline.errors import SetwrightError

Read = Callable[..., MonthFacts]


def one(con: duckdb.DuckDBPyConnection, sql: str, *values: object) -> float:
    row = con.execute(sql, list(values)).fetchone()
    assert row is not None
    return row[0]


@pytest.mark.parametrize("client_id", [client[0] for client in CLIENTS])
def test_sessions_sets_and_volume_are_the_databases(
    con: duckdb.DuckDBPyConnection, facts_of: Read, client_id: str
) -> None:
    facts = facts_of(client_id)
    of_month = (
        "from session_summary where client_id = ? and year(session_date) = 2026 and month(session_date) = 5"
    )
    assert len(facts.sessions) == one(con, f"select count(*) {of_month}", client_id)
    assert facts.n_sets == one(con, f"select coalesce(sum(n_sets), 0) {of_month}", client_id)
    assert facts.n_hard_sets == one(con, f"select coalesce(sum(n_hard_sets), 0) {of_month}", client_id)
    assert facts.volume_kg == pytest.approx(
        one(con, f"select coalesce(sum(volume_kg), 0) {of_month}", client_id)
    )


def test_planned_sessions_are_counted_by_the_day_done_or_else_the_day_planned(facts_of: Read) -> None:
    # May 2026 holds 4 Mondays, 4 Tuesdays and 5 Fridays of the plan; one Friday of week 12 and one of
    # week 15 were missed, one Monday was done on the Wednesday
    facts = facts_of(FULL)
    assert (facts.n_done, facts.n_due) == (11, 13)
    assert facts.n_outcome("moved") == 1
    assert facts.n_outcome("missed") == 2
    assert facts.n_unplanned == 1


def test_excused_sessions_leave_the_denominator(facts_of: Read) -> None:
    facts = facts_of(AWAY)
    assert facts.n_due == 0
    assert facts.n_outcome("excused") == 13
    assert [(span.first, span.last) for span in facts.excused] == [(date(2026, 5, 1), date(2026, 5, 31))]


def test_a_session_without_a_log_is_not_called_missed(facts_of: Read) -> None:
    facts = facts_of(QUIET)
    assert facts.n_outcome("no_log") == 13
    assert facts.n_outcome("missed") == 0


def test_a_muscles_average_divides_by_weeks_and_not_by_rows(
    con: duckdb.DuckDBPyConnection, facts_of: Read
) -> None:
    facts = facts_of(FULL)
    assert facts.weeks == (date(2026, 5, 4), date(2026, 5, 11), date(2026, 5, 18), date(2026, 5, 25))
    chest = next(m for m in facts.muscles if m.muscle == "chest")
    total = one(
        con,
        "select sum(fractional_hard_sets) from muscle_week where client_id = ? and muscle = 'chest' "
        "and week_start between date '2026-05-04' and date '2026-05-25'",
        FULL,
    )
    assert chest.hard_sets == pytest.approx(total / 4)
    assert chest.planned_sets == pytest.approx(12.0)


def test_a_week_excused_from_end_to_end_is_in_no_average(
    tmp_path: Path, con: duckdb.DuckDBPyConnection
) -> None:
    path = make_history(tmp_path / "away.duckdb")
    changed = duckdb.connect(str(path))
    changed.execute(
        "insert into excused_span values (?, date '2026-05-18', date '2026-05-24', 'illness', '')", [FULL]
    )
    still_trained = read_facts(changed, FULL, parse_month(MONTH))
    for table in ("session_summary", "muscle_week"):
        changed.execute(f"delete from {table} where client_id = ? and week_start = date '2026-05-18'", [FULL])
    rested = read_facts(changed, FULL, parse_month(MONTH))
    roster = {line.client_id: line for line in read_roster(changed, parse_month(MONTH)).lines}
    changed.close()
    assert date(2026, 5, 18) in still_trained.weeks
    assert rested.weeks == (date(2026, 5, 4), date(2026, 5, 11), date(2026, 5, 25))
    chest = next(m for m in rested.muscles if m.muscle == "chest")
    weeks = "and week_start in (date '2026-05-04', date '2026-05-11', date '2026-05-25')"
    total = one(
        con,
        f"select sum(fractional_hard_sets) from muscle_week where client_id = ? and muscle = 'chest' {weeks}",
        FULL,
    )
    hard = one(con, f"select sum(n_hard_sets) from session_summary where client_id = ? {weeks}", FULL)
    assert chest.hard_sets == pytest.approx(total / 3)
    assert roster[FULL].hard_sets_per_week == pytest.approx(hard / 3)


def test_every_week_belongs_to_exactly_one_month() -> None:
    months = [parse_month(f"2026-{month:02}") for month in range(1, 13)]
    for number in range(52):
        week = date.fromordinal(date(2026, 1, 5).toordinal() + 7 * number)
        assert sum(month.owns_week(week) for month in months) == (1 if week <= date(2026, 12, 28) else 0)


def test_a_month_before_is_the_last_week_that_ended_before_the_month(facts_of: Read) -> None:
    squat = next(lift for lift in facts_of(FULL).lifts if lift.exercise_id == "back_squat")
    assert squat.now is not None and squat.before is not None
    assert squat.now.week_start == date(2026, 5, 25)
    assert squat.before.week_start == date(2026, 4, 20)
    # 120 kg rising by 0.6 % of that a week: weeks 15 and 10
    assert squat.now.kg == pytest.approx(120 * 1.09)
    assert squat.before.kg == pytest.approx(120 * 1.06)


def test_a_trend_stands_with_half_its_interval(facts_of: Read) -> None:
    squat = next(lift for lift in facts_of(FULL).lifts if lift.exercise_id == "back_squat")
    assert squat.slope_error_pct == pytest.approx(0.25)
    rows = strength_table(facts_of(FULL), read_words("en"))[0]["rows"]
    assert ["Back squat", "131", "129 to 133", "127", "+0.60 ± 0.25", "getting stronger"] in rows


def test_lifts_stand_in_the_order_of_the_plan(facts_of: Read) -> None:
    slots = {lift[0]: lift[3] for lift in LIFTS}
    placed = [slots[lift.exercise_id] for lift in facts_of(FULL).lifts]
    assert placed == sorted(placed)


def test_a_level_without_known_effort_is_a_lower_limit(tmp_path: Path) -> None:
    path = make_history(tmp_path / "limits.duckdb")
    con = duckdb.connect(str(path))
    con.execute("update strength_trend set level_kind = 'lower_bound', level_high_kg = null")
    facts = read_facts(con, FULL, parse_month(MONTH))
    con.close()
    squat = next(lift for lift in facts.lifts if lift.exercise_id == "back_squat")
    assert squat.now is not None and squat.now.is_at_least
    rows = strength_table(facts, read_words("en"))[0]["rows"]
    assert ["Back squat", "131 or more", "–", "127 or more", "+0.60 ± 0.25", "getting stronger"] in rows


@pytest.mark.parametrize(
    ("status", "now", "before", "verdict"),
    [
        ("rising", 105.0, 100.0, "rising"),
        ("rising", 99.0, 100.0, "unclear"),
        ("falling", 101.0, 100.0, "unclear"),
        ("flat", 101.0, 100.0, "flat"),
    ],
)
def test_a_trend_that_contradicts_the_month_is_too_close_to_call(
    status: str, now: float, before: float, verdict: str
) -> None:
    lift = Lift(
        "x",
        "X",
        "external",
        status,
        4,
        Level(date(2026, 5, 25), now, now - 1, now + 1),
        Level(date(2026, 4, 20), before, before - 1, before + 1),
    )
    assert lift.verdict == verdict


def test_too_few_sessions_give_no_level(facts_of: Read) -> None:
    assert {lift.now for lift in facts_of(NEW).lifts} == {None}


def test_a_best_that_was_beaten_within_the_month_is_shown_once(facts_of: Read) -> None:
    loads = [best for best in facts_of(FULL).bests if best.kind == "load"]
    assert [(best.on, best.value) for best in loads] == [(date(2026, 5, 25), 110.0)]


def test_no_load_is_proposed_where_the_pipeline_proposes_none(facts_of: Read) -> None:
    assert {target.exercise_name for target in facts_of(FULL).targets} == {
        "Back squat",
        "Romanian deadlift",
        "Bench press",
    }


def test_a_report_on_an_older_month_proposes_nothing_for_next_time(facts_of: Read) -> None:
    assert facts_of(FULL, "2026-04").targets == ()


def test_an_old_month_reads_the_same_later_as_it_did_then(tmp_path: Path, facts_of: Read) -> None:
    known_then = date(2026, 5, 3)
    path = make_history(tmp_path / "then.duckdb")
    con = duckdb.connect(str(path))
    for table, column in (
        ("session_summary", "session_date"),
        ("exercise_session", "session_date"),
        ("personal_best", "best_date"),
        ("check_in", "check_in_date"),
        ("pain_note", "session_date"),
        ("strength_trend", "week_start"),
        ("muscle_week", "week_start"),
        ("adherence_week", "week_start"),
        ("planned_session", "week_start"),
        ("client_week", "week_start"),
        ("calendar", "day"),
    ):
        con.execute(f"delete from {table} where {column} > ?", [known_then])
    con.execute("update setting set as_of = ?", [known_then])
    then = read_facts(con, FULL, parse_month("2026-04"))
    con.close()
    later = facts_of(FULL, "2026-04")
    for name in (
        "sessions",
        "planned",
        "lifts",
        "bests",
        "muscles",
        "check_ins",
        "weeks",
        "state",
        "last_log",
    ):
        assert getattr(later, name) == getattr(then, name), name


def test_every_session_and_every_dated_plan_has_its_mark_in_the_calendar(facts_of: Read) -> None:
    words = read_words("en")
    for client_id, _, _ in CLIENTS:
        facts = facts_of(client_id)
        marks = mark_days(facts, words)
        for session in facts.sessions:
            assert any(mark in ("done", "moved", "unplanned", "trained") for mark, _ in marks[session.on])
        for planned in facts.planned:
            assert (planned.outcome, planned.day) in marks[planned.on]


@pytest.mark.parametrize("text", ["2026-13", "2026-00", "26-05", "May 2026", "", "2026-5", "2026-05-01"])
def test_what_is_no_month_is_refused(text: str) -> None:
    with pytest.raises(SetwrightError, match="not a month"):
        parse_month(text)


def test_a_month_after_the_history_is_refused(facts_of: Read) -> None:
    with pytest.raises(SetwrightError, match=str(AS_OF)):
        facts_of(FULL, "2026-06")


def test_an_unknown_client_is_refused_with_near_names(facts_of: Read) -> None:
    with pytest.raises(SetwrightError, match="anna"):
        facts_of("ana")


def test_only_the_asked_clients_rows_are_read(facts_of: Read) -> None:
    assert facts_of(HOSTILE).bests == ()
    assert facts_of(POUNDS).has_warning_sign
    assert not facts_of(FULL).has_warning_sign
