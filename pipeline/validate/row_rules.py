"""The rules a row must keep, taken from the contract: required, one of these words, within these bounds."""

from __future__ import annotations

from dataclasses import dataclass

from pipeline.contract import Column, Table


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
