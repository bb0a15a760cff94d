"""What the next targets rest on: next week's planned exercises, each client's last sessions, notes of
pain."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import date, timedelta
from itertools import pairwise
from statistics import median
from typing import Any

import duckdb
import polars as pl

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
    as_of, first_weekday = con.execute(
        "select max(as_of), max(coalesce(first_day_of_week, 1)) from setting"
    ).fetchall()[0]
    if as_of is None:
        raise ValueError("setting holds no as-of day")
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


# the last sessions of the lifts of `wanted_lift`, set by set, in order
_LAST_SESSIONS = f"""
    with lift_set as (
        select client_id, exercise_id, session_date, set_index, source_row, part_index, load_kg, system_kg,
            reps, rir, duration_s, coalesce(is_missed_attempt, false) as is_missed,
            coalesce(e1rm_basis = 'system', false) as is_system
        from stg_set semi join wanted_lift using (client_id, exercise_id)
        where (is_working or is_missed_attempt) and drop_index = 1
    ),
    lift_day as (select distinct client_id, exercise_id, session_date from lift_set),
    placed_day as (
        select *, row_number() over (partition by client_id, exercise_id order by session_date desc) as place
        from lift_day
    ),
    deload_day as (
        select distinct client_id, day as session_date from plan_day_in_force
        where phase like '%deload%' or phase like '%taper%'
    )
    select client_id, exercise_id, session_date, load_kg, system_kg, reps, rir, duration_s, is_missed,
        is_system, deload_day.session_date is not null as is_deload
    from lift_set
    join (select * from placed_day where place <= {MOST_SESSIONS}) using (client_id, exercise_id, session_date)
    left join deload_day using (client_id, session_date)
    order by client_id, exercise_id, session_date desc, set_index, source_row, part_index
"""  # noqa: S608 - only a constant is put in


@contextmanager
def _wanted_lifts(con: duckdb.DuckDBPyConnection, wanted: set[tuple[str, str]]) -> Iterator[None]:
    lifts = pl.DataFrame(
        sorted(wanted), orient="row", schema={"client_id": pl.String, "exercise_id": pl.String}
    )
    con.register("wanted_lift", lifts.to_arrow())
    try:
        yield
    finally:
        con.unregister("wanted_lift")


def read_sessions(
    con: duckdb.DuckDBPyConnection, wanted: set[tuple[str, str]]
) -> dict[tuple[str, str], list[LiftSession]]:
    """The last sessions of each wanted (client, exercise), newest first, their ranges not judged yet."""
    with _wanted_lifts(con, wanted):
        sets: pl.DataFrame = con.sql(_LAST_SESSIONS).pl()
    found: dict[tuple[str, str], list[LiftSession]] = {}
    for client_id, exercise_id, day, is_deload, load, reps, rirs, missed, body, held in _by_session(sets):
        found.setdefault((client_id, exercise_id), []).append(
            LiftSession(
                day,
                load,
                tuple(reps),
                tuple(rirs),
                missed,
                body or 0.0,
                is_deload=is_deload,
                durations_s=tuple(held),
            )
        )
    return found


def _by_session(sets: pl.DataFrame) -> Iterator[tuple[Any, ...]]:
    """Sets in order, session by session: lift, day, working load, what was done at it, holds.

    The working load is the one most sets were done at, the heavier one where two are even; missed attempts
    speak only where nothing else does.
    """
    sets = sets.with_columns(
        session=pl.struct("client_id", "exercise_id", "session_date").rle_id(),
        bucket=(pl.col("load_kg") / _SAME_KG).round(),
        is_done=~pl.col("is_missed"),
    )
    speaks = pl.col("is_done") | ~(pl.col("is_done") & pl.col("load_kg").is_not_null()).any().over("session")
    working = (
        sets.filter(speaks & pl.col("load_kg").is_not_null())
        .group_by("session", "bucket", maintain_order=True)
        .agg(n=pl.len(), working_kg=pl.col("load_kg").first())
        .sort("session", "n", "bucket")
        .group_by("session", maintain_order=True)
        .agg(pl.col("working_kg").last())
    )
    at_load = (
        pl.col("is_done")
        & pl.col("reps").is_not_null()
        & ((pl.col("load_kg") - pl.col("working_kg")).abs() <= _SAME_KG)
    ).fill_null(value=False)
    moves_body = at_load & pl.col("is_system") & (pl.col("system_kg") != 0)
    return (
        sets.join(working, on="session", how="left", maintain_order="left")
        .group_by("session", maintain_order=True)
        .agg(
            pl.col("client_id", "exercise_id", "session_date", "is_deload", "working_kg").first(),
            reps=pl.col("reps").filter(at_load),
            rirs=pl.col("rir").filter(at_load),
            n_missed=pl.col("is_missed").sum(),
            body_kg=(pl.col("system_kg") - pl.col("load_kg")).filter(moves_body).first(),
            durations_s=pl.col("duration_s").filter(pl.col("is_done") & (pl.col("duration_s") > 0)),
        )
        .drop("session")
        .iter_rows()
    )


def read_served_ranges(
    con: duckdb.DuckDBPyConnection, sessions: Mapping[tuple[str, str], Sequence[LiftSession]]
) -> dict[tuple[str, str], dict[date, set[tuple[int, int]]]]:
    """(client, exercise) → day → repetition ranges of the planned exercises that this session served."""
    served: dict[tuple[str, str], dict[date, set[tuple[int, int]]]] = {}
    days = pl.DataFrame(
        [(*lift, its[-1].session_date) for lift, its in sessions.items()],
        orient="row",
        schema={"client_id": pl.String, "exercise_id": pl.String, "first_date": pl.Date},
    )
    con.register("lift_since", days.to_arrow())
    rows = con.execute(
        "select p.client_id, p.done_exercise_id, p.session_date, p.rep_low, p.rep_high"
        " from planned_exercise as p join lift_since as l on p.client_id = l.client_id"
        " and p.done_exercise_id = l.exercise_id and p.session_date >= l.first_date"
        " where p.rep_low is not null"
    ).fetchall()
    con.unregister("lift_since")
    for client_id, exercise_id, day, low, high in rows:
        served.setdefault((client_id, exercise_id), {}).setdefault(day, set()).add((low, high))
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
        judged.append(
            session if fits == session.is_in_plan_range else replace(session, is_in_plan_range=fits)
        )
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
