"""Amounts of all entries at once: count, load and effort, each read for its own distinct texts.

The three hardly depend on each other, so that distinct counts and distinct loads are far fewer than distinct
pairs of both. What comes out is what `read_amounts` says of each entry.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace

import polars as pl

from pipeline.clean.amounts import (
    Amounts,
    AmountTexts,
    ExerciseFacts,
    read_count,
    read_effort_of_set,
    read_load_of_set,
)
from pipeline.clean.cells.loads import parse_unit
from pipeline.clean.cells.repetitions import RepsReading
from pipeline.clean.exercise_texts import is_yes, parse_set_kind

_TEXT, _REAL, _WHOLE, _YES = pl.String(), pl.Float64(), pl.Int64(), pl.Boolean()
_COUNT: dict[str, pl.DataType] = {
    "n_reps": _WHOLE,
    "n_left": _WHOLE,
    "n_right": _WHOLE,
    "n_at_least": _YES,
    "n_duration": _REAL,
    "n_failure": _YES,
    "n_clusters": _YES,
    "n_problem": _TEXT,
    "n_column": _TEXT,
    "n_text": _TEXT,
}
_LOAD: dict[str, pl.DataType] = {
    "l_kg": _REAL,
    "l_basis": _TEXT,
    "l_unit": _TEXT,
    "l_implements": _WHOLE,
    "l_needs_unit": _YES,
    "l_problem": _TEXT,
    "l_column": _TEXT,
    "l_text": _TEXT,
}
_EFFORT: dict[str, pl.DataType] = {
    "e_rpe": _REAL,
    "e_rir": _REAL,
    "e_problem": _TEXT,
    "e_column": _TEXT,
    "e_text": _TEXT,
}
_UNTIMED = ExerciseFacts("", "", 1, is_one_sided=False, is_timed=False)
_TIMED = ExerciseFacts("", "", 1, is_one_sided=False, is_timed=True)
_EMPTY = Amounts()
_NO_TEXTS = AmountTexts("", "", "", "", "", "", "", "", "", "", "", "", is_per_hand=False)


def with_amounts(
    frame: pl.DataFrame,
    facts: Mapping[str, ExerciseFacts],
    bar_kg: float,
    *,
    is_warm_up_column: bool,
) -> pl.DataFrame:
    """`frame` with an `a_` column for each field of `Amounts`; those of an entry without exercise say
    nothing.

    `default_unit` of the frame is the unit of loads that say none themselves.
    """
    frame = _with_keys(frame, facts)
    frame = _joined(
        frame,
        ["reps_text", "left_text", "right_text", "duration_text", "duration_unit", "k_timed", "k_load"],
        _COUNT,
        _counts,
    )
    is_read = pl.col("k_known") & (pl.col("n_problem") == "")
    frame = frame.with_columns(
        pl.col("n_duration").is_not_null().alias("k_has_duration"), is_read.alias("k_read")
    )
    frame = _joined(
        frame,
        ["k_read", "load_text", "k_unit", "is_per_hand", "exercise_id", "k_has_duration"],
        _LOAD,
        lambda *key: _load(facts, bar_kg, *key),
    )
    frame = _joined(frame, ["rpe_text", "rir_text", "effort_text", "n_failure"], _EFFORT, _effort)
    amounts = _put_together(_kinds(frame, is_warm_up_column=is_warm_up_column))
    return frame.with_columns(amounts).drop(
        *_COUNT, *_LOAD, *_EFFORT, *[name for name in frame.columns if name.startswith("k_")]
    )


def _with_keys(frame: pl.DataFrame, facts: Mapping[str, ExerciseFacts]) -> pl.DataFrame:
    units = {text: parse_unit(text) or None for text in frame["unit_text"].drop_nulls().unique().to_list()}
    timed = [exercise_id for exercise_id, fact in facts.items() if fact.is_timed]
    own = pl.col("unit_text").replace_strict(units or {"": None}, default=None, return_dtype=pl.String)
    stated = pl.when(pl.col("header_unit") != "").then(pl.col("header_unit"))
    is_timed = pl.col("exercise_id").is_in(timed).fill_null(value=False)
    return frame.with_columns(
        pl.coalesce(own, stated, "default_unit", pl.lit("")).alias("k_unit"),
        is_timed.alias("k_timed"),
        pl.col("exercise_id").is_in(list(facts)).fill_null(value=False).alias("k_known"),
        pl.when(is_timed).then(pl.col("load_text")).alias("k_load"),
    )


def _joined(
    frame: pl.DataFrame,
    keys: Sequence[str],
    schema: Mapping[str, pl.DataType],
    read: Callable[..., tuple[object, ...]],
) -> pl.DataFrame:
    """`frame` with what `read` makes of each distinct combination of the keys."""
    combinations = frame.select(keys).unique()
    found = pl.DataFrame([read(*key) for key in combinations.iter_rows()], orient="row", schema=dict(schema))
    return frame.join(
        combinations.hstack(found), on=list(keys), how="left", nulls_equal=True, maintain_order="left"
    )


def _texts(**given: str | None) -> AmountTexts:
    text = {name: value or "" for name, value in given.items()}
    return replace(_NO_TEXTS, **text)  # type: ignore[arg-type]


def _counts(
    reps: str | None,
    left: str | None,
    right: str | None,
    duration: str | None,
    duration_unit: str | None,
    is_timed: bool,
    load: str | None,
) -> tuple[object, ...]:
    texts = _texts(
        reps=reps, left=left, right=right, duration=duration, duration_unit=duration_unit, load=load
    )
    count, seconds, fault = read_count(texts, _TIMED if is_timed else _UNTIMED)
    return (
        count.reps if seconds is None else None,
        count.left,
        count.right,
        count.is_at_least,
        seconds,
        bool(count.is_failure and count.reps),
        bool(count.clusters),
        fault.problem,
        fault.problem_column,
        fault.problem_text,
    )


def _load(
    facts: Mapping[str, ExerciseFacts],
    bar_kg: float,
    is_read: bool,
    load: str | None,
    unit: str,
    is_per_hand: bool | None,
    exercise_id: str | None,
    has_duration: bool,
) -> tuple[object, ...]:
    amounts = _EMPTY
    if is_read:
        texts = replace(_NO_TEXTS, load=load or "", unit=unit, is_per_hand=bool(is_per_hand))
        amounts = read_load_of_set(texts, facts[exercise_id or ""], bar_kg, has_duration=has_duration)
    return (
        amounts.load_kg,
        amounts.load_basis,
        amounts.load_unit,
        amounts.implements,
        amounts.needs_unit,
        amounts.problem,
        amounts.problem_column,
        amounts.problem_text,
    )


def _effort(
    rpe: str | None, rir: str | None, effort: str | None, ended_at_failure: bool
) -> tuple[object, ...]:
    count = RepsReading(1, is_failure=True) if ended_at_failure else RepsReading()
    reading, column, text = read_effort_of_set(_texts(rpe=rpe, rir=rir, effort=effort), count)
    has_problem = bool(reading.problem)
    return (
        reading.rpe,
        reading.rir,
        reading.problem,
        column if has_problem else "",
        text if has_problem else "",
    )


def _kinds(frame: pl.DataFrame, *, is_warm_up_column: bool) -> pl.Expr:
    """The kind of each set: what its cell says, else what its count says."""
    texts = frame["kind_text"].drop_nulls().unique().to_list()
    kinds = {
        text: "warm_up" if is_warm_up_column and is_yes(text) else parse_set_kind(text) for text in texts
    }
    said = pl.col("kind_text").replace_strict(kinds or {"": "work"}, default="work", return_dtype=pl.String)
    said = pl.when((said == "work") & pl.col("n_clusters")).then(pl.lit("rest_pause")).otherwise(said)
    return pl.when((said == "work") & pl.col("k_has_duration")).then(pl.lit("timed")).otherwise(said)


def _put_together(kind: pl.Expr) -> list[pl.Expr]:
    """The fields of `Amounts`: a faulty count leaves only its fault, so does a faulty load."""
    is_whole = pl.col("k_read") & (pl.col("l_problem") == "")
    count_fault = pl.col("k_known") & (pl.col("n_problem") != "")

    def if_whole(source: str | pl.Expr, otherwise: object) -> pl.Expr:
        value = pl.col(source) if isinstance(source, str) else source
        return pl.when(is_whole).then(value).otherwise(pl.lit(otherwise))

    def fault(part: str) -> pl.Expr:
        return pl.when(count_fault).then(pl.col(f"n_{part}")).otherwise(pl.col(f"l_{part}"))

    fields: dict[str, pl.Expr] = {
        "load_kg": pl.col("l_kg"),
        "load_basis": pl.col("l_basis"),
        "load_unit": pl.col("l_unit"),
        "implements": pl.col("l_implements"),
        "set_kind": if_whole(kind, "work"),
        "reps": if_whole("n_reps", None),
        "reps_left": if_whole("n_left", None),
        "reps_right": if_whole("n_right", None),
        "is_at_least": if_whole("n_at_least", otherwise=False),
        "duration_s": if_whole("n_duration", None),
        "rpe": if_whole("e_rpe", None),
        "rir": if_whole("e_rir", None),
        "needs_unit": pl.col("l_needs_unit"),
        "problem": fault("problem"),
        "problem_column": fault("column"),
        "problem_text": fault("text"),
        "soft_problem": if_whole("e_problem", ""),
        "soft_column": if_whole("e_column", ""),
        "soft_text": if_whole("e_text", ""),
    }
    return [expression.alias(f"a_{name}") for name, expression in fields.items()]
