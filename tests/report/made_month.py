"""A small seeded history of invented clients, in the contract's tables, for the report's tests.

Sixteen weeks to the end of May 2026. Each client shows one thing a report must get right.
"""

from __future__ import annotations

import random
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import duckdb
import polars as pl

from pipeline.contract import TABLES

FIRST_MONDAY = date(2026, 2, 9)
AS_OF = date(2026, 5, 31)
COACH_NOTE = "Strong month.\n#panic() *stars* <b>bold</b> =SUM(A1) {count}"
FOCUS = "Keep the squat; easy on the shoulder."
MONTH = "2026-05"
N_WEEKS = 16
DELOAD_WEEK = date(2026, 5, 11)

HOSTILE_NAME = '=HYPERLINK("http://x.test","<script>alert(1)</script>") #panic("no") \\ $x$ `raw` *b* {count}'
HOSTILE_EXERCISE = '<img src=x onerror="alert(2)"> #eval("1+1") @row =1+1'
PAIN_WORDS = "left shoulder pinches on the way down"

FULL, POUNDS, QUIET, NEW, AWAY, HAN, HOSTILE, ALONE = (
    "anna",
    "ben",
    "carla",
    "dario",
    "elif",
    "wei",
    "mallory",
    "zora",
)
CLIENTS = (
    (FULL, "Anna Lindqvist", "kg"),
    (POUNDS, "Ben Okafor", "lb"),
    (QUIET, "Carla Ruiz", "kg"),
    (NEW, "Dario Conti", "kg"),
    (AWAY, "Elif Demir", "kg"),
    (HAN, "周伟 💪", "kg"),
    (HOSTILE, HOSTILE_NAME, "kg"),
    (ALONE, "Zora Nebenan", "kg"),
)

LIFTS = (
    # exercise, name, day, slot, sets, first e1RM in kg, slope in % a week, status
    ("back_squat", "Back squat", "Lower A", 1, 4, 120.0, 0.6, "rising"),
    ("romanian_deadlift", "Romanian deadlift", "Lower A", 2, 3, 110.0, 0.2, "unclear"),
    ("bench_press", "Bench press", "Upper A", 1, 4, 82.0, 0.5, "rising"),
    ("chest_supported_row", "Chest-supported row", "Upper A", 2, 4, 70.0, 0.0, "flat"),
    ("overhead_press", "Overhead press", "Upper B", 1, 4, 52.0, 0.0, "flat"),
    ("pull_up", "Pull-up", "Upper B", 2, 3, 88.0, -0.5, "falling"),
)
MUSCLES = {
    # muscle: sets done a week, planned, low, high
    "quads": (11.0, 12.0, 8, 16),
    "glutes": (8.5, 9.0, 6, 14),
    "hamstrings": (6.0, 9.0, 6, 14),
    "chest": (12.0, 12.0, 10, 18),
    "lats": (10.0, 10.5, 8, 18),
    "upper_back": (9.5, 10.0, 8, 18),
    "front_delts": (7.0, 8.0, 4, 12),
    "side_delts": (4.0, 8.0, 8, 20),
    "biceps": (9.0, 9.0, 6, 14),
    "triceps": (10.5, 10.0, 6, 14),
}
DAYS = (("Lower A", 0), ("Upper A", 1), ("Upper B", 4))


class Filler:
    """Collects rows by table and writes them all at once."""

    def __init__(self) -> None:
        self.rows: dict[str, list[dict[str, Any]]] = {}

    def add(self, table: str, **values: Any) -> None:
        unknown = set(values) - set(TABLES[table].column_names)
        if unknown:
            raise KeyError(f"{table} has no columns {unknown}")
        self.rows.setdefault(table, []).append(values)

    def write(self, path: Path) -> None:
        con = duckdb.connect(str(path))
        for name, table in TABLES.items():
            con.execute(table.create_sql())
            if self.rows.get(name):
                frame = pl.from_dicts(self.rows[name], infer_schema_length=None)
                con.register("made", frame.to_arrow())
                con.execute(f"insert into {name} by name select * from made")
                con.unregister("made")
        con.close()


