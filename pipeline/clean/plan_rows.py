"""Plan files: one row a planned exercise, versions with effective dates, phases, announced breaks.

What a plan writes once holds for the rows below: client, version and day, lines above the table, headings
between its rows, a sheet a day. Every row that is no planned exercise is noted with its reason.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import TypeVar

from pipeline.answers import Question
from pipeline.clean.cells.folding import fold, is_blank, parse_number
from pipeline.clean.coach_tables import CoachRow, CoachTable, read_rows
from pipeline.clean.exercise_texts import parse_exercise_text
from pipeline.clean.knowledge import Knowledge
from pipeline.clean.plan_amounts import (
    PlannedAmounts,
    parse_percent,
    parse_progression,
    parse_rest,
    parse_seconds_span,
    parse_sets_and_reps,
    parse_target_effort,
)
from pipeline.clean.plan_days import (
    date_in_name,
    parse_day_cell,
    parse_day_heading,
    parse_weekday,
    parse_weekdays,
    read_first_heading,
    read_statements,
)
from pipeline.clean.plan_weeks import join_equal_weeks, parse_weeks, week_span
from pipeline.clean.roster_rows import parse_day
from pipeline.clean.row_rules import is_rest_day, is_total
from pipeline.contract.sheets import SourceFile

_BREAK_PHASES = {
    "break",
    "holiday",
    "vacation",
    "off",
    "away",
    "travel",
    "pause",
    "urlaub",
    "ferien",
    "vacances",
    "vacaciones",
    "rest",
}
_VERSION_ROLES = ("client_id", "plan", "valid_from", "valid_to", "phase")
_CARRIED_ROLES = (*_VERSION_ROLES, "week", "day", "weekday")

_Value = TypeVar("_Value")

__all__ = ["break_spans", "parse_weekday", "read_plans", "which_planned_exercise"]


class _RefusedError(Exception):
    """A row that is no planned exercise: column, text in question, reason code."""

    def __init__(self, column: str, text: str, code: str) -> None:
        super().__init__(code)
        self.column, self.text, self.code = column, text, code


@dataclass
class _Reading:
    """One file being read: what its rows so far have stated, positions counted, names shown."""

    source: SourceFile
    known: Knowledge
    kept: CoachTable
    statements: dict[str, dict[str, str]]
    carried: dict[str, str] = field(default_factory=dict)
    sheet: str | None = None
    heading: tuple[str, tuple[int, ...]] | None = None
    positions: dict[tuple[object, ...], int] = field(default_factory=dict)
    facts: dict[str, tuple[str, bool]] = field(default_factory=dict)
    counts_weeks: bool = True
    weekly: set[date] = field(default_factory=set)

    def remark(self, row: CoachRow, column: str, text: str, code: str) -> None:
        """Note a cell that could not be used though its row is."""
        self.kept.reject(self.source.source_file, row, column, text, code, is_part=True)


def read_plans(source: SourceFile, known: Knowledge, kept: CoachTable) -> list[dict[str, object]]:
    """`plan_slot` rows of one file; every row that is none is noted with its reason.

    A day planned on two weekdays gives a row each, from the same record; so does an exercise of weeks 1 to 4
    that are not all alike. Week numbers count from the first day of the plan, unless the rows name a first
    day for each week themselves.
    """
    statements = {sheet.source_sheet: read_statements(sheet, ("exercise",)) for sheet in source.sheets}
    shown = known.catalogue.exercise.select("exercise_id", "exercise_name", "is_timed")
    facts = {exercise_id: (name, bool(is_timed)) for exercise_id, name, is_timed in shown.iter_rows()}
    reading = _Reading(source, known, kept, statements, facts=facts)
    slots: list[dict[str, object]] = []
    rows = list(read_rows(source, "plan", ("exercise", "sets|reps|rep_low"), kept))
    reading.counts_weeks = len({row.text("valid_from") for row in rows if row.text("valid_from")}) <= 1
    first_headings = {sheet.source_sheet: read_first_heading(sheet, ("exercise",)) for sheet in source.sheets}
    for row in rows:
        if row.source_sheet != reading.sheet:
            reading.sheet, reading.heading = row.source_sheet, first_headings.get(row.source_sheet)
            reading.carried = dict(statements.get(row.source_sheet, {}))
        if _is_between(row, reading):
            continue
        texts = reading.carried = carry_down(row, reading.carried)
        if any(row.text(role) for role in ("day", "weekday")):
            reading.heading = None
        try:
            slots.extend(_slots(row, texts, reading))
        except _RefusedError as why:
            kept.reject(source.source_file, row, why.column, why.text, why.code)
    return join_equal_weeks(slots, reading.weekly) if reading.weekly else slots


def _is_between(row: CoachRow, reading: _Reading) -> bool:
    """Rows between exercises: a heading of the days below, rest days, totals, lines of words."""
    has_amounts = any(not is_blank(row.text(role)) for role in ("sets", "reps", "rep_low", "duration"))
    name = row.text("exercise")
    rule = ""
    if is_total(name) or is_total(row.raw_text):
        rule = "total"
    elif is_rest_day(name) or (not name and is_rest_day(row.raw_text.split(" | ")[-1])):
        rule = "" if fold(row.text("phase")) in _BREAK_PHASES else "rest_day"
    elif not has_amounts and " | " not in row.raw_text:
        heading = parse_day_heading(row.raw_text)
        is_exercise = bool(name) and bool(reading.known.matcher.match(name).exercise_id)
        if heading and not is_exercise:
            reading.heading, rule = heading, "heading"
        elif not name and not row.texts:
            rule = "note"
    if rule:
        reading.kept.ignore(reading.source.source_file, row.source_sheet, row.source_row, rule, row.raw_text)
    return bool(rule)


def carry_down(row: CoachRow, above: dict[str, str]) -> dict[str, str]:
    """What a row means with what the rows above it said once: client, version and day.

    A row that names another client, plan or first day begins a version: an empty last day or phase is then
    its own, not the one of the version above. Likewise a new day does not keep the weekday of the day before.
    """
    stated = {role: row.text(role) for role in _CARRIED_ROLES}

    def begins(*roles: str) -> bool:
        return any(stated[role] and above.get(role) and stated[role] != above[role] for role in roles)

    is_new_version = begins("client_id", "plan", "valid_from")
    is_new_day = is_new_version or begins("week", "day", "weekday", "phase")
    kept = {role: stated[role] or above.get(role, "") for role in ("client_id", "plan", "valid_from")}
    if begins("client_id"):
        kept["plan"] = stated["plan"]
    for role in ("valid_to", "phase"):
        kept[role] = stated[role] or ("" if is_new_version else above.get(role, ""))
    kept["week"] = stated["week"] or ("" if is_new_version else above.get("week", ""))
    for role in ("day", "weekday"):
        kept[role] = stated[role] or ("" if is_new_day else above.get(role, ""))
    return kept


def _slots(row: CoachRow, texts: dict[str, str], reading: _Reading) -> Iterator[dict[str, object]]:
    versions = list(_by_week(_version(row, texts, reading), row, texts, reading))
    if versions[0]["phase"] == "break":
        for version in versions:
            yield {**version, "day": "break", "weekday": None, "slot": 1}
        return
    day, weekdays = _day(row, texts, reading)
    exercise = _exercise(row, str(versions[0]["client_id"]), reading)
    for version in versions:
        for weekday in weekdays or (None,):
            key = (version["client_id"], version["valid_from"], version["plan"], day, weekday)
            reading.positions[key] = reading.positions.get(key, 0) + 1
            yield {
                **version,
                **exercise,
                "day": day,
                "weekday": weekday,
                "slot": exercise["slot"] or reading.positions[key],
            }


def _by_week(
    version: dict[str, object], row: CoachRow, texts: dict[str, str], reading: _Reading
) -> Iterator[dict[str, object]]:
    """The version, or one for each week that the row is for."""
    weeks = parse_weeks(texts["week"])
    if weeks is None and row.text("week"):
        reading.remark(row, "week", row.text("week"), "plan_week_unreadable")
    first_day, last_day = version["valid_from"], version["valid_to"]
    if not weeks or not reading.counts_weeks or not isinstance(first_day, date):
        yield version
        return
    for week in weeks:
        start, end = week_span(first_day, last_day if isinstance(last_day, date) else None, week)
        reading.weekly.add(start)
        yield {**version, "valid_from": start, "valid_to": end}


def _version(row: CoachRow, texts: dict[str, str], reading: _Reading) -> dict[str, object]:
    """Client, plan, days and phase of the version a row belongs to."""
    known, source = reading.known, reading.source
    person = known.roster.resolve(texts["client_id"] or None, source.source_file, row.source_sheet)
    if not person.client_id:
        raise _RefusedError("client_id", texts["client_id"] or source.source_file, "client_unknown")
    order = known.profiles[person.client_id].date_order if person.client_id in known.profiles else ""
    order = order or known.default_order
    valid_from = parse_day(texts["valid_from"], order)
    if valid_from is None and not is_blank(texts["valid_from"]):
        raise _RefusedError("valid_from", texts["valid_from"], "plan_value_unreadable")
    valid_from = (
        valid_from or date_in_name(row.source_sheet) or date_in_name(source.source_file.rsplit("/", 1)[-1])
    )
    if valid_from is None:
        raise _RefusedError("valid_from", "", "plan_no_first_day")
    valid_to = parse_day(texts["valid_to"], order)
    if valid_to is None and not is_blank(texts["valid_to"]):
        raise _RefusedError("valid_to", texts["valid_to"], "plan_value_unreadable")
    if valid_to is not None and valid_to < valid_from:
        raise _RefusedError("valid_to", texts["valid_to"], "plan_ends_before_it_begins")
    phase = fold(texts["phase"]) or "build"
    return {
        "client_id": person.client_id,
        "plan": texts["plan"] or None,
        "valid_from": valid_from,
        "valid_to": valid_to,
        "phase": "break" if phase in _BREAK_PHASES else phase,
        "source_file": source.source_file,
        "source_sheet": row.source_sheet,
        "source_row": row.source_row,
    }


def _day(row: CoachRow, texts: dict[str, str], reading: _Reading) -> tuple[str, tuple[int, ...]]:
    """Name and weekdays of the day a row belongs to: its cells, the heading above, the sheet's name."""
    name, weekdays = parse_day_cell(texts["day"])
    stated = parse_weekdays(texts["weekday"])
    if stated is None:
        if row.text("weekday"):
            reading.remark(row, "weekday", texts["weekday"], "plan_weekday_unreadable")
        stated = ()
    weekdays = stated or weekdays
    if name or texts["weekday"]:
        return name or texts["weekday"], weekdays
    if reading.heading:
        return reading.heading
    if len(reading.source.sheets) > 1 and row.source_sheet:
        return parse_day_cell(row.source_sheet)
    return "Day 1", ()


