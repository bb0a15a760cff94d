"""One athlete, one page: the state and its evidence, strength, volume, adherence, and every row behind it."""

from __future__ import annotations

from dashboards import (
    athlete_adherence,
    athlete_check_ins,
    athlete_sessions,
    athlete_strength,
    athlete_verdict,
    athlete_volume,
    athlete_week,
)
from dashboards.athlete_history import AthleteHistory
from dashboards.choose_client import choose_client
from dashboards.frame import begin, show_cautions, show_past_notice
from dashboards.history import read_run
from dashboards.units import Unit


def show() -> None:
    frame = begin()
    client_id, name, _ = choose_client(frame)
    as_of = read_run(frame.history).get("as_of")
    athlete = AthleteHistory(frame.history, client_id, frame.week, known=as_of if frame.is_latest else None)
    client = athlete.client() or {}
    unit: Unit = "lb" if client.get("unit") == "lb" else "kg"
    show_past_notice(frame)
    athlete_verdict.show_name(frame, athlete, client, name)
    athlete_verdict.show_pain(athlete)
    athlete_verdict.show_verdict(frame, athlete)
    athlete_strength.show(athlete, unit)
    athlete_volume.show(athlete, unit)
    athlete_adherence.show(athlete, unit)
    athlete_week.show(athlete, unit)
    athlete_check_ins.show(athlete, unit)
    athlete_sessions.show(athlete, unit)
    show_cautions()


show()
