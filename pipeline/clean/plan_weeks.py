"""Plans written week by week: a column of week numbers makes each week a version of its own."""

from __future__ import annotations

import re
from collections.abc import Iterable
from datetime import date, timedelta

from pipeline.clean.cells.folding import fold, is_blank

MOST_WEEKS = 52
_EVERY = {"all", "every", "each", "alle", "jede", "toutes", "todas", "tutte"}


def parse_weeks(text: str) -> tuple[int, ...] | None:
    """Week numbers of `1`, `Week 2`, `W3`, `1-4`, `1, 3 and 5`; empty for a blank cell or `all`, None for
    what is none."""
    folded = fold(text).strip(" .")
    if is_blank(text) or folded in _EVERY:
        return ()
    bare = re.sub(r"\b(?:weeks?|wk|w|wochen?|semaines?|semanas?|settiman[ae])\b\.?|\bw(?=\d)|#", " ", folded)
    bare = re.sub(r"\s*(?:-|–|\bto\b|\bbis\b)\s*", "-", bare)
    parts = [part for part in re.split(r"[\s,/;&+]+|\b(?:and|und|et|y|e)\b", bare.strip()) if part]
    weeks: set[int] = set()
    for part in parts:
        span = re.fullmatch(r"(\d{1,2})(?:-(\d{1,2}))?", part)
        if span is None:
            return None
        first, last = int(span.group(1)), int(span.group(2) or span.group(1))
        weeks.update(range(first, last + 1))
    return tuple(sorted(weeks)) if weeks and min(weeks) >= 1 and max(weeks) <= MOST_WEEKS else None


def week_span(first_day: date, last_day: date | None, week: int) -> tuple[date, date]:
    """First and last day of week `week` of a plan, no later than its stated end."""
    start = first_day + timedelta(days=7 * (week - 1))
    end = start + timedelta(days=6)
    return start, min(end, last_day) if last_day is not None and last_day >= start else end


def join_equal_weeks(slots: Iterable[dict[str, object]], weekly: set[date]) -> list[dict[str, object]]:
    """Weeks on end that come from the same records, `1-4`, as one version; all other slots as they are.

    `weekly`: first days of the versions that week numbers made.
    """
    versions: dict[tuple[object, object, object], list[dict[str, object]]] = {}
    for slot in slots:
        versions.setdefault((slot["client_id"], slot["plan"], slot["valid_from"]), []).append(slot)
    joined: list[list[dict[str, object]]] = []
    for key in sorted(versions, key=lambda key: (str(key[0]), str(key[1]), str(key[2]))):
        group = versions[key]
        before = joined[-1] if joined else None
        if before is not None and _continues(before, group, weekly):
            for slot in before:
                slot["valid_to"] = group[0]["valid_to"]
        else:
            joined.append(group)
    return [slot for group in joined for slot in group]


def _continues(before: list[dict[str, object]], group: list[dict[str, object]], weekly: set[date]) -> bool:
    end, start = before[0]["valid_to"], group[0]["valid_from"]
    if not isinstance(end, date) or not isinstance(start, date) or start not in weekly:
        return False
    return end + timedelta(days=1) == start and _content(before) == _content(group)


def _content(group: list[dict[str, object]]) -> list[tuple[tuple[str, str], ...]]:
    left_out = ("valid_from", "valid_to")
    return [
        tuple((name, str(value)) for name, value in slot.items() if name not in left_out) for slot in group
    ]
