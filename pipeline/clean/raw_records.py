"""The text of a record as it stood, its cells joined by a bar."""

from __future__ import annotations

from collections.abc import Sequence

import polars as pl

from pipeline.clean.file_reading import FileReading
from pipeline.clean.stacked_files import StackReading

RAW_CHARACTERS = 500
_PLACE = ["source_file", "source_sheet", "source_row"]


class RawRecords:
    """The records of files read one by one and of stacks, to be looked up by their place."""

    def __init__(self, readings: Sequence[FileReading], stacks: Sequence[StackReading]) -> None:
        self._sheets = {(r.source.source_file, s.source_sheet): s for r in readings for s in r.source.sheets}
        self._stacks = stacks

    def texts(self, places: pl.DataFrame) -> pl.DataFrame:
        """`places` (file, sheet, row) with `raw_text`, in their order."""
        wanted = places.unique(maintain_order=True)
        parts = [self._of_stack(wanted, stack) for stack in self._stacks] if wanted.height else []
        for (source_file, sheet_name), group in wanted.group_by("source_file", "source_sheet"):
            sheet = self._sheets.get((str(source_file), str(sheet_name)))
            if sheet is None:
                continue
            rows = sheet.cells.filter(pl.col("source_row").is_in(group["source_row"].to_list()))
            parts.append(
                rows.select(
                    pl.lit(source_file).alias("source_file"),
                    pl.lit(sheet_name).alias("source_sheet"),
                    "source_row",
                    _text_of(sheet.columns),
                )
            )
        if not parts:
            return places.with_columns(pl.lit(None, dtype=pl.String).alias("raw_text"))
        return places.join(pl.concat(parts), on=_PLACE, how="left", maintain_order="left")

    @staticmethod
    def _of_stack(wanted: pl.DataFrame, reading: StackReading) -> pl.DataFrame:
        files = wanted["source_file"].unique().to_list()
        records = reading.records.filter(pl.col("source_file").is_in(files)).select(
            "source_file",
            pl.lit("").alias("source_sheet"),
            pl.col("file_row").alias("source_row"),
            _text_of(list(reading.stack.layout.columns)),
        )
        return records.join(wanted, on=_PLACE, how="semi")


def _text_of(columns: list[str]) -> pl.Expr:
    text = pl.concat_str([pl.col(c) for c in columns], separator=" | ", ignore_nulls=True)
    return text.str.slice(0, RAW_CHARACTERS).alias("raw_text")