def make_history(path: Path, seed: int = 7) -> Path:
    """Write the history to `path`."""
    made = Filler()
    made.add(
        "setting",
        as_of=AS_OF,
        e1rm_equation="epley",
        e1rm_max_reps=12,
        hard_set_max_rir=4.0,
        first_day_of_week=1,
        bar_kg=20.0,
        recent_log_days=14,
    )
    for offset in range(N_WEEKS * 7):
        day = FIRST_MONDAY + timedelta(offset)
        start = day - timedelta(day.weekday())
        made.add(
            "calendar",
            day=day,
            week_start=start,
            week_end=start + timedelta(6),
            weekday=day.isoweekday(),
            is_complete_week=True,
        )
    for client_id, name, unit in CLIENTS:
        made.add(
            "client",
            client_id=client_id,
            name=name,
            unit=unit,
            goal="stronger squat",
            start_date=FIRST_MONDAY,
            is_in_roster=True,
        )
    trained_weeks = {QUIET: range(11), NEW: range(15, 16), AWAY: range(11)}
    for client_id, _, _ in CLIENTS:
        rng = random.Random(f"{seed} {client_id}")
        add_training(made, client_id, trained_weeks.get(client_id, range(N_WEEKS)), rng)
    add_stories(made)
    made.write(path)
    return path


def add_training(made: Filler, client_id: str, weeks: range, rng: random.Random) -> None:
    """Sessions, trends, muscles, adherence and states of one client."""
    few = client_id == NEW
    for week in range(N_WEEKS):
        start = FIRST_MONDAY + timedelta(week * 7)
        if few and week not in weeks:
            continue
        deload = start == DELOAD_WEEK
        excused = client_id == AWAY and week not in weeks
        n_done = 0
        for day, offset in DAYS:
            planned_on = start + timedelta(offset)
            missed = week in weeks and day == "Upper B" and week in (12, 15)
            moved = day == "Lower A" and week == 14
            outcome = (
                "excused"
                if excused
                else "no_log"
                if week not in weeks
                else "missed"
                if missed
                else "moved"
                if moved
                else "done"
            )
            done_on = planned_on + timedelta(2 if moved else 0)
            trained = outcome in ("done", "moved")
            made.add(
                "planned_session",
                client_id=client_id,
                week_start=start,
                plan="Spring block",
                phase="deload" if deload else "build",
                day=day,
                planned_date=planned_on,
                outcome=outcome,
                session_date=done_on if trained else None,
                planned_sets=14,
                done_sets=14 if trained else 0,
                n_swapped=0,
            )
            for exercise_id, name, of_day, slot, sets, *_ in LIFTS:
                if of_day == day:
                    made.add(
                        "planned_exercise",
                        client_id=client_id,
                        week_start=start,
                        plan="Spring block",
                        day=day,
                        slot=slot,
                        exercise_id=exercise_id,
                        exercise_name=name,
                        planned_sets=sets,
                    )
            if trained:
                n_done += 1
                add_session(made, client_id, start, done_on, day, week, deload, rng)
        if client_id == FULL and week == 13:
            made.add(
                "session_summary",
                client_id=client_id,
                session_date=start + timedelta(5),
                week_start=start,
                n_exercises=2,
                n_sets=6,
                n_hard_sets=4,
                n_unknown_effort_sets=2,
                volume_kg=1800.0,
            )
        n_counted = 0 if excused else len(DAYS)
        made.add(
            "adherence_week",
            client_id=client_id,
            week_start=start,
            phase="deload" if deload else "build",
            n_planned=len(DAYS),
            n_done=n_done,
            n_missed=n_counted - n_done,
            n_excused=len(DAYS) - n_counted,
            attendance_pct=100.0 * n_done / n_counted if n_counted else None,
            set_completion_pct=100.0 * n_done / n_counted if n_counted else None,
            log_state="excused" if excused else "logged" if n_done else "nothing_logged",
        )
        add_week(made, client_id, start, week, n_done, deload, few)