def _exercise(row: CoachRow, client_id: str, reading: _Reading) -> dict[str, object]:
    """Exercise, amounts and everything beside them."""
    known, name = reading.known, row.text("exercise")
    if is_blank(name):
        raise _RefusedError("exercise_name", "exercise", "plan_row_incomplete")
    exercise_id = which_planned_exercise(name, client_id, known)
    if not exercise_id:
        raise _RefusedError("exercise_name", name, "plan_exercise_unknown")
    shown, is_timed = reading.facts.get(exercise_id, (name, False))
    amounts = _amounts(row, reading, is_timed=is_timed)
    label, slot = parse_exercise_text(name).superset, row.text("slot")
    lettered = re.fullmatch(r"\(?([A-Ha-h]\d{0,2}|\d{1,2}[A-Ha-h])\)?\.?", slot.strip())
    number = parse_number(slot)
    rest = _read(row, "rest_s", parse_rest(row.text("rest_s")))
    percent = _read(row, "percent", parse_percent(row.text("percent")))
    intensity_pct, intensity_rir = _intensity(row, reading)
    return {
        "slot": int(number) if number and number >= 1 else None,
        "exercise_id": exercise_id,
        "exercise_name": shown or name,
        "exercise_text": name,
        "sets": amounts.sets,
        "rep_low": amounts.rep_low,
        "rep_high": amounts.rep_high,
        "duration_low_s": amounts.duration_low_s,
        "duration_high_s": amounts.duration_high_s,
        "target_rir": first_known(_target_rir(row, amounts), intensity_rir),
        "percent_e1rm": first_known(percent, amounts.percent, intensity_pct),
        "superset": row.text("superset") or label or (lettered.group(1).upper() if lettered else None),
        "rest_s": rest,
        "alternatives": _alternatives(row, client_id, reading),
        "progression": _progression(row),
        "tempo": row.text("tempo") or None,
        "note": row.text("note") or None,
    }


