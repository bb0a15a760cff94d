"""Days and weekdays of a plan: cells such as Mon/Thu, headings such as Monday - Upper A, statements above a
table."""

from __future__ import annotations

import re
from collections.abc import Iterable
from datetime import date

from pipeline.clean.cells.dates import calendar_words
from pipeline.clean.cells.folding import fold, is_blank
from pipeline.clean.headers import parse_header_cell
from pipeline.contract.sheets import Sheet

_ANY_DAY = {"any", "any day", "flexible", "free", "egal", "beliebig", "libre", "flex", "open", "whenever"}
_DAY_WORDS = re.compile(
    r"(?:day|tag|session|workout|einheit|training|jour|seance|dia|sesion|giorno|dag|upper|lower|push|pull|legs?"
    r"|full ?body|oberkorper|unterkorper|ganzkorper|ober|unter|chest|back|arms?|shoulders?|glutes?)\b"
)
_FILE_DATE = re.compile(r"(?<!\d)(20\d{2})[-_.]?(\d{2})[-_.]?(\d{2})(?!\d)")
_STATED = ("client_id", "plan", "valid_from", "valid_to", "phase")
_LONGEST_HEADING = 60


def parse_weekdays(text: str) -> tuple[int, ...] | None:
    """Weekdays (1 Monday … 7 Sunday) of `Monday`, `Mon/Thu`, `mon & thu`, `1, 4`, `Mo Do`; None for what is
    none.

    Empty for a blank cell and for words that leave the day open (any, flexible).
    """
    folded = fold(text).strip(" .")
    if is_blank(text) or folded in _ANY_DAY:
        return ()
    parts = [part for part in re.split(r"[\s,/;&+|-]+|\b(?:and|und|et|y|e|en)\b", folded) if part.strip(" .")]
    found = [_weekday(part) for part in parts]
    return None if not found or None in found else tuple(sorted({day for day in found if day}))


def parse_weekday(text: str) -> int | None:
    """1 Monday … 7 Sunday of a day name or number; None where it is neither, or more than one."""
    days = parse_weekdays(text)
    return days[0] if days and len(days) == 1 else None


def _weekday(word: str) -> int | None:
    bare = word.strip(" .")
    return int(bare) if re.fullmatch(r"[1-7]", bare) else calendar_words("weekday").get(bare)


def parse_day_cell(text: str) -> tuple[str, tuple[int, ...]]:
    """Name and weekdays of a day cell: `Upper A (Mon)`, `Thu - Lower`, `Monday`; a bare number is a name.

    A weekday inside a name counts only where brackets, a dash or a colon set it apart, or it is the whole
    cell.
    """
    name = text.strip()
    if not name or re.fullmatch(r"\d+", name):
        return name, ()
    whole = parse_weekdays(name)
    if whole and not re.fullmatch(r"[\d\s,/;&+-]+", name):
        return name, whole
    bracket = re.fullmatch(r"(.*?)\s*[(\[]([^)\]]*)[)\]]\s*(.*)", name)
    if bracket:
        days = parse_weekdays(bracket.group(2))
        rest = f"{bracket.group(1)} {bracket.group(3)}".strip()
        if days and rest and not re.fullmatch(r"\d+", bracket.group(2).strip()):
            return rest, days
    for pattern, first in (
        (r"([^:–—-]+?)\s*[:–—-]+\s*(.+)", True),
        (r"(.+?)\s*[:–—,-]+\s*([^:–—,-]+)", False),
    ):
        parted = re.fullmatch(pattern, name)
        if parted:
            day_part, rest = (
                (parted.group(1), parted.group(2)) if first else (parted.group(2), parted.group(1))
            )
            days = parse_weekdays(day_part)
            if days and not re.search(r"\d", day_part):
                return rest.strip(), days
    return name, ()


def parse_day_heading(text: str) -> tuple[str, tuple[int, ...]] | None:
    """Name and weekdays of a heading that stands alone in its row; None for any other text."""
    if is_blank(text) or len(text) > _LONGEST_HEADING:
        return None
    bare = text.strip(" #*=_-:").strip()
    name, days = parse_day_cell(bare)
    if days or _DAY_WORDS.match(fold(bare)):
        return name, days
    return None


def read_first_heading(sheet: Sheet, has_header: Iterable[str]) -> tuple[str, tuple[int, ...]] | None:
    """The heading of the first day where it stands right above the header row, else None."""
    needed, last = set(has_header), None
    for n, row in enumerate(sheet.cells.iter_rows(named=True)):
        texts = [row[c].strip() for c in sheet.columns if row[c] and row[c].strip()]
        if needed <= {parse_header_cell(text, "plan").role for text in texts}:
            return parse_day_heading(last) if last else None
        if texts:
            last = texts[0] if len(texts) == 1 and ":" not in texts[0] else None
        if n > 30:
            break
    return None


def read_statements(sheet: Sheet, has_header: Iterable[str]) -> dict[str, str]:
    """What lines above the table state of the whole plan: `Client: Amara`, `Valid from | 2026-06-01`, by
    role.

    `has_header`: roles, all of which the header row has; the lines before it are read.
    """
    needed = set(has_header)
    stated: dict[str, str] = {}
    for n, row in enumerate(sheet.cells.iter_rows(named=True)):
        texts = [row[c].strip() for c in sheet.columns if row[c] and row[c].strip()]
        roles = {parse_header_cell(text, "plan").role for text in texts}
        if needed <= roles or n > 30:
            break
        for text, following in zip(texts, [*texts[1:], ""], strict=False):
            key, colon, value = text.partition(":")
            if not colon or not value.strip():
                key, value = text.rstrip(": "), following
            role = parse_header_cell(key, "plan").role
            if role in _STATED and value.strip() and parse_header_cell(value, "plan").role == "":
                stated.setdefault(role, value.strip())
    return stated


def date_in_name(name: str) -> date | None:
    """The one full date in the name of a file or sheet."""
    found = {match.groups() for match in _FILE_DATE.finditer(name)}
    if len(found) != 1:
        return None
    try:
        return date(*(int(part) for part in found.pop()))
    except ValueError:
        return None
