"""The month as a calendar: what was planned on each day, and what became of it."""

from __future__ import annotations

from collections import defaultdict
from datetime import date, timedelta

from dashboards.report.blocks import Block
from dashboards.report.facts import DONE_OUTCOMES, MonthFacts
from dashboards.report.words import Words

MARKS = ("done", "moved", "trained", "unplanned", "missed", "no_log", "excused", "open")
LONGEST_LABEL = 24


def make_calendar(facts: MonthFacts, words: Words) -> Block:
    """Weeks of seven days; each day with its marks, and a legend of the marks that occur."""
    marks = mark_days(facts, words)
    lead = (facts.month.first.isoweekday() - facts.first_day_of_week) % 7
    day = facts.month.first - timedelta(lead)
    weeks = []
    while day <= facts.month.last:
        weeks.append([_cell(day + timedelta(offset), facts, marks) for offset in range(7)])
        day += timedelta(7)
    used = {mark for day_marks in marks.values() for mark, _ in day_marks}
    return {
        "kind": "calendar",
        "weekdays": words.weekday_names(facts.first_day_of_week),
        "weeks": weeks,
        "legend": [{"mark": mark, "label": words.text(f"calendar.{mark}")} for mark in MARKS if mark in used],
        "alt": words.text(
            "calendar.summary",
            month=words.month_name(facts.month.first),
            done=words.number(len(facts.sessions)),
            missed=words.number(facts.n_outcome("missed")),
        ),
    }


def mark_days(facts: MonthFacts, words: Words) -> dict[date, list[tuple[str, str]]]:
    """Marks and labels by day. Every session of the month has a mark, and so has every dated plan."""
    marks: dict[date, list[tuple[str, str]]] = defaultdict(list)
    has_plan = bool(facts.planned)
    for session in facts.planned:
        if session.on is not None and session.outcome in MARKS:
            marks[session.on].append((session.outcome, shortened(session.day)))
    done_on = {session.on for session in facts.planned if session.outcome in DONE_OUTCOMES}
    for trained in facts.sessions:
        if trained.on not in done_on:
            label = shortened(trained.planned_day) or words.text("calendar.sets", trained.n_sets)
            marks[trained.on].append(("unplanned" if has_plan else "trained", label))
    for span in facts.excused:
        day = span.first
        while day <= span.last:
            if not marks[day]:
                marks[day].append(
                    (
                        "excused",
                        words.text(f"span.{span.kind}")
                        if words.has(f"span.{span.kind}")
                        else shortened(span.kind),
                    )
                )
            day += timedelta(1)
    return {day: found for day, found in marks.items() if found}


def undated(facts: MonthFacts) -> list[str]:
    """Planned days without a fixed day that were not done, by name."""
    return [session.day for session in facts.planned if session.on is None]


def _cell(day: date, facts: MonthFacts, marks: dict[date, list[tuple[str, str]]]) -> Block:
    in_month = facts.month.first <= day <= facts.month.last
    return {
        "day": day.day,
        "in_month": in_month,
        "marks": [{"mark": mark, "label": label} for mark, label in marks.get(day, [])] if in_month else [],
    }


def shortened(label: str) -> str:
    return label if len(label) <= LONGEST_LABEL else label[: LONGEST_LABEL - 1].rstrip() + "…"
