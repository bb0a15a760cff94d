"""The day of each entry: the order of day and month, missing years, the future, slipped years."""

from __future__ import annotations

import itertools
import re
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from statistics import median

from pipeline.answers import Answers, Question
from pipeline.clean.cells.dates import DateReading, parse_date, to_date
from pipeline.clean.cells.folding import fold
from pipeline.clean.row_rules import parse_date_heading
from pipeline.clean.week_days import split_joined

_FAR_OFF_DAYS = 200
_NEAR_DAYS = 70
_FIRST_DAYS = 7


@dataclass(frozen=True)
class DayFound:
    """The day of a date text, or the reason code, or the question that has to be answered first."""

    day: date | None = None
    problem: str = ""
    question: Question | None = None
    suggested: str = ""


@dataclass(frozen=True)
class DateSetting:
    """What is known about a client's dates besides the file itself."""

    as_of: date
    source_file: str
    client_id: str
    profile_order: str
    start_date: date | None
    answers: Answers


def order_of_file(readings: Iterable[DateReading], as_of: date) -> str:
    """The order of day and month that the file itself decides; "" where it decides none, "both" where it
    contradicts itself.

    A date with a day above 12 decides; so does a weekday that fits only one order; else, where only one of the
    orders keeps every date before `as_of`, that one.
    """
    open_ones: list[DateReading] = []
    said: Counter[str] = Counter()
    for reading in readings:
        if reading.serial is not None or not reading.first:
            continue
        if reading.order == "" and reading.weekday and reading.year:
            fits = [
                o for o in ("dmy", "mdy") if (d := to_date(reading, o)) and d.isoweekday() == reading.weekday
            ]
            if len(fits) == 1:
                said[fits[0]] += 1
                continue
        if reading.order == "":
            open_ones.append(reading)
        elif reading.order == "mdy" or reading.first > 12 >= reading.second > 0:
            said[reading.order] += 1
    if len(said) == 1:
        return next(iter(said))
    if len(said) > 1:
        return "both"
    with_year = [r for r in open_ones if r.year]
    if not with_year:
        return ""
    possible = [o for o in ("dmy", "mdy") if all((d := to_date(r, o)) and d <= as_of for r in with_year)]
    return possible[0] if len(possible) == 1 else ""


def find_days(
    texts: Sequence[str], setting: DateSetting, epochs: Mapping[str, str], year_hint: int | None = None
) -> dict[str, DayFound]:
    """The day of every distinct date text of one client in one file, given in the order they stand there.

    `epochs`: the date system of texts that are day numbers. `year_hint`: the year a title or the file's name
    gives for dates without one.
    """
    joined = {text: split for text in texts if (split := split_joined(text))}
    readings = _mend_swapped({text: _read_day(joined[text][0] if text in joined else text) for text in texts})
    # a weekday beside the date it belongs to says as much as one within its cell
    readings |= {
        text: reading for text in joined if (reading := parse_date(text)).weekday and not reading.problem
    }
    order, question = _order(readings.values(), setting)
    latest = _latest_day(readings.values(), order, setting.as_of)
    found: dict[str, DayFound] = {}
    for text, reading in readings.items():
        if reading.problem:
            found[text] = DayFound(problem=reading.problem)
            continue
        year = reading.year or year_hint or _latest_year(reading, order, latest)
        day = to_date(reading, order, year, epochs.get(text, "1900"))
        if day is None:
            found[text] = DayFound(problem="" if question else "date_impossible", question=question)
            continue
        meant = joined[text][1](day) if text in joined else day
        if reading.weekday and day.isoweekday() != reading.weekday:
            meant = None
        found[text] = DayFound(meant) if meant else DayFound(problem="weekday_contradicts")
    return _check_years(found, readings, setting)


def _read_day(text: str) -> DateReading:
    """The reading of a date, alone or with the session's name beside it (`2026-03-02 Upper A`)."""
    reading = parse_date(text)
    if reading.problem != "date_unreadable":
        return reading
    date_text = "" if _A_WEEK.search(fold(text)) else parse_date_heading(text)
    return parse_date(date_text) if date_text else reading


_A_WEEK = re.compile(r"\b(?:week|wk|w/?c|woche|kw|semaine|semana|settimana)\b")  # which is no day
_ISO_CELL = re.compile(r"\d{4}-\d{2}-\d{2}(?: .*)?")


def _mend_swapped(readings: dict[str, DateReading]) -> dict[str, DateReading]:
    """Days that a spreadsheet set to month-first took for dates, beside the ones it could not: swapped back.

    A column typed day first on such a program holds real dates for days up to the 12th, with day and month
    swapped, and plain text (13/02/2025) for the others. They are swapped back where all real dates could be and
    the days then follow each other far more closely; what stays unclear is read as it stands.
    """
    cells = dict.fromkeys(text for text in readings if _ISO_CELL.fullmatch(text))
    others = [r for text, r in readings.items() if text not in cells and not r.problem and r.serial is None]
    if not cells or not any(r.order == "dmy" and r.first > 12 for r in others):
        return readings
    swapped = {
        text: DateReading(readings[text].second, readings[text].first, readings[text].year, "dmy")
        for text in cells
        if readings[text].first <= 12
    }
    if len(swapped) < len(cells):
        return readings
    mended = {text: swapped.get(text, reading) for text, reading in readings.items()}
    return mended if _unevenness(mended) < 0.5 * _unevenness(readings) else readings


def _unevenness(readings: Mapping[str, DateReading]) -> int:
    days = [d for r in readings.values() if (d := to_date(r, "dmy"))]
    return sum(abs((b - a).days) for a, b in itertools.pairwise(days))


