"""The accounts: records in = loaded + duplicate + rejected + waiting + ignored, for every file.

What arrives: the files that were read and the record tables. What leaves: the `file_ledger`, and for a file that
does not add up a sentence that stops the publishing.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

import polars as pl

from pipeline.contract.frames import frame_of
from pipeline.contract.group_numbers import distinct_rows
from pipeline.contract.plain_sheets import PlainSheet
from pipeline.contract.records import FILE_LEDGER
from pipeline.contract.sheets import SourceFile

_PLACE = ["source_area", "source_file", "source_sheet", "source_row"]
_MOST_ROWS = 2**32
_NO_PLACES = pl.Series("place", [], dtype=pl.UInt64)
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
    places = _places(sources, tables)
    counts = _counts(places)
    n_sets = _sets_by_file(tables["loaded"])
    rows, faults = [], []
    for source in sources:
        key = (source.source_area, source.source_file)
        count = counts.get(key, _NOTHING)
        n_fates, fault = _fates_of(source, count)
        if fault:
            faults.append(_fault(source, places))
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


@dataclass(frozen=True)
class _Places:
    """Records by one number each, which is quicker to compare than four texts: their sheet's times `_MOST_ROWS`
    plus their own (0 for a whole file). `sheets`: area, file and sheet → number; each fate has a place once."""

    sheets: dict[tuple[str, str, str], int]
    records: pl.Series
    fates: dict[str, pl.Series]


def _places(sources: Sequence[SourceFile], tables: Mapping[str, pl.DataFrame]) -> _Places:
    """The places of all records, and of those that have a fate."""
    sheets: dict[tuple[str, str, str], int] = {}
    places = [_NO_PLACES]
    for source in sources:
        for sheet in source.sheets:
            key = (source.source_area, source.source_file, sheet.source_sheet)
            begin = sheets.setdefault(key, len(sheets)) * _MOST_ROWS
            if isinstance(sheet, PlainSheet):  # by their number, so that cells need not be split for it
                numbers = pl.int_range(1, sheet.n_records + 1, dtype=pl.UInt64, eager=True)
            else:
                numbers = sheet.cells["source_row"].cast(pl.UInt64)
            places.append(numbers.alias("place") + begin)
    fates = {
        fate: _once(_numbered(tables[fate], sheets))
        for fate in FATES
        if fate in tables and tables[fate].height
    }
    return _Places(sheets, pl.concat(places), fates)


def _numbered(frame: pl.DataFrame, sheets: dict[tuple[str, str, str], int]) -> pl.Series:
    frame = frame.select(pl.col(_PLACE[:2]), pl.col("source_sheet").fill_null(""), "source_row")
    numbers, found = distinct_rows(frame, _PLACE[:3])
    known = [sheets.setdefault((area, name, sheet), len(sheets)) for area, name, sheet in found.iter_rows()]
    begins = pl.Series("place", known, dtype=pl.UInt64) * _MOST_ROWS
    return begins.gather(numbers) + frame["source_row"].fill_null(0).cast(pl.UInt64)


def _once(places: pl.Series) -> pl.Series:
    is_rising = len(places) == 1 or bool((places.slice(1) > places.head(-1)).all())
    return places if is_rising else places.unique()


_NOTHING: Mapping[str, int] = dict.fromkeys(("whole", "n_found", "n_expected", "n_met", *FATES), 0)


def _counts(places: _Places) -> dict[tuple[object, ...], dict[str, int]]:
    """For each file the records of each fate, the fates, the records, and the records that have a fate."""
    fated = pl.concat([_NO_PLACES, *places.fates.values()])
    is_whole = fated.sort().equals(places.records.sort())
    met = fated if is_whole else places.records.filter(places.records.is_in(fated.implode()))
    by_sheet = {
        "n_found": _by_sheet(fated),
        "n_expected": _by_sheet(places.records),
        "n_met": _by_sheet(met),
        "whole": _by_sheet(fated.filter(fated % _MOST_ROWS == 0)),
        **{fate: _by_sheet(its) for fate, its in places.fates.items()},
    }
    counts: dict[tuple[object, ...], dict[str, int]] = {}
    for (area, name, _), number in places.sheets.items():
        of_file = counts.setdefault((area, name), dict(_NOTHING))
        for what, n in by_sheet.items():
            of_file[what] += n.get(number, 0)
    return counts


def _by_sheet(places: pl.Series) -> dict[int, int]:
    return dict((places // _MOST_ROWS).alias("sheet").value_counts().iter_rows())


def _sets_by_file(loaded: pl.DataFrame) -> dict[tuple[object, ...], int]:
    if not loaded.height:
        return {}
    numbers, files = distinct_rows(loaded, _PLACE[:2])
    counts = dict(numbers.value_counts().iter_rows())
    return {key: counts[number] for number, key in enumerate(files.iter_rows())}


def _fates_of(source: SourceFile, count: Mapping[str, int]) -> tuple[dict[str, int], bool]:
    """The records of each fate, and whether they do not add up."""
    if count["whole"]:
        return {f"n_{fate}": source.n_records if fate == "rejected" else 0 for fate in FATES}, False
    adds_up = count["n_found"] == count["n_expected"] == count["n_met"]
    return {f"n_{fate}": int(count[fate]) for fate in FATES}, not adds_up


def _fault(source: SourceFile, places: _Places) -> str:
    """What does not add up in one file, with a few records of each kind."""
    names = {
        number: sheet
        for (area, name, sheet), number in places.sheets.items()
        if (area, name) == (source.source_area, source.source_file)
    }

    def of_file(numbers: pl.Series) -> list[tuple[str, int]]:
        mine = numbers.filter((numbers // _MOST_ROWS).is_in(list(names))).to_list()
        return sorted((names[number // _MOST_ROWS], number % _MOST_ROWS) for number in mine)

    records = of_file(places.records)
    fated = sorted(place for its in places.fates.values() for place in of_file(its))
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
