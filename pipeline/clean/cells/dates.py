"""Dates as people and spreadsheets write them. A reading keeps what the cell does not say open."""

from __future__ import annotations

import csv
import re
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cache
from pathlib import Path

from pipeline.clean.cells.folding import fold, is_blank
from pipeline.clean.cells.remembered import remembered

_WORDS_CSV = Path(__file__).resolve().parents[2] / "reference" / "calendar_word.csv"
EARLIEST_YEAR = 1990


@dataclass(frozen=True)
class DateReading:
    """What a date cell says.

    `order` is "dmy" or "mdy" where the cell itself decides which of `first` and `second` is the day, "" where
    it does not (03/04). `year` is None where the cell has none. `serial` is a spreadsheet's day number.
    `weekday` is 1 Monday … 7 Sunday where a day name stands beside the date. `problem` is a reason code.
    """

    first: int = 0
    second: int = 0
    year: int | None = None
    order: str = ""
    serial: float | None = None
    weekday: int | None = None
    problem: str = ""

    @property
    def is_empty(self) -> bool:
        return not self.first and self.serial is None and not self.problem


@cache
def calendar_words(kind: str) -> dict[str, int]:
    """Folded names of months ("month") or days ("weekday") in seven languages → number from 1."""
    with _WORDS_CSV.open(encoding="utf-8", newline="") as handle:
        return {row["word"]: int(row["number"]) for row in csv.DictReader(handle) if row["kind"] == kind}


_CLOCK = r"(?:[ t,]+(?:at |um )?\d{1,2}[:.h]\d{2}(?::\d{2}(?:\.\d+)?)?(?: ?(?:am|pm|uhr|h|z))?(?:[+-]\d{2}:?\d{2}|z)?)?"
_ISO = re.compile(r"(\d{4})[-/.](\d{1,2})[-/.](\d{1,2})" + _CLOCK)
_COMPACT = re.compile(r"(20\d{2})(\d{2})(\d{2})")
_NUMERIC = re.compile(r"(\d{1,2}) ?([-/.]) ?(\d{1,2})(?: ?[-/.] ?'?(\d{4}|\d{2}))?\.?" + _CLOCK)
_DAY_MONTH = re.compile(
    r"(?:the )?(\d{1,2})(?:st|nd|rd|th|er|\.|º|°|o|a)?[ .,/-]*(?:de |of |di )?([a-z]{3,12})\.?(?:[ .,/-]+(?:de |del )?'?(\d{4}|\d{2}))?"
    + _CLOCK
)
_MONTH_DAY = re.compile(
    r"([a-z]{3,12})\.?[ .,/-]*(\d{1,2})(?:st|nd|rd|th)?(?:[ ,./-]+'?(\d{4}|\d{2}))?" + _CLOCK
)
_SERIAL = re.compile(r"(\d{5})(?:[.,](\d+))?")
_WEEKDAY = re.compile(r"^([a-z]{2,14}(?:-feira)?)\.?(?:[ ,.:/(-]+|$)(.*)$")


@remembered
def parse_date(text: str | None) -> DateReading:
    """The reading of a date cell; empty for a blank one; `date_unreadable` for what is no date."""
    if is_blank(text):
        return DateReading()
    folded = fold(text or "").strip(" ,;:()")
    whole = _parse(folded)
    if not whole.problem:
        return whole
    match = _WEEKDAY.match(folded)
    weekday = calendar_words("weekday").get(match.group(1)) if match else None
    if match and weekday:
        rest = _parse(match.group(2).strip(" ,;:()"))
        return DateReading(**{**rest.__dict__, "weekday": weekday})
    behind = re.match(r"^(.*?)[ ,(]+([a-z]{2,14})\.?\)?$", folded)
    weekday = calendar_words("weekday").get(behind.group(2)) if behind else None
    if behind and weekday:
        rest = _parse(behind.group(1).strip(" ,;:()"))
        return DateReading(**{**rest.__dict__, "weekday": weekday})
    return whole


def _year(text: str | None) -> int | None:
    if not text:
        return None
    return int(text) if len(text) == 4 else 2000 + int(text)


def _parse(folded: str) -> DateReading:
    for pattern in (_ISO, _COMPACT):
        iso = pattern.fullmatch(folded)
        if iso:
            year, month, day = (int(g) for g in iso.groups()[:3])
            return _possible(day, month, year, "dmy")
    numeric = _NUMERIC.fullmatch(folded)
    if numeric:
        first, separator, second, year_text = numeric.groups()
        return _numeric(int(first), int(second), _year(year_text), separator)
    named = _DAY_MONTH.fullmatch(folded)
    if named and named.group(2) in calendar_words("month"):
        return _possible(
            int(named.group(1)), calendar_words("month")[named.group(2)], _year(named.group(3)), "dmy"
        )
    named = _MONTH_DAY.fullmatch(folded)
    if named and named.group(1) in calendar_words("month"):
        return _possible(
            int(named.group(2)), calendar_words("month")[named.group(1)], _year(named.group(3)), "dmy"
        )
    serial = _SERIAL.fullmatch(folded)
    if serial and 30000 <= int(serial.group(1)) <= 60000:
        return DateReading(serial=float(serial.group(0).replace(",", ".")))
    return DateReading(problem="date_unreadable")


def _numeric(first: int, second: int, year: int | None, separator: str) -> DateReading:
    if separator == "." and year is None and second == 0:
        return DateReading(problem="date_unreadable")
    order = "dmy" if separator == "." or first > 12 else "mdy" if second > 12 else ""
    if first == second:
        order = "dmy"
    if separator == "." and second > 12 >= first:
        order = "mdy"
    day, month = (second, first) if order == "mdy" else (first, second)
    reading = _possible(day, month, year, "dmy")
    if reading.problem:
        return reading
    return DateReading(first, second, year, order)


def _possible(day: int, month: int, year: int | None, order: str) -> DateReading:
    try:
        date(year if year is not None else 2024, month, day)
    except ValueError:
        return DateReading(problem="date_impossible")
    if year is not None and not EARLIEST_YEAR <= year <= 2100:
        return DateReading(problem="date_impossible")
    return DateReading(day, month, year, order)


def to_date(reading: DateReading, order: str, year: int | None = None, epoch: str = "1900") -> date | None:
    """The day of a reading: `order` for those that leave it open, `year` for those without one.

    None where either is still missing or the day does not exist. `epoch` is the workbook's date system.
    """
    if reading.serial is not None:
        start = date(1904, 1, 1) if epoch == "1904" else date(1899, 12, 30)
        return start + timedelta(days=int(reading.serial))
    order = reading.order or order
    the_year = reading.year if reading.year is not None else year
    if not reading.first or the_year is None or order not in ("dmy", "mdy"):
        return None
    day, month = (reading.first, reading.second) if order == "dmy" else (reading.second, reading.first)
    try:
        return date(the_year, month, day)
    except ValueError:
        return None