def add_session(
    made: Filler,
    client_id: str,
    start: date,
    on: date,
    day: str,
    week: int,
    deload: bool,
    rng: random.Random,
) -> None:
    lifts = [lift for lift in LIFTS if lift[2] == day]
    volume = 0.0
    for exercise_id, name, _, _, sets, first, slope, _ in lifts:
        level = first * (1 + slope * week / 100) * (1 + rng.gauss(0, 0.015)) * (0.9 if deload else 1)
        load = round(level * 0.8 / 2.5) * 2.5
        shown = HOSTILE_EXERCISE if client_id == HOSTILE and exercise_id == "back_squat" else name
        volume += load * 6 * sets
        made.add(
            "exercise_session",
            client_id=client_id,
            session_date=on,
            week_start=start,
            exercise_id=exercise_id,
            exercise_name=shown,
            n_sets=sets,
            n_hard_sets=sets - 1,
            n_unknown_effort_sets=1,
            n_reps=6 * sets,
            volume_kg=load * 6 * sets,
            top_load_kg=load,
            top_load_reps=6,
            best_e1rm_kg=level,
            e1rm_low_kg=level * 0.96,
            e1rm_high_kg=level * 1.04,
            e1rm_se_pct=2.4,
            e1rm_basis="system" if exercise_id == "pull_up" else "external",
            e1rm_kind="point",
            best_load_kg=load,
            best_reps=6,
            best_rir=2.0,
            mean_rir=2.2,
        )
    made.add(
        "session_summary",
        client_id=client_id,
        session_date=on,
        week_start=start,
        planned_day=day,
        n_exercises=5,
        n_sets=14,
        n_hard_sets=11,
        n_unknown_effort_sets=2,
        volume_kg=round(volume, 1),
    )


def add_week(
    made: Filler, client_id: str, start: date, week: int, n_done: int, deload: bool, few: bool
) -> None:
    if n_done:
        for muscle, (done, planned, low, high) in MUSCLES.items():
            share = n_done / 3 * (0.5 if deload else 1)
            made.add(
                "muscle_week",
                client_id=client_id,
                week_start=start,
                muscle=muscle,
                direct_hard_sets=done * share,
                fractional_hard_sets=done * share,
                unknown_effort_sets=1.0 * share,
                n_sessions=2,
                planned_sets=planned,
                target_low=float(low),
                target_high=float(high),
            )
    for exercise_id, name, _, _, _, first, slope, status in LIFTS:
        level = first * (1 + slope * week / 100)
        made.add(
            "strength_trend",
            client_id=client_id,
            exercise_id=exercise_id,
            exercise_name=HOSTILE_EXERCISE if client_id == HOSTILE and exercise_id == "back_squat" else name,
            week_start=start,
            n_exposures=min(week + 1, 8),
            e1rm_basis="system" if exercise_id == "pull_up" else "external",
            level_kg=None if few else level,
            level_low_kg=None if few else level * 0.985,
            level_high_kg=None if few else level * 1.015,
            slope_pct_per_week=None if few else slope,
            slope_low_pct_per_week=None if few else slope - 0.25,
            slope_high_pct_per_week=None if few else slope + 0.25,
            status="too_few" if few else status,
            level_kind="point",
        )
    made.add(
        "client_strength_week",
        client_id=client_id,
        week_start=start,
        strength_index=None if few else 100 + 0.3 * week,
        index_low=None if few else 98.5 + 0.3 * week,
        index_high=None if few else 101.5 + 0.3 * week,
        slope_pct_per_week=None if few else 0.3,
        slope_low_pct_per_week=None if few else 0.1,
        slope_high_pct_per_week=None if few else 0.5,
        n_lifts=0 if few else 6,
        n_exposures=6,
    )
    state = (
        "not_enough_data"
        if few or week < 4
        else "no_recent_log"
        if not n_done
        else "planned_deload"
        if deload
        else "progressing"
    )
    made.add(
        "client_week",
        client_id=client_id,
        week_start=start,
        state=state,
        weeks_in_state=3,
        confidence=0.8,
        reasons="Pooled strength rises 0.3 % a week.",
        evidence="[]",
        n_sessions=n_done,
        has_pain_note=False,
    )


