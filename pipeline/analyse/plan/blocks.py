"""Did the block work? `block_review`, `block_lift`, `block_muscle` and `block_exercise`.

An observation, not proof: other things changed in those weeks as well, and a new block's first weeks carry
what the one before built.
"""

from __future__ import annotations

from datetime import date
from typing import Any

import duckdb
import numpy as np
import polars as pl

from pipeline.analyse.plan.block_fit import Rates, difference, fit_lines, outcomes_of, pool_rates
from pipeline.analyse.plan.block_weeks import (
    BLOCK_KEY,
    Block,
    read_attendance,
    read_block_lifts,
    read_blocks,
    read_muscle_means,
    read_planned_exercises,
)
from pipeline.analyse.plan.wording import count
from pipeline.contract import TABLES
from pipeline.contract.frames import as_table, frame_of

BlockKey = tuple[str, str, date]


def build_block_line(con: duckdb.DuckDBPyConnection) -> pl.DataFrame:
    """`block_line`: the fitted line of each lift in each block; empty figures where there is too little."""
    series, sessions = read_block_lifts(con)
    days = sessions["session_date"].to_numpy().astype("datetime64[D]").astype(np.int64)
    number = sessions["series"].to_numpy()
    first = np.full(series.height, np.iinfo(np.int64).max)
    np.minimum.at(first, number, days)
    lines = fit_lines(
        number,
        (days - first[number]) / 7,
        sessions["ln_e1rm"].to_numpy(),
        sessions["se_ln"].to_numpy(),
        series.height,
    )
    return series.select(
        *BLOCK_KEY,
        "exercise_id",
        "n_sessions",
        *_known(lines.rates, pct_per_week=lines.rates.pct_per_week, se_pct=lines.rates.se_pct),
        *_known(lines.rates, df=lines.rates.df, first_kg=lines.first_kg, last_kg=lines.last_kg),
    )


def _known(rates: Rates, **columns: np.ndarray) -> list[pl.Series]:
    """Columns of as many entries as there are rates, empty where there is none."""
    return [
        pl.Series(name, values, dtype=pl.Float64).set(pl.Series(~rates.is_known), None)
        for name, values in columns.items()
    ]


def _rates_of(lines: pl.DataFrame) -> Rates:
    return Rates(
        lines["pct_per_week"].fill_null(0.0).to_numpy(),
        lines["se_pct"].fill_null(1.0).to_numpy(),
        lines["df"].fill_null(1.0).to_numpy(),
        lines["df"].is_not_null().to_numpy(),
    )


def _rate_columns(name: str, rates: Rates) -> list[pl.Series]:
    low, high = rates.interval()
    return _known(
        rates,
        **{
            f"{name}_pct_per_week": rates.pct_per_week,
            f"{name}_low_pct_per_week": low,
            f"{name}_high_pct_per_week": high,
        },
    )


def build_block_lift(con: duckdb.DuckDBPyConnection) -> pl.DataFrame:
    """`block_lift`: each lift trained in a block, against the block before."""
    lines: pl.DataFrame = con.sql("""
        with numbered as (select *, row_number() over () - 1 as place from block_line)
        select l.*, x.exercise_name, coalesce(b.place, -1) as before
        from numbered l
        join training_block t on t.client_id = l.client_id and t.plan = l.plan
            and t.valid_from = l.valid_from
        left join numbered b on b.client_id = t.client_id and b.plan = t.previous_plan
            and b.valid_from = t.previous_from and b.exercise_id = l.exercise_id
        left join exercise x on x.exercise_id = l.exercise_id
        order by l.place""").pl()
    rates = _rates_of(lines)
    earlier = rates.at(lines["before"].to_numpy())
    return as_table(
        TABLES["block_lift"],
        lines.with_columns(
            pl.col("plan").replace("", None),
            pl.col("exercise_name").fill_null(pl.col("exercise_id")),
            pl.col("first_kg").alias("first_e1rm_kg"),
            pl.col("last_kg").alias("last_e1rm_kg"),
            pl.Series("outcome", outcomes_of(rates), dtype=pl.String),
            *_known(earlier, previous_change_pct_per_week=earlier.pct_per_week),
            *_rate_columns("change", rates),
            *_rate_columns("difference", difference(rates, earlier)),
        ),
    )


