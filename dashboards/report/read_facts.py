"""Reads one client's month from the published history.

No hindsight: a row counts only if it was known at the end of the month (or the as-of day, if earlier).
No other client's row is ever read: every query names the client.
"""

from __future__ import annotations

from collections import defaultdict
from datetime import date, timedelta
from typing import Any

import duckdb

from dashboards.report.facts import (
    CHECK_IN_MEASURES,
    CheckInValue,
    Client,
    Excused,
    MonthFacts,
    MuscleMonth,
    PlannedDay,
    Session,
    Target,
    average,
)
from dashboards.report.month import Month
from dashboards.report.query import Rows, rows
from dashboards.report.read_strength import read_bests, read_lifts
from pipeline.contract.inputs import MUSCLES
from pipeline.errors import SetwrightError, UnknownClient

TARGETS_FRESH_DAYS = 21  # what is proposed for next time says nothing in a report about an older month


def read_facts(
    con: duckdb.DuckDBPyConnection, client_id: str, month: Month, coach_note: str = "", focus: str = ""
) -> MonthFacts:
    """All figures of the client's month, and the coach's words on it and on the next.

    SetwrightError for a client or month the history lacks.
    """
    settings = read_settings(con)
    as_of: date = settings["as_of"]
    if month.first > as_of:
        raise SetwrightError(
            f"The history reads up to {as_of}, before {month.key} began.",
            "Add the newer logs to the inbox and run setwright update.",
        )
    client = _client(con, client_id)
    until = min(month.last, as_of)
    first_log, last_log = _log_span(con, client_id, until)
    weeks = _complete_weeks(con, client_id, month, as_of, first_log)
    pain, warning = _pain(con, client_id, month, until)
    return MonthFacts(
        client=client,
        month=month,
        as_of=as_of,
        known_until=until,
        first_day_of_week=settings["first_day_of_week"] or 1,
        weeks=weeks,
        planned=_planned(con, client_id, month, until),
        sessions=_sessions(con, client_id, month, until),
        excused=_excused(con, client_id, month, until),
        deload_weeks=_deload_weeks(con, client_id, month),
        lifts=read_lifts(con, client_id, month, until),
        bests=read_bests(con, client_id, month, until),
        muscles=_muscles(con, client_id, weeks),
        check_ins=_check_ins(con, client_id, month, until),
        targets=_targets(con, client_id) if as_of <= month.last + timedelta(TARGETS_FRESH_DAYS) else (),
        state=_state(con, client_id, until),
        has_pain_note=pain,
        has_warning_sign=warning,
        n_waiting=_n_waiting(con, client_id) if as_of <= month.last + timedelta(TARGETS_FRESH_DAYS) else 0,
        last_log=last_log,
        first_log=first_log,
        hard_set_max_rir=settings["hard_set_max_rir"] if settings["hard_set_max_rir"] is not None else 4.0,
        coach_note=coach_note,
        focus=focus,
    )


def read_settings(con: duckdb.DuckDBPyConnection) -> dict[str, Any]:
    """The settings the history was made with; SetwrightError where there are none."""
    found = rows(con, "select as_of, first_day_of_week, hard_set_max_rir from setting")
    if not found:
        raise SetwrightError("The history has no settings.", "Run setwright update again.")
    return found[0]


def _client(con: duckdb.DuckDBPyConnection, client_id: str) -> Client:
    found = rows(con, "select client_id, name, unit, goal from client where client_id = ?", client_id)
    if not found:
        raise UnknownClient(
            client_id, (row["client_id"] for row in rows(con, "select client_id from client"))
        )
    row = found[0]
    return Client(row["client_id"], row["name"] or row["client_id"], row["unit"] or "kg", row["goal"] or "")


def _log_span(con: duckdb.DuckDBPyConnection, client_id: str, until: date) -> tuple[date | None, date | None]:
    found = rows(
        con,
        """
        select min(session_date) as first_log, max(session_date) as last_log
        from session_summary where client_id = ? and session_date <= ?
        """,
        client_id,
        until,
    )
    return found[0]["first_log"], found[0]["last_log"]


