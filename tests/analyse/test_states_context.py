"""What is planned, announced or unknown is told apart from what is a symptom."""

from __future__ import annotations

from datetime import date, timedelta

import polars as pl
import pytest

from pipeline.contract import TABLES
from pipeline.model.sql_models import write_table
from tests.laboratory.roster import FIRST_DAY, Roster
from tests.laboratory.tables import load_tables, run_states

LIFTS = ("back_squat", "bench_press", "barbell_row", "leg_press")
WEEKS = 24


def _day(week: int, weekday: int) -> date:
    return FIRST_DAY + timedelta(days=7 * week + weekday)


def _roster(
    *,
    absent: range = range(0),
    fall: range = range(0),
    fall_pct: float = 6.0,
    deload: range = range(0),
    light: range = range(0),
    cut: bool = False,
    halved: range = range(0),
    has_plan: bool = True,
    excused: str = "",
    gain: float = 0.004,
    reserve: float = 2.0,
    has_effort: bool = True,
) -> Roster:
    """One client on three days a week, four lifts a day, three sets of eight; noise only from rounding."""
    sets, plan, check_ins, spans = [], [], [], []
    for week in range(WEEKS):
        for weekday in (0, 2, 4):
            if week in absent or (week in halved and weekday > 0):
                continue
            for lift in LIFTS:
                easy = week in light or week in deload
                load = 100 * (1 + gain * week) * (0.88 if easy else 1)
                load *= 1 - fall_pct / 100 if week in fall else 1
                sets += [
                    {
                        "client_id": "c",
                        "session_date": _day(week, weekday),
                        "exercise_id": lift,
                        "set_index": i + 1,
                        "load_kg": round(load * 2) / 2,
                        "reps": 8,
                        "rir": reserve + (2.0 if easy else 0.0) if has_effort else None,
                    }
                    for i in range(2 if easy else 3)
                ]
        if cut:
            check_ins.append(
                {
                    "client_id": "c",
                    "check_in_date": _day(week, 0),
                    "bodyweight_kg": 90.0 * (1 - 0.006 * max(week - 12, 0)),
                }
            )
        plan += [
            {
                "client_id": "c",
                "valid_from": _day(week, 0),
                "valid_to": _day(week, 6),
                "plan": "P",
                "phase": "deload" if week in deload else "build",
                "day": f"Day {weekday}",
                "weekday": weekday + 1,
                "slot": slot + 1,
                "exercise_id": lift,
                "sets": 2 if week in deload else 3,
                "rep_low": 8,
                "rep_high": 8,
                "target_rir": 2.0,
            }
            for weekday in (0, 2, 4)
            for slot, lift in enumerate(LIFTS)
        ]
    if excused:
        spans.append(
            {
                "client_id": "c",
                "date_from": _day(absent[0], 0),
                "date_to": _day(absent[-1], 6),
                "kind": excused,
            }
        )
    empty_check = {"client_id": pl.String, "check_in_date": pl.Date, "bodyweight_kg": pl.Float64}
    span_schema = {"client_id": pl.String, "date_from": pl.Date, "date_to": pl.Date, "kind": pl.String}
    plan_frame = pl.DataFrame(plan)
    return Roster(
        "by hand",
        pl.DataFrame(sets, schema_overrides={"rir": pl.Float64}),
        plan_frame if has_plan else plan_frame.head(0),
        pl.DataFrame(check_ins, schema=empty_check),
        pl.DataFrame(spans, schema=span_schema),
        pl.DataFrame([{"client_id": "c", "status": "intermediate", "unit": "kg", "bodyweight_kg": 90.0}]),
        pl.DataFrame(schema={"client_id": pl.String, "kind": pl.String, "first": pl.Date, "last": pl.Date}),
        WEEKS,
    )


def _states(roster: Roster) -> list[str]:
    con = load_tables(roster)
    run_states(con, ("state_lift_week", "client_signal", "client_week"))
    states = con.sql("select state from client_week order by week_start").pl()["state"].to_list()
    con.close()
    return states


def test_steady_gains_are_progress_and_are_never_flagged() -> None:
    states = _states(_roster())
    assert states[12:] == ["progressing"] * (WEEKS - 12)
    assert states[0] == "not_enough_data"


def test_the_same_loads_for_months_become_a_plateau() -> None:
    assert _states(_roster(gain=0.0))[-1] == "plateau"


