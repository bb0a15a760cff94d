"""Files as they are written: records of cells in sheets, with marks on what was planted on purpose.

Written bytes depend on the records alone: workbooks carry a fixed creation time, text files fixed line
ends. A record's number is its place in the sheet, from 1, header and blank lines included.
"""

from __future__ import annotations

import csv
import io
from dataclasses import dataclass, field
from datetime import date, datetime
from pathlib import Path

import xlsxwriter

from demo_data.lifting import DoneSet

Cell = str | int | float | date | None
WORKBOOK_TIME = datetime(2026, 6, 28, 18, 0, 0)


@dataclass(frozen=True)
class Plant:
    """A defect planted on purpose: what it is, what should become of the record, in which words."""

    defect: str
    expected_fate: str
    reason: str
    also_right: str = ""
    client_id: str = ""


@dataclass
class Record:
    """A line of a file. `sets` are the done sets it tells of."""

    cells: list[Cell]
    sets: tuple[DoneSet, ...] = ()
    plant: Plant | None = None


@dataclass
class Sheet:
    """A sheet of a workbook, or the one table of a text file (name empty)."""

    name: str
    records: list[Record] = field(default_factory=list)


@dataclass
class PaperFile:
    """A file below the workspace. `raw` replaces the sheets where a file is no table at all."""

    path: str
    sheets: list[Sheet]
    delimiter: str = ","
    encoding: str = "utf-8"
    line_end: str = "\n"
    raw: bytes | None = None
    plant: Plant | None = None

    @property
    def ext(self) -> str:
        """Ending of the file name, without the dot."""
        return self.path.rsplit(".", 1)[-1]


@dataclass(frozen=True)
class Found:
    """Where a planted defect came to stand; `row` None: the whole file."""

    file: str
    sheet: str
    row: int | None
    plant: Plant


def found_plants(file: PaperFile) -> list[Found]:
    """Every planted defect of a file with its place."""
    found = [Found(file.path, "", None, file.plant)] if file.plant else []
    for sheet in file.sheets:
        for number, record in enumerate(sheet.records, 1):
            if record.plant:
                found.append(Found(file.path, sheet.name, number, record.plant))
    return found


def write_file(root: Path, file: PaperFile) -> None:
    """Write one file below `root`, folders made as needed."""
    target = root / file.path
    target.parent.mkdir(parents=True, exist_ok=True)
    if file.raw is not None:
        target.write_bytes(file.raw)
    elif file.ext == "xlsx":
        _write_workbook(target, file.sheets)
    else:
        target.write_bytes(_text_of(file).encode(file.encoding))


def _text_of(file: PaperFile) -> str:
    records = file.sheets[0].records
    if file.ext == "txt":
        return "".join(f"{record.cells[0] or ''}{file.line_end}" for record in records)
    out = io.StringIO(newline="")
    writer = csv.writer(out, delimiter=file.delimiter, lineterminator=file.line_end)
    for record in records:
        if record.cells:
            writer.writerow(["" if cell is None else cell for cell in record.cells])
        else:
            out.write(file.line_end)
    return out.getvalue()


def _write_workbook(target: Path, sheets: list[Sheet]) -> None:
    book = xlsxwriter.Workbook(str(target), {"default_date_format": "dd/mm/yyyy"})
    book.set_properties({"created": WORKBOOK_TIME})
    bold = book.add_format({"bold": True})
    for sheet in sheets:
        page = book.add_worksheet(sheet.name)
        page.set_column(0, 1, 18)
        for row, record in enumerate(sheet.records):
            for column, cell in enumerate(record.cells):
                if isinstance(cell, date):
                    page.write_datetime(row, column, datetime(cell.year, cell.month, cell.day))
                elif isinstance(cell, str):
                    page.write_string(row, column, cell, bold if row == 0 else None)
                elif cell is not None:
                    page.write_number(row, column, cell)
    book.close()
