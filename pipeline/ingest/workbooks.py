"""Workbooks: every sheet as text cells, with what a person sees in them (units of number formats, dates)."""

from __future__ import annotations

import io
import re
import warnings
import zipfile
from datetime import date, datetime, time, timedelta
from typing import Any

from pipeline.contract.sheets import Refusal, Sheet, SourceFile
from pipeline.ingest.text_files import MOST_CELL_CHARACTERS, MOST_COLUMNS, to_cells

MOST_UNPACKED_BYTES = 256 * 1024**2
MOST_RATIO = 400
MOST_CELLS = 8_000_000
"""Cells of a workbook, those of its merged ranges and of the rectangle around scattered ones included."""
_UNIT_FORMAT = re.compile(r'(?:"|\[\$)?\s*(kgs?|lbs?|kilos?|sec|secs|s|min|reps?)\b', re.IGNORECASE)
_PLUS_FORMAT = re.compile(r'^"?\+')


def read_workbook(data: bytes, area: str, name: str, digest: str) -> SourceFile:
    """An .xlsx as one `Sheet` a worksheet, or its refusal."""
    refusal = _check_archive(data)
    if refusal is not None:
        return SourceFile(area, name, digest, refusal=refusal)
    try:
        sheets, refusal = _read_sheets(data)
    except Exception as err:  # noqa: BLE001 - openpyxl raises whatever the damage leads to
        refusal = Refusal(
            "file_truncated",
            f"The workbook is damaged and cannot be opened ({type(err).__name__}).",
            "Open it in a spreadsheet program, save it again and put it back.",
        )
        sheets = []
    if refusal is not None:
        return SourceFile(area, name, digest, refusal=refusal)
    hidden = [sheet.source_sheet for sheet in sheets if sheet.is_hidden]
    message = f"Hidden sheets were read too: {', '.join(hidden)}." if hidden else ""
    return SourceFile(area, name, digest, sheets=tuple(sheets), message=message)


_TOO_LARGE = Refusal(
    "file_too_large", "The workbook unpacks to far more than any log needs.", "Export the log as .csv."
)
_CELL = re.compile(rb"<(?:\w+:)?c[ >/]")
_MERGED = re.compile(rb"<(?:\w+:)?mergeCell\b[^>]*?\bref\s*=\s*[\"']([^\"']*)")
_RANGE = re.compile(r"\$?([A-Z]{1,3})\$?(\d{1,7})(?::\$?([A-Z]{1,3})\$?(\d{1,7}))?")


def _n_cells(archive: zipfile.ZipFile) -> int:
    """Cells that opening the workbook would make, counted in the raw sheets: a merged range makes all of its own."""
    n_cells = 0
    for entry in archive.namelist():
        if not entry.startswith("xl/worksheets/") or not entry.endswith(".xml"):
            continue
        raw = archive.read(entry)
        if raw.startswith((b"\xff\xfe", b"\xfe\xff")):
            raw = raw.decode("utf-16", "replace").encode()
        n_cells += sum(1 for _ in _CELL.finditer(raw))
        n_cells += sum(_area(found.group(1).decode("latin-1")) for found in _MERGED.finditer(raw))
    return n_cells


def _area(reference: str) -> int:
    """Cells of a range such as B2:D9; too many where it is no such range."""
    found = _RANGE.fullmatch(reference.upper())
    if found is None:
        return MOST_CELLS + 1
    left, top, right, bottom = found.groups()
    if right is None or bottom is None:
        return 1
    return (abs(_column(right) - _column(left)) + 1) * (abs(int(bottom) - int(top)) + 1)


def _column(letters: str) -> int:
    number = 0
    for letter in letters:
        number = number * 26 + ord(letter) - 64
    return number


def _check_archive(data: bytes) -> Refusal | None:
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            entries = archive.infolist()
            names = {entry.filename for entry in entries}
            if any(entry.flag_bits & 1 for entry in entries):
                return Refusal(
                    "file_encrypted",
                    "The workbook is protected by a password.",
                    "Save it without a password and put it back.",
                )
            unpacked = sum(entry.file_size for entry in entries)
            if unpacked > MOST_UNPACKED_BYTES or unpacked > MOST_RATIO * max(len(data), 250_000):
                return _TOO_LARGE
            if not any(entry.startswith("xl/") for entry in names):
                return Refusal(
                    "file_misnamed",
                    "The file is a zip archive, but no workbook.",
                    "Unpack it, or save the log again as .xlsx or .csv.",
                )
            if _n_cells(archive) > MOST_CELLS:
                return _TOO_LARGE
    except Exception:  # noqa: BLE001 - zipfile and its decompressors raise whatever the damage leads to
        return Refusal(
            "file_truncated", "The workbook is cut off or damaged.", "Ask the client to send it again."
        )
    return None


