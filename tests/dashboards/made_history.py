"""A small invented history that fills the contract's tables, for tests of pages and charts.

`make_workspace` writes a workspace whose published history holds `n_clients` clients over `n_weeks` weeks.
Seeded: the same arguments give the same history. The figures hang together as far as a page can tell, but
no pipeline made them: tests of the computations belong elsewhere.
"""

from __future__ import annotations

import datetime as dt
import json
import random
from collections import defaultdict
from collections.abc import Iterable
from pathlib import Path
from typing import Any

import duckdb
import polars as pl

from pipeline.contract import TABLES
from pipeline.contract.verdicts import STATES

AS_OF = dt.date(2025, 6, 29)
DAYS = (("Push A", 1), ("Pull A", 3), ("Legs", 5))
LIFTS = {
    # exercise_id: (name, planned day, first e1RM kg, sets, rep_low, rep_high, direct, indirect)
    "bench_press": ("Bench press", "Push A", 90.0, 4, 5, 8, ("chest",), ("triceps", "front_delts")),
    "overhead_press": (
        "Overhead press",
        "Push A",
        60.0,
        3,
        6,
        10,
        ("front_delts",),
        ("triceps", "side_delts"),
    ),
    "lateral_raise": ("Lateral raise", "Push A", 16.0, 3, 10, 15, ("side_delts",), ()),
    "barbell_row": (
        "Barbell row",
        "Pull A",
        85.0,
        4,
        6,
        10,
        ("upper_back", "lats"),
        ("biceps", "rear_delts"),
    ),
    "biceps_curl": ("Biceps curl", "Pull A", 40.0, 3, 10, 15, ("biceps",), ()),
    "back_squat": ("Back squat", "Legs", 120.0, 4, 5, 8, ("quads",), ("glutes", "adductors")),
    "romanian_deadlift": (
        "Romanian deadlift",
        "Legs",
        110.0,
        3,
        6,
        10,
        ("glutes", "hamstrings"),
        ("spinal_erectors",),
    ),
}
REASONS = {
    "progressing": "Pooled strength rises 0.6 % a week (90 %: 0.3 to 0.9) over 9 weeks on 6 lifts.",
    "plateau": "Pooled strength flat for 7 weeks (0.0 % a week, 90 %: −0.2 to 0.2) at 96 % attendance.",
    "over_reaching": "Five of six lifts down 4.1 % in two weeks, effort up 1.2 at matched work, sleep 5.9 h.",
    "off_plan": "3 of 12 planned sessions done in four weeks; nothing excused.",
    "planned_deload": "Deload week of the plan: volume down 45 % as planned.",
    "returning": "Second week back after 18 days away; loads at 92 % of before.",
    "steady": "Strength changes by less than its error (0.1 % a week, 90 %: −0.3 to 0.5).",
    "not_enough_data": "Five sessions so far: too few to tell a trend from noise.",
    "no_recent_log": "No log for 19 days; the last came on 10 June.",
}
NEEDS_LOOK = ("over_reaching", "plateau", "off_plan", "no_recent_log")
FIRST_NAMES = ("Mara", "Jonas", "Ines", "Tobi", "Aiko", "Leila", "Pavel", "Sunniva", "Odile", "Kofi")
LONG_NAME = "Maximiliana-Theodora von und zu Hohenschwangau-Überlingen (online, evenings, second cohort)"

Rows = dict[str, list[dict[str, Any]]]


def _row(**columns: Any) -> dict[str, Any]:
    return columns


def make_workspace(
    root: Path,
    *,
    n_clients: int = 9,
    n_weeks: int = 26,
    seed: int = 7,
    long_names: bool = False,
    weeks_of_sets: int | None = None,
) -> Path:
    """A workspace at `root` with a published history; `weeks_of_sets` limits the weeks that have raw sets."""
    store = root / ".setwright"
    for folder in (root / "inbox", root / "plans", root / "check_ins", root / "reports", store):
        folder.mkdir(parents=True, exist_ok=True)
    (root / "workspace.toml").write_text('unit = "kg"\n', encoding="utf-8")
    rows = make_rows(n_clients, n_weeks, random.Random(seed), long_names, weeks_of_sets)
    write_history(store / "history-made.duckdb", rows)
    link = root / "history.duckdb"
    link.unlink(missing_ok=True)
    link.symlink_to(Path(".setwright") / "history-made.duckdb")
    return root


