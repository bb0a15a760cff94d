"""States: week by week and without hindsight, who progresses, stalls, tires, or does not do the plan.

What arrives: accepted sets, `plan_day_in_force`, check-ins, `adherence_at_week_end`. What leaves: `client_week`,
`lift_week` and `roster_review` of the contract, by way of two temporary tables (`state_lift_week`,
`client_signal`).

The way: `observations` (a figure a lift and week) → `lift_signals` (with `strength` and the running model in
`regimes`) and `context`, `omissions` (what surrounds the lifts, what of the plan is left out) →
`signals` (all of them by client and week) → `score` and `decision` (weigh them, keep states from flickering,
order them) → `wording`, `options`, `roster`. Weights and thresholds are in score.toml; tests/laboratory made them.
"""

from __future__ import annotations

from collections.abc import Callable

import duckdb
import polars as pl

from pipeline.analyse.states.client_states import build_client_week
from pipeline.analyse.states.lift_states import build_lift_week
from pipeline.analyse.states.observations import build_state_lift_week
from pipeline.analyse.states.roster import build_roster_review
from pipeline.analyse.states.signals import build_client_signal

Build = Callable[[duckdb.DuckDBPyConnection], pl.DataFrame]

STATE_MODELS: list[tuple[str, tuple[str, ...], Build]] = [
    ("state_lift_week", ("logged_set", "exercise", "calendar"), build_state_lift_week),
    (
        "client_signal",
        (
            "state_lift_week",
            "logged_set",
            "calendar",
            "client",
            "plan_slot",
            "plan_day_in_force",
            "check_in",
            "excused_span",
            "adherence_at_week_end",
            "pain_note",
        ),
        build_client_signal,
    ),
    ("client_week", ("client_signal", "calendar", "logged_set", "setting"), build_client_week),
    (
        "lift_week",
        ("state_lift_week", "client_signal", "client_week", "calendar", "logged_set"),
        build_lift_week,
    ),
    (
        "roster_review",
        (
            "client_week",
            "client_signal",
            "client",
            "logged_set",
            "setting",
            "calendar",
            "pain_note",
            "open_question",
            "muscle_week",
        ),
        build_roster_review,
    ),
]
"""Name, tables read, and how it is made: each model of the states."""

__all__ = ["STATE_MODELS"]
