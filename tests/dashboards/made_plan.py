"""The plan of an invented client, and what was found about it; see `made_history`."""

from __future__ import annotations

import datetime as dt

from made_lifts import AS_OF, DAYS, LIFTS, Rows, made_row


def add_plan(rows: Rows, client_id: str, weeks: list[dt.date]) -> None:
    half = weeks[len(weeks) // 2]
    for version, (start, end) in enumerate(((weeks[0], half - dt.timedelta(days=1)), (half, None))):
        for day, weekday in DAYS:
            slots = [lift for lift in LIFTS.items() if lift[1][1] == day]
            for slot, (exercise_id, (name, _, _, sets, low, high, _, _)) in enumerate(slots, start=1):
                rows["plan_slot"].append(
                    made_row(
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
                        made_row(
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
        made_row(
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
        made_row(
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


def add_plan_reviews(rows: Rows, client_id: str, weeks: list[dt.date]) -> None:
    half = weeks[len(weeks) // 2]
    rows["plan_layout"].append(
        made_row(
            client_id=client_id,
            plan="Block 2",
            valid_from=half,
            place=1,
            is_current=True,
            layout="Mon Push A · Wed Pull A · Fri Legs",
            least_days_hard=2,
            least_days_same_muscle=7,
            same_muscles="chest",
            n_hard_neighbours=0,
            n_interfering_neighbours=0,
            n_days_moved=0,
            sentence="made",
        )
    )
    rows["plan_change"].append(
        made_row(
            client_id=client_id,
            plan="Block 2",
            valid_from=half,
            previous_valid_from=weeks[0],
            kind="sets",
            place="Bench press",
            before="3",
            after="4",
            figure=1.0,
            unit="sets",
            sentence="Bench press: 4 sets instead of 3.",
        )
    )
    rows["block_review"].append(
        made_row(
            client_id=client_id,
            plan="Block 2",
            valid_from=half,
            last_day=AS_OF,
            is_over=False,
            n_weeks=len(weeks) // 2,
            n_planned=39,
            n_done=36,
            attendance_pct=92.3,
            set_completion_pct=91.0,
            n_lifts=6,
            change_pct_per_week=0.2,
            change_low_pct_per_week=-0.1,
            change_high_pct_per_week=0.5,
            outcome="no_clear_change",
            sentence="made",
        )
    )
    rows["block_lift"].append(
        made_row(
            client_id=client_id,
            plan="Block 2",
            valid_from=half,
            exercise_id="bench_press",
            exercise_name="Bench press",
            n_sessions=12,
            first_e1rm_kg=92.0,
            last_e1rm_kg=95.0,
            change_pct_per_week=0.3,
            change_low_pct_per_week=0.0,
            change_high_pct_per_week=0.6,
            outcome="stronger",
        )
    )
    rows["block_exercise"].append(
        made_row(
            client_id=client_id,
            plan="Block 2",
            valid_from=half,
            day="Legs",
            slot=1,
            exercise_id="back_squat",
            exercise_name="Back squat",
            n_times_planned=13,
            n_times_done=11,
            n_times_swapped=1,
            swapped_for="Leg press",
            planned_sets=52,
            done_sets=44,
            reps_in_range_pct=90.0,
        )
    )