def add_stories(made: Filler) -> None:
    """Bests, check-ins, targets, pain and excused days."""
    bests = (
        ("2026-05-18", "back_squat", "Back squat", "load", 107.5, "kg", 105.0, "2026-04-20", 107.5, 6),
        ("2026-05-25", "back_squat", "Back squat", "load", 110.0, "kg", 107.5, "2026-05-18", 110.0, 6),
        (
            "2026-05-19",
            "bench_press",
            "Bench press",
            "reps_at_load",
            8,
            "repetitions",
            6,
            "2026-04-21",
            70.0,
            8,
        ),
        ("2026-05-26", "bench_press", "Bench press", "e1rm", 89.1, "kg", 86.0, "2026-04-28", 72.5, 7),
        ("2026-05-25", "back_squat", "Back squat", "volume", 2640.0, "kg", 2520.0, "2026-05-18", None, None),
        ("2026-04-21", "bench_press", "Bench press", "load", 70.0, "kg", 67.5, "2026-04-07", 70.0, 6),
    )
    for client_id in (FULL, POUNDS, HAN):
        for on, exercise_id, name, kind, value, unit, previous, before, load, reps in bests:
            made.add(
                "personal_best",
                client_id=client_id,
                best_date=date.fromisoformat(on),
                exercise_id=exercise_id,
                exercise_name=name,
                kind=kind,
                value=float(value),
                unit=unit,
                previous_value=float(previous),
                previous_date=date.fromisoformat(before),
                load_kg=load,
                reps=reps,
            )
        for offset in range(0, N_WEEKS * 7, 4):
            made.add(
                "check_in",
                client_id=client_id,
                check_in_date=FIRST_MONDAY + timedelta(offset),
                bodyweight_kg=78.0 - offset * 0.01 + (offset % 3) * 0.2,
                sleep_h=7.2,
                soreness=2.0,
                motivation=4.0,
                waist_cm=84.0,
            )
        for exercise_id, name, day, slot, sets, first, *_ in LIFTS[:3]:
            made.add(
                "next_target",
                client_id=client_id,
                plan="Spring block",
                day=day,
                slot=slot,
                exercise_id=exercise_id,
                exercise_name=name,
                sets=sets,
                target_load_kg=round(first * 0.8),
                target_rep_low=5,
                target_rep_high=8,
                target_rir=2.0,
                last_load_kg=round(first * 0.78),
                last_reps="6, 6, 6",
                rule="hold",
                reason="Within the range: add repetitions first.",
            )
        # pain was noted beside it, so the pipeline proposes no load
        made.add(
            "next_target",
            client_id=client_id,
            plan="Spring block",
            day="Upper B",
            slot=1,
            exercise_id="overhead_press",
            exercise_name="Overhead press",
            sets=4,
            target_rep_low=5,
            target_rep_high=8,
            reason="Pain was noted.",
        )
    made.add(
        "pain_note",
        client_id=FULL,
        session_date=date(2026, 5, 22),
        exercise_id="overhead_press",
        exercise_name="Overhead press",
        note=PAIN_WORDS,
        word="pinches",
        is_warning_sign=False,
        source_area="inbox",
        source_file="anna/may.csv",
        source_row=12,
    )
    made.add(
        "pain_note",
        client_id=POUNDS,
        session_date=date(2026, 5, 22),
        note="felt dizzy and chest tight",
        word="dizzy",
        is_warning_sign=True,
        source_area="inbox",
        source_file="ben/may.csv",
        source_row=2,
    )
    made.add(
        "excused_span",
        client_id=AWAY,
        date_from=date(2026, 4, 27),
        date_to=date(2026, 6, 7),
        kind="travel",
        source="check_ins",
    )
    for place, (client_id, name, _) in enumerate(CLIENTS, start=1):
        made.add(
            "roster_review",
            place=place,
            client_id=client_id,
            name=name,
            state="steady",
            n_waiting=3 if client_id == POUNDS else 0,
            last_log_date=date(2026, 5, 29),
        )
