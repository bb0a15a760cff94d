"""Days written as a number below the name of their month: `3` on a sheet called `March 2026`."""

from __future__ import annotations

import itertools
import re
from dataclasses import replace

import polars as pl

from pipeline.clean.cells.dates import calendar_words
from pipeline.clean.cells.folding import fold
from pipeline.clean.headers import HeaderCell
from pipeline.clean.layout import Layout

_NAMED = re.compile(r"([^\W\d_]{3,12})\.?[ ,_'-]*((?:20)?\d{2})?")
_NUMBERED = re.compile(r"(20\d{2})[-_./ ](\d{1,2})|(\d{1,2})[-_./ ](20\d{2})")
_DAY_WORDS = ("day", "tag", "dia", "jour", "giorno", "dag", "day of month", "monatstag")
_A_WEEK = 7


def parse_month(text: str) -> str:
    """What follows the day in a date of the month a title names (` March 2026`); "" where it names none."""
    named = _NAMED.fullmatch(text.strip())
    if named and fold(named[1]) in calendar_words("month"):
        year = named[2] or ""
        return f" {named[1]} {'20' + year if len(year) == 2 else year}".rstrip()
    numbered = _NUMBERED.fullmatch(text.strip())
    if numbered:
        year, month = (numbered[1], numbered[2]) if numbered[1] else (numbered[4], numbered[3])
        return f".{int(month)}.{year}" if 1 <= int(month) <= 12 else ""
    return ""


def month_of_line(text: str) -> str:
    """The same for a line that is a month and its year, and nothing else (`MARCH 2026`)."""
    return parse_month(text) if re.search(r"\d{4}", text) else ""


_DAY_LINE = re.compile(r"(?P<weekday>[a-z]{2,14})\.? (?P<day>\d{1,2})(?:st|nd|rd|th|\.)?(?: ?[-:|(].*)?")


def day_of_month(text: str) -> str:
    """`Mon 2` of a line such as `Mon 2 - legs`; "" where no weekday stands before the number."""
    match = _DAY_LINE.fullmatch(fold(text))
    if not match or match["weekday"] not in calendar_words("weekday") or int(match["day"]) > 31:
        return ""
    return f"{match['weekday']} {match['day']}"


def write_out_days(body: pl.DataFrame, layout: Layout, titles: list[str]) -> tuple[pl.DataFrame, Layout]:
    """The records with whole dates where a column holds days of the month that a title or the sheet's name gives.

    Days 1, 2, 3 … may also count training days: read are those beyond a week that never go back.
    """
    months = list(dict.fromkeys(filter(None, map(parse_month, titles))))
    if len(months) != 1 or any(cell.role in ("week_date", "weekday") for cell in layout.columns.values()):
        return body, layout
    for column, cell in layout.columns.items():
        header = fold(layout.header_texts.get(column, "")).strip(" .:")
        if cell.role != "date" and not (cell.role == "ignored" and header in _DAY_WORDS):
            continue
        texts = [text.strip().removesuffix(".") for text in body[column].drop_nulls().to_list()]
        if not texts or not all(text.isdecimal() and 1 <= int(text) <= 31 for text in texts):
            continue
        days = [int(text) for text in texts]
        if max(days) > _A_WEEK and all(a <= b for a, b in itertools.pairwise(days)):
            day = pl.col(column).str.strip_chars().str.strip_suffix(".")
            body = body.with_columns((day + pl.lit(months[0])).alias(column))
            return body, replace(layout, columns={**layout.columns, column: HeaderCell("date")})
    return body, layout
