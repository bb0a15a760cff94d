"""Plain-text notes from a phone, unfolded: dates, exercise headings, sets, remarks, line by line."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass
from typing import get_args

import polars as pl

from pipeline.clean.cells.folding import fold, is_blank
from pipeline.clean.cells.set_notation import NotationReading, PairMeaning, column_meaning, parse_notation
from pipeline.clean.entries import Unfolded, with_schema
from pipeline.clean.pain import find_pain
from pipeline.clean.row_rules import (
    is_not_done,
    is_rest_day,
    is_total,
    parse_client_statement,
    parse_date_heading,
    parse_unit_statement,
)
from pipeline.clean.set_texts import MOST_COUNTED
from pipeline.contract.sheets import Sheet

_BULLET = re.compile(r"^[\s>*•·‣▪◦#-]*(?:\[[ xX✓]?\]\s*)?(?:\d{1,2}[.)]\s+)?")
_SET_LABEL = re.compile(r"^(?:set|satz|serie|s)\s*#?\d{1,2}\s*[:.)-]\s*", re.IGNORECASE)
_SET_LIKE = re.compile(r"\d ?(?:kgs?|lbs?)?\s*[x×*@]\s*\d|\d\s*(?:kgs?|lbs?)\b", re.IGNORECASE)
_SPLITS = re.compile(
    r"(?<=[A-Za-zÀ-ÿ)\]'\".])\s*[:=–—-]?\s+(?=[\d+(@]|x ?\d|bw\b|bodyweight\b|bar\b|w/u|wu\b|warm)|:\s*",
    re.IGNORECASE,
)


@dataclass
class _State:
    date_text: str = ""
    exercise: str = ""
    unit: str = ""
    client: str = ""


def split_remark(text: str, pair_means: PairMeaning = "") -> tuple[NotationReading, str]:
    """The sets at the start of a text and the remark behind them (`100x5, 100x5 felt heavy`)."""
    reading = parse_notation(text, pair_means)
    if not reading.problem and reading.parts:
        return reading, ""
    brackets = re.match(r"^(.*?)\s*\(([^()]*)\)\s*$", text)
    if brackets:
        inner = parse_notation(brackets.group(1), pair_means)
        if not inner.problem and inner.parts:
            return inner, brackets.group(2).strip()
    for match in reversed(list(re.finditer(r"[\s,;.!-]+(?=[^\d\s,;.@x+-])", text))):
        head, tail = text[: match.start()].strip(), text[match.end() :].strip()
        if not head or not re.search(r"\d", head):
            break
        shorter = parse_notation(head, pair_means)
        if not shorter.problem and shorter.parts and (_SET_LIKE.search(head) or len(shorter.parts) > 1):
            return shorter, tail
    return reading, ""


def unfold_notes(
    sheet: Sheet,
    knows: Callable[[str], bool],
    answer: str = "",
    is_unloaded: Callable[[str], bool] = lambda text: False,
) -> Unfolded:
    """The sets of free lines as entries; `knows` tells whether a text names an exercise.

    `answer` is what the coach has said about the order of an ambiguous notation in this file; `is_unloaded` tells
    whether an exercise is done without a load, so that `3x12` can only count sets.
    """
    unfolded = Unfolded(layout="notes")
    lines = [(row, text or "") for row, text in sheet.cells.select("source_row", "c0").iter_rows()]
    said: PairMeaning = answer if answer in get_args(PairMeaning) else ""  # type: ignore[assignment]
    voted: PairMeaning = "" if said else _pair_meaning([t for _, t in lines])
    state = _State()
    rows: list[dict[str, object]] = []
    for index, (number, raw) in enumerate(lines):
        text = _BULLET.sub("", raw, count=1).strip()
        rule = _plain_rule(text, state, knows)
        if rule:
            unfolded.ignored[number] = rule
            continue
        meaning = said or column_meaning(text, voted)
        exercise, reading, remark = _read_line(text, state, meaning, knows)
        if (
            reading
            and reading.problem == "set_notation_ambiguous"
            and is_unloaded(exercise or state.exercise)
        ):
            _, counted, remark = _read_line(text, state, "sets_reps", knows)
            reading = counted if counted and len(counted.parts) <= MOST_COUNTED else reading
        if reading is None:
            following = next((t for _, t in lines[index + 1 :] if t.strip()), "")
            if _is_exercise_heading(text, following, meaning, knows):
                state.exercise = text.rstrip(":–- ").strip()
                unfolded.ignored[number] = "heading"
            else:
                unfolded.ignored[number] = "note"
                unfolded.remarks.append((number, state.client, state.date_text, state.exercise, raw.strip()))
            continue
        if exercise:
            state.exercise = exercise
        rows += _entries(number, state, reading, remark, raw)
    unfolded.entries = with_schema(pl.DataFrame(rows, infer_schema_length=None)) if rows else unfolded.entries
    return unfolded


def _plain_rule(text: str, state: _State, knows: Callable[[str], bool]) -> str:
    if is_blank(text):
        return "blank"
    date_text = parse_date_heading(text)
    label = text.replace(date_text, "").strip(" -–—:|(),")
    # repetitions behind an exercise look like a date: Push-ups 12/11/11
    is_reps = bool(re.fullmatch(r"\d{1,2}/\d{1,2}(?:/\d{1,2})?", date_text)) and bool(label) and knows(label)
    if date_text and not _SET_LIKE.search(text) and not is_reps:
        state.date_text, state.exercise = date_text, ""
        return "heading"
    if parse_client_statement(text):
        state.client = parse_client_statement(text)
        return "heading"
    if parse_unit_statement(text) and not re.search(r"\d", text):
        state.unit = parse_unit_statement(text)
        return "heading"
    if is_rest_day(text):
        return "rest_day"
    if is_total(text):
        return "total"
    return "not_done" if is_not_done(text) else ""


def _read_line(
    text: str, state: _State, meaning: PairMeaning, knows: Callable[[str], bool]
) -> tuple[str, NotationReading | None, str]:
    """Exercise (where the line names one), its sets (None: the line holds none), and the remark behind them."""
    sets = _SET_LABEL.sub("", text)
    reading, remark = split_remark(sets, meaning)
    if not reading.problem and reading.parts:
        return "", reading if state.exercise else None, remark
    for match in _SPLITS.finditer(text):
        name, rest = text[: match.start()].strip(" :-–—"), text[match.end() :].strip()
        if not re.search(r"[A-Za-zÀ-ÿ]{2}", name) or not rest:
            continue
        reading, remark = split_remark(rest, meaning)
        if not reading.problem and reading.parts and (_SET_LIKE.search(rest) or knows(name)):
            return name, reading, remark
        if reading.problem in ("set_notation_ambiguous", "reps_range") and (
            knows(name) or _SET_LIKE.search(rest)
        ):
            return name, reading, remark
    if _SET_LIKE.search(text):
        first = _SPLITS.search(text)
        name = text[: first.start()].strip(" :-–—") if first else ""
        if (name and knows(name)) or (state.exercise and re.match(r"[\d+@(]|bw", fold(text))):
            return (
                name if name and knows(name) else "",
                NotationReading(problem="set_notation_unreadable"),
                "",
            )
    return "", None, ""


def _is_exercise_heading(
    text: str, following: str, meaning: PairMeaning, knows: Callable[[str], bool]
) -> bool:
    if len(text) > 60 or not re.search(r"[A-Za-zÀ-ÿ]{2}", text) or find_pain(text):
        return False
    reading, _ = split_remark(_SET_LABEL.sub("", _BULLET.sub("", following, count=1).strip()), meaning)
    sets_follow = bool(reading.parts) or reading.problem == "set_notation_ambiguous"
    return sets_follow or (knows(text.rstrip(":")) and not re.search(r"\d{2}", text))


def _pair_meaning(lines: list[str]) -> PairMeaning:
    votes: Counter[PairMeaning] = Counter()
    for line in lines[:3_000]:
        text = _BULLET.sub("", line, count=1).strip()
        for piece in [text, *(text[m.end() :] for m in _SPLITS.finditer(text))]:
            reading, _ = split_remark(piece)
            if reading.pair_means:
                votes[reading.pair_means] += 1
                break
    if len(votes) == 1:
        return next(iter(votes))
    return ""


def _entries(
    number: int, state: _State, reading: NotationReading, remark: str, raw: str
) -> list[dict[str, object]]:
    common: dict[str, object] = {
        "source_row": number,
        "client_text": state.client or None,
        "date_text": state.date_text or None,
        "exercise_text": state.exercise or None,
        "unit_text": state.unit or None,
        "note": remark or None,
        "is_counted": True,
    }
    if reading.problem:
        return [
            {
                **common,
                "part_index": 1,
                "problem": reading.problem,
                "problem_column": "notation",
                "problem_text": raw,
            }
        ]
    return [
        {
            **common,
            "part_index": index,
            "load_text": part.load or None,
            "reps_text": part.reps or None,
            "effort_text": part.effort or None,
            "kind_text": part.kind or None,
            "drop_index": part.drop_index,
            "problem": "",
        }
        for index, part in enumerate(reading.parts, start=1)
    ]
