"""Analyse: statistics on the models' tables — load–repetition curves, trends, states, next targets.

What arrives: a connection that holds the models' tables. What leaves: frames with the contract's columns.
`PYTHON_MODELS` lists them as (name, tables read, builder); whoever runs the stages makes models of them.
"""

from __future__ import annotations

from collections.abc import Callable

import duckdb
import polars as pl

from pipeline.analyse.next_target import NEXT_TARGET_MODELS
from pipeline.analyse.personal_bests import build_personal_best
from pipeline.analyse.plan import PLAN_MODELS
from pipeline.analyse.session_context import build_session_context
from pipeline.analyse.states import STATE_MODELS
from pipeline.analyse.strength import build_client_strength_week, build_lift_reading, build_strength_trend
from pipeline.analyse.volume_response import build_own_volume_response, build_volume_response

Builder = Callable[[duckdb.DuckDBPyConnection], pl.DataFrame]

PYTHON_MODELS: list[tuple[str, tuple[str, ...], Builder]] = [
    ("lift_reading", ("lift_observation", "calendar"), build_lift_reading),
    ("strength_trend", ("lift_observation", "calendar", "exercise"), build_strength_trend),
    ("client_strength_week", ("lift_reading", "calendar", "strength_trend"), build_client_strength_week),
    ("personal_best", ("exercise_session", "stg_set", "exercise"), build_personal_best),
    ("session_context", ("lift_reading", "lift_observation", "lift_circumstance"), build_session_context),
    ("own_volume_response", ("lift_reading", "calendar", "load_week"), build_own_volume_response),
    ("volume_response", ("own_volume_response",), build_volume_response),
    *STATE_MODELS,
    *PLAN_MODELS,
    *NEXT_TARGET_MODELS,
]

__all__ = ["PYTHON_MODELS", "Builder"]
