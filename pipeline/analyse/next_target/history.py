"""What the next targets rest on: next week's planned exercises, each client's last sessions, notes of
pain."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from itertools import pairwise
from statistics import median
from typing import Any

import duckdb

from pipeline.analyse.next_target.lifts import LiftSession, PainNote

MOST_SESSIONS = 12
_SAME_KG = 0.25
_IN_RANGE_SLACK = 2


@dataclass(frozen=True)
class PlannedRow:
    """One planned exercise of next week as its `plan_slot` row, and its date (None: any day)."""

    row: Mapping[str, Any]
    planned_date: date | None


def next_week(con: duckdb.DuckDBPyConnection) -> tuple[date, date]:
    """First and last day of the first week that begins after the as-of day."""
    row = con.execute("select max(as_of), max(coalesce(first_day_of_week, 1)) from setting").fetchone()
    if row is None or row[0] is None:
        raise ValueError("setting holds no as-of day")
    as_of, first_weekday = row
    start = as_of + timedelta(days=1)
    start += timedelta(days=(first_weekday - start.isoweekday()) % 7)
    return start, start + timedelta(days=6)


def version_on(day: date, versions: Sequence[tuple[date, date | None, str]]) -> date | None:
    """First day of the version (start, end, phase) in force on `day`, as plan_day_in_force has it: the one
    begun last; one without an end holds until the next begins, and one laid over a longer one with an end, or
    a deload, taper or break with an end, gives way again afterwards."""
    lasting = [
        start
        for start, end, phase in versions
        if end is None or not ("deload" in phase or "taper" in phase or phase == "break")
    ]
    holding = [
        start
        for start, end, _ in versions
        if start <= day
        and (end >= day if end is not None else not any(start < other <= day for other in lasting))
    ]
    return max(holding, default=None)


def planned_next_week(con: duckdb.DuckDBPyConnection) -> list[PlannedRow]:
    """The exercises planned for next week, by client, date and slot; breaks plan none."""
    first, last = next_week(con)
    reader = con.execute(
        "select * from plan_slot where valid_from <= ? order by client_id, valid_from, day, slot, source_row",
        [last],
    )
    columns = [column[0] for column in reader.description]
    by_client: dict[str, list[dict[str, Any]]] = {}
    for values in reader.fetchall():
        row = dict(zip(columns, values, strict=True))
        by_client.setdefault(row["client_id"], []).append(row)
    days = [first + timedelta(days=n) for n in range(7)]
    return [one for rows in by_client.values() for one in _of_client(rows, days)]


def _of_client(rows: list[dict[str, Any]], days: list[date]) -> list[PlannedRow]:
    ends: dict[date, date | None] = {}
    phases: dict[date, str] = {}
    for row in rows:
        known = ends.get(row["valid_from"])
        ends[row["valid_from"]] = max((end for end in (known, row["valid_to"]) if end), default=None)
        phases.setdefault(row["valid_from"], row["phase"] or "")
    versions = [(start, end, phases[start]) for start, end in ends.items()]
    in_force = {day: version_on(day, versions) for day in days}
    most = Counter(version for version in in_force.values() if version)
    planned: list[PlannedRow] = []
    for row in rows:
        if not row["exercise_id"] or row["phase"] == "break" or (row["sets"] or 0) < 1:
            continue
        if row["weekday"] is None:
            if most.get(row["valid_from"], 0) >= 4:
                planned.append(PlannedRow(row, None))
            continue
        planned.extend(
            PlannedRow(row, day)
            for day in days
            if day.isoweekday() == row["weekday"] and in_force[day] == row["valid_from"]
        )
    return sorted(
        planned, key=lambda one: (one.planned_date or date.max, one.row["day"], one.row["slot"] or 0)
    )


@dataclass(frozen=True)
class _Set:
    set_index: int
    load_kg: float | None
    system_kg: float | None
    reps: int | None
    rir: float | None
    duration_s: float | None
    is_missed: bool
    is_system: bool


def read_sessions(
    con: duckdb.DuckDBPyConnection, wanted: set[tuple[str, str]]
) -> dict[tuple[str, str], list[LiftSession]]:
    """The last sessions of each wanted (client, exercise), newest first, their ranges not judged yet."""
    found: dict[tuple[str, str], dict[date, list[_Set]]] = {}
    lifts = list(wanted)
    rows = con.execute(
        "select client_id, exercise_id, session_date, set_index, load_kg, system_kg, reps, rir, duration_s,"  # noqa: S608
        " coalesce(is_missed_attempt, false), coalesce(e1rm_basis = 'system', false)"
        " from stg_set semi join (select unnest(?::varchar[]) as client_id, unnest(?::varchar[]) as exercise_id)"
        " as lift on stg_set.client_id = lift.client_id and stg_set.exercise_id = lift.exercise_id"
        " where (is_working or is_missed_attempt) and drop_index = 1"
        " qualify dense_rank() over (partition by client_id, exercise_id order by session_date desc)"
        f" <= {MOST_SESSIONS}"
        " order by client_id, exercise_id, session_date desc, set_index, source_row, part_index",
        [[client_id for client_id, _ in lifts], [exercise_id for _, exercise_id in lifts]],
    ).fetchall()
    for client_id, exercise_id, day, *values in rows:
        found.setdefault((client_id, exercise_id), {}).setdefault(day, []).append(_Set(*values))
    deloads = {
        (client_id, day)
        for client_id, day in con.execute(
            "select client_id, day from plan_day_in_force where phase like '%deload%' or phase like '%taper%'"
        ).fetchall()
    }
    return {
        (client_id, exercise_id): [
            _session(day, sets, is_deload=(client_id, day) in deloads) for day, sets in days.items()
        ]
        for (client_id, exercise_id), days in found.items()
    }


def _session(day: date, sets: list[_Set], *, is_deload: bool) -> LiftSession:
    done = [one for one in sets if not one.is_missed]
    load = working_load(
        [one.load_kg for one in done if one.load_kg is not None]
        or [one.load_kg for one in sets if one.load_kg is not None]
    )
    at_load = [
        one
        for one in done
        if load is not None
        and one.load_kg is not None
        and abs(one.load_kg - load) <= _SAME_KG
        and one.reps is not None
    ]
    body = next(
        (one.system_kg - (one.load_kg or 0.0) for one in at_load if one.is_system and one.system_kg), 0.0
    )
    return LiftSession(
        day,
        load,
        tuple(int(one.reps or 0) for one in at_load),
        tuple(one.rir for one in at_load),
        sum(one.is_missed for one in sets),
        body,
        is_deload=is_deload,
        durations_s=tuple(one.duration_s for one in done if one.duration_s),
    )


def working_load(loads: Iterable[float]) -> float | None:
    """The load most sets were done at; the heavier one where two are even. None without a load.

    Example: 60, 80, 100, 100, 100: 100. 80, 90, 100: 100.
    """
    rounded = Counter(round(load / _SAME_KG) for load in loads)
    if not rounded:
        return None
    most = max(rounded.items(), key=lambda item: (item[1], item[0]))[0]
    return next(load for load in loads if round(load / _SAME_KG) == most)


def read_served_ranges(con: duckdb.DuckDBPyConnection) -> dict[tuple[str, str, date], set[tuple[int, int]]]:
    """(client, exercise, day) → repetition ranges of the planned exercises that session served."""
    served: dict[tuple[str, str, date], set[tuple[int, int]]] = {}
    for client_id, exercise_id, day, low, high in con.execute(
        "select client_id, done_exercise_id, session_date, rep_low, rep_high from planned_exercise"
        " where session_date is not null and done_exercise_id is not null and rep_low is not null"
    ).fetchall():
        served.setdefault((client_id, exercise_id, day), set()).add((low, high))
    return served


def judge_ranges(
    sessions: Sequence[LiftSession],
    rep_low: int | None,
    rep_high: int | None,
    served: Mapping[date, set[tuple[int, int]]],
) -> list[LiftSession]:
    """The sessions with `is_in_plan_range` set: they served this range; without a plan, by their repetitions.

    A session of a deload is left as it is: its range was changed on purpose.
    """
    if rep_low is None or rep_high is None:
        return list(sessions)
    judged = []
    for session in sessions:
        ranges = served.get(session.session_date)
        if ranges:
            fits = (rep_low, rep_high) in ranges
        else:
            middle = median(session.reps) if session.reps else rep_low
            fits = rep_low - _IN_RANGE_SLACK <= middle <= rep_high + _IN_RANGE_SLACK
        judged.append(replace(session, is_in_plan_range=fits))
    return judged


def smallest_step(sessions: Sequence[LiftSession]) -> float | None:
    """The least step between working loads the client has used, from four different ones on; None before
    that.

    Dumbbells that go up by 2.5 kg, or a stack with 7 kg plates, show themselves so.
    """
    loads = sorted({round(s.load_kg, 2) for s in sessions if s.load_kg is not None})
    gaps = [b - a for a, b in pairwise(loads) if b - a > _SAME_KG]
    return min(gaps) if len(gaps) >= 3 else None


@dataclass(frozen=True)
class PainNotes:
    """The latest notes: of warning signs by client, of pain by client and exercise, of pain without an
    exercise."""

    warning_signs: Mapping[str, PainNote]
    by_exercise: Mapping[tuple[str, str], PainNote]
    general: Mapping[str, PainNote]

    def of(self, client_id: str, exercise_id: str) -> PainNote | None:
        """The note that weighs most for a client's exercise: a warning sign, then its own, then a general
        one."""
        return (
            self.warning_signs.get(client_id)
            or self.by_exercise.get((client_id, exercise_id))
            or self.general.get(client_id)
        )


def read_pain(con: duckdb.DuckDBPyConnection, first_day: date, days: float) -> PainNotes:
    """The notes of pain within so many days before `first_day`."""
    signs: dict[str, PainNote] = {}
    own: dict[tuple[str, str], PainNote] = {}
    general: dict[str, PainNote] = {}
    for client_id, exercise_id, day, words, is_sign in con.execute(
        "select client_id, exercise_id, session_date, note, coalesce(is_warning_sign, false) from pain_note"
        " where session_date >= ? and session_date < ? order by session_date",
        [first_day - timedelta(days=days), first_day],
    ).fetchall():
        note = PainNote(day, words, exercise_id is not None, is_sign)
        if is_sign:
            signs[client_id] = note
        elif exercise_id is not None:
            own[client_id, exercise_id] = note
        else:
            general[client_id] = note
    return PainNotes(signs, own, general)
