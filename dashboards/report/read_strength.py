"""Reads how strong a client was in a month: the lifts with their trends, and the bests."""

from __future__ import annotations

from collections import defaultdict
from datetime import date, timedelta
from typing import Any

import duckdb

from dashboards.report.facts import Best, Level, Lift
from dashboards.report.month import Month
from dashboards.report.query import Rows, rows

AFTER_THE_PLAN = 1_000  # place of a lift that no plan names
LEVEL_FRESH_DAYS = 42  # an older level is not "a month before"


def read_lifts(con: duckdb.DuckDBPyConnection, client_id: str, month: Month, until: date) -> tuple[Lift, ...]:
    """Lifts with an e1RM trained this month, as the plan orders them: main lifts come first in a day [P]."""
    found = rows(
        con,
        """
        with trained as (
          select exercise_id, count(*) as n_sessions
          from exercise_session
          where client_id = ? and session_date between ? and ?
          group by exercise_id
        ),
        place as (
          select coalesce(done_exercise_id, exercise_id) as exercise_id, min(slot) as slot
          from planned_exercise
          where client_id = ? and week_start between ? and ?
          group by coalesce(done_exercise_id, exercise_id)
        )
        select
          trend.exercise_id, trend.exercise_name, trend.week_start, trend.e1rm_basis, trend.level_kg,
          trend.level_low_kg, trend.level_high_kg, trend.level_kind, trend.status,
          trend.slope_pct_per_week, trend.slope_low_pct_per_week, trend.slope_high_pct_per_week,
          trained.n_sessions, place.slot
        from strength_trend as trend
        join trained on trained.exercise_id = trend.exercise_id
        left join place on place.exercise_id = trend.exercise_id
        where trend.client_id = ? and trend.week_start between ? and ?
        order by trend.exercise_id, trend.week_start
        """,
        client_id,
        month.first,
        until,
        client_id,
        month.first - timedelta(6),
        until,
        client_id,
        month.first - timedelta(LEVEL_FRESH_DAYS),
        until - timedelta(6),
    )
    by_lift: dict[str, Rows] = defaultdict(list)
    for row in found:
        by_lift[row["exercise_id"]].append(row)
    lifts: list[tuple[int, Lift]] = []
    for exercise_id, weeks in by_lift.items():
        in_month = [row for row in weeks if row["week_start"] + timedelta(6) >= month.first]
        earlier = [row for row in weeks if row["week_start"] + timedelta(6) < month.first]
        last = (in_month or earlier)[-1]
        lift = Lift(
            exercise_id=exercise_id,
            exercise_name=last["exercise_name"] or exercise_id,
            basis=last["e1rm_basis"] or "external",
            status=last["status"] or "too_few",
            n_sessions=last["n_sessions"],
            now=_level(in_month[-1]) if in_month else None,
            before=_level(earlier[-1]) if earlier and in_month else None,
            slope_pct=last["slope_pct_per_week"],
            slope_low_pct=last["slope_low_pct_per_week"],
            slope_high_pct=last["slope_high_pct_per_week"],
        )
        lifts.append((last["slot"] or AFTER_THE_PLAN, lift))
    lifts.sort(key=lambda pair: (pair[0], -pair[1].n_sessions, pair[1].exercise_name))
    return tuple(lift for _, lift in lifts)


def _level(row: dict[str, Any]) -> Level | None:
    if row["level_kg"] is None or row["status"] == "too_few":
        return None
    kg: float = row["level_kg"]
    low, high = row["level_low_kg"], row["level_high_kg"]
    if low is None or row["level_kind"] == "lower_bound":
        high = None
    return Level(row["week_start"], kg, low if low is not None else kg, high)


def read_bests(con: duckdb.DuckDBPyConnection, client_id: str, month: Month, until: date) -> tuple[Best, ...]:
    """The month's bests, newest first; a best bettered within the month is shown once, at its last."""
    found = rows(
        con,
        """
        select
          best.best_date, best.exercise_id, best.exercise_name, best.kind, best.value, best.previous_value,
          best.previous_date, best.load_kg, best.reps,
          -- one dumbbell, however many hands hold it, is the whole load
          case when exercise.load_basis = 'per_hand' and exercise.implements = 1 then 'total'
            else exercise.load_basis end as load_basis
        from personal_best as best
        left join exercise on exercise.exercise_id = best.exercise_id
        where best.client_id = ? and best.best_date between ? and ?
        order by best.best_date, best.value
        """,
        client_id,
        month.first,
        until,
    )
    newest: dict[tuple[str, str, float | None], Best] = {}
    for row in found:
        kind = row["kind"]
        at_load = row["load_kg"] if kind == "reps_at_load" else None
        newest[row["exercise_id"], kind, at_load] = Best(
            row["best_date"],
            row["exercise_name"] or row["exercise_id"],
            kind,
            row["value"],
            row["previous_value"],
            row["previous_date"],
            row["load_kg"],
            row["reps"],
            row["load_basis"] or "",
        )
    order = ("load", "reps_at_load", "e1rm", "volume")
    return tuple(
        sorted(
            newest.values(),
            key=lambda best: (-best.on.toordinal(), best.exercise_name, order.index(best.kind), -best.value),
        )
    )
