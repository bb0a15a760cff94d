"""A workbook in memory whose cells cannot run, and native charts beside its tables.

Every text is written as a text, whatever it looks like, and one that looks like a formula keeps the mark
that says so when a person edits the cell.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, date, datetime
from io import BytesIO
from math import ceil
from typing import Any

import xlsxwriter

WIDEST_COLUMN = 70  # characters; longer texts go on in the next line of their cell
LINE_HEIGHT = 15  # points
LONGEST_TEXT = 32_000  # the format itself ends at 32,767 characters a cell
_FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r")

Cell = str | float | int | date | None


class WorkbookFile:
    """A workbook in memory, dated by its data and not by the clock."""

    def __init__(self, title: str, made_on: date) -> None:
        self._buffer = BytesIO()
        self.book = xlsxwriter.Workbook(
            self._buffer,
            {
                "in_memory": True,
                "strings_to_formulas": False,
                "strings_to_urls": False,
                "strings_to_numbers": False,
            },
        )
        self.book.set_properties(
            {"title": title, "created": datetime(made_on.year, made_on.month, made_on.day, tzinfo=UTC)}
        )
        self._formats = {
            "head": self.book.add_format({"bold": True, "bottom": 1, "font_color": "#1f5f8b"}),
            "text": self.book.add_format({"num_format": "@", "text_wrap": True, "valign": "top"}),
            "quoted": self.book.add_format(
                {"num_format": "@", "text_wrap": True, "valign": "top", "quote_prefix": True}
            ),
            "date": self.book.add_format({"num_format": "yyyy-mm-dd", "align": "left", "valign": "top"}),
            "whole": self.book.add_format({"num_format": "#,##0", "valign": "top"}),
            "real": self.book.add_format({"num_format": "#,##0.0", "valign": "top"}),
        }
        self._sheets: list[Sheet] = []

    def add_sheet(self, name: str, head: list[str]) -> Sheet:
        """A new sheet with its head row; names end at the format's 31 characters."""
        sheet = Sheet(self.book, self._formats, name[:31], head)
        self._sheets.append(sheet)
        return sheet

    def close(self) -> bytes:
        """Finish the sheets and return the file's bytes."""
        for sheet in self._sheets:
            sheet.finish()
        self.book.close()
        return self._buffer.getvalue()


class Sheet:
    """A sheet with a bold head row, filled from the top; columns as wide as their widest text."""

    def __init__(
        self, book: xlsxwriter.Workbook, formats: dict[str, Any], name: str, head: list[str]
    ) -> None:
        self._formats = formats
        self.name = name
        self.head = head
        self.sheet = book.add_worksheet(name)
        self._widths = [0] * len(head)
        self._next_row = 0
        self._write(head, "head")
        self.sheet.freeze_panes(1, 0)
        self.sheet.set_landscape()
        self.sheet.fit_to_pages(1, 0)

    @property
    def n_rows(self) -> int:
        """Rows below the head."""
        return self._next_row - 1

    def add(self, cells: Sequence[Cell]) -> None:
        """Write a row."""
        self._write(cells, "")

    def column(self, index: int, first: int = 1, last: int | None = None) -> list[Any]:
        """The cells of a column as a chart refers to them."""
        return [self.name, first, index, last if last is not None else self._next_row - 1, index]

    def finish(self) -> None:
        """Set the column widths and, where there are rows, the filter."""
        for index, width in enumerate(self._widths):
            self.sheet.set_column(index, index, min(max(width + 2, 9), WIDEST_COLUMN))
        if self.n_rows > 0:
            self.sheet.autofilter(0, 0, self._next_row - 1, len(self.head) - 1)

    def _write(self, cells: Sequence[Cell], style: str) -> None:
        for index, cell in enumerate(cells):
            shown = write_cell(self.sheet, self._next_row, index, cell, self._formats, style)
            if index < len(self._widths):
                self._widths[index] = max(self._widths[index], shown)
        n_lines = max((_n_lines(cell) for cell in cells), default=1)
        if n_lines > 1:
            self.sheet.set_row(self._next_row, LINE_HEIGHT * n_lines)
        self._next_row += 1


def write_cell(
    sheet: Any, row: int, column: int, cell: Cell, formats: dict[str, Any], style: str = ""
) -> int:
    """Write one value by its type and return how many characters it shows."""
    if cell is None:
        sheet.write_blank(row, column, None, formats[style] if style else None)
        return 0
    if isinstance(cell, date):
        sheet.write_datetime(row, column, datetime(cell.year, cell.month, cell.day), formats["date"])
        return 12
    if isinstance(cell, int):
        sheet.write_number(row, column, cell, formats["whole"])
        return 8
    if isinstance(cell, float):
        sheet.write_number(row, column, cell, formats["real"])
        return 8
    words = cell[:LONGEST_TEXT]
    chosen = style or ("quoted" if words.startswith(_FORMULA_STARTS) else "text")
    sheet.write_string(row, column, words, formats[chosen])
    return max((len(line) for line in words.splitlines()), default=0)


def add_chart(
    book: Any,
    sheet: Sheet,
    kind: str,
    title: str,
    axis: str,
    categories: list[Any],
    series: list[tuple[str, list[Any], str | None]],
    place: str,
    *,
    dates: bool = False,
) -> None:
    """A native chart beside the table it draws. Names are literal texts, never references."""
    chart = book.add_chart({"type": kind})
    for name, values, colour in series:
        look = {"color": colour or "#1f5f8b"}
        chart.add_series(
            {
                "name": _literal(name),
                "categories": categories,
                "values": values,
                **({"line": {**look, "width": 1.75}} if kind == "line" else {"fill": look}),
            }
        )
    chart.set_title({"name": _literal(title), "name_font": {"size": 11, "bold": True}})
    chart.set_y_axis(
        {"name": _literal(axis), "major_gridlines": {"visible": True, "line": {"color": "#dfe3e1"}}}
    )
    if dates:
        chart.set_x_axis({"date_axis": True, "num_format": "d mmm"})
    chart.set_legend({"position": "bottom"} if len(series) > 1 else {"none": True})
    chart.set_size({"width": 520, "height": 290})
    sheet.sheet.insert_chart(place, chart, {"description": title})


def _n_lines(cell: Cell) -> int:
    """Lines a cell needs in the widest column; a program that opens the file does not work them out."""
    if not isinstance(cell, str):
        return 1
    return min(sum(max(1, ceil(len(line) / (WIDEST_COLUMN - 6))) for line in cell.splitlines()) or 1, 25)


def _literal(name: str) -> str:
    """A chart's name that is never taken for a reference to a cell."""
    return f" {name}" if name.startswith("=") else name
