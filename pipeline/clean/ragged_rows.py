"""Records with more cells than the header above them: an unquoted comma stood in one of them; or with fewer,
because another separator did.

`8,92,5,2` below `Reps,Weight,RIR` is 92.5 to a person and 92 to a machine, so such a record is not read; only
words that overflow behind a note (`felt good, but tired`) are put back to it.
"""

from __future__ import annotations

import re
from itertools import pairwise
from typing import Any

import polars as pl

from pipeline.clean.entries import with_refused
from pipeline.clean.layout import Layout
from pipeline.contract.sheets import Sheet

_NUMBER = re.compile(r"[+-]?\d+(?:[.,]\d+)?")
_FRACTIONS = ("5", "25", "50", "75")
_OTHER_SEPARATOR = re.compile(r"[;|\t]")
_HOLDS_ONE_THING = (
    "client",
    "date",
    "exercise",
    "set_number",
    "n_sets",
    "load",
    "rpe",
    "rir",
)  # no lists of sets


def find_ragged(sheet: Sheet, layout: Layout) -> dict[int, tuple[str, str]]:
    """Records of the layout whose cells have moved, or that have words beyond the last column.

    Record number → the words to add to its note ("" where it cannot be trusted), and the record's own text.
    Only separated text has such records; a workbook's cells stand where they stand.
    """
    if sheet.widths is None or not layout.header_rows:
        return {}
    width = max(int(sheet.widths[row - 1]) for row in layout.header_rows)
    last = f"c{width - 1}"
    note = last if layout.columns.get(last) is not None and layout.columns[last].role == "note" else None
    body = sheet.cells.with_columns(sheet.widths.alias("width")).filter(
        pl.col("source_row").is_between(layout.first_row, layout.last_row)
    )
    suspect = pl.col("width") > width
    if note:
        suspect |= pl.col(note).str.contains(rf"^{_NUMBER.pattern}$").fill_null(value=False)
    usual = body["width"].mode().to_list()
    found: dict[int, tuple[str, str]] = {}
    if usual and max(usual) - width == _hidden_in_header(layout) > 0:
        # the header itself is short of a separator, so that no cell stands below its word
        return {row["source_row"]: ("", _as_written(row, sheet)) for row in body.iter_rows(named=True)}
    for row in body.filter(pl.col("width") < width).iter_rows(named=True):
        if _hides_a_separator(row, layout, width):
            found[row["source_row"]] = "", _as_written(row, sheet)
    for row in body.filter(suspect).iter_rows(named=True):
        cells = [row[c] or "" for c in sheet.columns]
        beyond = [text.strip() for text in cells[width:] if text]
        is_long = row["width"] > width
        moved = any(_NUMBER.fullmatch(text) for text in beyond) or (
            note is not None
            and _NUMBER.fullmatch(row[note] or "")
            and (is_long or _has_fraction(cells[: width - 1]))
        )
        if moved or (is_long and not beyond and row["width"] not in usual):
            found[row["source_row"]] = "", _as_written(row, sheet)
        elif beyond:
            found[row["source_row"]] = ", ".join(beyond), ""
    return found


def _as_written(row: dict[str, Any], sheet: Sheet) -> str:
    return ",".join(row[c] or "" for c in sheet.columns).rstrip(",")


def _hidden_in_header(layout: Layout) -> int:
    return sum(len(re.findall(r"[,;|\t]", text)) for text in layout.header_texts.values())


def _hides_a_separator(row: dict[str, object], layout: Layout, width: int) -> bool:
    """True where another separator in a cell (`2;100`) is what the record lacks of its header's width."""
    # where sets are numbered a row is one set, and its repetitions are no list either
    one_thing = {*_HOLDS_ONE_THING, *(("reps",) if layout.column_of("set_number") else ())}
    for column, cell in layout.columns.items():
        n_hidden = len(_OTHER_SEPARATOR.findall(str(row.get(column) or "")))
        if cell.role in one_thing and n_hidden and row["width"] == width - n_hidden:
            return True
    return False


def _has_fraction(cells: list[str]) -> bool:
    """True where a number stands before what may be its fraction: 92 and 5."""
    return any(_NUMBER.fullmatch(whole) and part in _FRACTIONS for whole, part in pairwise(cells))


def with_ragged(entries: pl.DataFrame, ragged: dict[int, tuple[str, str]]) -> pl.DataFrame:
    """Entries of ragged records refused, or with the words that belong to their note."""
    if not ragged:
        return entries
    moved = {row: ("row_ragged", "record", text) for row, (words, text) in ragged.items() if not words}
    remarks = {row: words for row, (words, _) in ragged.items() if words}
    if remarks:
        words = pl.col("source_row").replace_strict(remarks, default=None, return_dtype=pl.String)
        note = pl.concat_str("note", words, separator=", ", ignore_nulls=True)
        entries = entries.with_columns(
            pl.when(words.is_not_null()).then(note).otherwise("note").alias("note")
        )
    return with_refused(entries, moved)
