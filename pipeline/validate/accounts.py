"""The accounts: records in = loaded + duplicate + rejected + waiting + ignored, for every file.

What arrives: the files that were read and the record tables. What leaves: the `file_ledger`, and for a file that
does not add up a sentence that stops the publishing.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

import polars as pl

from pipeline.contract.frames import frame_of
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
    places = [
        tables[fate].select(*[pl.col(c) for c in _PLACE]).unique().with_columns(pl.lit(fate).alias("fate"))
        for fate in FATES
        if tables[fate].height
    ]
    fates = (
        pl.concat(places)
        if places
        else pl.DataFrame(
            schema={**dict.fromkeys(_PLACE[:3], pl.String), "source_row": pl.Int64, "fate": pl.String}
        )
    )
    fates = fates.with_columns(pl.col("source_sheet").fill_null(""))
    n_sets = _sets_by_file(tables["loaded"])
    per_file = dict(fates.group_by("source_area", "source_file"))
    rows, faults = [], []
    for source in sources:
        mine = per_file.get((source.source_area, source.source_file), fates.clear())
        counts, fault = _count(source, mine)
        if fault:
            faults.append(fault)
        key = (source.source_area, source.source_file)
        refused = source.refusal is not None or bool(mine.filter(pl.col("source_row").is_null()).height)
        rows.append(
            {
                "source_area": source.source_area,
                "source_file": source.source_file,
                "content_hash": source.content_hash,
                "first_seen_date": as_of,
                "is_current": True,
                "outcome": "refused" if refused else "read",
                "message": (source.refusal.message if source.refusal else "")
                or messages.get(source.source_file, ""),
                "layout": layouts.get(source.source_file, ""),
                "n_records": source.n_records,
                **counts,
                "n_sets": n_sets.get(key, 0),
            }
        )
    return Accounts(frame_of(FILE_LEDGER, rows), tuple(faults))


def _sets_by_file(loaded: pl.DataFrame) -> dict[tuple[object, ...], int]:
    if not loaded.height:
        return {}
    counts = loaded.group_by("source_area", "source_file").agg(pl.len().alias("n"))
    return {(area, name): n for area, name, n in counts.iter_rows()}


def _count(source: SourceFile, mine: pl.DataFrame) -> tuple[dict[str, int], str]:
    whole = mine.filter(pl.col("source_row").is_null())
    if whole.height:
        return {f"n_{fate}": source.n_records if fate == "rejected" else 0 for fate in FATES}, ""
    counts = {f"n_{fate}": mine.filter(pl.col("fate") == fate).height for fate in FATES}
    expected = {
        (sheet.source_sheet, row) for sheet in source.sheets for row in sheet.cells["source_row"].to_list()
    }
    found = list(zip(mine["source_sheet"].to_list(), mine["source_row"].to_list(), strict=True))
    if len(found) == len(expected) and set(found) == expected:
        return counts, ""
    lost = sorted(expected - set(found))[:3]
    twice = sorted({place for place in found if found.count(place) > 1})[:3] if len(found) < 50_000 else []
    foreign = sorted(set(found) - expected)[:3]
    return counts, (
        f"{source.source_area}/{source.source_file} does not add up: {len(expected)} records, {len(found)} fates; "
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
    return pl.concat([ledger, gone.select(ledger.columns).cast(dict(ledger.schema))]).sort(
        "source_area", "source_file", pl.col("is_current").not_(), "content_hash"
    )
