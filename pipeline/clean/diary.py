"""Tables with a day and its whole session in one cell, read like notes from a phone."""

from __future__ import annotations

import re

import polars as pl

from pipeline.clean.entries import Unfolded
from pipeline.clean.headers import is_date_heading, parse_header_cell
from pipeline.clean.layout import row_texts
from pipeline.clean.note_words import SET_LIKE, holds_sets
from pipeline.contract.sheets import Sheet

_MOSTLY = 0.7
_HEADER_ROWS = 5


def diary_lines(sheet: Sheet) -> Sheet | None:
    """The lines of such a table, each with its record's number; None for any other sheet.

    It has a header with one column of days, and one column whose cells name exercises and hold sets.
    """
    for row in range(1, min(sheet.n_records, _HEADER_ROWS) + 1):
        header = row_texts(sheet, row)
        days = [column for column, text in header.items() if parse_header_cell(text).role == "date"]
        body = sheet.cells.slice(row)
        if len(days) != 1 or not body.height:
            continue
        sessions = [column for column in header if column not in days and _holds_sessions(body, column)]
        dated = body[days[0]].drop_nulls().to_list()
        n_dated = sum(is_date_heading(text) for text in dated)
        if len(sessions) == 1 and dated and n_dated >= _MOSTLY * len(dated):
            return _as_lines(sheet, row, days[0], sessions[0])
    return None


def _holds_sessions(body: pl.DataFrame, column: str) -> bool:
    texts = body[column].drop_nulls().head(100).to_list()
    named = [
        text
        for text in texts
        if (SET_LIKE.search(text) or holds_sets(text)) and re.match(r"[^\d]*[A-Za-zÀ-ÿ]{3}", text)
    ]
    return bool(texts) and len(named) >= _MOSTLY * len(texts)


def _as_lines(sheet: Sheet, header_row: int, day: str, session: str) -> Sheet:
    lines: list[tuple[int, str]] = []
    for number, day_text, text in (
        sheet.cells.slice(header_row).select("source_row", day, session).iter_rows()
    ):
        if day_text:
            lines.append((number, day_text))
        lines += [(number, line) for line in re.split(r"[\n;]", text or "")]
    cells = pl.DataFrame(lines, orient="row", schema={"source_row": pl.Int64, "c0": pl.String})
    return Sheet(sheet.source_sheet, cells, is_notes=True)


def of_records(read: Unfolded, sheet: Sheet) -> Unfolded:
    """What was read of the lines, for the records they come from: one fate a record, the header among them."""
    loaded = set(read.entries["source_row"].to_list()) if read.entries.height else set()
    first = min([*loaded, *read.ignored], default=1)
    read.ignored = {row: rule for row, rule in read.ignored.items() if row not in loaded}
    read.ignored |= dict.fromkeys(range(1, min(first, sheet.n_records + 1)), "header")
    return read