def write_history(path: Path, rows: Rows) -> None:
    """Every table of the contract in a new database, those of `rows` filled."""
    path.unlink(missing_ok=True)
    with duckdb.connect(str(path)) as con:
        for table in TABLES.values():
            con.execute(table.create_sql())
            if rows.get(table.name):
                frame = pl.DataFrame(rows[table.name], infer_schema_length=None)
                con.register("made", frame.to_arrow())
                con.execute(f"insert into {table.name} by name select * from made")  # noqa: S608 our own names
                con.unregister("made")


def make_rows(
    n_clients: int, n_weeks: int, rng: random.Random, long_names: bool, weeks_of_sets: int | None
) -> Rows:
    """The rows of every table, by table name."""
    rows: Rows = defaultdict(list)
    last_week = AS_OF - dt.timedelta(days=6)
    weeks = [last_week - dt.timedelta(weeks=n_weeks - 1 - i) for i in range(n_weeks)]
    _add_catalogue(rows, weeks)
    for number in range(n_clients):
        _add_client(rows, number, weeks, rng, long_names, weeks_of_sets or n_weeks)
    _add_roster(rows)
    _add_files(rows, n_clients)
    return rows


def _add_catalogue(rows: Rows, weeks: list[dt.date]) -> None:
    for exercise_id, (name, _, _, _, _, _, direct, indirect) in LIFTS.items():
        rows["exercise"].append(
            _row(
                exercise_id=exercise_id,
                exercise_name=name,
                pattern="other",
                implement="barbell",
                load_basis="total",
                bodyweight_share=0.0,
                implements=1,
                is_one_sided=False,
                is_timed=False,
                is_e1rm_lift=True,
                is_coach_own=False,
            )
        )
        for credit, muscles in ((1.0, direct), (0.5, indirect)):
            rows["exercise_muscle"] += [
                _row(exercise_id=exercise_id, muscle=m, credit=credit) for m in muscles
            ]
    muscles = dict.fromkeys(r["muscle"] for r in rows["exercise_muscle"])
    rows["muscle_target"] = [_row(muscle=m, target_low=3.0, target_high=4.5, source="made") for m in muscles]
    rows["setting"].append(
        _row(
            as_of=AS_OF,
            e1rm_equation="epley",
            e1rm_max_reps=12,
            hard_set_max_rir=4.0,
            first_day_of_week=1,
            bar_kg=20.0,
            recent_log_days=14,
        )
    )
    for week in weeks:
        for day in _days(week, 7):
            rows["calendar"].append(
                _row(
                    day=day,
                    week_start=week,
                    week_end=week + dt.timedelta(days=6),
                    weekday=day.isoweekday(),
                    is_complete_week=True,
                )
            )
    rows["pipeline_run"].append(
        _row(as_of=AS_OF, version="0.1.0", rules_version="1", n_files=12, n_records=4100, n_sets=3900)
    )


def _days(start: dt.date, n: int) -> Iterable[dt.date]:
    return (start + dt.timedelta(days=i) for i in range(n))


def _phase(index: int) -> str:
    return "deload" if index % 6 == 5 else "build"


