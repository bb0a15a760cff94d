"""The gate: rows that break the contract land in `rejected_row` with place, column, text and reason."""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator
from datetime import date
from pathlib import Path
from typing import Any

import polars as pl
import pytest

from pipeline.clean.reasons import reasons
from pipeline.contract import TABLES
from pipeline.contract.frames import polars_schema
from pipeline.contract.records import LOGGED_SET
from pipeline.validate.gate import GateResult, gate_results, pass_gate
from pipeline.validate.judge import Judge
from pipeline.validate.row_rules import rules_of
from tests.plain_examiner import PlainExaminer

REAL_EXAMINER = True
GOOD: dict[str, Any] = {
    "source_area": "inbox",
    "source_file": "anna/log.csv",
    "source_sheet": "March",
    "source_row": 7,
    "part_index": 1,
    "client_id": "anna",
    "session_date": date(2026, 3, 2),
    "exercise_id": "bench_press",
    "exercise_name": "Bench Press",
    "set_index": 1,
    "drop_index": 1,
    "set_kind": "work",
    "load_kg": 60.0,
    "load_basis": "total",
    "load_text": "60",
    "load_unit": "kg",
    "implements": 1,
    "reps": 8,
}


@pytest.fixture(scope="module")
def judge() -> Iterator[Judge]:
    """One process with great-expectations for all tests of this file."""
    with Judge(LOGGED_SET) as one:
        yield one


def gate(judge: Judge, *rows: dict[str, Any]) -> GateResult:
    """Rows that differ from a good one as given, through the gate."""
    frame = pl.DataFrame([GOOD | row for row in rows], schema=polars_schema(LOGGED_SET))
    return pass_gate(frame, judge)


@pytest.mark.slow
def test_good_rows_pass_untouched(judge: Judge) -> None:
    result = gate(judge, {}, {"source_row": 8, "load_kg": None, "load_basis": "band"})
    assert result.passed.height == 2
    assert result.rejected.height == 0


FAULTS = [
    ({"load_kg": 1000.0, "load_text": "1000"}, "load_kg", "1000", "load_impossible"),
    ({"load_kg": -250.0, "load_text": "-250"}, "load_kg", "-250", "load_impossible"),
    ({"load_kg": 900.0, "load_text": None}, "load_kg", "900", "load_impossible"),
    ({"reps": 201}, "reps", "201", "reps_impossible"),
    ({"reps": -1}, "reps", "-1", "reps_impossible"),
    ({"reps_left": 500}, "reps_left", "500", "out_of_bounds"),
    ({"duration_s": 90_000.0}, "duration_s", "90000", "duration_impossible"),
    ({"rpe": 11.0}, "rpe", "11", "effort_out_of_range"),
    ({"rir": -1.0}, "rir", "-1", "effort_out_of_range"),
    ({"implements": 3}, "implements", "3", "out_of_bounds"),
    ({"set_kind": "heavy"}, "set_kind", "heavy", "out_of_bounds"),
    ({"load_basis": "stones"}, "load_basis", "stones", "out_of_bounds"),
    ({"client_id": None}, "client_id", "", "missing_value"),
    ({"session_date": None}, "session_date", "", "missing_value"),
    ({"set_index": 201}, "set_index", "201", "out_of_bounds"),
]


@pytest.mark.slow
@pytest.mark.parametrize(("fault", "column", "text", "reason"), FAULTS, ids=[f"{f[0]}" for f in FAULTS])
def test_a_row_that_breaks_a_rule_is_refused_with_place_column_text_and_reason(
    judge: Judge, fault: dict[str, Any], column: str, text: str, reason: str
) -> None:
    result = gate(judge, {"source_row": 6}, fault, {"source_row": 8})
    assert result.passed["source_row"].to_list() == [6, 8]
    (row,) = result.rejected.to_dicts()
    place = (row["source_area"], row["source_file"], row["source_sheet"], row["source_row"])
    assert place == ("inbox", "anna/log.csv", "March", 7)
    assert (row["column_name"], row["raw_text"], row["reason_code"]) == (column, text, reason)
    assert row["message"].endswith(".")
    assert reason in reasons()


@pytest.mark.slow
def test_the_stand_in_of_other_tests_refuses_what_great_expectations_refuses(
    judge: Judge, monkeypatch: pytest.MonkeyPatch
) -> None:
    frame = pl.DataFrame(
        [GOOD, *(GOOD | fault for fault, *_ in FAULTS), GOOD | {"load_kg": 700.0, "reps": 0, "rpe": 10.0}],
        schema=polars_schema(LOGGED_SET),
    )
    monkeypatch.setattr("pipeline.validate.judge.Examiner", PlainExaminer)
    with Judge(LOGGED_SET) as plain:
        ours, theirs = plain.failed_values(frame), judge.failed_values(frame)
    assert {rule: set(values) for rule, values in ours.items()} == {
        rule: set(values) for rule, values in theirs.items()
    }


@pytest.mark.slow
def test_a_row_that_breaks_two_rules_is_refused_once(judge: Judge) -> None:
    result = gate(judge, {"load_kg": 1000.0, "reps": 999})
    assert result.rejected.height == 1
    assert result.passed.height == 0


