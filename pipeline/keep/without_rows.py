"""A file of logs without some of its records; every other record reads as before, or nothing is done.

Records are blanked, not pulled up, so that the others keep their numbers.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping
from typing import Any

import polars as pl

from pipeline.contract.sheets import Sheet, SourceFile
from pipeline.errors import SetwrightError
from pipeline.ingest.read_files import read_bytes
from pipeline.ingest.text_files import decode, find_separator

Rows = Mapping[str, frozenset[int]]


def without_rows(data: bytes, area: str, name: str, rows: Rows) -> bytes:
    """The file's bytes with the records `rows` (by sheet, from 1) blanked.

    SetwrightError where the others would not read as before.
    """
    before = read_bytes(data, area, name)
    if before.refusal is not None:
        raise _cannot(area, name)
    made = (
        _workbook(data, rows)
        if data.startswith(b"PK")
        else _text(data, name, before, rows.get("", frozenset()))
    )
    after = read_bytes(made, area, name)
    if not _reads_as_before(before, after, rows):
        raise _cannot(area, name)
    return made


def _cannot(area: str, name: str) -> SetwrightError:
    return SetwrightError(
        f"{area}/{name} holds records of others, too, and cannot be rewritten safely.",
        "Take the client's rows out by hand, then run forget again.",
    )


def _reads_as_before(before: SourceFile, after: SourceFile, rows: Rows) -> bool:
    if after.refusal is not None:
        return not any(_others(sheet, rows) for sheet in before.sheets)
    now = {sheet.source_sheet: sheet for sheet in after.sheets}
    for sheet in before.sheets:
        kept = _others(sheet, rows)
        found = _others(now[sheet.source_sheet], {}) if sheet.source_sheet in now else {}
        if kept != found:
            return False
    return True


def _others(sheet: Sheet, rows: Rows) -> dict[int, tuple[str, ...]]:
    """The filled cells of each record that stays, by its number."""
    gone = rows.get(sheet.source_sheet, frozenset())
    cells = sheet.cells.filter(~pl.col("source_row").is_in(list(gone)))
    return {
        row[0]: texts
        for row in cells.iter_rows()
        if any(texts := tuple(f"{n}:{text}" for n, text in enumerate(row[1:]) if text is not None))
    }


def _text(data: bytes, name: str, before: SourceFile, rows: frozenset[int]) -> bytes:
    decoded = decode(data)
    if not isinstance(decoded, str):
        raise _cannot(before.source_area, name)
    encoding = _encoding_of(data, decoded)
    line_end = "\r\n" if "\r\n" in decoded else "\n"
    lines = decoded.replace("\r\n", "\n").replace("\r", "\n").split("\n")
    if lines and lines[-1] == "":
        lines.pop()
    sheet = before.sheets[0]
    if len(lines) == sheet.n_records:
        kept = ["" if number in rows else line for number, line in enumerate(lines, 1)]
        return (line_end.join(kept) + line_end).encode(encoding)
    # cells with line ends in them: written anew, record by record
    separator = find_separator(decoded, name) or ","
    buffer = io.StringIO(newline="")
    writer = csv.writer(buffer, delimiter=separator, lineterminator=line_end)
    for number, *cells in sheet.cells.iter_rows():
        writer.writerow([] if number in rows else ["" if cell is None else cell for cell in cells])
    return buffer.getvalue().encode(encoding if encoding.startswith("utf") else "utf-8")


def _encoding_of(data: bytes, text: str) -> str:
    """The encoding that gives these bytes back."""
    for encoding in (
        "utf-8-sig" if data.startswith(b"\xef\xbb\xbf") else "utf-8",
        "utf-16",
        "cp1252",
        "mac-roman",
    ):
        try:
            if data.decode(encoding) == text:
                return encoding
        except UnicodeDecodeError:
            continue
    return "utf-8"


def _workbook(data: bytes, rows: Rows) -> bytes:
    """A new workbook of what is seen in the cells: comments, charts, pictures and caches do not come along."""
    import openpyxl
    from openpyxl.utils.datetime import CALENDAR_MAC_1904

    shown = openpyxl.load_workbook(io.BytesIO(data), data_only=True)
    formulas = openpyxl.load_workbook(io.BytesIO(data))
    book = openpyxl.Workbook()
    book.remove(book.active)
    if shown.epoch.year == 1904:
        book.epoch = CALENDAR_MAC_1904
    for sheet in shown.worksheets:
        gone = rows.get(sheet.title, frozenset())
        if gone and len(gone) >= sheet.max_row:
            continue
        target = book.create_sheet(sheet.title)
        target.sheet_state = sheet.sheet_state
        _copy_cells(sheet, formulas[sheet.title], target, gone)
        for letter, size in sheet.column_dimensions.items():
            target.column_dimensions[letter].width = size.width
    if not book.worksheets:
        book.create_sheet("empty")
    if all(sheet.sheet_state != "visible" for sheet in book.worksheets):
        book.worksheets[0].sheet_state = "visible"
    made = io.BytesIO()
    book.save(made)
    return made.getvalue()


def _copy_cells(sheet: Any, formulas: Any, target: Any, gone: frozenset[int]) -> None:
    for row in sheet.iter_rows():
        for cell in row:
            value = cell.value
            if value is None:
                value = formulas.cell(cell.row, cell.column).value
            if value is None or cell.row in gone:
                continue
            _write(target, cell.row, cell.column, value, cell.number_format)
    for merged in sheet.merged_cells.ranges:
        if not any(row in gone for row in range(merged.min_row, merged.max_row + 1)):
            target.merge_cells(merged.coord)
            continue
        # what a merged cell said holds for the rows that stay
        first = sheet.cell(merged.min_row, merged.min_col)
        for row in range(merged.min_row, merged.max_row + 1):
            for column in range(merged.min_col, merged.max_col + 1):
                if row not in gone and first.value is not None:
                    _write(target, row, column, first.value, first.number_format)


def _write(target: Any, row: int, column: int, value: Any, number_format: str) -> None:
    cell = target.cell(row, column)
    if isinstance(value, str):
        cell.value = ""
        cell._value, cell.data_type = value, "s"
    elif (
        isinstance(value, int | float | bool)
        or hasattr(value, "isoformat")
        or hasattr(value, "total_seconds")
    ):
        cell.value = value
    else:
        text = str(getattr(value, "text", value))
        cell._value, cell.data_type = text, "s"
    cell.number_format = number_format