def _order(readings: Iterable[DateReading], setting: DateSetting) -> tuple[str, Question | None]:
    readings = list(readings)
    if not any(r.first and not r.order for r in readings):
        return "", None
    order = order_of_file(readings, setting.as_of)
    if order in ("dmy", "mdy"):
        return order, None
    question = Question("date_order", setting.client_id, setting.source_file)
    answer = (setting.answers.find(question) or "").strip().lower()
    answered = "mdy" if answer.startswith("m") else "dmy" if answer.startswith("d") else ""
    profile = setting.profile_order if setting.profile_order in ("dmy", "mdy") else ""
    if order == "both":
        return answered, question if not answered else None
    chosen = answered or profile
    if chosen and not answered and _lies_ahead(readings, chosen, setting.as_of):
        return "", question  # the profile would put days into the future: the file contradicts it
    return chosen, None if chosen else question


def _lies_ahead(readings: Iterable[DateReading], order: str, as_of: date) -> bool:
    ahead = [d for r in readings if r.year and (d := to_date(r, order)) and d > as_of]
    return len(ahead) > 1


def _latest_day(readings: Iterable[DateReading], order: str, as_of: date) -> date:
    """The day up to which dates without a year reach: as-of, or a year or two before it where only then every
    weekday beside such a date is the right one."""
    said = [reading for reading in readings if reading.weekday and reading.first and not reading.year]
    for back in range(3):
        latest = as_of - timedelta(days=365 * back)
        days = [to_date(r, order, _latest_year(r, order, latest)) for r in said]
        if all(day and day.isoweekday() == r.weekday for day, r in zip(days, said, strict=True)):
            return latest
    return as_of


def _latest_year(reading: DateReading, order: str, as_of: date) -> int | None:
    """For a date without a year: the latest year that does not put it into the future."""
    for year in (as_of.year, as_of.year - 1):
        day = to_date(reading, order or reading.order, year)
        if day is not None and day <= as_of + timedelta(days=1):
            return year
    return as_of.year if reading.order or order else None


def _check_years(
    found: dict[str, DayFound], readings: Mapping[str, DateReading], setting: DateSetting
) -> dict[str, DayFound]:
    """Days after the file came in are refused; a year that slipped against the days around it is asked about."""
    days = [entry.day for entry in found.values() if entry.day and entry.day <= setting.as_of]
    # the first day is judged by those right behind it: against all days, half of a two-year log would be far off
    near_first = [day.toordinal() for day in days[:_FIRST_DAYS]] or [setting.as_of.toordinal()]
    last = date.fromordinal(int(median(near_first)))
    are_early = all(day.month <= 2 for day in days)
    for text in [text for text, entry in found.items() if entry.day]:
        day = found[text].day or last
        is_far_off = abs((day - last).days) > _FAR_OFF_DAYS
        other = _other_year(day, last) if is_far_off or day > setting.as_of else None
        if day > setting.as_of:
            found[text] = DayFound(problem="date_in_future", suggested=other.isoformat() if other else "")
            continue
        has_year = readings[text].year is not None or readings[text].serial is not None
        if is_far_off and other and other <= setting.as_of and has_year:
            found[text] = _slipped(text, other, setting)
            last = found[text].day or other
            continue
        if are_early:
            found[text] = _january(text, day, setting) or found[text]
        last = day
    return found


def _other_year(day: date, near: date) -> date | None:
    """The same day in the year that brings it near another; None where no other year does."""
    for year in (near.year, near.year + 1, near.year - 1):
        try:
            candidate = day.replace(year=year)
        except ValueError:
            continue
        if candidate != day and abs((candidate - near).days) <= _NEAR_DAYS:
            return candidate
    return None


def _slipped(text: str, other: date, setting: DateSetting) -> DayFound:
    question = Question("date", setting.client_id, setting.source_file, text)
    answer = setting.answers.find(question)
    if answer:
        reading = parse_date(answer)
        day = to_date(reading, reading.order)
        if day:
            return DayFound(day)
    return DayFound(question=question, suggested=other.isoformat())


def _january(text: str, day: date, setting: DateSetting) -> DayFound | None:
    """Days of January and February that all lie a year back, before the client began: last year's number."""
    try:
        later = day.replace(year=day.year + 1)
    except ValueError:
        return None
    began = setting.start_date
    if later <= setting.as_of and began and day < began <= later:
        return _slipped(text, later, setting)
    return None


_YEAR = re.compile(r"(?<!\d)(20[12]\d)(?!\d)")


def year_in_name(*names: str) -> int | None:
    """The one year that a sheet's or file's name gives; None where there is none or there are several."""
    for name in names:
        years = set(_YEAR.findall(name))
        if len(years) == 1:
            return int(years.pop())
    return None


def date_in_name(name: str) -> str:
    """A whole date in a file's or sheet's name (`2026-03-02 legs`, `squat_02.03.2026`); "" where there is none."""
    for pattern in (
        r"(?<!\d)(20\d{2}[-_.]\d{1,2}[-_.]\d{1,2})(?!\d)",
        r"(?<!\d)(\d{1,2}[-_.]\d{1,2}[-_.]20\d{2})(?!\d)",
        r"(?<!\d)(20\d{2}[01]\d[0-3]\d)(?!\d)",
    ):
        match = re.search(pattern, name)
        if match:
            text = match.group(1).replace("_", "-")
            reading = parse_date(text)
            if not reading.problem and (reading.order or "." in text):
                return text
    words = re.search(
        r"(?<!\d)(\d{1,2}(?:st|nd|rd|th)?[ _-][A-Za-zäéû]{3,10}(?:[ _-]20\d{2})?)(?![\d])", name
    )
    if words:
        reading = parse_date(words.group(1).replace("_", " "))
        if not reading.problem and reading.order:
            return words.group(1).replace("_", " ")
    return ""