def _read(row: CoachRow, role: str, value: _Value | None) -> _Value | None:
    """The value of a cell; refused where the cell has a text that gave none."""
    if value is None and not is_blank(row.text(role)):
        raise _RefusedError(role, row.text(role), "plan_value_unreadable")
    return value


def _amounts(row: CoachRow, reading: _Reading, *, is_timed: bool) -> PlannedAmounts:
    amounts = parse_sets_and_reps(
        row.text("sets"), row.text("reps"), row.text("rep_low"), row.text("rep_high"), is_timed=is_timed
    )
    if amounts.problem:
        raise _RefusedError(*amounts.problem)
    if amounts.remark:
        reading.remark(row, *amounts.remark)
    if is_blank(row.text("duration")) or amounts.duration_low_s is not None:
        return amounts
    text = row.text("duration")
    bare = parse_sets_and_reps("1", text, is_timed=True)
    span = parse_seconds_span(text) or (
        (bare.duration_low_s, bare.duration_high_s) if not bare.problem else None
    )
    if span is None:
        raise _RefusedError("duration", text, "plan_value_unreadable")
    return PlannedAmounts(
        amounts.sets, amounts.rep_low, amounts.rep_high, *span, amounts.target_rir, amounts.percent
    )


def _target_rir(row: CoachRow, amounts: PlannedAmounts) -> float | None:
    for role, scale in (("target_rir", "rir"), ("target_rpe", "rpe")):
        if not is_blank(row.text(role)):
            rir, is_read = parse_target_effort(row.text(role), scale)
            if not is_read:
                raise _RefusedError(role, row.text(role), "plan_value_unreadable")
            return rir
    return amounts.target_rir