def _add_client(
    rows: Rows, number: int, weeks: list[dt.date], rng: random.Random, long_names: bool, weeks_of_sets: int
) -> None:
    client_id = f"c{number + 1:03d}"
    name = f"{FIRST_NAMES[number % len(FIRST_NAMES)]} {chr(65 + number // len(FIRST_NAMES) % 26)}."
    rows["client"].append(
        _row(
            client_id=client_id,
            name=f"{LONG_NAME} {number}" if long_names else name,
            status=("novice", "intermediate", "advanced")[number % 3],
            unit="lb" if number % 4 == 1 else "kg",
            bodyweight_kg=70.0 + number % 30,
            start_date=weeks[0],
            date_order="dmy",
            tags="online, evening" if number % 2 else "gym",
            goal="stronger press",
            is_in_roster=True,
        )
    )
    state = STATES[(number * 2 + 2) % len(STATES)]
    bodyweight = 70.0 + number % 30
    for index, week in enumerate(weeks):
        _add_week(rows, client_id, index, week, state, rng, index >= len(weeks) - weeks_of_sets)
        bodyweight += rng.gauss(0, 0.3)
        rows["check_in"].append(
            _row(
                client_id=client_id,
                check_in_date=week + dt.timedelta(days=6),
                bodyweight_kg=round(bodyweight, 1),
                sleep_h=round(rng.gauss(7.2, 0.6), 1),
                soreness=float(rng.randint(1, 5)),
                motivation=float(rng.randint(2, 5)),
                stress=float(rng.randint(1, 4)),
                note="Long days at work." if index % 9 == 4 else None,
                source_file="answers.csv",
                source_row=index + 2,
            )
        )
    _add_plan(rows, client_id, weeks)
    if len(weeks) > 12:
        rows["excused_span"].append(
            _row(
                client_id=client_id,
                date_from=weeks[10],
                date_to=weeks[10] + dt.timedelta(days=4),
                kind="illness",
                source="answers.csv, row 12",
            )
        )
    if number % 4 == 0:
        rows["pain_note"].append(
            _row(
                client_id=client_id,
                session_date=weeks[-1],
                exercise_id="bench_press",
                exercise_name="Bench press",
                note="left shoulder pinches on the way down, stopped at 2 sets",
                word="pinches",
                is_warning_sign=False,
                source_area="inbox",
                source_file=f"{client_id}/june.csv",
                source_row=40,
            )
        )
    _add_bests(rows, client_id, weeks)


