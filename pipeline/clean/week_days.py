"""Days written as a weekday below a date: of the week that a heading names, or beside the day it gives.

`Week commencing 02/03/2026` above a row with `Thu` is 5 March; `Thu` below `Mon 2 March 2026` is a contradiction.
Which of 02/03 is the day is known only for the whole file, so that both are kept as one text until then.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import date, timedelta

from pipeline.clean.cells.dates import calendar_words
from pipeline.clean.cells.folding import fold
from pipeline.clean.headers import is_date_heading

_BEGINS = (
    r"(?:week|wk) ?(?:commencing|beginning|starting|begins?|starts?|from)|w ?/ ?c|woche (?:ab|beginnend(?: am)?)"
    r"|semaine commençant le|semana que (?:comienza|empieza)(?: el)?|settimana dal|week vanaf|semana a partir de"
)
_ENDS = r"(?:week|wk) ?(?:ending|ends?)|w ?/ ?e|woche bis|semaine finissant le|settimana al|week tot"
_OF = (
    r"(?:week|wk) of(?: the)?|woche vom|kw ?\d{1,2} vom|semaine du|semana del?|settimana del|week van(?: de)?"
)
_WEEK = re.compile(
    rf"(?:^|.*[^\w])(?:(?P<begins>{_BEGINS})|(?P<ends>{_ENDS})|(?P<of>{_OF}))\b[\s:.-]*(?P<date>.+)",
    re.IGNORECASE,
)
_JOINED = re.compile(
    r"(?P<weekday>[^,]+), (?:(?P<how>week from|week to|week of) )?(?P<date>.+)", re.IGNORECASE
)
_WEEKDAY = re.compile(r"([a-z]{2,14}(?:-feira)?)\.?(?:\s*[-:(,|].*)?")
# too short or too common to be looked for in any text, clear where a weekday is expected
_IN_A_COLUMN = {"di": 2, "do": 4, "segunda": 1, "terca": 2, "quarta": 3, "quinta": 4, "sexta": 5}
_MONDAY = 1


def parse_weekday(text: str | None) -> int | None:
    """1 Monday … 7 Sunday of `Mon`, `Thursday - legs`; None for anything else."""
    match = _WEEKDAY.fullmatch(fold(text or ""))
    return {**_IN_A_COLUMN, **calendar_words("weekday")}.get(match.group(1)) if match else None


def parse_week_heading(text: str | None) -> str:
    """`week from`, `week to` or `week of` and the date of a heading that names a week; "" for any other."""
    match = _WEEK.fullmatch((text or "").strip()) if text and len(text) <= 60 else None
    if not match:
        return ""
    date_text = match["date"].strip(" ,;:()")
    if not is_date_heading(date_text):
        return ""
    how = "week from" if match["begins"] else "week to" if match["ends"] else "week of"
    return f"{how} {date_text}"


_WEEK_NAME = r"(?:kw|wk|w|week|woche|semaine|semana|settimana|vecka|uke|uge)"
_ISO_WEEKS = (
    re.compile(rf"{_WEEK_NAME}?\.? ?(?P<week>\d{{1,2}}) ?[/ -] ?(?P<year>20\d{{2}})"),
    re.compile(rf"(?P<year>20\d{{2}}) ?[/ -]? ?{_WEEK_NAME}\.? ?(?P<week>\d{{1,2}})"),
)


def monday_of_week(text: str | None) -> str:
    """The Monday (as 2026-11-02) of a numbered week with its year, `KW 45/2026` or `2026-W45` (ISO 8601); ""
    for any other text."""
    for pattern in _ISO_WEEKS:
        match = pattern.fullmatch(fold(text or ""))
        if match:
            try:
                return date.fromisocalendar(int(match["year"]), int(match["week"]), _MONDAY).isoformat()
            except ValueError:
                return ""
    return ""


def joined_day(weekday_text: str, date_text: str) -> str:
    """The text of a day given by a weekday and by what stands above it: a date or a week."""
    name = fold(weekday_text).split(" ")[0].strip(" .:-,|(").title()
    return f"{name}, {date_text}"


def split_joined(text: str) -> tuple[str, Callable[[date], date | None]] | None:
    """The date within a joined text, and what makes it the day meant (None: there is no such day)."""
    match = _JOINED.fullmatch(text)
    weekday = parse_weekday(match["weekday"]) if match else None
    if not match or weekday is None:
        return None
    how = (match["how"] or "").lower()
    if not how and not is_date_heading(match["date"]):
        return None

    def day_of(anchor: date) -> date | None:
        ahead = (weekday - anchor.isoweekday()) % 7
        if ahead == 0:
            return anchor
        if how == "week from" or (how == "week of" and anchor.isoweekday() == _MONDAY):
            return anchor + timedelta(days=ahead)
        if how == "week to":
            return anchor - timedelta(days=7 - ahead)
        return None  # the week of a Wednesday may begin on it or before it

    return match["date"], day_of
