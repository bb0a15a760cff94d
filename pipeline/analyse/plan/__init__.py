"""The plan side of analyse: audit and layouts of plan versions, what changed, what came of a block."""

from __future__ import annotations

from collections.abc import Callable

import duckdb
import polars as pl

from pipeline.analyse.plan.audit import build_plan_audit, build_plan_layout
from pipeline.analyse.plan.blocks import (
    build_block_exercise,
    build_block_lift,
    build_block_line,
    build_block_muscle,
    build_block_review,
)
from pipeline.analyse.plan.changes import build_plan_change

_PLAN = ("plan_slot", "client", "exercise", "exercise_muscle", "muscle_target", "setting")

PLAN_MODELS: list[tuple[str, tuple[str, ...], Callable[[duckdb.DuckDBPyConnection], pl.DataFrame]]] = [
    ("plan_audit", _PLAN, build_plan_audit),
    ("plan_layout", _PLAN, build_plan_layout),
    ("plan_change", _PLAN, build_plan_change),
    ("block_line", ("block_day", "lift_observation"), build_block_line),
    ("block_lift", ("block_line", "training_block", "exercise"), build_block_lift),
    ("block_exercise", ("block_session", "planned_exercise"), build_block_exercise),
    (
        "block_review",
        ("block_line", "training_block", "block_session", "block_exercise"),
        build_block_review,
    ),
    ("block_muscle", ("block_week", "training_block", "muscle_week"), build_block_muscle),
]

__all__ = ["PLAN_MODELS"]