def _add_plan(rows: Rows, client_id: str, weeks: list[dt.date]) -> None:
    half = weeks[len(weeks) // 2]
    for version, (start, end) in enumerate(((weeks[0], half - dt.timedelta(days=1)), (half, None))):
        for day, weekday in DAYS:
            slots = [lift for lift in LIFTS.items() if lift[1][1] == day]
            for slot, (exercise_id, (name, _, _, sets, low, high, _, _)) in enumerate(slots, start=1):
                rows["plan_slot"].append(
                    _row(
                        client_id=client_id,
                        plan=f"Block {version + 1}",
                        valid_from=start,
                        valid_to=end,
                        phase="build",
                        day=day,
                        weekday=weekday,
                        slot=slot,
                        exercise_id=exercise_id,
                        exercise_name=name,
                        exercise_text=name,
                        sets=sets,
                        rep_low=low,
                        rep_high=high,
                        target_rir=2.0,
                        rest_s=150.0,
                        source_file=f"{client_id}.csv",
                        source_row=slot + 1,
                    )
                )
                if version == 1:
                    rows["next_target"].append(
                        _row(
                            client_id=client_id,
                            plan="Block 2",
                            day=day,
                            slot=slot,
                            exercise_id=exercise_id,
                            exercise_name=name,
                            sets=sets,
                            target_load_kg=62.5,
                            target_rep_low=low,
                            target_rep_high=high,
                            target_rir=2.0,
                            last_load_kg=60.0,
                            last_reps=", ".join([str(high)] * sets),
                            rule="double progression",
                            reason=f"All sets reached {high} repetitions last time.",
                        )
                    )
    rows["plan_audit"].append(
        _row(
            client_id=client_id,
            plan="Block 2",
            valid_from=half,
            rule="weekly_sets",
            severity="look",
            place="hamstrings",
            figure=3.0,
            unit="sets",
            sentence="Hamstrings get 3 hard sets a week, below the target of 6 to 14.",
            source="target range",
        )
    )
    rows["plan_audit"].append(
        _row(
            client_id=client_id,
            plan="Block 2",
            valid_from=half,
            rule="frequency",
            severity="fine",
            place="chest",
            figure=1.0,
            unit="sessions",
            sentence="Chest is trained once a week.",
            source="common practice",
        )
    )


def _add_week(
    rows: Rows, client_id: str, index: int, week: dt.date, state: str, rng: random.Random, with_sets: bool
) -> None:
    phase = _phase(index)
    missing = state == "off_plan" and index % 3 != 0
    gone = state == "no_recent_log" and week > AS_OF - dt.timedelta(days=20)
    slope = {"progressing": 0.6, "plateau": 0.0, "over_reaching": -0.8}.get(state, 0.2)
    muscle_sets: dict[str, list[float]] = defaultdict(lambda: [0.0, 0.0, 0.0, 0.0])
    n_done = 0
    for day, weekday in DAYS:
        planned_on = week + dt.timedelta(days=weekday - 1)
        moved = rng.random() < 0.1
        done_on = planned_on + dt.timedelta(days=1) if moved else planned_on
        outcome = (
            "no_log" if gone else "missed" if missing or rng.random() < 0.06 else "moved" if moved else "done"
        )
        done = outcome in ("done", "moved")
        slots = [lift for lift in LIFTS.items() if lift[1][1] == day]
        n_sets = sum(lift[1][3] for lift in slots)
        rows["planned_session"].append(
            _row(
                client_id=client_id,
                week_start=week,
                plan="Block 1",
                phase=phase,
                day=day,
                planned_date=planned_on,
                outcome=outcome,
                session_date=done_on if done else None,
                planned_sets=n_sets,
                done_sets=n_sets if done else 0,
                n_swapped=0,
            )
        )
        for slot, (exercise_id, (name, _, start, sets, low, high, direct, indirect)) in enumerate(
            slots, start=1
        ):
            for credit, muscles in ((1.0, direct), (0.5, indirect)):
                for muscle in muscles:
                    tally = muscle_sets[muscle]
                    tally[1] += sets * credit
                    if done:
                        tally[0] += sets * credit
                        tally[2] += sets if credit == 1 else 0
                        tally[3] += 1 if credit == 1 else 0
            rows["planned_exercise"].append(
                _row(
                    client_id=client_id,
                    week_start=week,
                    plan="Block 1",
                    day=day,
                    slot=slot,
                    exercise_id=exercise_id,
                    exercise_name=name,
                    done_exercise_id=exercise_id if done else None,
                    done_exercise_name=name if done else None,
                    session_date=done_on if done else None,
                    planned_sets=sets,
                    done_sets=sets if done else 0,
                    rep_low=low,
                    rep_high=high,
                    target_rir=2.0,
                    sets_in_rep_range=sets if done else 0,
                    sets_in_effort_range=sets if done else 0,
                    sets_with_effort=sets if done else 0,
                    planned_reps=sets * (low + high) // 2,
                    done_reps=sets * low if done else 0,
                )
            )
            if done:
                _add_exercise(rows, client_id, index, week, done_on, exercise_id, slope, rng, with_sets)
            else:
                _add_trend(rows, client_id, index, week, exercise_id, start, slope)
        if done:
            n_done += 1
            rows["session_summary"].append(
                _row(
                    client_id=client_id,
                    session_date=done_on,
                    week_start=week,
                    planned_day=day,
                    n_exercises=len(slots),
                    n_sets=n_sets,
                    n_hard_sets=n_sets,
                    n_unknown_effort_sets=0,
                    volume_kg=4200.0 + 30 * index,
                    system_volume_kg=5000.0,
                    duration_low_min=48.0,
                    duration_high_min=66.0,
                )
            )
    for muscle, (done_sets, planned_sets, direct_sets, times) in muscle_sets.items():
        rows["muscle_week"].append(
            _row(
                client_id=client_id,
                week_start=week,
                muscle=muscle,
                direct_hard_sets=direct_sets,
                fractional_hard_sets=done_sets,
                unknown_effort_sets=1.0 if index % 5 == 0 else 0.0,
                n_sessions=int(times),
                planned_sets=planned_sets,
                target_low=3.0,
                target_high=4.5,
            )
        )
    n_missed = len(DAYS) - n_done
    rows["adherence_week"].append(
        _row(
            client_id=client_id,
            week_start=week,
            phase=phase,
            n_planned=3,
            n_done=n_done,
            n_missed=n_missed,
            n_moved=0,
            n_swapped=0,
            n_excused=0,
            n_unplanned=0,
            attendance_pct=100.0 * n_done / 3,
            planned_sets=24,
            done_sets=8 * n_done,
            set_completion_pct=100.0 * n_done / 3,
            set_completion_uncapped_pct=100.0 * n_done / 3,
            reps_in_range_pct=88.0,
            effort_in_range_pct=76.0,
            relative_dose_intensity_pct=90.0,
            log_state="logged" if n_done else "nothing_logged",
        )
    )
    index_level = 100.0 * (1 + slope / 100) ** index
    rows["client_strength_week"].append(
        _row(
            client_id=client_id,
            week_start=week,
            strength_index=index_level,
            index_low=index_level - 1.6,
            index_high=index_level + 1.6,
            slope_pct_per_week=slope,
            slope_low_pct_per_week=slope - 0.3,
            slope_high_pct_per_week=slope + 0.3,
            n_lifts=6,
            n_exposures=18,
        )
    )
    shown = "not_enough_data" if index < 5 else "planned_deload" if phase == "deload" else state
    rows["client_week"].append(
        _row(
            client_id=client_id,
            week_start=week,
            state=shown,
            since_week=week - dt.timedelta(weeks=index % 6),
            weeks_in_state=index % 6 + 1,
            confidence=0.72,
            reasons=REASONS[shown],
            evidence=json.dumps(_evidence(slope)),
            would_change="Two weeks in a row with the pooled line rising above its error.",
            n_sessions=n_done,
            has_pain_note=False,
        )
    )


def _evidence(slope: float) -> list[dict[str, Any]]:
    return [
        _row(
            signal="pooled strength",
            figure=slope,
            unit="% a week",
            speaks="for",
            text=f"All lifts pooled change by {slope:.1f} % a week.",
        ),
        _row(
            signal="attendance",
            figure=96.0,
            unit="%",
            speaks="for",
            text="96 % of planned sessions were done.",
        ),
        _row(signal="sleep", figure=7.4, unit="h", speaks="against", text="Sleep is at the usual 7.4 hours."),
    ]


def _add_trend(
    rows: Rows, client_id: str, index: int, week: dt.date, exercise_id: str, start: float, slope: float
) -> float:
    level = start * (1 + slope / 100) ** index
    if any(
        r["week_start"] == week and r["exercise_id"] == exercise_id and r["client_id"] == client_id
        for r in rows["strength_trend"][-len(LIFTS) :]
    ):
        return level
    rows["strength_trend"].append(
        _row(
            client_id=client_id,
            exercise_id=exercise_id,
            exercise_name=LIFTS[exercise_id][0],
            week_start=week,
            n_exposures=index + 1,
            e1rm_basis="external",
            level_kg=level,
            level_low_kg=level * 0.98,
            level_high_kg=level * 1.02,
            slope_pct_per_week=slope,
            slope_low_pct_per_week=slope - 0.4,
            slope_high_pct_per_week=slope + 0.4,
            status="too_few" if index < 5 else "rising" if slope > 0.4 else "flat",
        )
    )
    rows["lift_week"].append(
        _row(
            client_id=client_id,
            exercise_id=exercise_id,
            exercise_name=LIFTS[exercise_id][0],
            week_start=week,
            state="steady" if slope < 0.4 else "progressing",
            since_week=week,
            weeks_in_state=1,
            confidence=0.6,
            reasons=f"{slope:.1f} % a week (90 %: {slope - 0.4:.1f} to {slope + 0.4:.1f}).",
            evidence="[]",
            would_change="",
        )
    )
    return level


def _add_exercise(
    rows: Rows,
    client_id: str,
    index: int,
    week: dt.date,
    day: dt.date,
    exercise_id: str,
    slope: float,
    rng: random.Random,
    with_sets: bool,
) -> None:
    name, _, start, sets, low, _, _, _ = LIFTS[exercise_id]
    level = _add_trend(rows, client_id, index, week, exercise_id, start, slope)
    rir = 2.0 if index % 7 else None
    load = round(level / (1 + (low + 2) / 30) / 2.5) * 2.5
    best = load * (1 + (low + (rir or 0)) / 30) * (1 + rng.gauss(0, 0.015))
    rows["exercise_session"].append(
        _row(
            client_id=client_id,
            session_date=day,
            week_start=week,
            exercise_id=exercise_id,
            exercise_name=name,
            n_sets=sets,
            n_hard_sets=sets if rir is not None else 0,
            n_unknown_effort_sets=0 if rir is not None else sets,
            n_reps=sets * low,
            volume_kg=sets * low * load,
            top_load_kg=load,
            top_load_reps=low,
            best_e1rm_kg=best,
            e1rm_low_kg=best * 0.96,
            e1rm_high_kg=best * 1.04,
            e1rm_se_pct=2.4,
            e1rm_basis="external",
            e1rm_kind="point" if rir is not None else "lower_bound",
            best_load_kg=load,
            best_reps=low,
            best_rir=rir,
            mean_rir=rir,
        )
    )
    if not with_sets:
        return
    for set_index in range(1, sets + 1):
        rows["logged_set"].append(
            _row(
                source_area="inbox",
                source_file=f"{client_id}/{day:%Y-%m}.csv",
                source_sheet=None,
                source_row=len(rows["logged_set"]) % 90 + 2,
                part_index=1,
                client_id=client_id,
                session_date=day,
                exercise_id=exercise_id,
                exercise_name=name,
                exercise_text=name.lower(),
                set_index=set_index,
                drop_index=1,
                set_kind="work",
                load_kg=load,
                load_basis="total",
                load_text=f"{load:g}",
                load_unit="kg",
                implements=1,
                system_kg=load,
                reps=low,
                rir=rir,
                rpe=None if rir is None else 10 - rir,
                note="felt quick" if rng.random() < 0.03 else None,
            )
        )


def _add_bests(rows: Rows, client_id: str, weeks: list[dt.date]) -> None:
    sessions = [
        r
        for r in rows["exercise_session"]
        if r["client_id"] == client_id and r["exercise_id"] == "bench_press"
    ]
    for session in sessions[8::8]:
        rows["personal_best"].append(
            _row(
                client_id=client_id,
                best_date=session["session_date"],
                exercise_id="bench_press",
                exercise_name="Bench press",
                kind="e1rm",
                value=session["best_e1rm_kg"],
                unit="kg",
                previous_value=session["best_e1rm_kg"] * 0.96,
                previous_date=weeks[0],
                load_kg=session["best_load_kg"],
                reps=session["best_reps"],
            )
        )


def _add_roster(rows: Rows) -> None:
    """The last week's review of each client, most urgent first."""
    of_client = {r["client_id"]: r for r in rows["client_week"]}
    before = {
        r["client_id"]: r
        for r in rows["client_week"]
        if r["week_start"] < of_client[r["client_id"]]["week_start"]
    }
    names = {r["client_id"]: r["name"] for r in rows["client"]}
    order = sorted(
        of_client.values(), key=lambda r: (r["state"] not in NEEDS_LOOK, r["state"], r["client_id"])
    )
    for place, week in enumerate(order, start=1):
        client_id, state = week["client_id"], week["state"]
        previous = before.get(client_id, {}).get("state")
        last = max(
            (r["session_date"] for r in rows["session_summary"] if r["client_id"] == client_id), default=None
        )
        rows["roster_review"].append(
            _row(
                place=place,
                client_id=client_id,
                name=names[client_id],
                week_start=week["week_start"],
                state=state,
                since_week=week["since_week"],
                weeks_in_state=week["weeks_in_state"],
                confidence=week["confidence"],
                reason=week["reasons"],
                urgency=max(0.0, 100.0 - place),
                needs_a_look=state in NEEDS_LOOK,
                previous_state=previous,
                what_changed="" if previous == state else f"Was {previous or 'new'} last week.",
                last_log_date=last,
                days_since_log=(AS_OF - last).days if last else None,
                n_sessions=week["n_sessions"],
                attendance_pct=92.0,
                set_completion_pct=88.0,
                hard_sets=21.0,
                planned_sets=24.0,
                slope_pct_per_week=0.2,
                n_waiting=3 if client_id == "c002" else 0,
                n_pain_notes=sum(r["client_id"] == client_id for r in rows["pain_note"]),
                options=json.dumps(
                    [
                        _row(
                            option="Talk about sleep and food", because="sleep fell by an hour in two weeks"
                        ),
                        _row(option="Hold the loads for a week", because="five of six lifts are down"),
                    ]
                ),
            )
        )


def _add_files(rows: Rows, n_clients: int) -> None:
    rows["file_ledger"].append(
        _row(
            source_area="inbox",
            source_file="c001/june.csv",
            content_hash="a" * 64,
            first_seen_date=AS_OF,
            is_current=True,
            outcome="read",
            message="",
            layout="set rows",
            n_records=90,
            n_loaded=80,
            n_duplicate=2,
            n_rejected=3,
            n_waiting=3,
            n_ignored=2,
            n_sets=80,
        )
    )
    rows["file_ledger"].append(
        _row(
            source_area="inbox",
            source_file="c002/broken.xlsx",
            content_hash="b" * 64,
            first_seen_date=AS_OF,
            is_current=True,
            outcome="refused",
            message="The workbook is cut short and cannot be opened.",
            n_records=0,
            n_loaded=0,
            n_duplicate=0,
            n_rejected=0,
            n_waiting=0,
            n_ignored=0,
            n_sets=0,
        )
    )
    for row in range(3):
        rows["rejected_row"].append(
            _row(
                source_area="inbox",
                source_file="c001/june.csv",
                source_row=30 + row,
                column_name="reps",
                raw_text="2025-06-20,Bench press,80,8O",
                reason_code="reps_not_a_number",
                message="The repetitions '8O' are not a number.",
                suggestion="Perhaps 80, with a letter O for the zero?",
            )
        )
        rows["waiting_row"].append(
            _row(
                question_id="q-press",
                source_area="inbox",
                source_file="c001/june.csv",
                source_row=50 + row,
                raw_text="2025-06-21,Press,50,8",
                message="Which exercise 'Press' is has to be answered first.",
            )
        )
    rows["open_question"].append(
        _row(
            question_id="q-press",
            kind="exercise",
            client_id="c002" if n_clients > 1 else "c001",
            source_file="c001/june.csv",
            raw_text="Press",
            question="Which exercise does 'Press' stand for?",
            choices=json.dumps(
                [
                    _row(value="bench_press", label="Bench press"),
                    _row(value="overhead_press", label="Overhead press"),
                ]
            ),
            suggested="bench_press",
            n_rows_waiting=3,
        )
    )
    rows["validation_result"].append(
        _row(
            rule_id="load_in_bounds",
            checked_table="logged_set",
            column_name="load_kg",
            severity="row",
            meaning="A load is between −200 and 700 kg.",
            n_checked=3900,
            n_failed=0,
        )
    )
    rows["name_resolution"].append(
        _row(
            client_id="c001",
            exercise_text="benchpres",
            exercise_id="bench_press",
            exercise_name="Bench press",
            how="close spelling",
            score=94.0,
            n_rows=12,
        )
    )
