"""Lines of words among the sets: whose, of which day, under which exercise."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from datetime import date

import polars as pl

from pipeline.clean.pain import find_pain

REMARK_SCHEMA: dict[str, pl.DataType] = {
    "client_id": pl.String(),
    "session_date": pl.Date(),
    "exercise_id": pl.String(),
    "note": pl.String(),
    "source_file": pl.String(),
    "source_sheet": pl.String(),
    "source_row": pl.Int64(),
}


def remarks_of_notes(
    lines: Sequence[tuple[int, str, str, str, str]],
    entries: pl.DataFrame,
    source_file: str,
    sheet: str,
    days_of: Callable[[list[str], str], Mapping[str, date]] = lambda texts, client_id: {},
) -> list[tuple[object, ...]]:
    """Remarks of free lines (record, client, date, exercise, words), settled as the sets around them were.

    A remark on a day without any set has no session to stand with and is left to its ignored record, unless it
    tells of pain: `days_of` then gives the days of date texts beside which no set stands, for a client.
    """
    mine = entries.filter(pl.col("source_sheet") == sheet)
    days: Mapping[str, date] = dict(
        mine.select("date_text", "session_date").drop_nulls().unique().iter_rows()
    )
    lifts: Mapping[str, str] = dict(
        mine.select("exercise_text", "exercise_id").drop_nulls().unique().iter_rows()
    )
    clients = mine["client_id"].drop_nulls().unique().to_list()
    by_text: Mapping[str, str] = dict(
        mine.select("client_text", "client_id").drop_nulls().unique().iter_rows()
    )
    found: list[tuple[object, ...]] = []
    for row, client_text, date_text, exercise_text, words in lines:
        client_id = by_text.get(client_text) or (clients[0] if len(clients) == 1 else "")
        day = days.get(date_text)
        if day is None and client_id and date_text and find_pain(words):
            texts = list(dict.fromkeys([*days, *(line[2] for line in lines if line[2])]))
            day = days_of(texts, client_id).get(date_text)
        if client_id and day:
            found.append((client_id, day, lifts.get(exercise_text) or None, words, source_file, sheet, row))
    return found


def remarks_of_table(
    notes: Sequence[tuple[int, str]], entries: pl.DataFrame, source_file: str, sheet: str
) -> list[tuple[object, ...]]:
    """Rows of a table that hold nothing but words (record, words): they stand with the set above them."""
    mine = entries.filter(
        (pl.col("source_sheet") == sheet) & pl.col("session_date").is_not_null() & (pl.col("client_id") != "")
    ).sort("source_row")
    rows = mine["source_row"].to_list()
    found: list[tuple[object, ...]] = []
    for row, words in notes:
        above = [i for i, r in enumerate(rows) if r < row]
        if above:
            entry = mine.row(above[-1], named=True)
            found.append((entry["client_id"], entry["session_date"], None, words, source_file, sheet, row))
    return found