def build_block_review(con: duckdb.DuckDBPyConnection) -> pl.DataFrame:
    """`block_review`: adherence and pooled strength change of each block, against the block before."""
    blocks = read_blocks(con)
    place = {block.key: n for n, block in enumerate(blocks)}
    lines: pl.DataFrame = con.sql("select * from block_line").pl()
    block_of = np.array([place[key] for key in lines.select(BLOCK_KEY).iter_rows()], dtype=np.int64)
    pooled = pool_rates(
        block_of, _rates_of(lines), np.array([max(block.n_weeks, 2) for block in blocks], dtype=np.float64)
    )
    before = np.array([place.get(block.previous_key, -1) if block.previous_key else -1 for block in blocks])
    earlier = pooled.at(before.astype(np.int64))
    change = difference(pooled, earlier)
    n_lifts = np.bincount(block_of, lines["df"].is_not_null().to_numpy(), minlength=len(blocks))
    attended = {
        (r["client_id"], r["plan"], r["valid_from"]): r for r in read_attendance(con).iter_rows(named=True)
    }
    outcomes, sentences = outcomes_of(pooled), _sentences(blocks, attended, pooled, change, n_lifts)
    rows: list[dict[str, object]] = []
    for n, block in enumerate(blocks):
        mine = attended.get(block.key, {})
        its_last = attended.get(block.previous_key, {}) if block.previous_key else {}
        rows.append(
            {
                "client_id": block.client_id,
                "plan": block.plan or None,
                "valid_from": block.valid_from,
                "last_day": block.last_day,
                "is_over": block.is_over,
                "n_weeks": block.n_weeks,
                "n_planned": mine.get("n_planned"),
                "n_done": mine.get("n_done"),
                "attendance_pct": mine.get("attendance_pct"),
                "set_completion_pct": mine.get("set_completion_pct"),
                "n_lifts": int(n_lifts[n]),
                "previous_valid_from": block.previous_from,
                "previous_attendance_pct": its_last.get("attendance_pct"),
                "outcome": outcomes[n],
                "sentence": sentences[n],
            }
        )
    return frame_of(TABLES["block_review"], rows).with_columns(
        *_known(earlier, previous_change_pct_per_week=earlier.pct_per_week),
        *_rate_columns("change", pooled),
        *_rate_columns("difference", change),
    )


def _sentences(
    blocks: list[Block], attended: dict[BlockKey, dict[str, Any]], rates: Rates, change: Rates, n_lifts: Any
) -> list[str]:
    """Each block in a sentence: weeks, sessions, strength with its interval, and whether the one before
    differed."""
    (low, high), (least, most), against = rates.interval(), change.interval(), outcomes_of(change)
    sentences = []
    for n, block in enumerate(blocks):
        mine = attended.get(block.key)
        parts = [f"{count(block.n_weeks, 'complete week')}"]
        if mine:
            parts[0] += f", {mine['n_done']} of {mine['n_planned']} sessions"
            if mine["set_completion_pct"] is not None:
                parts[0] += f" and {mine['set_completion_pct']:.0f} % of the sets done"
        if rates.is_known[n]:
            parts.append(
                f"strength {rates.pct_per_week[n]:+.1f} % a week ({low[n]:+.1f} to {high[n]:+.1f}) over"
                f" {count(int(n_lifts[n]), 'lift')}"
            )
        else:
            parts.append("too few sessions of any lift to tell a change of strength")
        if change.is_known[n]:
            figures = f"({change.pct_per_week[n]:+.1f}, {least[n]:+.1f} to {most[n]:+.1f})"
            parts.append(f"{_AGAINST[against[n]]} {figures}")
        sentences.append("; ".join(parts) + ".")
    return sentences


_AGAINST = {
    "stronger": "more than in the block before",
    "weaker": "less than in the block before",
    "no_clear_change": "no clear difference to the block before",
}


def build_block_muscle(con: duckdb.DuckDBPyConnection) -> pl.DataFrame:
    """`block_muscle`: sets a muscle and week planned and done, with the block before."""
    means = read_muscle_means(con)
    before = {
        (r["client_id"], r["plan"], r["valid_from"], r["muscle"]): r["done_sets"]
        for r in means.iter_rows(named=True)
    }
    earlier = {block.key: block.previous_key for block in read_blocks(con)}
    rows = []
    for row in means.iter_rows(named=True):
        previous = earlier.get((row["client_id"], row["plan"], row["valid_from"]))
        done = before.get((*previous, row["muscle"])) if previous else None
        if (
            any(row[name] for name in ("planned_sets", "done_sets", "unknown_effort_sets", "target_low"))
            or done
        ):
            rows.append({**row, "plan": row["plan"] or None, "previous_done_sets": done})
    return frame_of(TABLES["block_muscle"], rows)


def build_block_exercise(con: duckdb.DuckDBPyConnection) -> pl.DataFrame:
    """`block_exercise`: each planned exercise of a block, plan against done."""
    found = read_planned_exercises(con)
    if not found.height:
        return frame_of(TABLES["block_exercise"], [])
    sentences = [_exercise_sentence(row) for row in found.iter_rows(named=True)]
    return as_table(
        TABLES["block_exercise"],
        found.with_columns(pl.Series("sentence", sentences), pl.col("plan").replace("", None)),
    )


def _exercise_sentence(row: dict[str, Any]) -> str:
    text = (
        f"{row['exercise_name'] or row['exercise_id']}: done {row['n_times_done']} of"
        f" {count(row['n_times_planned'], 'time')}, {row['done_sets']} of {count(row['planned_sets'], 'set')}"
    )
    if row["n_times_swapped"]:
        swaps = row["n_times_swapped"]
        text += f"; {count(swaps, 'time')} another exercise" + (
            f", mostly {row['swapped_for']}" if row["swapped_for"] else ""
        )
    return text + "."
