"""Separated text without a quote in it: every line is a record, so that many files can be split together.

Ingest hands such a sheet on as it stands; its cells are split when somebody asks for them. Clean takes the texts
of many files of one shape and splits them in one go (`pipeline/clean/stacks.py`).
"""

from __future__ import annotations

from functools import cached_property

import polars as pl

from pipeline.contract.sheets import Sheet


class PlainSheet(Sheet):
    """The sheet of a text whose lines, separated by a line feed, are its records; none is behind the last."""

    text: str
    separator: str

    def __init__(self, text: str, separator: str) -> None:
        object.__setattr__(self, "source_sheet", "")
        object.__setattr__(self, "text", text)
        object.__setattr__(self, "separator", separator)

    @cached_property
    def n_records(self) -> int:
        """Records of the sheet, blank ones included."""
        return self.text.count("\n") + 1

    @property
    def header(self) -> str:
        """The first record as it stands."""
        return self.text[: self.text.index("\n")] if "\n" in self.text else self.text

    @cached_property
    def _lines(self) -> pl.Series:
        return pl.Series("line", [self.text]).str.split("\n").explode()

    @cached_property
    def _n_separators(self) -> pl.Series:
        return self._lines.str.count_matches(self.separator, literal=True)

    @cached_property
    def cells(self) -> pl.DataFrame:
        """The records as `Sheet` describes them."""
        widest = max(self._n_separators.to_list()) + 1
        cells = self._lines.str.split_exact(self.separator, widest - 1).struct.unnest()
        names = [f"c{index}" for index in range(widest)]
        cells = cells.rename(dict(zip(cells.columns, names, strict=True))).with_columns(
            blanks_as_nulls(names)
        )
        numbers = pl.int_range(1, cells.height + 1, dtype=pl.Int64, eager=True).alias("source_row")
        return cells.insert_column(0, numbers)

    @cached_property
    def widths(self) -> pl.Series:
        """Cells of each record."""
        widths = (self._n_separators + 1).zip_with(self._lines != "", pl.Series([0], dtype=pl.UInt32))
        return widths.cast(pl.UInt16).alias("width")


def blanks_as_nulls(names: list[str]) -> list[pl.Expr]:
    """Cells of these columns without content as nulls."""
    return [pl.when(pl.col(name).str.strip_chars() != "").then(pl.col(name)).alias(name) for name in names]
