"""The accounts: records in = loaded + duplicate + rejected + waiting + ignored, for every file.

What arrives: the files that were read and the record tables. What leaves: the `file_ledger`, and for a file that
does not add up a sentence that stops the publishing.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np
import polars as pl

from pipeline.contract.frames import frame_of
from pipeline.contract.group_numbers import group_numbers
from pipeline.contract.plain_sheets import PlainSheet
from pipeline.contract.records import FILE_LEDGER
from pipeline.contract.sheets import SourceFile

_PLACE = ["source_area", "source_file", "source_sheet", "source_row"]
_MOST_ROWS = 2**32
FATES = ("loaded", "waiting", "rejected", "duplicate", "ignored")


@dataclass(frozen=True)
class Accounts:
    """The ledger of this run, and what does not add up (empty when all does)."""

    ledger: pl.DataFrame
    faults: tuple[str, ...]


def balance(
    sources: Sequence[SourceFile],
    tables: Mapping[str, pl.DataFrame],
    as_of: date,
    layouts: Mapping[str, str],
    messages: Mapping[str, str],
) -> Accounts:
    """The ledger of the files read. `tables` maps each of `FATES` to a frame with the place of its records.

    A record stands in one fate only; refused cells of a loaded record are not its fate (`is_part`).
    """
    found = _numbered(tables, _records(sources))
    counts = _counts(found)
    n_sets = _sets_by_file(tables["loaded"])
    rows, faults = [], []
    for source in sources:
        key = (source.source_area, source.source_file)
        count = counts.get(key, _NOTHING)
        n_fates, fault = _fates_of(source, count)
        if fault:
            faults.append(_fault(source, found))
        rows.append(
            {
                "source_area": source.source_area,
                "source_file": source.source_file,
                "content_hash": source.content_hash,
                "first_seen_date": as_of,
                "is_current": True,
                "outcome": "refused" if source.refusal is not None or count["whole"] else "read",
                "message": (source.refusal.message if source.refusal else "")
                or messages.get(source.source_file, ""),
                "layout": layouts.get(source.source_file, ""),
                "n_records": source.n_records,
                **n_fates,
                "n_sets": n_sets.get(key, 0),
            }
        )
    return Accounts(frame_of(FILE_LEDGER, rows), tuple(faults))


def _numbered(tables: Mapping[str, pl.DataFrame], records: pl.DataFrame) -> pl.DataFrame:
    """The places of all fates, each once a fate, and of all records (`fate` ""): `sheet` numbers their sheets,
    `place` the records of all sheets, which is quicker to compare than four texts."""
    places = [records.with_columns(pl.lit("").alias("fate"))] + [
        tables[fate].select(_PLACE).with_columns(pl.lit(fate).alias("fate"))
        for fate in FATES
        if fate in tables and tables[fate].height
    ]
    found = pl.concat(places).with_columns(pl.col("source_sheet").fill_null(""))
    found = found.with_columns(group_numbers(found, _PLACE[:3], "sheet"))
    row = pl.col("source_row").fill_null(0).cast(pl.UInt64)  # none for a whole file; records count from 1
    found = found.with_columns((pl.col("sheet").cast(pl.UInt64) * _MOST_ROWS + row).alias("place"))
    rises = (pl.col("place") > pl.col("place").shift(1)) | (pl.col("fate") != pl.col("fate").shift(1))
    return found if found.select(rises.all()).item() else found.unique(["place", "fate"], maintain_order=True)


def _records(sources: Sequence[SourceFile]) -> pl.DataFrame:
    """The place of every record of every sheet."""
    frames = [
        sheet.cells.select(
            pl.lit(source.source_area).alias("source_area"),
            pl.lit(source.source_file).alias("source_file"),
            pl.lit(sheet.source_sheet).alias("source_sheet"),
            "source_row",
        )
        for source in sources
        for sheet in source.sheets
        if not isinstance(sheet, PlainSheet)
    ]
    plain = [
        (source.source_area, source.source_file, sheet.source_sheet, sheet.n_records)
        for source in sources
        for sheet in source.sheets
        if isinstance(sheet, PlainSheet)
    ]
    schema = {**dict.fromkeys(_PLACE[:3], pl.String), "source_row": pl.Int64}
    lines = pl.DataFrame(plain, orient="row", schema=schema)
    # by their number, so that cells need not be split for it
    n_records = lines["source_row"].to_numpy()
    counted = lines[np.repeat(np.arange(lines.height), n_records)]
    before = np.repeat(np.cumsum(n_records) - n_records, n_records)
    numbers = pl.Series("source_row", np.arange(len(before)) - before + 1, dtype=pl.Int64)
    return pl.concat([*frames, counted.with_columns(numbers)])


_NOTHING: Mapping[str, int] = dict.fromkeys(("whole", "n_found", "n_expected", "n_met", *FATES), 0)


def _counts(found: pl.DataFrame) -> dict[tuple[object, ...], dict[str, int]]:
    """For each file the records of each fate, the fates, the records, and the records that have a fate."""
    is_record = pl.col("fate") == ""
    fated = found.lazy().filter(~is_record).select("place").collect()["place"]
    records = found.lazy().filter(is_record).select("place").collect()["place"]
    met = fated if fated.sort().equals(records.sort()) else records.filter(records.is_in(fated.implode()))
    n_met = (met // _MOST_ROWS).cast(pl.UInt32).alias("sheet").value_counts(name="n_met")
    by_sheet = (
        found.group_by("sheet")
        .agg(
            pl.col("source_area", "source_file").first(),
            pl.col("source_row").is_null().sum().alias("whole"),
            (~is_record).sum().alias("n_found"),
            is_record.sum().alias("n_expected"),
            *[(pl.col("fate") == fate).sum().alias(fate) for fate in FATES],
        )
        .join(n_met, on="sheet", how="left")
        .with_columns(pl.col("n_met").fill_null(0))
    )
    by_file = by_sheet.drop("sheet").group_by("source_area", "source_file").sum()
    return {(row["source_area"], row["source_file"]): row for row in by_file.iter_rows(named=True)}


def _sets_by_file(loaded: pl.DataFrame) -> dict[tuple[object, ...], int]:
    if not loaded.height:
        return {}
    counts = loaded.group_by("source_area", "source_file").agg(pl.len().alias("n"))
    return {(area, name): n for area, name, n in counts.iter_rows()}


def _fates_of(source: SourceFile, count: Mapping[str, int]) -> tuple[dict[str, int], bool]:
    """The records of each fate, and whether they do not add up."""
    if count["whole"]:
        return {f"n_{fate}": source.n_records if fate == "rejected" else 0 for fate in FATES}, False
    adds_up = count["n_found"] == count["n_expected"] == count["n_met"]
    return {f"n_{fate}": int(count[fate]) for fate in FATES}, not adds_up


def _fault(source: SourceFile, found: pl.DataFrame) -> str:
    """What does not add up in one file, with a few records of each kind."""

    def places(frame: pl.DataFrame) -> list[tuple[str, int]]:
        mine = frame.filter(
            (pl.col("source_area") == source.source_area) & (pl.col("source_file") == source.source_file)
        )
        return sorted(mine.select("source_sheet", "source_row").iter_rows())

    records, fated = (places(found.filter(is_it)) for is_it in (pl.col("fate") == "", pl.col("fate") != ""))
    lost = sorted(set(records) - set(fated))[:3]
    twice = sorted(place for place, n in Counter(fated).items() if n > 1)[:3]
    foreign = sorted(set(fated) - set(records))[:3]
    return (
        f"{source.source_area}/{source.source_file} does not add up: {len(records)} records, {len(fated)} fates; "
        f"without a fate {lost}, with more than one {twice}, not in the file {foreign}."
    )


def add_earlier(ledger: pl.DataFrame, earlier: pl.DataFrame) -> pl.DataFrame:
    """The ledger with what earlier runs saw: the day a content was first seen, contents and files now gone."""
    if not earlier.height:
        return ledger
    key = ["source_area", "source_file", "content_hash"]
    first = earlier.select(*key, pl.col("first_seen_date").alias("seen_before"))
    ledger = (
        ledger.join(first, on=key, how="left", maintain_order="left")
        .with_columns(pl.min_horizontal("first_seen_date", "seen_before").alias("first_seen_date"))
        .drop("seen_before")
    )
    gone = earlier.join(ledger, on=key, how="anti").with_columns(
        pl.lit(value=False).alias("is_current"), pl.lit("gone").alias("outcome")
    )
    return pl.concat([ledger, gone.select(ledger.columns).cast(ledger.schema)]).sort(
        "source_area", "source_file", pl.col("is_current").not_(), "content_hash"
    )
