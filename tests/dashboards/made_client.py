"""The rows of one invented client, week by week; see `made_history`."""

from __future__ import annotations

import datetime as dt
import json
import random
from collections import defaultdict
from typing import Any

from made_lifts import (
    AS_OF,
    DAYS,
    FIRST_NAMES,
    LIFTS,
    LONG_NAME,
    REASONS,
    Rows,
    made_row,
    phase_of,
)
from made_plan import add_plan, add_plan_reviews

from pipeline.contract.verdicts import STATES


def add_client(
    rows: Rows, number: int, weeks: list[dt.date], rng: random.Random, long_names: bool, weeks_of_sets: int
) -> None:
    client_id = f"c{number + 1:03d}"
    name = f"{FIRST_NAMES[number % len(FIRST_NAMES)]} {chr(65 + number // len(FIRST_NAMES) % 26)}."
    rows["client"].append(
        made_row(
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
            made_row(
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
    add_plan(rows, client_id, weeks)
    add_plan_reviews(rows, client_id, weeks)
    if len(weeks) > 12:
        rows["excused_span"].append(
            made_row(
                client_id=client_id,
                date_from=weeks[10],
                date_to=weeks[10] + dt.timedelta(days=4),
                kind="illness",
                source="answers.csv, row 12",
            )
        )
    if number % 4 == 0:
        rows["pain_note"].append(
            made_row(
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


def _add_week(
    rows: Rows, client_id: str, index: int, week: dt.date, state: str, rng: random.Random, with_sets: bool
) -> None:
    phase = phase_of(index)
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
            made_row(
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
                made_row(
                    client_id=client_id,
                    week_start=week,
                    plan="Block 1",
                    day=day,
                    planned_date=planned_on,
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
                made_row(
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
            made_row(
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
        made_row(
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
        made_row(
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
        made_row(
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
        made_row(
            signal="pooled strength",
            figure=slope,
            unit="% a week",
            speaks="for",
            text=f"All lifts pooled change by {slope:.1f} % a week.",
        ),
        made_row(
            signal="attendance",
            figure=96.0,
            unit="%",
            speaks="for",
            text="96 % of planned sessions were done.",
        ),
        made_row(
            signal="sleep", figure=7.4, unit="h", speaks="against", text="Sleep is at the usual 7.4 hours."
        ),
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
        made_row(
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
        made_row(
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
        made_row(
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
            made_row(
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
            made_row(
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
