"""A case read as an update reads it, and held against what a careful person reads in it.

A case is a workspace (clients.csv, inbox, …) with truth.json: `sets` (each field a list of readings that are
right; `certain` is false where a careful person could not be sure), `held` (records that must be asked or
refused: `kinds` of question, `codes` of reasons, `readings` that would be right, too), `refused` files, `pain`
notes that must be found.
"""

from __future__ import annotations

import json
from collections import defaultdict
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from typing import Any

from pipeline.ingest import read_folder
from pipeline.run.inputs import read_inputs
from pipeline.run.records import read_records
from pipeline.validate.judge import Judge
from pipeline.workspace import open_workspace

CASES = Path(__file__).parent / "cases"
Row = dict[str, Any]
_TOLERANCE_KG = 0.02


@dataclass
class Score:
    """Counts of sets: `certain` ones and how many of them `exact`; the faults, a line each."""

    certain: int = 0
    exact: int = 0
    wrong: list[str] = field(default_factory=list)
    missed: list[str] = field(default_factory=list)
    invented: list[str] = field(default_factory=list)
    others: list[str] = field(default_factory=list)

    @property
    def faults(self) -> list[str]:
        """Every fault, the silent ones first."""
        return [*self.wrong, *self.invented, *self.missed, *self.others]


def score(case: Path, judge: Judge) -> Score:
    """Read one case and compare."""
    truth = json.loads((case / "truth.json").read_text(encoding="utf-8"))
    workspace = open_workspace(case)
    as_of = date.fromisoformat(truth["as_of"])
    inputs = read_inputs(workspace, as_of)
    read = read_records(list(read_folder(workspace.inbox, "inbox")), inputs, judge, as_of, lambda name: None)
    tables = {name: frame.to_dicts() for name, frame in read.tables.items()}
    result = Score()
    result.others += [f"does not add up: {fault}" for fault in read.accounts.faults]
    loaded: dict[tuple[str, int], list[Row]] = defaultdict(list)
    for row in tables["logged_set"]:
        loaded[row["source_file"], row["source_row"]].append(row)
    _take_expected(truth["sets"], loaded, result)
    _hold(truth["held"], loaded, tables, result)
    for rows in loaded.values():
        result.invented += [f"invented: {_shown(row)}" for row in rows]
    _files(truth, tables, result)
    found = [row["note"] for row in tables["pain_note"]]
    result.others += [
        f"pain note not found: {text}" for text in truth["pain"] if not any(text in n for n in found)
    ]
    return result


def _take_expected(sets: list[Row], loaded: dict[tuple[str, int], list[Row]], result: Score) -> None:
    left: list[Row] = []
    for expected in sets:
        rows = loaded[expected["file"], expected["row"]]
        match = next((row for row in rows if not _differing(expected, row)), None)
        if match is None:
            left.append(expected)
            continue
        rows.remove(match)
        result.exact += expected.get("certain", True)
    result.certain = sum(expected.get("certain", True) for expected in sets)
    for expected in left:
        if _take_from_another_file(expected, loaded):
            result.exact += expected.get("certain", True)
            continue
        place = expected["file"], expected["row"]
        rows = [row for row in loaded[place] if expected.get("sheet") in (None, row["source_sheet"])]
        if rows:
            loaded[place].remove(rows[0])
            fields = ", ".join(_differing(expected, rows[0]))
            result.wrong.append(f"wrong in {fields}: {_shown(rows[0])}")
        elif expected.get("certain", True):
            result.missed.append(f"missed: {place[0]} #{place[1]} {expected['exercise'][0]}")


def _take_from_another_file(expected: Row, loaded: dict[tuple[str, int], list[Row]]) -> bool:
    """A session that was sent again stands in one of its files."""
    for rows in loaded.values():
        match = next((row for row in rows if not _differing(expected, row)), None)
        if match is not None:
            rows.remove(match)
            return True
    return False


