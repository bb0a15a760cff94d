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

from pipeline.analyse.plan.block_fit import BlockFit, Rate, difference, fit_block, outcome_of, pool_rates
from pipeline.analyse.plan.block_weeks import (
    BLOCK_KEY,
    Block,
    read_attendance,
    read_block_sessions,
    read_blocks,
    read_muscle_means,
    read_planned_exercises,
)
from pipeline.analyse.plan.wording import count
from pipeline.contract import TABLES
from pipeline.contract.frames import as_table, frame_of

BlockKey = tuple[str, str, date]
LiftFits = dict[BlockKey, dict[str, tuple[str, int, BlockFit | None]]]


def fit_lifts(sessions: pl.DataFrame) -> LiftFits:
    """Block → exercise → (name, sessions, fitted line or None) from `read_block_sessions`."""
    fits: LiftFits = {}
    for key, group in sessions.group_by([*BLOCK_KEY, "exercise_id"], maintain_order=True):
        client_id, plan, valid_from, exercise_id = key
        days = group["session_date"].to_numpy().astype("datetime64[D]").astype(np.int64)
        fit = fit_block((days - days.min()) / 7, group["ln_e1rm"].to_numpy(), group["se_ln"].to_numpy())
        name = group["exercise_name"][0] or str(exercise_id)
        fits.setdefault((client_id, plan, valid_from), {})[str(exercise_id)] = (name, group.height, fit)
    return fits


def build_block_lift(con: duckdb.DuckDBPyConnection) -> pl.DataFrame:
    """`block_lift`: each lift trained in a block, against the block before."""
    blocks, fits = read_blocks(con), fit_lifts(read_block_sessions(con))
    rows: list[dict[str, object]] = []
    for block in blocks:
        before = fits.get(block.previous_key, {}) if block.previous_key else {}
        for exercise_id, (name, n_sessions, fit) in sorted(fits.get(block.key, {}).items()):
            earlier = before.get(exercise_id, ("", 0, None))[2]
            row: dict[str, object] = {
                **_key_of(block),
                "exercise_id": exercise_id,
                "exercise_name": name,
                "n_sessions": n_sessions,
                "first_e1rm_kg": fit.first_kg if fit else None,
                "last_e1rm_kg": fit.last_kg if fit else None,
                "outcome": outcome_of(fit.rate if fit else None),
                "previous_change_pct_per_week": earlier.rate.pct_per_week if earlier else None,
            }
            rows.append(
                row
                | _rate_columns("change", fit.rate if fit else None)
                | _rate_columns(
                    "difference", difference(fit.rate if fit else None, earlier.rate if earlier else None)
                )
            )
    return frame_of(TABLES["block_lift"], rows)


def build_block_review(con: duckdb.DuckDBPyConnection) -> pl.DataFrame:
    """`block_review`: adherence and pooled strength change of each block, against the block before."""
    blocks, fits = read_blocks(con), fit_lifts(read_block_sessions(con))
    attended = {
        (r["client_id"], r["plan"], r["valid_from"]): r for r in read_attendance(con).iter_rows(named=True)
    }
    n_weeks = {block.key: block.n_weeks for block in blocks}
    pooled = {
        key: pool_rates([fit.rate for _, _, fit in lifts.values() if fit], max(n_weeks.get(key, 0), 2))
        for key, lifts in fits.items()
    }
    rows: list[dict[str, object]] = []
    for block in blocks:
        mine, before = attended.get(block.key, {}), attended.get(block.previous_key or block.key, {})
        rate = pooled.get(block.key)
        earlier = pooled.get(block.previous_key) if block.previous_key else None
        change = difference(rate, earlier)
        n_lifts = sum(fit is not None for _, _, fit in fits.get(block.key, {}).values())
        row: dict[str, object] = {
            **_key_of(block),
            "last_day": block.last_day,
            "is_over": block.is_over,
            "n_weeks": block.n_weeks,
            "n_planned": mine.get("n_planned"),
            "n_done": mine.get("n_done"),
            "attendance_pct": mine.get("attendance_pct"),
            "set_completion_pct": mine.get("set_completion_pct"),
            "n_lifts": n_lifts,
            "previous_valid_from": block.previous_from,
            "previous_attendance_pct": before.get("attendance_pct") if block.previous_key else None,
            "previous_change_pct_per_week": earlier.pct_per_week if earlier else None,
            "outcome": outcome_of(rate),
            "sentence": block_sentence(block, mine, rate, change, n_lifts),
        }
        rows.append(row | _rate_columns("change", rate) | _rate_columns("difference", change))
    return frame_of(TABLES["block_review"], rows)


def _key_of(block: Block) -> dict[str, object]:
    return {"client_id": block.client_id, "plan": block.plan or None, "valid_from": block.valid_from}


def _rate_columns(name: str, rate: Rate | None) -> dict[str, object]:
    low, high = rate.interval() if rate else (None, None)
    return {
        f"{name}_pct_per_week": rate.pct_per_week if rate else None,
        f"{name}_low_pct_per_week": low,
        f"{name}_high_pct_per_week": high,
    }


def block_sentence(
    block: Block, attended: dict[str, Any], rate: Rate | None, change: Rate | None, n_lifts: int
) -> str:
    """The block in a sentence: weeks, sessions, strength with its interval, and whether the one before
    differed."""
    parts = [f"{count(block.n_weeks, 'complete week')}"]
    if attended:
        parts[0] += f", {attended['n_done']} of {attended['n_planned']} sessions"
        if attended["set_completion_pct"] is not None:
            parts[0] += f" and {attended['set_completion_pct']:.0f} % of the sets done"
    if rate is None:
        parts.append("too few sessions of any lift to tell a change of strength")
    else:
        low, high = rate.interval()
        parts.append(
            f"strength {rate.pct_per_week:+.1f} % a week ({low:+.1f} to {high:+.1f}) over"
            f" {count(n_lifts, 'lift')}"
        )
    if change is not None:
        low, high = change.interval()
        against = {
            "stronger": "more than in the block before",
            "weaker": "less than in the block before",
            "no_clear_change": "no clear difference to the block before",
        }[outcome_of(change)]
        parts.append(f"{against} ({change.pct_per_week:+.1f}, {low:+.1f} to {high:+.1f})")
    return "; ".join(parts) + "."


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
