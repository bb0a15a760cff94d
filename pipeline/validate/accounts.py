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
from pipeline.contract.plain_sheets import PlainSheet
from pipeline.contract.records import FILE_LEDGER
from pipeline.contract.sheets import SourceFile

_PLACE = ["source_area", "source_file", "source_sheet", "source_row"]
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
    schema = {**dict.fromkeys(_PLACE[:3], pl.String), "source_row": pl.Int64, "fate": pl.String}
    places = [
        tables[fate].select(_PLACE).unique().with_columns(pl.lit(fate).alias("fate"))
        for fate in FATES
        if fate in tables and tables[fate].height
    ]
    fates = pl.concat(places) if places else pl.DataFrame(schema=schema)
    fates = fates.with_columns(pl.col("source_sheet").fill_null(""))
    expected = _records(sources)
    counts = _counts(fates, expected)
    n_sets = _sets_by_file(tables["loaded"])
    rows, faults = [], []
    for source in sources:
        key = (source.source_area, source.source_file)
        count = counts.get(key, _NOTHING)
        n_fates, fault = _fates_of(source, count)
        if fault:
            faults.append(_fault(source, fates, expected))
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


def _counts(fates: pl.DataFrame, expected: pl.DataFrame) -> dict[tuple[object, ...], dict[str, int]]:
    """For each file the records of each fate, the fates, the records, and the records that have a fate."""
    by_file = ["source_area", "source_file"]
    found = fates.group_by(by_file).agg(
        pl.col("source_row").is_null().sum().alias("whole"),
        pl.len().alias("n_found"),
        *[(pl.col("fate") == fate).sum().alias(fate) for fate in FATES],
    )
    met = (
        expected.join(fates, on=_PLACE, how="semi", nulls_equal=True)
        .group_by(by_file)
        .agg(pl.len().alias("n_met"))
    )
    all_files = found.join(
        expected.group_by(by_file).agg(pl.len().alias("n_expected")), on=by_file, how="full", coalesce=True
    ).join(met, on=by_file, how="left")
    counts = all_files.fill_null(0).iter_rows(named=True)
    return {(row["source_area"], row["source_file"]): row for row in counts}


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


def _fault(source: SourceFile, fates: pl.DataFrame, expected: pl.DataFrame) -> str:
    """What does not add up in one file, with a few records of each kind."""

    def places(frame: pl.DataFrame) -> list[tuple[str, int]]:
        mine = frame.filter(
            (pl.col("source_area") == source.source_area) & (pl.col("source_file") == source.source_file)
        )
        return sorted(mine.select("source_sheet", "source_row").iter_rows())

    records, found = places(expected), places(fates)
    lost = sorted(set(records) - set(found))[:3]
    twice = sorted(place for place, n in Counter(found).items() if n > 1)[:3]
    foreign = sorted(set(found) - set(records))[:3]
    return (
        f"{source.source_area}/{source.source_file} does not add up: {len(records)} records, {len(found)} fates; "
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