def test_all_lifts_falling_at_once_while_work_goes_on_read_as_accumulated_fatigue() -> None:
    states = _states(_roster(fall=range(14, 18)))
    assert "over_reaching" in states[14:16]


def test_a_deload_in_the_plan_is_shown_as_planned() -> None:
    states = _states(_roster(deload=range(14, 15)))
    assert states[14] == "planned_deload"
    assert "over_reaching" not in states


def test_a_lighter_week_of_the_clients_own_is_no_symptom() -> None:
    assert "over_reaching" not in _states(_roster(light=range(14, 15)))


def test_a_return_after_a_pause_is_shown_as_such_even_with_strength_lost() -> None:
    states = _states(_roster(absent=range(13, 16), fall=range(16, 18)))
    assert "no_recent_log" in states[13:16]
    assert states[16] == "returning"
    assert "over_reaching" not in states


def test_an_announced_break_is_planned_and_not_silence() -> None:
    states = _states(_roster(absent=range(13, 16), excused="break"))
    assert states[13:16] == ["planned_deload"] * 3
    assert "off_plan" not in states


def test_strength_that_stands_still_while_bodyweight_falls_is_no_plateau() -> None:
    states = _states(_roster(cut=True, gain=0.0))
    assert "plateau" not in states[18:]
    assert "over_reaching" not in states


def test_one_session_in_three_for_weeks_is_off_plan_and_ends_when_the_sessions_are_back() -> None:
    states = _states(_roster(halved=range(10, 16)))
    assert "off_plan" in states[11:13]
    assert states[15] == "off_plan"
    assert "off_plan" not in states[19:]


def test_half_done_weeks_around_a_silence_are_off_plan_again_a_week_after_the_client_is_back() -> None:
    states = _states(_roster(absent=range(12, 14), halved=range(10, 18)))
    assert "off_plan" in states[11:14]
    assert states[14] in ("returning", "off_plan")
    assert states[15:18] == ["off_plan"] * 3


def test_a_gap_in_the_logs_alone_is_never_called_off_plan() -> None:
    for weeks in (1, 2, 3):
        assert "off_plan" not in _states(_roster(absent=range(12, 12 + weeks)))


def test_without_any_effort_logged_progress_and_standstill_are_still_told() -> None:
    assert _states(_roster(has_effort=False))[-1] == "progressing"
    assert _states(_roster(has_effort=False, gain=0.0))[-1] == "plateau"


def test_a_strong_lifter_who_gains_two_per_cent_a_year_is_not_called_off_or_tired() -> None:
    states = _states(_roster(gain=0.0004))
    assert not {"off_plan", "over_reaching"} & set(states)


def test_without_a_plan_nobody_is_off_it() -> None:
    assert "off_plan" not in _states(_roster(halved=range(10, 16), has_plan=False))


@pytest.mark.parametrize("first_day", [1, 7])
def test_the_weeks_follow_the_first_day_of_the_week_in_the_settings(first_day: int) -> None:
    con = load_tables(_roster(), first_day_of_week=first_day)
    run_states(con)
    weekdays = con.sql("select distinct isodow(week_start) from client_week").fetchall()
    assert weekdays == [(first_day,)]
    con.close()


def test_tables_without_a_single_set_give_empty_tables_and_a_roster_that_waits() -> None:
    con = load_tables(_roster())
    con.execute("delete from logged_set")
    run_states(con)
    assert con.sql("select count(*) from client_week").fetchall() == [(0,)]
    assert con.sql("select count(*) from lift_week").fetchall() == [(0,)]
    assert con.sql("select client_id, state from roster_review").fetchall() == [("c", "no_recent_log")]
    con.close()


def test_sets_without_load_or_repetitions_are_passed_over_and_not_lost_in_a_figure() -> None:
    con = load_tables(_roster())
    odd = (
        con.sql("select * from logged_set limit 3")
        .pl()
        .with_columns(
            load_kg=pl.lit(None, pl.Float64),
            system_kg=pl.lit(None, pl.Float64),
            exercise_id=pl.lit("band_pull"),
            set_index=pl.lit(9, pl.Int64),
        )
    )
    whole = pl.concat([con.table("logged_set").pl(), odd])
    write_table(con, "logged_set", whole.select(TABLES["logged_set"].column_names))
    run_states(con)
    states = con.sql("select state from client_week order by week_start").pl()["state"].to_list()
    assert states == _states(_roster())
    con.close()