@pytest.mark.slow
def test_what_lies_on_a_bound_passes(judge: Judge) -> None:
    rows = [{"load_kg": 700.0}, {"load_kg": -200.0}, {"reps": 0}, {"reps": 200}, {"rpe": 10.0}, {"rir": 0.0}]
    assert gate(judge, *rows).rejected.height == 0


@pytest.mark.slow
def test_every_rule_of_the_contract_is_reported_with_how_many_failed(judge: Judge) -> None:
    failures = gate(judge, {}, {"reps": 900}, {"reps": 900, "source_file": "ben/log.csv"}).failures
    assert sorted(failures.select("source_file", "rule_id", "n_failed").rows()) == [
        ("anna/log.csv", "reps_bounds", 1),
        ("ben/log.csv", "reps_bounds", 1),
    ]
    results = {str(row["rule_id"]): row for row in gate_results(LOGGED_SET, 3, {"reps_bounds": 2})}
    assert set(results) == {rule.rule_id for rule in rules_of(LOGGED_SET)}
    assert (results["reps_bounds"]["n_checked"], results["reps_bounds"]["n_failed"]) == (3, 2)
    assert {row["n_failed"] for rule, row in results.items() if rule != "reps_bounds"} == {0}


@pytest.mark.parametrize("name", sorted(TABLES))
def test_every_bound_word_and_need_of_the_contract_is_a_rule(name: str) -> None:
    table = TABLES[name]
    kinds = {(rule.column.name, rule.kind) for rule in rules_of(table)}
    for column in table.columns:
        assert ((column.name, "missing") in kinds) == column.required
        assert ((column.name, "allowed") in kinds) == bool(column.allowed)
        assert ((column.name, "bounds") in kinds) == (column.low is not None and column.high is not None)


@pytest.mark.slow
def test_judging_each_value_once_refuses_the_same_rows_as_judging_every_row(judge: Judge) -> None:
    rng = random.Random(20260302)
    rows = [
        {
            "source_row": n,
            "load_kg": rng.choice([None, 60.0, 700.0, 700.5, -200.0, -200.5, 0.0, 1e6]),
            "reps": rng.choice([None, 0, 8, 200, 201, -1]),
            "rpe": rng.choice([None, 1.0, 10.0, 10.5, 0.5]),
            "set_kind": rng.choice(["work", "drop", "other", None]),
            "implements": rng.choice([1, 2, 3, None]),
        }
        for n in range(1, 2_001)
    ]
    naive = {
        row["source_row"]
        for row in rows
        for column in LOGGED_SET.columns
        if column.name in row
        and (
            (row[column.name] is None and column.required)
            or (row[column.name] is not None and column.allowed and row[column.name] not in column.allowed)
            or (
                row[column.name] is not None
                and column.low is not None
                and column.high is not None
                and not column.low <= row[column.name] <= column.high
            )
        )
    }
    result = gate(judge, *rows)
    assert set(result.rejected["source_row"]) == naive
    assert set(result.passed["source_row"]) == {row["source_row"] for row in rows} - naive


class OddExaminer:
    """Stands for the process with great-expectations: refuses 900 repetitions, counts its questions."""

    def __init__(self) -> None:
        self.n_asked = 0

    def failures(self, table_name: str, values: pl.DataFrame) -> dict[str, list[int]]:
        self.n_asked += 1
        failed: dict[str, list[int]] = {rule.rule_id: [] for rule in rules_of(TABLES[table_name])}
        if "reps" in values.columns:
            failed["reps_bounds"] = [n for n, reps in enumerate(values["reps"]) if reps == 900]
        return failed

    def close(self) -> None:
        """Nothing to end."""


@pytest.fixture
def remembered(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Callable[[], tuple[GateResult, int]]:
    """Run the gate again on the same rows, verdicts kept: the result, and how often it asked."""
    frame = pl.DataFrame([GOOD, GOOD | {"reps": 900, "source_row": 8}], schema=polars_schema(LOGGED_SET))

    def run() -> tuple[GateResult, int]:
        examiner = OddExaminer()
        monkeypatch.setattr("pipeline.validate.judge.Examiner", lambda: examiner)
        with Judge(LOGGED_SET, tmp_path) as one:
            return pass_gate(frame, one), examiner.n_asked

    return run


def test_a_value_judged_in_an_earlier_run_is_not_asked_about_again(
    remembered: Callable[[], tuple[GateResult, int]],
) -> None:
    (first, n_first), (again, n_again) = remembered(), remembered()
    assert (n_first, n_again) == (1, 0)
    assert first.rejected["source_row"].to_list() == [8]
    assert again.passed.equals(first.passed)
    assert again.rejected.equals(first.rejected)


def test_kept_verdicts_that_cannot_be_read_are_asked_again(
    remembered: Callable[[], tuple[GateResult, int]], tmp_path: Path
) -> None:
    remembered()
    (kept,) = tmp_path.glob("*.parquet")
    kept.write_bytes(b"damaged")
    result, n_asked = remembered()
    assert (result.rejected.height, n_asked) == (1, 1)
