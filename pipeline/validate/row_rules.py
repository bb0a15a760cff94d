"""The rules a row must keep, taken from the contract, as great-expectations suites.

great-expectations is imported only where a validation runs (it takes seconds), works on pandas frames in chunks,
in an ephemeral context that writes nothing, with its usage statistics switched off.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import polars as pl

from pipeline.contract import Column, Table

CHUNK_ROWS = 1_000_000


@dataclass(frozen=True)
class RowRule:
    """One rule of one column; `kind` is missing, allowed or bounds."""

    column: Column
    kind: str

    @property
    def rule_id(self) -> str:
        return f"{self.column.name}_{self.kind}"

    @property
    def meaning(self) -> str:
        """The rule as a sentence."""
        name, unit = self.column.name, f" {self.column.unit}" if self.column.unit else ""
        if self.kind == "missing":
            return f"{name} is never empty."
        if self.kind == "allowed":
            return f"{name} is one of {', '.join(self.column.allowed)}."
        return f"{name} lies from {self.column.low:g} to {self.column.high:g}{unit}."


@dataclass(frozen=True)
class RuleOutcome:
    """A rule as checked: how many rows, and which of them failed (positions in the frame)."""

    rule: RowRule
    n_checked: int
    failed: tuple[int, ...]


def rules_of(table: Table) -> list[RowRule]:
    """The row rules of a contract table, column by column."""
    rules: list[RowRule] = []
    for column in table.columns:
        if column.required:
            rules.append(RowRule(column, "missing"))
        if column.allowed:
            rules.append(RowRule(column, "allowed"))
        if column.low is not None and column.high is not None:
            rules.append(RowRule(column, "bounds"))
    return rules


def check_rows(frame: pl.DataFrame, table: Table) -> list[RuleOutcome]:
    """Every row rule of `table` on `frame` (its columns a subset of the table's), with the rows that fail."""
    rules = [rule for rule in rules_of(table) if rule.column.name in frame.columns]
    failed: dict[str, list[int]] = {rule.rule_id: [] for rule in rules}
    if frame.height and rules:
        gate = _Gate(rules)
        columns = list(dict.fromkeys(rule.column.name for rule in rules))
        numbered = frame.select(columns).with_row_index("row_id")
        for chunk in _chunks(numbered):
            for rule_id, rows in gate.failures(chunk).items():
                failed[rule_id] += rows
    return [RuleOutcome(rule, frame.height, tuple(failed[rule.rule_id])) for rule in rules]


def _chunks(frame: pl.DataFrame) -> Iterator[pl.DataFrame]:
    for start in range(0, frame.height, CHUNK_ROWS):
        yield frame.slice(start, CHUNK_ROWS)


class _Gate:
    """A great-expectations suite of the rules, applied to one chunk after the other."""

    _RESULT_FORMAT = {  # noqa: RUF012 - read only
        "result_format": "COMPLETE",
        "unexpected_index_column_names": ["row_id"],
        "exclude_unexpected_values": True,
        "return_unexpected_index_query": False,
    }

    def __init__(self, rules: list[RowRule]) -> None:
        os.environ.setdefault("GX_ANALYTICS_ENABLED", "false")
        import great_expectations as gx

        context = gx.get_context(mode="ephemeral")
        context.variables.progress_bars = {"globally": False}
        asset = context.data_sources.add_pandas("cleaned").add_dataframe_asset("rows")
        self._batch = asset.add_batch_definition_whole_dataframe("chunk")
        self._suite = gx.ExpectationSuite(
            name="contract", expectations=[_expectation(rule) for rule in rules]
        )

    def failures(self, chunk: pl.DataFrame) -> dict[str, list[int]]:
        """Rule id → `row_id`s of the rows that fail."""
        batch = self._batch.get_batch(batch_parameters={"dataframe": chunk.to_pandas()})
        result = batch.validate(self._suite, result_format=self._RESULT_FORMAT)
        failed: dict[str, list[int]] = {}
        for outcome in result.results:
            rule_id = outcome.expectation_config.meta["rule_id"]
            if outcome.exception_info and outcome.exception_info.get("raised_exception"):
                raise RuntimeError(f"the rule {rule_id} could not be checked: {outcome.exception_info}")
            failed[rule_id] = _row_ids(outcome.result.get("unexpected_index_list") or [])
        return failed


def _row_ids(found: list[dict[str, Any]]) -> list[int]:
    """Row ids of a result: one mapping a row, or one mapping for all of them, as the version has it."""
    ids: list[int] = []
    for item in found:
        value = item["row_id"]
        ids += [int(v) for v in value] if isinstance(value, list) else [int(value)]
    return ids


def _expectation(rule: RowRule) -> Any:
    import great_expectations.expectations as gxe

    column, meta = rule.column, {"rule_id": rule.rule_id}
    if rule.kind == "missing":
        return gxe.ExpectColumnValuesToNotBeNull(column=column.name, meta=meta)
    if rule.kind == "allowed":
        return gxe.ExpectColumnValuesToBeInSet(column=column.name, value_set=list(column.allowed), meta=meta)
    return gxe.ExpectColumnValuesToBeBetween(
        column=column.name, min_value=column.low, max_value=column.high, meta=meta
    )
