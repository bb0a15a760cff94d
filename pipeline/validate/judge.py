"""Distinct values judged once: a rule of a column sees each value a single time, ever, under the same rules.

All row rules speak of one value of one column, so that a value's verdict holds for every row that has it. New
values go to great-expectations (`Examiner`); verdicts are kept in the workspace for the next run.
"""

from __future__ import annotations

import hashlib
from importlib.metadata import version
from pathlib import Path
from types import TracebackType
from typing import Self

import polars as pl

from pipeline.contract import Table
from pipeline.validate.expectations import Examiner
from pipeline.validate.row_rules import RowRule, rules_of

_SCHEMA = {"column_name": pl.String, "value": pl.String, "failed": pl.String}
_MOST_KEPT = 500_000


class Judge:
    """Verdicts on values; a context manager, because the process behind it must end.

    `kept` is where verdicts are remembered (none: only within the run). Without verdicts to begin with, the
    process is started at once, since it will be needed.
    """

    def __init__(self, table: Table, kept: Path | None = None) -> None:
        self._table = table
        self._rules = rules_of(table)
        self._only_missing = {
            name
            for name, rules in _by_column(self._rules).items()
            if all(rule.kind == "missing" for rule in rules)
        }
        self._path = kept / f"verdicts-{_fingerprint(table, self._rules)}.parquet" if kept else None
        self._verdicts = pl.DataFrame(schema=_SCHEMA)
        if self._path is not None and self._path.exists():
            self._verdicts = _read_verdicts(self._path)
        self._n_read = self._verdicts.height
        self._examiner: Examiner | None = None if self._n_read else Examiner()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        if self._examiner is not None:
            self._examiner.close()
        if kind is None and self._path is not None and self._verdicts.height > self._n_read:
            self._path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
            draft = self._path.with_suffix(".new")
            self._verdicts.tail(_MOST_KEPT).write_parquet(draft)
            draft.replace(self._path)

    def failed_values(self, frame: pl.DataFrame) -> dict[str, pl.Series]:
        """Rule id → the values of its column, of those in `frame`, that break it."""
        values = {
            name: _distinct(frame, name, only_missing=name in self._only_missing)
            for name in _by_column(self._rules)
            if name in frame.columns
        }
        self._examine({name: self._unknown(name, series) for name, series in values.items()})
        failed: dict[str, pl.Series] = {}
        for rule in self._rules:
            if rule.column.name in values:
                failed[rule.rule_id] = self._failing(rule, values[rule.column.name])
        return failed

    def _unknown(self, name: str, values: pl.Series) -> pl.Series:
        known = self._verdicts.filter(pl.col("column_name") == name)
        asked = pl.DataFrame({"value": self._as_text(name, values), "it": values})
        return asked.join(known, on="value", how="anti", nulls_equal=True, maintain_order="left")["it"]

    def _as_text(self, name: str, values: pl.Series) -> pl.Series:
        """What a verdict is kept under; of a column that only must not be empty, nothing of what it holds."""
        if name in self._only_missing:
            return pl.Series([None if empty else "filled" for empty in values.is_null()], dtype=pl.String)
        return values.cast(pl.String)

    def _examine(self, unknown: dict[str, pl.Series]) -> None:
        unknown = {name: values for name, values in unknown.items() if len(values)}
        if not unknown:
            return
        if self._examiner is None:
            self._examiner = Examiner()
        longest = max(len(values) for values in unknown.values())
        # columns of one length: the first value again is judged as the first was
        padded = pl.DataFrame(
            [
                values.alias(name).extend(values.head(1).new_from_index(0, longest - len(values)))
                if len(values) < longest
                else values.alias(name)
                for name, values in unknown.items()
            ]
        )
        positions = self._examiner.failures(self._table.name, padded)
        new = []
        for name, values in unknown.items():
            failed = [""] * len(values)
            for rule in _by_column(self._rules)[name]:
                for position in positions[rule.rule_id]:
                    if position < len(values):
                        failed[position] += f"{rule.kind} "
            new.append(
                pl.DataFrame(
                    {"column_name": name, "value": self._as_text(name, values), "failed": failed},
                    schema=_SCHEMA,
                )
            )
        self._verdicts = pl.concat([self._verdicts, *new])

    def _failing(self, rule: RowRule, values: pl.Series) -> pl.Series:
        failing = self._verdicts.filter(
            (pl.col("column_name") == rule.column.name) & pl.col("failed").str.contains(rule.kind)
        )
        asked = pl.DataFrame({"value": self._as_text(rule.column.name, values), "it": values})
        return asked.join(failing, on="value", how="semi", nulls_equal=True)["it"]


def _by_column(rules: list[RowRule]) -> dict[str, list[RowRule]]:
    columns: dict[str, list[RowRule]] = {}
    for rule in rules:
        columns.setdefault(rule.column.name, []).append(rule)
    return columns


def _distinct(frame: pl.DataFrame, name: str, *, only_missing: bool) -> pl.Series:
    """The distinct values of a column; where only emptiness is asked about, one value and the empty one."""
    values = frame[name]
    if not only_missing:
        return values.unique()
    empty = values.filter(values.is_null()).head(1)
    return pl.concat([values.drop_nulls().head(1), empty])


def _fingerprint(table: Table, rules: list[RowRule]) -> str:
    """What a verdict rests on: the rules, and the library that applied them."""
    said = [table.name, version("great-expectations"), *(f"{rule.rule_id}: {rule.meaning}" for rule in rules)]
    return hashlib.sha256("\n".join(said).encode()).hexdigest()[:16]


def _read_verdicts(path: Path) -> pl.DataFrame:
    try:
        return pl.read_parquet(path).select(pl.col(name).cast(kind) for name, kind in _SCHEMA.items())
    except (OSError, pl.exceptions.PolarsError):
        return pl.DataFrame(schema=_SCHEMA)
