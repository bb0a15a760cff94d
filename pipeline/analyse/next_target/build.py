"""`next_target`: what the progression rule proposes for every exercise planned next week."""

from __future__ import annotations

import json
from datetime import date
from typing import Any

import duckdb
import polars as pl

from pipeline.analyse.next_target.history import (
    PlannedRow,
    judge_ranges,
    next_week,
    planned_next_week,
    read_pain,
    read_served_ranges,
    read_sessions,
    smallest_step,
)
from pipeline.analyse.next_target.lifts import LiftNow, LiftSession, Proposal, TargetSlot
from pipeline.analyse.next_target.rules import propose
from pipeline.contract import TABLES
from pipeline.contract.frames import frame_of
from pipeline.reference.progression import changed_progression

OPEN_REPS = 100
READS = (
    "plan_slot",
    "plan_day_in_force",
    "planned_exercise",
    "stg_set",
    "strength_trend",
    "pain_note",
    "client",
    "exercise",
    "setting",
    "logged_set",
    "client_week",
)


def build_next_target(con: duckdb.DuckDBPyConnection) -> pl.DataFrame:
    """`next_target` for the week after the as-of day; a client without a plan in force then has no rows."""
    row = next(iter(con.execute("select as_of, progression, e1rm_equation from setting").fetchall()), None)
    planned = planned_next_week(con) if row else []
    if row is None or not planned:
        return frame_of(TABLES["next_target"], [])
    how = changed_progression(json.loads(row[1] or "{}"))
    first_day, _ = next_week(con)
    sessions = read_sessions(con, {(one.row["client_id"], one.row["exercise_id"]) for one in planned})
    served, pain = read_served_ranges(con, sessions), read_pain(con, first_day, how.figures["pain_days"])
    fatigued = _fatigued(con)
    levels, units, facts = _levels(con, row[0]), _units(con), _facts(con)
    rows: list[dict[str, object]] = []
    for one in planned:
        client_id, exercise_id = one.row["client_id"], one.row["exercise_id"]
        history = sessions.get((client_id, exercise_id), [])
        mine = served.get((client_id, exercise_id), {})
        judged = judge_ranges(history, one.row["rep_low"], one.row["rep_high"], mine)
        level, is_system = levels.get((client_id, exercise_id), (None, False))
        now = LiftNow(
            first_day,
            units.get(client_id, "kg"),
            level,
            is_system,
            row[2],
            pain.of(client_id, exercise_id),
            smallest_step(history),
            client_id in fatigued,
        )
        slot = _slot(one.row, facts.get(exercise_id, {}))
        rows.append(_row(one, slot, judged, propose(slot, judged, now, how)))
    return frame_of(TABLES["next_target"], rows)


def _slot(row: Any, facts: dict[str, Any]) -> TargetSlot:
    # 8+ is kept as 8 to 100: every set at 8 is what a step up needs
    is_open = (row["rep_high"] or 0) >= OPEN_REPS and row["rep_low"] is not None
    return TargetSlot(
        row["exercise_name"] or row["exercise_id"],
        facts.get("implement") or "other",
        facts.get("load_basis") or "total",
        row["sets"],
        row["rep_low"],
        row["rep_low"] if is_open else row["rep_high"],
        row["target_rir"],
        row["percent_e1rm"],
        row["progression"] or "",
        row["phase"] or "build",
        bool(facts.get("is_timed")),
        facts.get("bodyweight_share") or 0.0,
        row["duration_low_s"],
        row["duration_high_s"],
        facts.get("implements") or 1,
    )


def _row(
    one: PlannedRow, slot: TargetSlot, sessions: list[LiftSession], proposal: Proposal
) -> dict[str, object]:
    last = sessions[0] if sessions else None
    return {
        "client_id": one.row["client_id"],
        "plan": one.row["plan"],
        "day": one.row["day"],
        "slot": one.row["slot"],
        "exercise_id": one.row["exercise_id"],
        "exercise_name": slot.exercise_name,
        "sets": slot.sets,
        "target_load_kg": proposal.load_kg,
        "target_rep_low": proposal.rep_low,
        "target_rep_high": proposal.rep_high,
        "target_rir": slot.target_rir,
        "last_load_kg": last.load_kg if last else None,
        "last_reps": (", ".join(str(reps) for reps in last.reps) or None) if last else None,
        "rule": proposal.rule,
        "reason": proposal.reason,
        "planned_date": one.planned_date,
        "target_duration_low_s": slot.duration_low_s,
        "target_duration_high_s": slot.duration_high_s,
        "load_basis": slot.load_basis,
        "implements": slot.implements,
        "superset": one.row["superset"],
        "rest_s": one.row["rest_s"],
        "note": one.row["note"],
    }


def _levels(con: duckdb.DuckDBPyConnection, as_of: date) -> dict[tuple[str, str], tuple[float | None, bool]]:
    """(client, exercise) → latest e1RM level in kg and whether it counts the body."""
    rows = con.execute(
        "select client_id, exercise_id, arg_max(level_kg, week_start), arg_max(e1rm_basis, week_start)"
        " from strength_trend where week_start <= ? and level_kg is not null group by client_id, exercise_id",
        [as_of],
    ).fetchall()
    return {
        (client_id, exercise_id): (level, basis == "system") for client_id, exercise_id, level, basis in rows
    }


def _fatigued(con: duckdb.DuckDBPyConnection) -> set[str]:
    """Clients whose last complete week shows a pattern consistent with accumulated fatigue."""
    rows = con.execute(
        "select client_id from client_week group by client_id"
        " having arg_max(state, week_start) = 'over_reaching'"
    ).fetchall()
    return {client_id for (client_id,) in rows}


def _units(con: duckdb.DuckDBPyConnection) -> dict[str, str]:
    """The unit each client is shown; where the roster states none, the one most of the client's sets are
    in."""
    logged = con.execute(
        "select client_id, mode(load_unit) from logged_set where load_unit is not null group by 1"
    )
    units = {client_id: unit for client_id, unit in logged.fetchall() if unit}
    stated = con.execute("select client_id, unit from client where unit is not null").fetchall()
    return units | dict(stated)


def _facts(con: duckdb.DuckDBPyConnection) -> dict[str, dict[str, Any]]:
    names = ("implement", "load_basis", "is_timed", "bodyweight_share", "implements")
    rows = con.execute(f"select exercise_id, {', '.join(names)} from exercise").fetchall()  # noqa: S608 (constants)
    return {row[0]: dict(zip(names, row[1:], strict=True)) for row in rows}
