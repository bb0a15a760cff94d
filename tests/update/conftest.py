"""Updates in tests check the contract's rules without starting great-expectations, which takes seconds."""

from __future__ import annotations

import polars as pl
import pytest

from pipeline.contract import TABLES
from pipeline.validate.row_rules import RowRule, rules_of


class PlainExaminer:
    """Stands for the process with great-expectations: the same rules, checked value by value."""

    def failures(self, table_name: str, values: pl.DataFrame) -> dict[str, list[int]]:
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


@pytest.fixture(autouse=True, scope="module")
def plain_examiner(request: pytest.FixtureRequest) -> object:
    """In place of the real one, save in modules that say `REAL_EXAMINER = True`."""
    patch = pytest.MonkeyPatch()
    if not getattr(request.module, "REAL_EXAMINER", False):
        patch.setattr("pipeline.validate.judge.Examiner", PlainExaminer)
    yield
    patch.undo()
