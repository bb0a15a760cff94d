"""Check-in files as forms and scales give them: what each cell comes to, and why one is refused."""

from __future__ import annotations

from datetime import date
from typing import Any

import polars as pl
import pytest

from pipeline.clean.check_in_rows import excused_spans, kind_of_excuse, read_check_ins
from pipeline.clean.coach_tables import CoachTable
from pipeline.contract.sheets import Sheet, SourceFile
from pipeline.ingest.read_files import read_bytes
from tests.inbox_reading import AS_OF, knowledge

HEADER = ["client", "date", "bodyweight", "sleep", "excused", "note"]


def read(
    *rows: list[str], header: list[str] = HEADER, file: str = "form.csv", unit: str = "kg"
) -> tuple[list[dict[str, Any]], list[tuple[int, str, str, str]]]:
    """The check-ins, and record, column, text and reason of what was refused."""
    table = [header, *rows]
    cells: dict[str, list[Any]] = {"source_row": list(range(1, len(table) + 1))}
    for c in range(len(header)):
        cells[f"c{c}"] = [row[c] or None for row in table]
    sheet = Sheet("", pl.DataFrame(cells, schema_overrides={f"c{c}": pl.String for c in range(len(header))}))
    kept = CoachTable("check_ins")
    found = read_check_ins(SourceFile("check_ins", file, "hash", (sheet,)), knowledge(unit=unit), kept)
    return found, [(row[3], row[4], row[5], row[6]) for row in kept.rejected]


def test_a_row_is_read_whole() -> None:
    [row], refused = read(["Anna Berg", "2026-06-01", "72,4", "7.5", "", "slept well"])
    assert (row["client_id"], row["check_in_date"]) == ("anna", date(2026, 6, 1))
    assert (row["bodyweight_kg"], row["sleep_h"], row["excused"]) == (72.4, 7.5, None)
    assert (row["note"], row["source_row"]) == ("slept well", 2)
    assert refused == []


@pytest.mark.parametrize(
    ("text", "unit", "kilograms"),
    [
        ("72.4", "kg", 72.4),
        ("72,4 kg", "kg", 72.4),
        ("160", "lb", 72.57),
        ("160 lbs", "kg", 72.57),
        ("72.5 kg", "lb", 72.5),
        ("", "kg", None),
    ],
)
def test_a_bodyweight_is_kilograms_by_its_own_unit_else_the_clients(
    text: str, unit: str, kilograms: float | None
) -> None:
    [row], refused = read(["anna", "2026-06-01", text, "7", "", ""], unit=unit)
    assert row["bodyweight_kg"] == (None if kilograms is None else pytest.approx(kilograms, abs=0.01))
    assert refused == []


@pytest.mark.parametrize(
    ("cells", "column", "text", "code"),
    [
        (["carla", "2026-06-01", "72", "7", "", ""], "client_id", "carla", "client_unknown"),
        (["anna", "", "72", "7", "", ""], "check_in_date", "", "date_missing"),
        (["anna", "some day", "72", "7", "", ""], "check_in_date", "some day", "date_unreadable"),
        (["anna", "2026-07-01", "72", "7", "", ""], "check_in_date", "2026-07-01", "date_in_future"),
    ],
)
def test_a_row_nobody_can_place_is_refused(cells: list[str], column: str, text: str, code: str) -> None:
    rows, refused = read(cells)
    assert rows == []
    assert refused == [(2, column, text, code)]
    assert date(2026, 7, 1) > AS_OF


@pytest.mark.parametrize(
    ("column", "text"),
    [
        ("bodyweight", "6.75"),
        ("bodyweight", "heavy"),
        ("bodyweight", "900"),
        ("sleep", "27"),
        ("sleep", "bad"),
    ],
)
def test_a_cell_out_of_reason_is_refused_and_the_rest_of_its_row_kept(column: str, text: str) -> None:
    cells = ["anna", "2026-06-01", "72", "7", "", "a note"]
    cells[HEADER.index(column)] = text
    [row], refused = read(cells)
    name = {"bodyweight": "bodyweight_kg", "sleep": "sleep_h"}[column]
    assert row[name] is None
    assert row["note"] == "a note"
    assert refused == [(2, name, text, "value_unreadable")]


def test_a_row_that_says_nothing_is_refused_as_empty() -> None:
    rows, refused = read(["anna", "2026-06-01", "", "", "", ""])
    assert (rows, [code for *_, code in refused]) == ([], ["check_in_empty"])


def test_excused_days_of_a_kind_in_a_row_are_one_span() -> None:
    rows, _ = read(
        ["anna", "2026-06-03", "", "", "flu", ""],
        ["anna", "2026-06-01", "", "", "flu", ""],
        ["anna", "2026-06-02", "", "", "sick", ""],
        ["anna", "2026-06-05", "", "", "flu", ""],
        ["anna", "2026-06-06", "", "", "holiday", ""],
        ["ben", "2026-06-07", "", "", "holiday", ""],
        ["ben", "2026-06-08", "72", "", "no", ""],
    )
    spans = [(s["client_id"], s["kind"], s["date_from"].day, s["date_to"].day) for s in excused_spans(rows)]
    assert spans == [
        ("anna", "illness", 1, 3),
        ("anna", "illness", 5, 5),
        ("anna", "holiday", 6, 6),
        ("ben", "holiday", 7, 7),
    ]


@pytest.mark.parametrize(
    ("text", "kind"),
    [
        ("flu", "illness"),
        ("Krank", "illness"),
        ("work trip", "travel"),
        ("vacation", "holiday"),
        ("exam", "other"),
    ],
)
def test_an_excuse_is_sorted_by_its_words(text: str, kind: str) -> None:
    assert kind_of_excuse(text) == kind


@pytest.mark.parametrize(
    ("line", "note", "refused"),
    [
        ("anna,2026-06-01,72.4,new job, stress", "new job, stress", []),
        ("anna,2026-06-01,72,4,slept well", None, ["row_ragged"]),
        ("anna,2026-06-01,72.4,slept well", "slept well", []),
    ],
    ids=["a comma in the note", "a decimal comma", "as many cells as the header"],
)
def test_a_comma_without_quotes_loses_no_word_and_moves_no_figure(
    line: str, note: str | None, refused: list[str]
) -> None:
    source = read_bytes(f"client,date,bodyweight,note\n{line}\n".encode(), "check_ins", "form.csv")
    kept = CoachTable("check_ins")
    found = read_check_ins(source, knowledge(), kept)
    assert [row["note"] for row in found] == ([note] if note else [])
    assert [row[6] for row in kept.rejected] == refused