def _intensity(row: CoachRow, reading: _Reading) -> tuple[float | None, float | None]:
    """Percent of e1RM or repetitions in reserve of an intensity cell; a bare small number could be either of
    two scales and is noted."""
    text = row.text("intensity")
    if is_blank(text):
        return None, None
    percent = parse_percent(text)
    if percent is not None:
        return percent, None
    if re.search(r"rpe|rir|@|reserve|failure|left", fold(text)):
        rir, is_read = parse_target_effort(text, "rir" if "rir" in fold(text) else "rpe")
        if is_read:
            return None, rir
    reading.remark(row, "intensity", text, "plan_value_left_out")
    return None, None


def first_known(*values: float | None) -> float | None:
    """The first value that is known, None where none is."""
    return next((value for value in values if value is not None), None)


def _progression(row: CoachRow) -> str | None:
    return _read(row, "progression", parse_progression(row.text("progression")))


def _alternatives(row: CoachRow, client_id: str, reading: _Reading) -> str | None:
    """Ids of the alternatives; one that is not known for certain is noted and left out."""
    found: list[str] = []
    for text in re.split(r"[;/|,\n]| or | oder | ou | o ", row.text("alternatives")):
        if is_blank(text):
            continue
        exercise_id = which_planned_exercise(text.strip(), client_id, reading.known)
        if exercise_id:
            found.append(exercise_id)
        else:
            reading.remark(row, "alternatives", text.strip(), "plan_alternative_unknown")
    return ";".join(dict.fromkeys(found)) or None


def which_planned_exercise(name: str, client_id: str, known: Knowledge) -> str:
    """The exercise id a plan means, "" where that is not certain. An id of the catalogue means itself."""
    if name.strip() in known.exercise_ids:
        return name.strip()
    bare = parse_exercise_text(name).name or name
    answer = known.answers.find(Question("exercise", client_id, "", bare))
    if answer and answer in known.exercise_ids:
        return answer
    match = known.matcher.match(bare)
    return match.exercise_id or "" if match.how not in ("unsure", "unknown") else ""


def break_spans(slots: list[dict[str, object]]) -> list[dict[str, object]]:
    """The announced breaks of plans as `excused_span` rows; a break without an end lasts a week."""
    spans: list[dict[str, object]] = []
    for slot in slots:
        start = slot["valid_from"]
        if slot.get("phase") == "break" and isinstance(start, date):
            end = slot["valid_to"] or start + timedelta(days=6)
            spans.append(
                {
                    "client_id": slot["client_id"],
                    "date_from": start,
                    "date_to": end,
                    "kind": "break",
                    "source": f"plans/{slot['source_file']} row {slot['source_row']}",
                }
            )
    return spans
