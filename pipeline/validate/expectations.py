"""The contract's rules as great-expectations suites, answered in a process of their own.

great-expectations takes seconds to import and works on pandas frames. `python -m` this module
imports it while the files are still being read, then answers one question after the other: a frame of
distinct values comes in, the positions of those that break a rule go out. Its context is ephemeral, writes
nothing, and has its usage statistics switched off.

A question: 8 bytes of length, the table's name as 40 padded bytes, the frame in Arrow's format. An answer: 8
bytes of length, JSON: rule → positions, or `error`.
"""

from __future__ import annotations

import io
import json
import os
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any, BinaryIO

import polars as pl

from pipeline.contract import TABLES
from pipeline.validate.row_rules import RowRule, rules_of

CHUNK_ROWS = 1_000_000
_NAME_BYTES = 40


class Examiner:
    """The process that holds great-expectations; started at once, asked when there is something to ask."""

    def __init__(self) -> None:
        root = str(Path(__file__).resolve().parents[2])
        path = os.pathsep.join(filter(None, (root, os.environ.get("PYTHONPATH", ""))))
        self._process = subprocess.Popen(
            [sys.executable, "-m", "pipeline.validate.expectations"],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            env={**os.environ, "PYTHONPATH": path, "GX_ANALYTICS_ENABLED": "false"},
        )

    def failures(self, table_name: str, values: pl.DataFrame) -> dict[str, list[int]]:
        """Rule id → positions in `values` that break it. RuntimeError where a rule could not be checked."""
        stdin, stdout = self._process.stdin, self._process.stdout
        if stdin is None or stdout is None:
            raise RuntimeError("the process that checks the rules has no pipes")
        buffer = io.BytesIO()
        values.write_ipc(buffer)
        try:
            stdin.write(len(buffer.getvalue()).to_bytes(8, "big") + table_name.encode().ljust(_NAME_BYTES))
            stdin.write(buffer.getvalue())
            stdin.flush()
            answer = json.loads(_read(stdout, int.from_bytes(_read(stdout, 8), "big")))
        except (BrokenPipeError, EOFError) as err:
            raise RuntimeError("the process that checks the rules has ended") from err
        if "error" in answer:
            raise RuntimeError(answer["error"])
        failed: dict[str, list[int]] = answer
        return failed

    def close(self) -> None:
        """End the process, whatever it is doing."""
        self._process.kill()
        for pipe in (self._process.stdin, self._process.stdout):
            if pipe is not None:
                pipe.close()
        self._process.wait()


def _read(stream: Any, n_bytes: int) -> bytes:
    data: bytes = stream.read(n_bytes)
    if len(data) < n_bytes:
        raise EOFError
    return data


class Suite:
    """The rules of a table as a great-expectations suite."""

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
        self._rules = rules
        self._new_suite = gx.ExpectationSuite

    def failures(self, values: pl.DataFrame) -> dict[str, list[int]]:
        """Rule id → positions in `values` that break it, for the rules of its columns."""
        rules = [rule for rule in self._rules if rule.column.name in values.columns]
        suite = self._new_suite(name="contract", expectations=[_expectation(rule) for rule in rules])
        failed: dict[str, list[int]] = {rule.rule_id: [] for rule in rules}
        for chunk in _chunks(values.with_row_index("row_id")):
            batch = self._batch.get_batch(batch_parameters={"dataframe": chunk.to_pandas()})
            result = batch.validate(suite, result_format=self._RESULT_FORMAT)
            for outcome in result.results:
                rule_id = outcome.expectation_config.meta["rule_id"]
                if outcome.exception_info and outcome.exception_info.get("raised_exception"):
                    raise RuntimeError(f"the rule {rule_id} could not be checked: {outcome.exception_info}")
                failed[rule_id] += _row_ids(outcome.result.get("unexpected_index_list") or [])
        return failed


def _chunks(frame: pl.DataFrame) -> Iterator[pl.DataFrame]:
    for start in range(0, frame.height, CHUNK_ROWS):
        yield frame.slice(start, CHUNK_ROWS)


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


def answer(questions: BinaryIO, answers: BinaryIO) -> None:
    """Answer questions until there are no more."""
    import great_expectations  # noqa: F401 - imported now, while the caller is busy with other things

    suites: dict[str, Suite] = {}
    while header := questions.read(8 + _NAME_BYTES):
        length, name = int.from_bytes(header[:8], "big"), header[8:].decode().strip()
        values = pl.read_ipc(io.BytesIO(_read(questions, length)))
        found: dict[str, Any]
        try:
            if name not in suites:
                suites[name] = Suite(rules_of(TABLES[name]))
            found = dict(suites[name].failures(values))
        except Exception as err:  # noqa: BLE001 - said to the caller, who raises it
            found = {"error": f"{type(err).__name__}: {err}"}
        text = json.dumps(found).encode()
        answers.write(len(text).to_bytes(8, "big") + text)
        answers.flush()


def _main() -> None:
    # what the library prints must not stand among the answers
    answers = os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)
    answer(sys.stdin.buffer, answers)


if __name__ == "__main__":
    _main()