def _read_sheets(data: bytes) -> tuple[list[Sheet], Refusal | None]:
    import openpyxl

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        book = openpyxl.load_workbook(io.BytesIO(data), data_only=True)
        formulas = openpyxl.load_workbook(io.BytesIO(data)) if _has_formulas(data) else None
    epoch = "1904" if book.epoch.year == 1904 else "1900"
    sheets: list[Sheet] = []
    for sheet in book.worksheets:
        if sheet.max_column > MOST_COLUMNS:
            return [], Refusal(
                "file_too_wide",
                f"The sheet {sheet.title!r} has {sheet.max_column:,} columns.",
                "Check that it is a training log and save it again.",
            )
        if sheet.max_row * sheet.max_column > MOST_CELLS:
            return [], _TOO_LARGE
        rows = _rows(sheet, formulas[sheet.title] if formulas is not None else None)
        if any(len(cell) > MOST_CELL_CHARACTERS for row in rows for cell in row):
            return [], Refusal(
                "cell_too_long",
                f"A cell of the sheet {sheet.title!r} is longer than any log's.",
                "Check that it is a training log and save it again.",
            )
        while rows and not any(rows[-1]):
            rows.pop()
        sheets.append(Sheet(sheet.title, to_cells(rows), epoch, is_hidden=sheet.sheet_state != "visible"))
    if not any(sheet.n_records for sheet in sheets):
        return [], Refusal(
            "file_empty", "The workbook has no filled sheet.", "Ask the client to send it again."
        )
    return sheets, None


def _has_formulas(data: bytes) -> bool:
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        return any(
            re.search(rb"<f[ >/]", archive.read(entry))
            for entry in archive.namelist()
            if entry.startswith("xl/worksheets/")
        )


def _rows(sheet: Any, formulas: Any | None) -> list[list[str]]:
    rows = [[_text(cell) for cell in row] for row in sheet.iter_rows()]
    if formulas is not None:
        for r, row in enumerate(formulas.iter_rows()):
            for c, cell in enumerate(row):
                if cell.data_type == "f" and r < len(rows) and c < len(rows[r]) and not rows[r][c]:
                    rows[r][c] = str(cell.value)
    first_row, first_column = sheet.min_row, sheet.min_column
    # openpyxl starts at the first used row and column; records count from the sheet's first row
    rows = [[""] * (first_column - 1) + row for row in rows]
    rows = [[] for _ in range(first_row - 1)] + rows
    for merged in sheet.merged_cells.ranges:
        _fill_merged(rows, merged)
    return rows


def _fill_merged(rows: list[list[str]], merged: Any) -> None:
    top, left = merged.min_row - 1, merged.min_col - 1
    if top >= len(rows) or left >= len(rows[top]) or not rows[top][left]:
        return
    for r in range(top, min(merged.max_row, len(rows))):
        for c in range(left, min(merged.max_col, len(rows[r]))):
            rows[r][c] = rows[top][left]


def _text(cell: Any) -> str:
    """What a person sees in a cell, dates as ISO text, numbers without binary noise, units of the format."""
    value = cell.value
    if value is None:
        return ""
    if isinstance(value, bool):
        return "TRUE" if value else "FALSE"
    if isinstance(value, datetime):
        if value.time() == time(0, 0):
            return value.date().isoformat()
        return value.isoformat(sep=" ", timespec="seconds")
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, time):
        # a hold typed as 0:45 is stored as 45 minutes; what stands in the cell is 0:45
        shows_seconds = "s" in (cell.number_format or "").lower() or value.second
        return value.isoformat(timespec="seconds") if shows_seconds else f"{value.hour}:{value.minute:02d}"
    if isinstance(value, timedelta):
        seconds = int(value.total_seconds())
        return f"{seconds // 3600}:{seconds % 3600 // 60:02d}:{seconds % 60:02d}"
    if isinstance(value, int | float):
        return _number(value, cell.number_format or "")
    return str(value)


def _number(value: float, number_format: str) -> str:
    shown = f"{value:.10g}" if abs(value) < 1e15 else repr(value)
    if "%" in number_format:
        return f"{value * 100:.10g}%"
    # a backslash shows the letter behind it (0.0\\ \\k\\g); the first section is the one for positive numbers
    section = number_format.split(";")[0].replace("\\", "")
    unit = _UNIT_FORMAT.search(section)
    if unit:
        sign = "+" if _PLUS_FORMAT.match(section) and value > 0 else ""
        return f"{sign}{shown} {unit.group(1).lower()}"
    return shown