def _complete_weeks(
    con: duckdb.DuckDBPyConnection, client_id: str, month: Month, as_of: date, first_log: date | None
) -> tuple[date, ...]:
    """Starts of the weeks that belong to the month, are over, and are not before the first log.

    A week that was excused from end to end and saw no session is left out: it is in no average.
    """
    if first_log is None:
        return ()
    found = rows(
        con,
        """
        select week_start
        from calendar
        where week_end between ? and ?
        group by week_start
        having
          week_start in (select week_start from session_summary where client_id = ?)
          or not bool_and(exists (
            select 1 from excused_span
            where client_id = ? and calendar.day between excused_span.date_from and excused_span.date_to
          ))
        order by week_start
        """,
        max(month.first, first_log),
        as_of,
        client_id,
        client_id,
    )
    return tuple(row["week_start"] for row in found if month.owns_week(row["week_start"]))


def _planned(
    con: duckdb.DuckDBPyConnection, client_id: str, month: Month, until: date
) -> tuple[PlannedDay, ...]:
    """Planned sessions of the month: by the day done, else the day planned, else the week's month."""
    found = rows(
        con,
        """
        select day, phase, outcome, coalesce(session_date, planned_date) as on_date, week_start
        from planned_session
        where client_id = ? and week_start between ? and ?
        order by week_start, on_date, day
        """,
        client_id,
        month.first - timedelta(6),
        until,
    )
    return tuple(
        PlannedDay(
            row["day"], row["phase"] or "", row["outcome"] or "open", row["on_date"], row["week_start"]
        )
        for row in found
        if (month.first <= row["on_date"] <= until if row["on_date"] else month.owns_week(row["week_start"]))
    )


def _sessions(
    con: duckdb.DuckDBPyConnection, client_id: str, month: Month, until: date
) -> tuple[Session, ...]:
    found = rows(
        con,
        """
        select session_date, planned_day, n_exercises, n_sets, n_hard_sets, n_unknown_effort_sets, volume_kg
        from session_summary
        where client_id = ? and session_date between ? and ?
        order by session_date
        """,
        client_id,
        month.first,
        until,
    )
    return tuple(
        Session(
            row["session_date"],
            row["planned_day"] or "",
            row["n_exercises"] or 0,
            row["n_sets"] or 0,
            row["n_hard_sets"] or 0,
            row["n_unknown_effort_sets"] or 0,
            row["volume_kg"] or 0.0,
        )
        for row in found
    )


def _excused(
    con: duckdb.DuckDBPyConnection, client_id: str, month: Month, until: date
) -> tuple[Excused, ...]:
    found = rows(
        con,
        """
        select greatest(date_from, ?::date) as first_day, least(date_to, ?::date) as last_day, kind
        from excused_span
        where client_id = ? and date_from <= ? and date_to >= ?
        order by date_from
        """,
        month.first,
        until,
        client_id,
        until,
        month.first,
    )
    return tuple(Excused(row["first_day"], row["last_day"], row["kind"] or "other") for row in found)


def _deload_weeks(con: duckdb.DuckDBPyConnection, client_id: str, month: Month) -> tuple[date, ...]:
    found = rows(
        con,
        "select week_start from adherence_week where client_id = ? and phase = 'deload' order by week_start",
        client_id,
    )
    return tuple(row["week_start"] for row in found if month.owns_week(row["week_start"]))


