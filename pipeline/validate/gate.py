"""The gate: rows that break a rule of the contract go to `rejected_row`, the others on to the models."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import polars as pl

from pipeline.contract import Table
from pipeline.contract.records import LOGGED_SET
from pipeline.validate.judge import Judge
from pipeline.validate.row_rules import RowRule, RuleOutcome, rules_of

_REASONS = {
    "load_kg": "load_impossible",
    "reps": "reps_impossible",
    "duration_s": "duration_impossible",
    "rpe": "effort_out_of_range",
    "rir": "effort_out_of_range",
}


@dataclass(frozen=True)
class GateResult:
    """Rows that passed, `rejected_row`s for the others, and how many rows of each file broke each rule.

    `failures` has source_file, rule_id and n_failed.
    """

    passed: pl.DataFrame
    rejected: pl.DataFrame
    failures: pl.DataFrame


def pass_gate(
    frame: pl.DataFrame, judge: Judge, table: Table = LOGGED_SET, area: str = "inbox"
) -> GateResult:
    """Check every row of `frame` against the rules of `table`, by `judge`, which must be that table's."""
    outcomes = check_rows(frame, judge, table)
    failures = _by_file(frame, outcomes)
    reasons: dict[int, RowRule] = {}
    for outcome in outcomes:
        for row in outcome.failed:
            reasons.setdefault(row, outcome.rule)
    if not reasons:
        return GateResult(frame, pl.DataFrame(), failures)
    numbered = frame.with_row_index("row_id")
    rejected = [
        _rejected(row, reasons[row["row_id"]], area)
        for row in numbered.filter(pl.col("row_id").is_in(list(reasons))).iter_rows(named=True)
    ]
    passed = numbered.filter(~pl.col("row_id").is_in(list(reasons))).drop("row_id")
    return GateResult(passed, pl.DataFrame(rejected, infer_schema_length=None), failures)


def check_rows(frame: pl.DataFrame, judge: Judge, table: Table) -> list[RuleOutcome]:
    """Every row rule of `table` on `frame` (its columns a subset of the table's), with the rows that fail."""
    failed = judge.failed_values(frame)
    return [
        RuleOutcome(rule, frame.height, _rows_with(frame, rule.column.name, failed[rule.rule_id]))
        for rule in rules_of(table)
        if rule.rule_id in failed
    ]


def _rows_with(frame: pl.DataFrame, name: str, values: pl.Series) -> tuple[int, ...]:
    if not len(values):
        return ()
    rows = frame.select(name).with_row_index("row_id")
    return tuple(rows.join(values.alias(name).to_frame(), on=name, how="semi", nulls_equal=True)["row_id"])


def _by_file(frame: pl.DataFrame, outcomes: Sequence[RuleOutcome]) -> pl.DataFrame:
    files = frame["source_file"]
    parts = [
        files.gather(list(outcome.failed))
        .value_counts(name="n_failed")
        .select(
            "source_file",
            pl.lit(outcome.rule.rule_id).alias("rule_id"),
            pl.col("n_failed").cast(pl.Int64),
        )
        for outcome in outcomes
        if outcome.failed
    ]
    schema = {"source_file": pl.String, "rule_id": pl.String, "n_failed": pl.Int64}
    return pl.concat(parts) if parts else pl.DataFrame(schema=schema)


def gate_results(table: Table, n_checked: int, n_failed: Mapping[str, int]) -> list[dict[str, object]]:
    """`validation_result` rows for every rule of a table, from counts over all that was checked."""
    return [
        {
            "rule_id": rule.rule_id,
            "checked_table": table.name,
            "column_name": rule.column.name,
            "severity": "row",
            "meaning": rule.meaning,
            "n_checked": n_checked,
            "n_failed": n_failed.get(rule.rule_id, 0),
        }
        for rule in rules_of(table)
    ]


def _rejected(row: dict[str, object], rule: RowRule, area: str) -> dict[str, object]:
    name = rule.column.name
    value = row.get(name)
    text = "" if value is None else f"{value:g}" if isinstance(value, float) else str(value)
    unit = f" {rule.column.unit}" if rule.column.unit and value is not None else ""
    code = "missing_value" if rule.kind == "missing" else _REASONS.get(name, "out_of_bounds")
    return {
        "source_area": area,
        "source_file": row["source_file"],
        "source_sheet": row.get("source_sheet") or "",
        "source_row": row["source_row"],
        "column_name": name,
        "raw_text": str(row.get("load_text") or text) if name == "load_kg" else text,
        "reason_code": code,
        "message": f"{text or 'Nothing'}{unit} is refused: {rule.meaning}",
        "suggestion": "Check for a slipped digit or a value in the wrong column.",
        "is_part": False,
    }
