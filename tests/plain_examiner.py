"""The contract's row rules checked value by value: stands in for great-expectations, whose start takes seconds.

tests/validate/test_gate.py holds the two against each other.
"""

from __future__ import annotations

import polars as pl

from pipeline.contract import TABLES
from pipeline.validate.row_rules import RowRule, rules_of


class PlainExaminer:
    """As `pipeline.validate.expectations.Examiner`, without a process."""

    def failures(self, table_name: str, values: pl.DataFrame) -> dict[str, list[int]]:
        """Rule id → positions of the values that break it."""
        return {
            rule.rule_id: [n for n, value in enumerate(values[rule.column.name]) if _breaks(rule, value)]
            for rule in rules_of(TABLES[table_name])
            if rule.column.name in values.columns
        }

    def close(self) -> None:
        """Nothing to end."""


def _breaks(rule: RowRule, value: object) -> bool:
    if value is None:
        return rule.kind == "missing"
    if rule.kind == "allowed":
        return value not in rule.column.allowed
    low, high = rule.column.low, rule.column.high
    return rule.kind == "bounds" and not low <= value <= high  # type: ignore[operator]