def _differing(expected: Row, row: Row) -> list[str]:
    """Names of the fields in which a loaded set is none of the readings that are right."""
    bad = []
    if expected.get("sheet") not in (None, row["source_sheet"]):
        bad.append("sheet")
    if expected["client"] and row["client_id"] != expected["client"]:
        bad.append("client")
    if str(row["session_date"]) not in expected["date"]:
        bad.append("date")
    if row["exercise_id"] not in expected["exercise"]:
        bad.append("exercise")
    if not any(_near(row["load_kg"], load) for load in expected["load_kg"]):
        bad.append("load")
    if row["reps"] not in expected["reps"]:
        bad.append("repetitions")
    if row["set_kind"] not in expected["kind"]:
        bad.append("kind")
    if not any(_near(row["rir"], rir) and _near(row["rpe"], rpe) for rir, rpe in expected["effort"]):
        bad.append("effort")
    if "duration_s" in expected and not _near(row["duration_s"], expected["duration_s"]):
        bad.append("duration")
    if "sides" in expected and [row["reps_left"], row["reps_right"]] != expected["sides"]:
        bad.append("sides")
    return bad


def _near(found: float | None, right: float | None) -> bool:
    if found is None or right is None:
        return found is right
    return abs(found - right) <= _TOLERANCE_KG


def _hold(
    held: list[Row], loaded: dict[tuple[str, int], list[Row]], tables: dict[str, list[Row]], result: Score
) -> None:
    kinds = {row["question_id"]: row["kind"] for row in tables["open_question"]}
    for record in held:
        place = record["file"], record["row"]
        rows = loaded.pop(place, [])
        if rows:
            if not any(_is_reading(rows, reading) for reading in record["readings"]):
                result.wrong += [f"loaded where it must be asked: {_shown(row)}" for row in rows]
            continue
        waiting = {kinds.get(row["question_id"]) for row in _at(tables["waiting_row"], place)}
        refused = {row["reason_code"] for row in _at(tables["rejected_row"], place)}
        ignored = {f"ignored:{row['rule']}" for row in _at(tables["ignored_row"], place)}
        known = {"duplicate:" for _ in _at(tables["duplicate_row"], place)}
        fits = waiting & set(record["kinds"]) or (refused | ignored | known) & set(record["codes"])
        if not fits and not (refused and "*" in record["codes"]):
            found = sorted(map(str, waiting | refused | ignored)) or ["nothing"]
            result.others.append(f"{place[0]} #{place[1]}: {', '.join(found)} does not fit the fault")


def _at(rows: list[Row], place: tuple[str, int]) -> list[Row]:
    return [row for row in rows if row["source_file"] == place[0] and row["source_row"] in (place[1], None)]


def _is_reading(rows: list[Row], reading: list[Row]) -> bool:
    return len(rows) == len(reading) and all(
        any(_near(row["load_kg"], load) for load in one["load_kg"])
        and row["reps"] in one["reps"]
        and row["exercise_id"] in one["exercise"]
        and str(row["session_date"]) in one["date"]
        for row, one in zip(rows, reading, strict=True)
    )


def _files(truth: Row, tables: dict[str, list[Row]], result: Score) -> None:
    for file in truth["refused"]:
        codes = {row["reason_code"] for row in tables["rejected_row"] if row["source_file"] == file["file"]}
        fits = codes & set(file["codes"]) or (codes and (not file["codes"] or "*" in file["codes"]))
        if not fits and not file.get("may_be_read"):
            result.others.append(f"{file['file']}: refused for {sorted(codes) or 'nothing'}")
    if truth["clean"]:
        faults = [*tables["rejected_row"], *tables["waiting_row"]]
        result.others += [
            f"clean file: {row['source_file']} #{row['source_row']} not loaded" for row in faults
        ]


def _shown(row: Row) -> str:
    return (
        f"{row['source_file']} #{row['source_row']} {row['session_date']} {row['exercise_id']} "
        f"{row['set_kind']} {row['load_kg']} x {row['reps']} rir {row['rir']} rpe {row['rpe']}"
    )