def _muscles(
    con: duckdb.DuckDBPyConnection, client_id: str, weeks: tuple[date, ...]
) -> tuple[MuscleMonth, ...]:
    """Averages a week. A week without a row for the muscle is a week without sets of it."""
    if not weeks:
        return ()
    found = rows(
        con,
        """
        select
          muscle, week_start, fractional_hard_sets, unknown_effort_sets, planned_sets, target_low, target_high
        from muscle_week
        where client_id = ? and week_start between ? and ?
        order by muscle, week_start
        """,
        client_id,
        weeks[0],
        weeks[-1],
    )
    by_muscle: dict[str, Rows] = defaultdict(list)
    for row in found:
        by_muscle[row["muscle"]].append(row)
    muscles = []
    for muscle, of_muscle in by_muscle.items():
        last = of_muscle[-1]
        muscles.append(
            MuscleMonth(
                muscle=muscle,
                hard_sets=sum(row["fractional_hard_sets"] or 0.0 for row in of_muscle) / len(weeks),
                unknown_effort_sets=sum(row["unknown_effort_sets"] or 0.0 for row in of_muscle) / len(weeks),
                planned_sets=average(
                    [row["planned_sets"] for row in of_muscle if row["planned_sets"] is not None]
                ),
                target_low=last["target_low"],
                target_high=last["target_high"],
            )
        )
    shown = [m for m in muscles if m.hard_sets or m.unknown_effort_sets or m.planned_sets]
    order = {muscle: place for place, muscle in enumerate(MUSCLES)}
    return tuple(sorted(shown, key=lambda m: (order.get(m.muscle, len(order)), m.muscle)))


def _check_ins(
    con: duckdb.DuckDBPyConnection, client_id: str, month: Month, until: date
) -> tuple[CheckInValue, ...]:
    before = month.before()
    found = rows(
        con,
        f"select check_in_date, {', '.join(CHECK_IN_MEASURES)} from check_in "  # noqa: S608 - our own names
        "where client_id = ? and check_in_date between ? and ? order by check_in_date",
        client_id,
        before.first,
        until,
    )
    values = []
    for measure in CHECK_IN_MEASURES:
        now = [
            row[measure] for row in found if row["check_in_date"] >= month.first and row[measure] is not None
        ]
        earlier = [
            row[measure] for row in found if row["check_in_date"] < month.first and row[measure] is not None
        ]
        mean = average(now)
        if mean is not None:
            values.append(CheckInValue(measure, mean, average(earlier), len(now)))
    return tuple(values)


def _targets(con: duckdb.DuckDBPyConnection, client_id: str) -> tuple[Target, ...]:
    found = rows(
        con,
        """
        select
          exercise_name, exercise_id, day, slot, planned_date, sets, target_load_kg, target_rep_low,
          target_rep_high, target_rir,
          -- one dumbbell, however many hands hold it, is the whole load
          case when load_basis = 'per_hand' and implements = 1 then 'total' else load_basis end as load_basis
        from next_target
        where client_id = ? and target_load_kg is not null and target_rep_low is not null
        order by slot, day, exercise_name
        """,
        client_id,
    )
    return tuple(
        Target(
            row["exercise_name"] or row["exercise_id"],
            row["day"] or "",
            row["sets"],
            row["target_load_kg"],
            row["target_rep_low"],
            row["target_rep_high"],
            row["target_rir"],
            row["load_basis"] or "",
            row["slot"] or 0,
            row["planned_date"],
        )
        for row in found
    )


def _state(con: duckdb.DuckDBPyConnection, client_id: str, until: date) -> str:
    found = rows(
        con,
        """
        select state from client_week where client_id = ? and week_start <= ?
        order by week_start desc limit 1
        """,
        client_id,
        until - timedelta(6),
    )
    return found[0]["state"] if found else ""


def _pain(con: duckdb.DuckDBPyConnection, client_id: str, month: Month, until: date) -> tuple[bool, bool]:
    found = rows(
        con,
        """
        select count(*) as n, coalesce(bool_or(is_warning_sign), false) as warning
        from pain_note where client_id = ? and session_date between ? and ?
        """,
        client_id,
        month.first,
        until,
    )
    return found[0]["n"] > 0, bool(found[0]["warning"])


def _n_waiting(con: duckdb.DuckDBPyConnection, client_id: str) -> int:
    found = rows(con, "select n_waiting from roster_review where client_id = ?", client_id)
    return (found[0]["n_waiting"] or 0) if found else 0
