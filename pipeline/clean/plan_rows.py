"""Plan files: one row a planned exercise, versions with effective dates, phases, announced breaks."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, timedelta

from pipeline.clean.cells.dates import calendar_words
from pipeline.clean.cells.effort import parse_effort
from pipeline.clean.cells.folding import fold, is_blank, parse_number
from pipeline.clean.cells.repetitions import parse_duration
from pipeline.clean.coach_tables import CoachRow, CoachTable, read_rows
from pipeline.clean.decide import Knowledge
from pipeline.clean.exercise_texts import parse_exercise_text
from pipeline.clean.roster_rows import parse_day
from pipeline.contract.sheets import SourceFile

_BREAK_PHASES = {"break", "holiday", "vacation", "off", "away", "travel", "pause", "urlaub", "ferien", "vacances",
                 "vacaciones", "rest"}
_MOST_SETS = 30


@dataclass
class _Carried:
    """What a plan writes once and means for the rows below."""

    texts: dict[str, str]


_CARRIED_ROLES = ("client_id", "plan", "valid_from", "valid_to", "phase", "day", "weekday")


def read_plans(source: SourceFile, known: Knowledge, kept: CoachTable) -> list[dict[str, object]]:
    """`plan_slot` rows of one file; every row that is none is noted with its reason."""
    slots: list[dict[str, object]] = []
    carried = _Carried({})
    positions: dict[tuple[object, ...], int] = {}
    for row in read_rows(source, "plan", ("exercise", "sets|reps|rep_low"), kept):
        texts = carried.texts = carry_down(row, carried.texts)
        slot = _slot(source, row, texts, known, kept)
        if slot is None:
            continue
        key = (slot["client_id"], slot["valid_from"], slot["day"])
        positions[key] = positions.get(key, 0) + 1
        slot["slot"] = slot["slot"] or positions[key]
        slots.append(slot)
    return slots


def carry_down(row: CoachRow, above: dict[str, str]) -> dict[str, str]:
    """What a row means with what the rows above it said once: client, version and day.

    A row that names another client, plan or first day begins a version: an empty last day or phase is then its
    own, not the one of the version above. Likewise a new day does not keep the weekday of the day before.
    """
    stated = {role: row.text(role) for role in _CARRIED_ROLES}

    def begins(*roles: str) -> bool:
        return any(stated[role] and stated[role] != above.get(role, "") for role in roles)

    is_new_version = begins("client_id", "plan", "valid_from")
    is_new_day = is_new_version or begins("day", "weekday", "phase")
    kept = {role: stated[role] or above.get(role, "") for role in ("client_id", "plan", "valid_from")}
    if begins("client_id"):
        kept |= {role: stated[role] or ("" if role == "plan" else kept[role]) for role in ("plan", "valid_from")}
    for role in ("valid_to", "phase"):
        kept[role] = stated[role] or ("" if is_new_version else above.get(role, ""))
    for role in ("day", "weekday"):
        kept[role] = stated[role] or ("" if is_new_day else above.get(role, ""))
    return kept


def _slot(
    source: SourceFile, row: CoachRow, texts: dict[str, str], known: Knowledge, kept: CoachTable
) -> dict[str, object] | None:
    def refuse(column: str, text: str, code: str) -> None:
        kept.reject(source.source_file, row, column, text, code)

    person = known.roster.resolve(texts["client_id"] or None, source.source_file, row.source_sheet)
    if not person.client_id:
        return refuse("client_id", texts["client_id"] or source.source_file, "client_unknown")
    order = known.profiles[person.client_id].date_order if person.client_id in known.profiles else ""
    valid_from = parse_day(texts["valid_from"], order or known.default_order)
    if valid_from is None:
        blank = is_blank(texts["valid_from"])
        return refuse("valid_from", "first day (valid_from)" if blank else texts["valid_from"],
                      "plan_row_incomplete" if blank else "plan_value_unreadable")
    valid_to = parse_day(texts["valid_to"], order or known.default_order)
    if valid_to is None and not is_blank(texts["valid_to"]):
        return refuse("valid_to", texts["valid_to"], "plan_value_unreadable")
    if valid_to is not None and valid_to < valid_from:
        return refuse("valid_to", texts["valid_to"], "plan_ends_before_it_begins")
    phase = fold(texts["phase"]) or "build"
    common: dict[str, object] = {
        "client_id": person.client_id, "plan": texts["plan"] or None, "valid_from": valid_from, "valid_to": valid_to,
        "phase": "break" if phase in _BREAK_PHASES else phase, "day": texts["day"] or texts["weekday"] or "Day 1",
        "weekday": parse_weekday(texts["weekday"]) or parse_weekday(texts["day"]), "source_file": source.source_file,
        "source_sheet": row.source_sheet, "source_row": row.source_row, "slot": None,
    }
    if common["phase"] == "break":
        return {**common, "day": "break", "weekday": None}
    return _with_exercise(row, common, known, refuse)


def _with_exercise(
    row: CoachRow, common: dict[str, object], known: Knowledge, refuse: Callable[[str, str, str], None]
) -> dict[str, object] | None:
    name = row.text("exercise")
    if is_blank(name):
        return refuse("exercise_name", "exercise", "plan_row_incomplete")
    exercise_id = which_planned_exercise(name, str(common["client_id"]), known)
    if not exercise_id:
        return refuse("exercise_name", name, "plan_exercise_unknown")
    sets, low, high, problem = _sets_and_reps(row)
    if problem:
        return refuse(*problem)
    target_rir, ok = _target_rir(row)
    if not ok:
        return refuse("target_rir", row.text("target_rir") or row.text("target_rpe"), "plan_value_unreadable")
    rest = _rest(row.text("rest_s"))
    if rest is None and not is_blank(row.text("rest_s")):
        return refuse("rest_s", row.text("rest_s"), "plan_value_unreadable")
    shown = dict(known.catalogue.exercise.select("exercise_id", "exercise_name").iter_rows())
    slot = parse_number(row.text("slot"))
    label = parse_exercise_text(name).superset
    alternatives = [which_planned_exercise(a, str(common["client_id"]), known)
                    for a in re.split(r"[;/|,]| or ", row.text("alternatives")) if a.strip()]
    return {
        **common, "slot": int(slot) if slot else None, "exercise_id": exercise_id,
        "exercise_name": shown.get(exercise_id, name), "exercise_text": name, "sets": sets, "rep_low": low,
        "rep_high": high, "target_rir": target_rir, "superset": row.text("superset") or label or None, "rest_s": rest,
        "alternatives": ";".join(a for a in alternatives if a) or None,
    }


def which_planned_exercise(name: str, client_id: str, known: Knowledge) -> str:
    """The exercise id a plan means, "" where that is not certain. An id of the catalogue means itself."""
    from pipeline.answers import Question

    if name.strip() in known.exercise_ids:
        return name.strip()
    bare = parse_exercise_text(name).name or name
    answer = known.answers.find(Question("exercise", client_id, "", bare))
    if answer and answer in known.exercise_ids:
        return answer
    match = known.matcher.match(bare)
    return match.exercise_id or "" if match.how not in ("unsure", "unknown") else ""


def _sets_and_reps(row: CoachRow) -> tuple[int | None, int | None, int | None, tuple[str, str, str] | None]:
    """Sets and repetition range: own columns, or `8-12` in one, or `3x8-12` in either."""
    sets_text, reps_text = row.text("sets"), row.text("reps")
    both = re.fullmatch(r"(\d{1,2}) ?x ?(.+)", fold(sets_text if is_blank(reps_text) else reps_text))
    if both:
        sets_text, reps_text = both.group(1), both.group(2)
    sets = parse_number(sets_text)
    if sets is None:
        blank = is_blank(sets_text)
        return None, None, None, ("sets", "sets" if blank else sets_text,
                                  "plan_row_incomplete" if blank else "plan_value_unreadable")
    if sets != int(sets) or not 0 <= sets <= _MOST_SETS:
        return None, None, None, ("sets", sets_text, "plan_value_unreadable")
    low_text, high_text = row.text("rep_low"), row.text("rep_high")
    spoiled = parse_date_made_of_range(reps_text)
    if is_blank(low_text) and not is_blank(reps_text):
        if spoiled:
            return None, None, None, ("reps", reps_text, "turned_into_date")
        match = re.fullmatch(r"(\d{1,3})(?: ?(?:-|to|bis|a|/) ?(\d{1,3}))?(?: ?(?:reps?|wdh\.?|s|sec))?\+?", fold(reps_text))
        if not match and fold(reps_text) not in ("amrap", "max"):
            return None, None, None, ("reps", reps_text, "plan_value_unreadable")
        low_text, high_text = (match.group(1), match.group(2) or match.group(1)) if match else ("", "")
    low, high = parse_number(low_text), parse_number(high_text)
    for column, text, value in (("rep_low", low_text, low), ("rep_high", high_text, high)):
        if (value is None and not is_blank(text)) or (value is not None and not 1 <= value <= 300):
            return None, None, None, (column, text, "plan_value_unreadable")
    low, high = low if low is not None else high, high if high is not None else low
    if low is not None and high is not None and low > high:
        return None, None, None, ("rep_low", f"{low_text}–{high_text}", "plan_value_unreadable")
    return int(sets), None if low is None else int(low), None if high is None else int(high), None


def parse_date_made_of_range(text: str) -> bool:
    """True where a spreadsheet has turned a range such as 8-10 into a date."""
    from pipeline.clean.cells.loads import looks_like_date

    return looks_like_date(text)


def _target_rir(row: CoachRow) -> tuple[float | None, bool]:
    for role, scale in (("target_rir", "rir"), ("target_rpe", "rpe")):
        text = row.text(role)
        if is_blank(text):
            continue
        reading = parse_effort(text, scale)  # type: ignore[arg-type]
        if reading.problem:
            return None, False
        return reading.rir if reading.rir is not None else 10 - (reading.rpe or 0.0), True
    return None, True


def _rest(text: str) -> float | None:
    bare = parse_number(text)
    if bare is not None:
        return bare if bare > 10 else bare * 60  # nobody plans ten seconds; ten and less are minutes
    span = re.fullmatch(r"(\d{1,3}) ?- ?(\d{1,3}) ?(s|sec|min|m)?", fold(text))
    if span:
        middle = (float(span.group(1)) + float(span.group(2))) / 2
        return middle * 60 if span.group(3) in ("min", "m") or middle <= 10 else middle
    return parse_duration(text)


def parse_weekday(text: str) -> int | None:
    """1 Monday … 7 Sunday of a day name or number; None where it is neither."""
    folded = fold(text).strip(" .")
    if re.fullmatch(r"[1-7]", folded):
        return int(folded)
    return calendar_words("weekday").get(folded)


def break_spans(slots: list[dict[str, object]]) -> list[dict[str, object]]:
    """The announced breaks of plans as `excused_span` rows; a break without an end lasts a week."""
    spans: list[dict[str, object]] = []
    for slot in slots:
        start = slot["valid_from"]
        if slot.get("phase") == "break" and isinstance(start, date):
            end = slot["valid_to"] or start + timedelta(days=6)
            spans.append({"client_id": slot["client_id"], "date_from": start, "date_to": end, "kind": "break",
                          "source": f"plans/{slot['source_file']} row {slot['source_row']}"})
    return spans
