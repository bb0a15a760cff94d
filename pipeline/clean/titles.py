"""What rows above a table say for all of it: unit, client, day, exercise."""

from __future__ import annotations

import itertools
import re
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

import polars as pl

from pipeline.clean.entries import Unfolded
from pipeline.clean.headers import is_date_heading, parse_header_cell
from pipeline.clean.layout import Layout, row_texts
from pipeline.clean.row_rules import parse_client_statement, parse_date_heading, parse_unit_statement
from pipeline.clean.week_days import parse_week_heading, parse_weekday
from pipeline.contract.sheets import Sheet


@dataclass(frozen=True)
class Stated:
    """What holds for the records of a table until something else is said; "" where nothing is."""

    unit: str = ""
    client: str = ""
    date_text: str = ""
    exercise: str = ""
    weekday: str = ""

    def replaced_by(self, title: Stated) -> Stated:
        """What holds below a title further down: its day or none; the rest until it says something else."""
        return Stated(
            title.unit or self.unit,
            title.client or self.client,
            title.date_text,
            title.exercise or self.exercise,
            title.weekday,
        )


def parse_day_heading(text: str | None) -> str:
    """The date or the week (`week of 2 March`) of a heading; "" where there is none."""
    return parse_week_heading(text) or parse_date_heading(text)


def read_titles(
    titles: pl.DataFrame, unfolded: Unfolded, region: tuple[str, ...], knows: Callable[[str], bool]
) -> Stated:
    """What the rows above the first header state for the table below them.

    Unit and client are heard wherever they stand, day and exercise above the table's own columns (`region`, all
    where there is one table only); a day that stands alone above several tables holds for them all.
    """
    unit = client = date_text = exercise = weekday = ""
    days: set[str] = set()
    for row in titles.iter_rows(named=True):
        texts = [text for column, text in row.items() if column != "source_row" and text]
        own = [text for column, text in row.items() if column in region and text] if region else texts
        unfolded.ignored[row["source_row"]] = "title" if texts else "blank"
        said = _with_pairs(texts)
        unit = next(filter(None, map(parse_unit_statement, said)), unit)
        client = next(filter(None, map(parse_client_statement, said)), client)
        days.update(filter(None, map(parse_day_heading, said if len(set(texts)) <= 2 else texts)))
        if 1 <= len(set(own)) <= 2:
            date_text = next(filter(None, map(parse_day_heading, _with_pairs(own))), date_text)
        elif len(own_days := {text for text in own if is_date_heading(text)}) == 1:
            date_text = own_days.pop()  # Workout | B | Date | 2 March
        if len(set(own)) == 1:
            exercise = own[0] if may_name_exercise(own[0]) and knows(own[0]) else exercise
            weekday = own[0] if parse_weekday(own[0]) else weekday
    if region and not date_text and len(days) == 1:
        date_text = next(iter(days))
    return Stated(unit, client, date_text, exercise, weekday)


def titles_between(sheet: Sheet, layouts: Sequence[Layout]) -> dict[int, pl.DataFrame]:
    """Records right above a later header that hold a day, where the rows themselves hold none: `Day 3 | 6 March`.

    They are titles of what is below them, not records of the table above.
    """
    found: dict[int, pl.DataFrame] = {}
    headers = {row for layout in layouts for row in layout.header_rows}
    first = min(headers, default=0)
    for layout in layouts:
        above = layout.header_rows[0] - 1 if layout.header_rows else 0
        if above <= first or above in headers or above in found or layout.column_of("date"):
            continue
        if any(is_date_heading(text) or parse_day_heading(text) for text in row_texts(sheet, above).values()):
            found[above] = sheet.cells.slice(above - 1, 1)
    return found


def paired_titles(body: pl.DataFrame) -> dict[int, tuple[str, str]]:
    """Records among the others that are a label and its value, `Date: | 2 March` or `Name: | Ana`, or a day in
    cells that were merged: record → kind of heading ("date", "client") and text."""
    columns = [c for c in body.columns if c != "source_row"]
    n_filled = pl.sum_horizontal(pl.col(c).is_not_null() for c in columns)
    found: dict[int, tuple[str, str]] = {}
    if len(columns) > 1:
        merged = body.filter(pl.col(columns[0]) == pl.col(columns[1])).head(5_000)
        for row in merged.iter_rows(named=True):
            texts = {row[c] for c in columns if row[c] is not None}
            if len(texts) == 1 and (day := parse_day_heading(texts.pop())):
                found[row["source_row"]] = ("date", day)
    for row in body.filter(n_filled == 2).head(5_000).iter_rows(named=True):
        label, value = (row[c] for c in columns if row[c] is not None)
        label = label.strip().rstrip(":").strip()
        role = parse_header_cell(label).role if len(label) <= 20 else ""
        if role == "date" and is_date_heading(value):
            found[row["source_row"]] = ("date", value)
        elif role == "client" and parse_client_statement(f"{label}: {value}") and not re.search(r"\d", value):
            found[row["source_row"]] = ("client", value)
    return found


def _with_pairs(texts: list[str]) -> Iterable[str]:
    return [*texts, *(f"{a}: {b}" for a, b in itertools.pairwise(texts) if a != b)]


def may_name_exercise(text: str) -> bool:
    """False for a title that says something else: a day, a unit, a client."""
    return not (
        parse_day_heading(text)
        or parse_unit_statement(text)
        or parse_client_statement(text)
        or parse_weekday(text)
    )
