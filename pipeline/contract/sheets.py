"""What ingest hands to clean: files as sheets of text cells, or a reason why a file was refused whole."""

from __future__ import annotations

from dataclasses import dataclass, field

import polars as pl


@dataclass(frozen=True)
class Refusal:
    """Why a whole file (or sheet) cannot be read: a reason code, a sentence, and what to do about it."""

    reason_code: str
    message: str
    suggestion: str = ""


@dataclass(frozen=True)
class Sheet:
    """One sheet of a workbook, or a text file's only one (`source_sheet` is then empty).

    `cells` has `source_row` (records from 1, header and blank lines included) and text columns `c0`, `c1` …;
    a cell without content is null. `epoch` is the date system of day numbers, "1900" or "1904". `is_notes`:
    lines of free text, one a record, in `c0`. `widths` counts the cells of each record of separated text, empty ones
    included; None where cells have places of their own. Dates of a spreadsheet stand as ISO text, the cells
    of a merged range all hold its text.
    """

    source_sheet: str
    cells: pl.DataFrame
    epoch: str = "1900"
    is_notes: bool = False
    is_hidden: bool = False
    widths: pl.Series | None = None

    @property
    def n_records(self) -> int:
        """Records of the sheet, blank ones included."""
        return self.cells.height

    @property
    def columns(self) -> list[str]:
        """Names of the cell columns, left to right."""
        return [name for name in self.cells.columns if name != "source_row"]


@dataclass(frozen=True)
class SourceFile:
    """One file of the workspace: its path below `source_area`, its bytes' hash, its sheets or its refusal."""

    source_area: str
    source_file: str
    content_hash: str
    sheets: tuple[Sheet, ...] = ()
    refusal: Refusal | None = None
    message: str = ""
    n_refused_records: int = field(default=1)

    @property
    def n_records(self) -> int:
        """Records of all sheets; a file refused whole counts those that could be counted, at least one."""
        return (
            max(1, self.n_refused_records) if self.refusal else sum(sheet.n_records for sheet in self.sheets)
        )
